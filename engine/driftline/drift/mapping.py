"""A picture of where and how an edit differs from the camera rendering, for any eyes.

Three panels: the camera rendering, the edit, and the edit in pale grey under marks. Nothing depends on a
colour: the shape of a mark says what differs most in its square, its size how much, and a square that would
not be noticed has none.

    wedge up, wedge down    lighter, darker
    cross, bar              more colour, less colour
    wave                    another hue or tint
    filled square           newly clipped
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.colorimetry.encodings import srgb_encode
from driftline.drift.anchoring import anchor
from driftline.drift.checking import edit_of
from driftline.drift.views import View, bring_together
from driftline.drift.where import (
    CLIPPED,
    DARKER,
    LESS_COLOUR,
    LIGHTER,
    MORE_COLOUR,
    NAMES,
    Marks,
    marks,
    square_edge,
)
from driftline.errors import UsageError
from driftline.pipeline import Developable
from driftline.recipe import Recipe

PANEL = 640  # longer edge in pixels
_MARGIN, _LINE = 12, 22
_LARGEST = 5.0  # notice bands at which a mark fills its square
_CAMERA = "camera rendering"
_PLAIN = "plain (there is no camera rendering to go by)"


@dataclass(frozen=True)
class MarkedSquares:
    """The squares in which an edit would be noticed, and where they lie in it.

    Attributes
    ----------
    shape
        Rows and columns of squares.
    part
        Top, left, height and width that the squares cover, in shares of the edit.
    size
        Height and width of the edit in pixels.
    squares
        Row, column, kind (an index into :data:`~driftline.drift.where.NAMES`) and amount in notice bands of
        each square of 1 or more.
    against
        What it was laid against.
    """

    shape: tuple[int, int]
    part: tuple[float, float, float, float]
    size: tuple[int, int]
    squares: tuple[tuple[int, int, int, float], ...]
    against: str


def difference_map(frame: Developable, recipe: Recipe) -> NDArray[np.uint8]:
    """Draw where a recipe takes a frame away from its camera rendering.

    Returns
    -------
    NDArray
        (h, w, 3) uint8 sRGB: camera rendering, edit, and where they differ. Without a usable camera rendering
        the edit is laid against plain, and the caption says so.

    Raises
    ------
    FrameError
        The frame cannot be decoded.
    """
    known, edit = anchor(frame), edit_of(frame, recipe)
    if known.camera is None or known.registration.problem:
        return _drawn(View(known.plain), View(edit), _PLAIN)
    return _drawn(known.views[0], known.view_of(edit), _CAMERA)


def difference_marks(frame: Developable, recipe: Recipe) -> MarkedSquares:
    """The marks of :func:`difference_map` alone, for whoever draws them over the edit itself.

    Raises
    ------
    FrameError
        The frame cannot be decoded.
    """
    known, edit = anchor(frame), edit_of(frame, recipe)
    height, width = edit.shape[-2:]
    if known.camera is None or known.registration.problem:
        A, B, whole, against = View(known.plain), View(edit), (0.0, 0.0, 1.0, 1.0), _PLAIN
    else:
        A, B, against = known.views[0], known.view_of(edit), _CAMERA
        lies = known.layout.other_part
        whole = lies.top / height, lies.left / width, lies.height / height, lies.width / width
    found, (h, w) = marks(A, B), A.rgb.shape[-2:]
    edge, (rows, columns) = square_edge(h, w), found.kind.shape
    noticed = np.argwhere(found.ratio >= 1).tolist()
    return MarkedSquares(
        shape=(rows, columns),
        part=(whole[0], whole[1], whole[2] * rows * edge / h, whole[3] * columns * edge / w),
        size=(height, width),
        squares=tuple((r, c, int(found.kind[r, c]), round(float(found.ratio[r, c]), 2)) for r, c in noticed),
        against=against,
    )


def map_between(reference: Any, edited: Any) -> NDArray[np.uint8]:
    """Draw where two encoded sRGB pictures differ, as :func:`difference_map` does.

    Raises
    ------
    UsageError
        Not two pictures of one thing.
    """
    views = bring_together(reference, edited)
    if views.registration.problem:
        raise UsageError("map-unlike", views.registration.problem, hint="two pictures of one exposure")
    return _drawn(views.pictures[0], views.pictures[1], "reference")


def _drawn(A: View, B: View, called: str) -> NDArray[np.uint8]:
    from PIL import Image, ImageDraw, ImageFont  # noqa: PLC0415  loaded where something is drawn

    font = ImageFont.load_default(size=15)
    pictures = [_panel(Image, srgb_encode(np.clip(view.rgb, 0, 1))) for view in (A, B)]
    found = marks(A, B)
    pale = np.repeat(0.45 + 0.5 * np.clip(B.lab[:1], 0, 1), 3, axis=0)
    pictures.append(_marked(_panel(Image, pale), found, ImageDraw))
    width, height = pictures[0].size
    sheet = Image.new("RGB", (3 * width + 4 * _MARGIN, height + 3 * _MARGIN + 2 * _LINE), "white")
    draw = ImageDraw.Draw(sheet)
    captions = (called, "edit", f"where they differ ({_share(found):.0f} % of the squares would be noticed)")
    for i, (picture, caption) in enumerate(zip(pictures, captions, strict=True)):
        left = _MARGIN + i * (width + _MARGIN)
        sheet.paste(picture, (left, _MARGIN + _LINE))
        draw.text((left, _MARGIN), caption, fill="black", font=font)
    _legend(draw, font, 2 * _MARGIN + _LINE + height)
    return np.asarray(sheet)


def _share(found: Marks) -> float:
    return 100 * float((found.ratio >= 1).mean())


def _panel(image: Any, planes: NDArray[Any]) -> Any:
    pixels = np.rint(np.moveaxis(planes, 0, -1) * 255).astype(np.uint8)
    picture = image.fromarray(np.ascontiguousarray(pixels))
    factor = PANEL / max(picture.size)
    size = tuple(max(1, round(n * factor)) for n in picture.size)
    return picture.resize(size, image.Resampling.LANCZOS)


def _marked(panel: Any, found: Marks, image_draw: Any) -> Any:
    rows, columns = found.kind.shape
    edge = min(panel.size[0] / columns, panel.size[1] / rows)
    draw = image_draw.Draw(panel)
    for row, column in np.argwhere(found.ratio >= 1):
        size = edge * (0.2 + 0.6 * min(float(found.ratio[row, column]) / _LARGEST, 1.0))
        _mark(draw, int(found.kind[row, column]), (column + 0.5) * edge, (row + 0.5) * edge, size)
    return panel


def _legend(draw: Any, font: Any, top: float) -> None:
    left = float(_MARGIN)
    for kind, words in enumerate(NAMES):
        _mark(draw, kind, left + 8, top + 9, 15)
        draw.text((left + 22, top), words, fill="black", font=font)
        left += 22 + draw.textlength(words, font=font) + 2 * _MARGIN
    draw.text((left, top), "the larger, the more", fill="black", font=font)


def _mark(draw: Any, kind: int, x: float, y: float, size: float) -> None:
    """One mark about (x, y): black, with a white rim so that it shows on any tone."""
    r = size / 2
    if kind == CLIPPED:
        draw.rectangle((x - r, y - r, x + r, y + r), fill="black", outline="white")
    elif kind in (LIGHTER, DARKER):
        tip = -r if kind == LIGHTER else r
        draw.polygon([(x, y + tip), (x - r, y - tip), (x + r, y - tip)], fill="black", outline="white")
    else:
        for fill, width in (("white", max(4, round(size / 3))), ("black", max(2, round(size / 6)))):
            for line in _lines(kind, x, y, r):
                draw.line(line, fill=fill, width=width, joint="curve")


def _lines(kind: int, x: float, y: float, r: float) -> list[list[tuple[float, float]]]:
    bar = [(x - r, y), (x + r, y)]
    if kind == LESS_COLOUR:
        return [bar]
    if kind == MORE_COLOUR:
        return [bar, [(x, y - r), (x, y + r)]]
    steps = np.linspace(-1, 1, 13)
    return [[(float(x + r * s), float(y - 0.5 * r * np.sin(np.pi * s))) for s in steps]]
