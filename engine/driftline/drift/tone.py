"""Exposure and contrast: how one picture's luminance is spread against the other's."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

MIDDLE_GREY = 0.18
_SHARES = np.linspace(0.02, 0.98, 49)


def quantiles(ordered: NDArray[Any], shares: NDArray[Any]) -> NDArray[np.float64]:
    """Quantiles of (n,) ascending values, linear between order statistics.

    Examples
    --------
    >>> quantiles(np.array([1.0, 2.0, 4.0]), np.array([0.0, 0.25, 1.0])).tolist()
    [1.0, 1.5, 4.0]
    """
    below, part = np.divmod(shares * (len(ordered) - 1), 1)
    first = np.minimum(below.astype(np.intp), len(ordered) - 1)
    low, high = (ordered[np.minimum(first + n, len(ordered) - 1)].astype(np.float64) for n in (0, 1))
    return np.asarray(low + part * (high - low))


@dataclass(frozen=True)
class Tone:
    """Exposure in EV at middle grey, contrast as log2 of the slope in log luminance."""

    exposure: float
    contrast: float


def stops(Y: NDArray[Any]) -> NDArray[Any]:
    """Luminance in stops about middle grey."""
    return np.asarray(np.log2(np.maximum(Y, 1e-6) / MIDDLE_GREY))


def fit_tone(ordered_A: NDArray[Any], ordered_B: NDArray[Any]) -> Tone:
    """Exposure and contrast of B against A, each free of the other.

    The quantiles of one picture are laid against those of the other (2 … 98 %), so that noise and a pixel
    of misregistration do not flatten the slope as they would in a regression pixel by pixel. With B = o +
    s A in stops, contrast is log2 s, and exposure is the offset at middle grey, 2 o / (1 + s): the mean of
    the offset where A is at middle grey and where B is, so that d(A, B) = -d(B, A).

    Parameters
    ----------
    ordered_A, ordered_B
        (n,) luminance of the same places in both pictures, ascending.
    """
    q_A, q_B = (stops(quantiles(ordered, _SHARES)) for ordered in (ordered_A, ordered_B))
    s = float(q_B.std() / q_A.std())
    o = float(q_B.mean() - s * q_A.mean())
    return Tone(exposure=2 * o / (1 + s), contrast=float(np.log2(s)))


def mean_tone(there: Tone, back: Tone) -> Tone:
    """One tone from B against A and A against B."""
    return Tone((there.exposure - back.exposure) / 2, (there.contrast - back.contrast) / 2)
