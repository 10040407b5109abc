"""Pictures as three planes, (3, ...): the layout that measuring is fast in, and colour arithmetic on it.

The same numbers as :mod:`driftline.colorimetry`, written as sums over planes: a matrix product of that shape
would go through a threaded library, which on a busy machine waits longer for its threads than it computes.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.colorimetry.oklab import LAB_TO_LMS, LMS_TO_LAB, LMS_TO_SRGB, SRGB_TO_LMS
from driftline.colorimetry.primaries import SRGB_LUMINANCE
from driftline.drift.passes import mix

Planes = NDArray[Any]


def mixed(planes: Planes, matrix: NDArray[Any]) -> Planes:
    """A 3 × 3 matrix applied to every place, in the dtype of the planes."""
    out = np.empty(planes.shape, planes.dtype)
    flat = np.ascontiguousarray(planes).reshape(3, -1)
    mix(flat, matrix.astype(planes.dtype), out.reshape(3, -1))
    return out


def weighed(planes: Planes, weights: NDArray[Any]) -> NDArray[Any]:
    """One weighted sum of the three planes."""
    a, b, c = (planes.dtype.type(w) for w in weights)
    total = planes[0] * a
    total += planes[1] * b
    total += planes[2] * c
    return np.asarray(total)


def luminance(rgb: Planes) -> NDArray[Any]:
    """Relative luminance of linear sRGB."""
    return weighed(rgb, SRGB_LUMINANCE)


def to_oklab(rgb: Planes) -> Planes:
    """Oklab of linear sRGB."""
    return mixed(np.cbrt(mixed(rgb, SRGB_TO_LMS)), LMS_TO_LAB)


def halved(planes: Planes) -> Planes:
    """(..., h // 2, w // 2): the mean of two by two places."""
    h, w = (n // 2 * 2 for n in planes.shape[-2:])
    rows = planes[..., 0:h:2, :w] + planes[..., 1:h:2, :w]
    return np.asarray((rows[..., 0::2] + rows[..., 1::2]) * planes.dtype.type(0.25))


def from_oklab(lab: Planes) -> Planes:
    """Linear sRGB of Oklab."""
    lms = mixed(lab, LAB_TO_LMS)
    return mixed(lms * lms * lms, LMS_TO_SRGB)


def relative_colour(lab: Planes) -> NDArray[np.complex128]:
    """z = (a + ib) / L: colour that scaling R, G and B alike leaves alone."""
    z = np.empty(lab.shape[1:], np.complex128)
    L = np.maximum(lab[0], 1e-4)
    z.real, z.imag = lab[1] / L, lab[2] / L
    return z


def dot(a: NDArray[Any], b: NDArray[Any]) -> Any:
    """Sum of the products of two vectors."""
    return np.einsum("i,i->", a, b)
