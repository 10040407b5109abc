"""A contact sheet: many small pictures with captions on one neutral ground."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from math import ceil, sqrt
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from driftline.errors import UsageError
from driftline.prints.atomic import write_file
from driftline.prints.icc import icc_profile

GROUND: Final = (64, 64, 64)
"""Neutral and dark, so that it neither tints nor dazzles."""

CELL_LIMIT: Final = 2000
_INK, _FAINT = (222, 222, 222), (150, 150, 150)
_SHAPE = 1.5  # of the whole sheet, width to height
_FORMATS = {".jpg": "JPEG", ".jpeg": "JPEG", ".png": "PNG"}


@dataclass(frozen=True)
class Cell:
    """One picture, (h, w, 3) uint8 sRGB, with lines of caption; without a picture these say why."""

    picture: NDArray[np.uint8] | None
    caption: tuple[str, ...]


def contact_sheet(
    cells: Sequence[Cell], *, edge: int = 360, columns: int | None = None, title: str = ""
) -> NDArray[np.uint8]:
    """Lay pictures out on one sheet, row by row.

    Parameters
    ----------
    cells
        1 … 2000, in the order they are read.
    edge
        Longer side of each picture in pixels; larger ones are reduced, smaller ones left.
    columns
        None: as many as make the sheet about half as wide again as high.
    title
        A line above all.

    Returns
    -------
    NDArray
        (H, W, 3) uint8 sRGB.

    Raises
    ------
    UsageError
        ``sheet-empty``, ``sheet-too-large``.
    """
    if not 1 <= len(cells) <= CELL_LIMIT:
        code = "sheet-too-large" if cells else "sheet-empty"
        raise UsageError(
            code, f"{len(cells)} pictures on one sheet; allowed 1 to {CELL_LIMIT}", hint="a part of them"
        )
    size = max(11, edge // 26)
    font, line, gap = ImageFont.load_default(size), round(size * 1.35), max(8, edge // 20)
    text_height = line * max(len(cell.caption) for cell in cells)
    width, height = edge + gap, edge + text_height + 2 * gap
    across = columns or _columns(len(cells), width, height)
    top = gap + (2 * line if title else 0)
    sheet = Image.new("RGB", (across * width + gap, ceil(len(cells) / across) * height + top), GROUND)
    pen = ImageDraw.Draw(sheet)
    pen.text((gap, gap), title, fill=_INK, font=font)
    for number, cell in enumerate(cells):
        row, column = divmod(number, across)
        _draw(sheet, pen, cell, (gap + column * width, top + row * height), edge, font, line)
    return np.asarray(sheet)


def write_sheet(path: Path, sheet: NDArray[np.uint8]) -> None:
    """Write a contact sheet as JPEG or PNG, by its suffix; whole, and never over something else.

    Raises
    ------
    UsageError
        ``unknown-suffix``.
    PrintError
        ``print-exists`` and the others of writing.
    """
    form = _FORMATS.get(path.suffix.lower())
    if form is None:
        raise UsageError("unknown-suffix", f"{path}: known are {', '.join(_FORMATS)}", hint="sheet.jpg")
    content = BytesIO()
    Image.fromarray(sheet).save(content, form, quality=90, icc_profile=icc_profile("srgb"))
    write_file(path, content.getvalue())


def _columns(count: int, width: int, height: int) -> int:
    return min(count, max(1, round(sqrt(_SHAPE * count * height / width))))


def _draw(
    sheet: Image.Image,
    pen: ImageDraw.ImageDraw,
    cell: Cell,
    place: tuple[int, int],
    edge: int,
    font: Any,
    line: int,
) -> None:
    """A picture at the foot of its square, so that captions of one row stand on one line."""
    left, top = place
    if cell.picture is None:
        pen.rectangle((left, top, left + edge - 1, top + edge - 1), outline=_FAINT)
    else:
        small = Image.fromarray(cell.picture)
        small.thumbnail((edge, edge), Image.Resampling.BOX, reducing_gap=None)
        sheet.paste(small, (left, top + edge - small.height))
    for number, words in enumerate(cell.caption):
        fitting = _fitting(words, font, edge)
        ink = _FAINT if number else _INK
        pen.text((left, top + edge + line * number + line // 4), fitting, fill=ink, font=font)


def _fitting(words: str, font: Any, width: int) -> str:
    """The words, cut with three dots where they would run into the next caption."""
    if font.getlength(words) <= width:
        return words
    while words and font.getlength(words + "...") > width:
        words = words[:-1]
    return words.rstrip() + "..."
