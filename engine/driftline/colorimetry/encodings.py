"""The sRGB encoding (IEC 61966-2-1), which Display P3 shares."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray


def srgb_encode(linear: NDArray[Any]) -> NDArray[Any]:
    """Encode linear light as sRGB code values.

    Parameters
    ----------
    linear
        Any shape, linear light, 0 … 1 nominal; negatives are encoded by odd symmetry.

    Returns
    -------
    NDArray
        Same shape and dtype, 0 … 1 nominal.

    Notes
    -----
    IEC 61966-2-1: ``12.92 L`` up to 0.0031308, else ``1.055 L^(1/2.4) - 0.055``.

    Examples
    --------
    >>> round(float(srgb_encode(np.array(0.18))), 7)
    0.4613561
    """
    size = np.abs(linear)
    low = size * 12.92
    high = 1 + 1.055 * (np.power(np.maximum(size, 0.0031308), 1 / 2.4) - 1)  # exactly 1 at 1
    return np.asarray(
        np.copysign(np.where(size <= 0.0031308, low, high), linear), dtype=floating_dtype(linear)
    )


def srgb_decode(encoded: NDArray[Any]) -> NDArray[Any]:
    """Decode sRGB code values to linear light; the inverse of :func:`srgb_encode`.

    Parameters
    ----------
    encoded
        Any shape, 0 … 1 nominal; negatives by odd symmetry.

    Returns
    -------
    NDArray
        Same shape and dtype, linear light.

    Examples
    --------
    >>> round(float(srgb_decode(np.array(118 / 255))), 6)
    0.181164
    """
    size = np.abs(encoded)
    low = size / 12.92
    high = np.power((np.maximum(size, 0.04045) + 0.055) / 1.055, 2.4)
    return np.asarray(
        np.copysign(np.where(size <= 0.04045, low, high), encoded), dtype=floating_dtype(encoded)
    )


def floating_dtype(values: Any) -> Any:
    """The dtype to answer in: that of the values if it is a floating one, else float64.

    Examples
    --------
    >>> floating_dtype(np.zeros(3, np.float32)), floating_dtype([0, 1])
    (dtype('float32'), dtype('float64'))
    """
    dtype = np.asarray(values).dtype
    return dtype if np.issubdtype(dtype, np.floating) else np.dtype(np.float64)
