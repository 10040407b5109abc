"""What prints are for: sizes and encodings by common practice, which a ledger's settings may replace."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from driftline.errors import UsageError

PURPOSES: Final[Mapping[str, Mapping[str, Any]]] = {
    "display": {"long_edge": 2560, "quality": 92, "space": "display-p3", "acutance": 0.1},
    "feed": {"long_edge": 1600, "quality": 88, "ceiling_bytes": 900_000, "acutance": 0.2},
    "portfolio": {"long_edge": 3200, "quality": 94, "acutance": 0.1},
    "lab": {"quality": 98},
    "archive": {"encoding": "tiff", "space": "display-p3"},
}
"""``display``: a screen of one's own. ``feed``: pages that shrink what is larger. ``portfolio``: a site of
one's own. ``lab``: full size in sRGB, which labs take. ``archive``: 16 bits, nothing lost. What is reduced
gets back some of the acutance that reducing takes; how much is a matter of taste."""


def purpose_settings(name: str, own: Mapping[str, Mapping[str, Any]]) -> Mapping[str, Any]:
    """Size, encoding and space of a purpose; the ledger's own come first.

    Raises
    ------
    UsageError
        ``unknown-purpose`` names those there are.

    Examples
    --------
    >>> purpose_settings("feed", {"feed": {"long_edge": 1080}})
    {'long_edge': 1080}
    """
    known = {**PURPOSES, **own}
    if name not in known:
        raise UsageError(
            "unknown-purpose",
            f"purpose {name!r}; known are {', '.join(known)}",
            hint=f"[purposes.{name}] in the ledger's settings.toml makes one",
        )
    return known[name]
