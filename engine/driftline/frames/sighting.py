"""What a shoot's index keeps of a frame: exposure data, and where its camera rendering is; no pixels."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from driftline.errors import FrameError
from driftline.frames.exposure import ExposureData, needs_decoder, read_exposure
from driftline.frames.frame import RawFrame
from driftline.frames.header import Header, read_header
from driftline.frames.jpeg import JpegSize
from driftline.frames.listing import RAW_SUFFIXES
from driftline.frames.pairing import MIN_EDGE, against


@dataclass(frozen=True, slots=True)
class Sight:
    """One frame as far as its first bytes tell.

    Attributes
    ----------
    exposure
        How it was taken.
    rendering
        Where the camera rendering comes from, or why there is none.
    has_rendering
        Whether there is one.
    paired
        Name of the camera's JPEG beside it; '' if there is none.
    unpaired
        Why a JPEG of its name beside it is not the camera's; '' if none is refused.
    problem
        Why it cannot be read; '' if it can.
    """

    exposure: ExposureData
    rendering: str
    has_rendering: bool
    paired: str = ""
    unpaired: str = ""
    problem: str = ""


def sight(path: Path, jpegs: Iterable[str] = ()) -> Sight:
    """Look at a frame without decoding pixels; what cannot be read is a problem, not an error.

    Parameters
    ----------
    path
        The raw file.
    jpegs
        Names of the JPEGs of its stem in its folder.
    """
    try:
        header = read_header(path)
    except OSError:
        header = None
    if header is not None and header.is_jpeg:
        raw = path.suffix.lower() in RAW_SUFFIXES
        what = (
            "a JPEG under the name of a raw file" if raw else "a JPEG; of a folder, raw files alone are taken"
        )
        return Sight(ExposureData(), "", False, problem=f"{path}: {what}")
    if header is None or not (header.certain or _enough(header)):
        return _by_the_decoder(path, jpegs)
    paired, unpaired = _pair(path, jpegs, header.tags, header.upright)
    embedded = _embedded(header.embedded)
    return Sight(
        exposure=read_exposure(header.tags, {}, {}),
        rendering=_told(embedded, paired, unpaired),
        has_rendering=bool(paired) or embedded == EMBEDDED,
        paired=paired,
        unpaired=unpaired,
    )


EMBEDDED = "the JPEG embedded in the raw"


def _enough(header: Header) -> bool:
    """Whether a container that may hide things has told everything that matters."""
    size = header.embedded
    return (
        size is not None and max(size.width, size.height) >= MIN_EDGE and not needs_decoder(header.tags, {})
    )


def _embedded(size: JpegSize | None) -> str:
    if size is None:
        return "the raw holds no JPEG"
    if max(size.width, size.height) < MIN_EDGE:
        return f"the raw's JPEG is tiny ({size.width} × {size.height}), no camera rendering"
    return EMBEDDED


def _told(embedded: str, paired: str, unpaired: str) -> str:
    if embedded == EMBEDDED:
        return embedded
    beside = f"{paired} beside the raw" if paired else unpaired or "no JPEG of the same name lies beside it"
    return f"{embedded}; {beside}"


def _pair(
    path: Path, jpegs: Iterable[str], tags: Mapping[str, object], upright: JpegSize | None
) -> tuple[str, str]:
    """The JPEG of the same exposure, and what speaks against the others."""
    reasons: list[str] = []
    for name in jpegs:
        reason = _refused(path.with_name(name), tags, upright)
        if not reason:
            return name, "; ".join(reasons)
        reasons.append(f"{name} beside it {reason}")
    return "", "; ".join(reasons)


def _refused(jpeg: Path, tags: Mapping[str, object], upright: JpegSize | None) -> str:
    try:
        header = read_header(jpeg)
    except OSError as error:
        return f"cannot be read: {error.strerror or error}"
    if header is None or header.embedded is None:
        return "cannot be read: it is no JPEG"
    reason = against(header.tags, tags, header.upright or header.embedded, upright)
    return f"is not taken: {reason}" if reason else ""


def _by_the_decoder(path: Path, jpegs: Iterable[str]) -> Sight:
    """A container whose beginning tells too little: what the decoder reads of it, still without pixels."""
    frame = RawFrame(path)
    try:
        exposure = frame.exposure()
        has_rendering = frame.camera_rendering(max_edge=64) is not None
        rendering = frame.camera_rendering_reason
        tags, upright = frame.pairing_facts()
    except FrameError as error:
        return Sight(ExposureData(), "", False, problem=error.message)
    except OSError as error:
        return Sight(ExposureData(), "", False, problem=f"{path}: {error.strerror or error}")
    if exposure == ExposureData() and upright is None and not has_rendering:
        return Sight(exposure, "", False, problem=f"{path}: not a raw file, as far as it can be read")
    paired, unpaired = _pair(path, jpegs, tags, upright)
    return Sight(exposure, rendering, has_rendering, paired, unpaired)
