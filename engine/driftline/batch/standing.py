"""What stands in an output folder already: our prints, by what they say of themselves."""

from __future__ import annotations

import os
from collections import defaultdict
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Final, NamedTuple

from driftline.errors import PrintError
from driftline.prints import Credit, Making, Provenance, Traced, glance, read_provenance

SUFFIXES: Final = {"jpeg": ".jpg", "tiff": ".tif"}

_FOLLOWS: Final = frozenset({"correction", "likeness", "edition"})
"""What changes about a print of the same frame by the same version in the same form without the run
asking for it: such a print is brought up to date in its place."""

_LOCATION: Final = {
    True: "its location in it (now without; --keep-location leaves it there)",
    False: "no location in it (now with it)",
}


class Said(NamedTuple):
    """What a print says beside what it is a print of: whose it is, whether where it was taken, and how.

    Whose it is, and whether the recipe's text is in it, counts only for those who ask to refresh.
    """

    credit: Credit
    located: bool
    recipe_text: bool = False


@dataclass(frozen=True)
class Found:
    """A print of ours that lies in the output folder."""

    path: Path
    told: Provenance

    @property
    def making(self) -> Making:
        """What it is a print of."""
        return self.told.making


class Standing:
    """The prints in a folder. Each of them counts for one frame: see :meth:`claim`."""

    def __init__(self, folder: Path) -> None:
        self._by_path = dict(_prints_in(folder))
        self._by_key: dict[str, list[Found]] = defaultdict(list)
        self._by_frame: dict[str, list[Found]] = defaultdict(list)
        for found in self._by_path.values():
            self._by_key[found.making.key()].append(found)
            self._by_frame[found.making.fingerprint].append(found)
        self._claimed: set[Path] = set()

    def quick_fingerprints(self) -> set[str | None]:
        """Of the frames that have prints here."""
        return {found.told.quick for found in self._by_path.values()}

    def at(self, path: Path) -> Found | None:
        """The print of ours at a path."""
        return self._by_path.get(path)

    def of_frame(self, fingerprint: str) -> list[Found]:
        """All prints of a frame."""
        return self._by_frame.get(fingerprint, [])

    def claim(self, wanted: Making, said: Said, *, at: Path | None = None, refresh: bool) -> Found | None:
        """A whole print that is just what is wanted (at a path, or under any name) and not yet claimed.

        One with another location than wanted is none; nor is one that says something else, to refresh.
        """
        for found in self._by_key.get(wanted.key(), []):
            if at not in {None, found.path} or found.path in self._claimed:
                continue
            there = _whole(found.path)
            if there and there.located == said.located and (not refresh or _says(there) == said):
                self._claimed.add(found.path)
                return found
        return None

    def may_replace(self, target: Path, wanted: Making | None, said: Said, *, refresh: bool) -> bool:
        """Whether a print stands at a path that may give way to another; False if nothing stands there.

        Raises
        ------
        PrintError
            What stands there must stay: ``print-exists``, ``print-altered``.
        """
        if not os.path.lexists(target):
            return False
        found = self.at(target)
        if found is None or wanted is None or found.making.fingerprint != wanted.fingerprint:
            raise PrintError(
                "print-exists",
                f"{target}: a file that driftline did not write stands there and was left alone",
                hint="another output folder, or move that file away",
            )
        there = _whole(target)
        if there is None:
            raise PrintError(
                "print-altered",
                f"{target}: our print, but changed by another program since; it was left alone",
                hint="move that file away, or choose another output folder",
            )
        differing = _differing(found.making, wanted)
        words = _in_words(differing, found.making, wanted)
        if there.located != said.located:
            words.append(_LOCATION[there.located])
        if not refresh and not (set(differing) <= _FOLLOWS and there.located == said.located):
            raise PrintError(
                "print-exists",
                f"{target}: printed before with {', '.join(words)}",
                hint="--refresh prints it again in its place; another output folder keeps both",
            )
        return True


def _prints_in(folder: Path) -> Iterator[tuple[Path, Found]]:
    known = SUFFIXES.values()
    paths = sorted(path for path in folder.iterdir() if path.suffix.lower() in known and path.is_file())
    with ThreadPoolExecutor() as threads:
        for path, told in zip(paths, threads.map(glance, paths), strict=True):
            if told is not None:
                yield path, Found(path, told)


def _whole(path: Path) -> Traced | None:
    """What a print says of itself; None if the picture in it is not the one we wrote."""
    try:
        traced = read_provenance(path)
    except PrintError:
        return None
    return traced if traced.intact else None


def _says(there: Traced) -> Said:
    return Said(there.credit, there.located, there.provenance.recipe_text is not None)


def _differing(there: Making, wanted: Making) -> list[str]:
    return [name for name in Making.model_fields if getattr(there, name) != getattr(wanted, name)]


def _in_words(names: list[str], there: Making, wanted: Making) -> list[str]:
    return [
        f"{name.replace('_', ' ')} {getattr(there, name)} (now {getattr(wanted, name)})" for name in names
    ]
