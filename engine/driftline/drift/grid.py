"""The common grid: where to sample two pictures, and sampling them by area in linear light.

A place on the grid maps to a place in a picture by scale and shift along each axis, and by a slight radial
distortion. Positions count from the picture's upper left corner, in pixels, pixel i covering i … i + 1.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from driftline.colorimetry.encodings import srgb_decode
from driftline.drift.passes import bilinear
from driftline.errors import UsageError
from driftline.pipeline.compiled import decode
from driftline.pipeline.kernels.tiles import run_tiles

_ROWS_AT_A_TIME = 256

Light = NDArray[np.float32]
"""(3, h, w) linear sRGB."""


@dataclass(frozen=True)
class Window:
    """Which part of a picture the grid covers: top, left, height, width in pixels, fractions allowed."""

    top: float
    left: float
    height: float
    width: float

    def times(self, rows: float, columns: float) -> Window:
        """A window in shares of a picture, as one in pixels."""
        return Window(self.top * rows, self.left * columns, self.height * rows, self.width * columns)

    def within(self, share: Window) -> Window:
        """The part of this window that ``share`` names."""
        return Window(
            self.top + share.top * self.height,
            self.left + share.left * self.width,
            self.height * share.height,
            self.width * share.width,
        )


def linear_light(picture: Any, *, name: str, keep: int) -> NDArray[np.float32]:
    """A picture in linear light, averaged over whole blocks of pixels.

    Parameters
    ----------
    picture
        (h, w, 3) encoded sRGB: float 0 … 1, uint8 or uint16.
    name
        What to call it in an error.
    keep
        How many blocks must be left; a smaller picture is taken pixel by pixel.

    Returns
    -------
    NDArray
        (3, h // n, w // n) float32 linear sRGB, n the block size.

    Raises
    ------
    UsageError
        Not a picture of three channels, or not finite.
    """
    return _blocks(_checked(picture, name), _decode, name, keep)


def light_planes(light: NDArray[np.float32], *, keep: int) -> Light:
    """As :func:`linear_light`, of a picture (h, w, 3) that is in linear light already."""
    return _blocks(light, np.asarray, "picture", keep)


def _blocks(picture: NDArray[Any], to_light: Callable[[Any], Any], name: str, keep: int) -> Light:
    n = block_size(picture.shape, keep)
    if n == 1 and to_light is np.asarray:
        return _finite(np.ascontiguousarray(picture.transpose(2, 0, 1)), name)
    rows, columns = picture.shape[0] // n, picture.shape[1] // n
    result = np.empty((3, rows, columns), np.float32)
    step = max(1, _ROWS_AT_A_TIME // n)
    for start in range(0, rows, step):
        stop = min(start + step, rows)
        part = to_light(picture[start * n : stop * n, : columns * n])
        if n > 1:
            part = part.reshape(stop - start, n, columns, n, 3).mean(axis=(1, 3), dtype=np.float32)
        result[:, start:stop] = part.transpose(2, 0, 1)
    return _finite(result, name)


def _finite(planes: Light, name: str) -> Light:
    if not np.isfinite(planes.sum()):
        raise UsageError(
            "picture-not-finite", f"{name}: holds values that are not finite", hint="values 0 … 1"
        )
    return planes


def block_size(shape: tuple[int, ...], keep: int) -> int:
    """Edge of the largest whole block that leaves at least ``keep`` blocks in the picture."""
    return max(1, int(np.sqrt(shape[0] * shape[1] / keep)))


def _checked(picture: Any, name: str) -> NDArray[Any]:
    array = np.asarray(picture)
    good_kind = np.issubdtype(array.dtype, np.floating) or array.dtype in (np.uint8, np.uint16)
    if array.ndim != 3 or array.shape[2] != 3 or min(array.shape[:2]) < 16 or not good_kind:
        raise UsageError(
            "picture-unexpected",
            f"{name}: {array.dtype} array of shape {array.shape}; expected (rows, columns, 3), "
            "at least 16 × 16, encoded sRGB as float 0 … 1, uint8 or uint16",
            hint="one upright picture with three channels",
        )
    return array


def _decode(encoded: NDArray[Any]) -> NDArray[np.float32]:
    if encoded.dtype == np.uint8:
        return np.asarray(srgb_decode(np.arange(256) / 255).astype(np.float32)[encoded])
    if encoded.dtype == np.uint16:
        return np.asarray(srgb_decode(np.arange(65536) / 65535).astype(np.float32)[encoded])
    if not np.isfinite(encoded.sum()):
        return encoded  # whoever takes it finds that it is not finite
    return decode(encoded.astype(np.float32, copy=False))


def by_area(picture: NDArray[np.float32], window: Window, shape: tuple[int, int]) -> NDArray[np.float32]:
    """Average a part of a picture over the cells of a grid.

    Parameters
    ----------
    picture
        (..., h, w) float32.
    window
        The part, in pixels, inside the picture.
    shape
        Rows and columns of the grid.

    Returns
    -------
    NDArray
        (..., rows, columns) float32; each cell is the mean of the picture over its exact area.
    """
    h, w = picture.shape[-2:]
    if window == Window(0.0, 0.0, float(h), float(w)) and shape == (h, w):
        return picture
    rows = _cells(window.top, window.height, shape[0], h)
    columns = _cells(window.left, window.width, shape[1], w)
    planes = [(columns @ (rows @ plane).T).T for plane in picture.reshape(-1, h, w)]
    return np.ascontiguousarray(planes, dtype=np.float32).reshape(*picture.shape[:-2], *shape)


def _cells(start: float, length: float, cells: int, pixels: int) -> Any:
    """Weights (cells, pixels) of the mean over equal cells of an axis."""
    edges = np.clip(start + length * np.arange(cells + 1) / cells, 0, pixels)
    first = np.minimum(np.floor(edges[:-1]).astype(int), pixels - 1)
    last = np.minimum(np.ceil(edges[1:]).astype(int), pixels)
    span = int((last - first).max())
    pixel = first[:, None] + np.arange(span)
    cover = np.minimum(pixel + 1, edges[1:, None]) - np.maximum(pixel, edges[:-1, None])
    cover = np.where(pixel < pixels, np.maximum(cover, 0), 0)
    cover /= cover.sum(axis=1, keepdims=True)
    row = np.repeat(np.arange(cells), span)
    return sparse.csr_matrix(
        (cover.ravel().astype(np.float32), (row, np.minimum(pixel, pixels - 1).ravel())),
        shape=(cells, pixels),
    )


def undistort(picture: NDArray[np.float32], k1: float) -> NDArray[np.float32]:
    """Sample a picture (c, h, w) at p (1 + k1 r²), p from its middle, r 1 at the corner; bilinear.

    A negative ``k1`` undoes the positive one, to third order.
    """
    if k1 == 0:
        return picture
    planes = np.ascontiguousarray(picture)
    out = np.empty(picture.shape, np.float32)

    def rows(top: int, bottom: int, left: int, right: int) -> None:
        del left, right
        bilinear(planes, (1.0, 1.0), (0.0, 0.0), float(k1), 0.0 if k1 > 0 else 3.0, np.inf, top, bottom, out)

    run_tiles(rows, *picture.shape[1:], tile_columns=picture.shape[2])
    return out
