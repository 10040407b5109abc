"""What prints are called: parts joined by hyphens, never two alike; and what frames are called on a list."""

from __future__ import annotations

import os
import re
import unicodedata
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import Final, get_args

from driftline.errors import UsageError
from driftline.ledger.settings import NamePart

PARTS: Final = get_args(NamePart)
_LIMIT_BYTES: Final = 200
_NOT_IN_NAMES = re.compile(r"[\x00-\x1f\x7f-\x9f/\\:*?\"<>|\u200b-\u200f\u2028-\u202f\u2060-\u206f\ufeff]+")
"""Control characters, those that steer how text runs, and what some disk or shell takes for its own."""


def check_parts(parts: Iterable[str]) -> None:
    """Refuse a part that is none, and a name that would not tell frames apart.

    Raises
    ------
    UsageError
        ``unknown-name-part``.
    """
    chosen = list(parts)
    unknown = [part for part in chosen if part not in PARTS]
    if unknown or "frame" not in chosen:
        found = f"{unknown[0]!r}" if unknown else "no 'frame' among the parts"
        raise UsageError(
            "unknown-name-part",
            f"file_name: {found}; parts are {', '.join(PARTS)}, and 'frame' must be one of them",
            hint='file_name = ["frame", "recipe", "version"]',
        )


def print_stem(parts: Sequence[str], values: Mapping[str, str | None]) -> str:
    """The name of a print without its suffix; parts without a value are left out.

    Examples
    --------
    >>> print_stem(["frame", "recipe", "version", "size"],
    ...            {"frame": "night-07", "recipe": "tram-fog", "version": "8.laptop", "size": None})
    'night-07-tram-fog-8.laptop'
    """
    words = (_NOT_IN_NAMES.sub("_", str(values[part])).strip(" .") for part in parts if values.get(part))
    stem = "-".join(word for word in words if word)
    return stem.encode("utf-8", "replace")[:_LIMIT_BYTES].decode("utf-8", "ignore").lstrip(".-") or "print"


def distinct(stems: Mapping[Path, str], mark: Callable[[Path], str]) -> dict[Path, str]:
    """Make equal names different, in a way that depends on the frames and not on the run.

    Parameters
    ----------
    stems
        A wished name for each frame.
    mark
        What tells a frame from others of the same name: the beginning of its fingerprint.

    Returns
    -------
    dict
        Names that differ also on a disk that takes upper and lower case, or composed and decomposed letters,
        for the same. Frames of equal content are numbered in the order of their paths.
    """
    names = {
        frame: f"{stem}-{mark(frame)}" if shared else stem
        for stem_frames in _alike(stems)
        for shared in [len(stem_frames) > 1]
        for frame, stem in stem_frames
    }
    for alike in _alike(names):
        for number, (frame, name) in enumerate(alike[1:], start=2):
            names[frame] = f"{name}-{number}"
    return {frame: names[frame] for frame in stems}


def told_names(frames: Sequence[Path]) -> list[str]:
    """What frames are called on a list of them: their names, or where some are alike, their places as well.

    Examples
    --------
    >>> told_names([Path("day/a/q-1.dng"), Path("day/b/Q-1.DNG")])
    ['a/q-1.dng', 'b/Q-1.DNG']
    """
    names = [frame.name for frame in frames]
    if len({name.casefold() for name in names}) == len(names):
        return names
    return places_told(frames)


def places_told(paths: Sequence[Path]) -> list[str]:
    """Paths as they are seen from the lowest folder that holds them all.

    Examples
    --------
    >>> places_told([Path("day/a"), Path("day/b/c")])
    ['a', 'b/c']
    """
    whole = [path.absolute() for path in paths]
    top = os.path.commonpath([path.parent for path in whole])
    return [os.path.relpath(path, top) for path in whole]


def _alike(stems: Mapping[Path, str]) -> list[list[tuple[Path, str]]]:
    groups: dict[str, list[tuple[Path, str]]] = defaultdict(list)
    for frame in sorted(stems):
        groups[unicodedata.normalize("NFC", stems[frame]).casefold()].append((frame, stems[frame]))
    return list(groups.values())
