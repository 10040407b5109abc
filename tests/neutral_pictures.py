"""Pictures without any colour that are hard to interpolate: thin lines, small type, fans; drawn here."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from driftline.colorimetry.oklab import srgb_to_oklab

SIZE = 240
"""Side of a picture; whole periods of every pattern."""

FINER = 8
"""Everything is drawn so many times as large and averaged down in linear light."""

SLANTS = (0, 4, 11, 20, 33, 45, 57, 70, 79, 86, 90, 135)
"""Degrees between lines and the rows."""

Picture = NDArray[np.float32]
Levels = NDArray[Any]


def neutral_pictures() -> dict[str, Picture]:
    """(240, 240, 3) linear pictures by name."""
    return {
        "black, 1 px": slanted_lines(1, ink=0.02, paper=0.25),
        "black, 2 px": slanted_lines(2, ink=0.02, paper=0.25),
        "black, 0.6 px": slanted_lines(0.6, ink=0.02, paper=0.25),
        "white, 1 px": slanted_lines(1, ink=0.8, paper=0.18),
        "white, 2 px": slanted_lines(2, ink=0.8, paper=0.18),
        "black type": small_type(ink=0.02, paper=0.6),
        "white type": small_type(ink=0.8, paper=0.08),
        "fan of 36": fan(36, ink=0.02, paper=0.6),
        "fan of 60": fan(60, ink=0.05, paper=0.4),
        "edges": slanted_edges(),
        "rings": rings(),
    }


def slanted_lines(width: float, *, ink: float | Levels, paper: float | Levels) -> Picture:
    """Three lines at each of the slants; ink and paper are linear levels, or colours (3,)."""
    down, right = _places()
    line = np.zeros(down.shape)
    for at, degrees in enumerate(SLANTS):
        y, x = at // 4 * 80 + 40, at % 4 * 60 + 30
        slant = np.radians(degrees)
        apart = (right - x) * np.sin(slant) - (down - y) * np.cos(slant)
        inside = (abs(down - y) < 38) & (abs(right - x) < 28)
        for offset in (-17.3, 0.2, 16.6):
            line[inside & (abs(apart - offset) < width / 2)] = 1
    share = _averaged(line)
    return np.asarray(share * ink + (1 - share) * np.asarray(paper), dtype=np.float32)


def small_type(*, ink: float, paper: float) -> Picture:
    """Lines of type from 7 to 16 pixels."""
    picture = Image.new("F", (SIZE * FINER, SIZE * FINER), paper)
    draw, down = ImageDraw.Draw(picture), 4.0
    for size in (7, 8, 9, 10, 11, 12, 14, 16, 9, 10, 12):
        font = ImageFont.load_default(size * FINER)
        draw.text((5 * FINER, down * FINER), "fog over the tram yard 0123456789 quietly", font=font, fill=ink)
        down += 1.5 * size
    return _averaged(np.array(picture, dtype=float))


def fan(wedges: int, *, ink: float, paper: float) -> Picture:
    """So many wedges that meet in the middle."""
    down, right = (place - SIZE / 2 for place in _places())
    inked = (np.sin(wedges * np.arctan2(down - 0.3, right + 0.2)) <= 0) & (np.hypot(down, right) <= 110)
    return _averaged(np.where(inked, ink, paper))


def slanted_edges() -> Picture:
    """Nine edges of black and white."""
    down, right = _places()
    slant = np.radians(np.array([3, 8, 15, 24, 33, 47, 61, 76, 88]))
    slant = slant[(down // 80 * 3 + right // 80).astype(int)]
    side = (right % 80 - 40) * np.sin(slant) - (down % 80 - 40) * np.cos(slant)
    return _averaged(np.where(side > 0, 0.7, 0.03))


def rings() -> Picture:
    """Rings that grow finer, down and right past what any pattern resolves."""
    down, right = _places()
    return _averaged(0.4 + 0.35 * np.cos(np.pi * ((right - 60) ** 2 + (down - 60) ** 2) / 312))


def false_colour(rgb: Picture, border: int = 10) -> float:
    """Mean OkLab chroma (B. Ottosson, 2020) of what should have none, inside a border."""
    lab = srgb_to_oklab(np.clip(rgb[border:-border, border:-border].astype(float), 0, 1))
    return float(np.hypot(lab[..., 1], lab[..., 2]).mean())


def _places() -> NDArray[np.float64]:
    """(2, h, w) rows and columns in pixels, at the finer grid."""
    return (np.indices((SIZE * FINER, SIZE * FINER)) + 0.5) / FINER


def _averaged(fine: Levels) -> Picture:
    small = fine.reshape(SIZE, FINER, SIZE, FINER).mean(axis=(1, 3))
    return np.repeat(small[..., None], 3, axis=2).astype(np.float32)
