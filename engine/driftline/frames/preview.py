"""The preview in a raw file, as the camera stored it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from driftline.frames import tags as exif
from driftline.frames.child import Answer
from driftline.frames.tags import Tags, exif_of_bytes, without_decoders_exif


@dataclass(frozen=True)
class Preview:
    """The largest preview in a raw file.

    Attributes
    ----------
    blob
        Bytes of the JPEG, or None.
    problem
        Why there is none, or ''.
    tags
        EXIF that the camera wrote into it.
    sizes
        The decoder's sizes of the raw; empty if it cannot open the file.
    facts
        Make and model by the decoder's own table, where it gave them.
    """

    blob: bytes | None
    problem: str = ""
    tags: Tags = field(default_factory=dict)
    sizes: Mapping[str, Any] = field(default_factory=dict)
    facts: Mapping[str, Any] = field(default_factory=dict)


def preview_of(answer: Answer) -> Preview:
    """Make sense of the decoder's answer to ``preview``."""
    sizes = answer.facts.get("sizes", {})
    if answer.failed:
        none = answer.failed["kind"] == "no-preview"
        words = (
            "the raw holds no JPEG" if none else f"no JPEG can be taken from the raw: {answer.failed['said']}"
        )
        return Preview(None, words, sizes=sizes)
    found = answer.arrays["preview"]
    if answer.facts["preview"] != "jpeg":
        height, width = found.shape[:2]
        words = f"the raw holds only a bitmap of {width} × {height}, which is no camera rendering"
        return Preview(None, words, sizes=sizes)
    blob, added = without_decoders_exif(found.tobytes())
    names = {"make": exif.text(added, "Image Make"), "model": exif.text(added, "Image Model")}
    facts = {name: words for name, words in names.items() if words}
    return Preview(blob, "", exif_of_bytes(blob), sizes, facts)
