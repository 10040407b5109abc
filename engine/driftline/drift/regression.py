"""The robust regression behind white, chroma, hue and split tint: a line, beside it a tint by lightness."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.drift.passes import MEAN_A, MEAN_B, PRODUCT, SQUARE, WEIGHT, line_sums, misses
from driftline.drift.planes import dot

_ROUNDS, _SETTLED, _SCALE_EVERY = 12, 1e-6, 5
_ROUNDING = 0.02  # Oklab; about five steps of 8 bits
_STEPS = 8
_TINT_FLOOR = 0.0025  # z, root mean square; half of the noise floor of split tint
_VARIED = 0.01  # standard deviation of z within steps below which a tint is not told from chroma


@dataclass(frozen=True)
class Steps:
    """Places in the order of their lightness, in steps of about as many places.

    Attributes
    ----------
    lightness
        (n,) ascending.
    starts, counts
        Where each step begins, and how many places it has.
    """

    lightness: NDArray[Any]
    starts: NDArray[np.intp]
    counts: NDArray[np.intp]

    @property
    def levels(self) -> NDArray[Any]:
        """The mean lightness of each step."""
        return np.asarray(np.add.reduceat(self.lightness, self.starts) / self.counts)


def steps_of(lightness: NDArray[Any], count: int = _STEPS) -> Steps:
    """Steps of ascending lightness."""
    starts = np.unique(np.linspace(0, len(lightness), count, endpoint=False).astype(np.intp))
    return Steps(lightness, starts, np.diff(np.append(starts, len(lightness))))


@dataclass(frozen=True)
class Line:
    """z_B = t + tint + c z_A, with a tint for each step of lightness that is 0 on the whole."""

    t: complex
    c: complex
    tint: NDArray[Any]

    @property
    def of_steps(self) -> tuple[complex, NDArray[np.complex128]]:
        """Its slope, and what it adds in each step."""
        return self.c, self.t + self.tint


def robust_line(
    z_A: NDArray[Any], z_B: NDArray[Any], steps: Steps, start: complex = 1 + 0j, *, turning: bool = True
) -> Line:
    """Fit a line and a tint by lightness by iteratively reweighted least squares (Huber 1964, k = 1.345).

    A tint is free in each step, so that c is fitted within the steps: where the colours of a picture go with
    their lightness, as warm lamps in a cold night do, a split tone is taken for neither chroma nor white.
    What differs between the steps tells of c too, and counts as far as no tint is seen (the random effects
    model, with a weight that falls from 1 to 0 about the noise floor of split tint).

    Rounding and noise of z grow as 1 / L, so misses are taken times L. A miss of less than ``_ROUNDING``
    is no outlier: where most of a picture is weak colour, rounded to the value it had, it must not
    outvote the colours that moved.

    Parameters
    ----------
    z_A, z_B
        (n,) in the order of the steps.
    steps
        Of lightness.
    start
        A first c.
    turning
        False: c stays 1, for pictures so nearly grey that no change of chroma or hue can be read. Then there
        is nothing that a tint could be taken for, and it is returned whole.
    """
    places = z_A, z_B, steps.lightness, steps.starts
    least, limit = _ROUNDING if turning else 1e-9, np.inf
    line = Line(0j, complex(start) if turning else 1 + 0j, np.zeros(len(steps.starts), complex))
    for _ in range(_ROUNDS):
        sums, last = _Sums.of(line_sums(*places, *line.of_steps, limit)), line.c
        line = sums.line() if turning else sums.offset()
        if turning and abs(line.c - last) < _SETTLED:
            break
        miss = float(np.median(misses(*places, *line.of_steps, _SCALE_EVERY)))
        limit = max(1.345 * 1.4826 * miss, least)
    return line if turning else sums.line_with(line.c, 0.0)


@dataclass(frozen=True)
class _Sums:
    """Means of each step, and sums of products within the steps and between them."""

    weights: NDArray[Any]
    means: tuple[NDArray[Any], NDArray[Any]]
    within: tuple[complex, float]
    between: tuple[complex, float]

    @classmethod
    def of(cls, sums: NDArray[np.complex128]) -> _Sums:
        """From what :func:`~driftline.drift.passes.line_sums` finds."""
        weights = sums[:, WEIGHT].real
        mean_A, mean_B = sums[:, MEAN_A] / weights, sums[:, MEAN_B] / weights
        m_A, m_B = (mean - _average(mean, weights) for mean in (mean_A, mean_B))
        whole, means = complex(sums[:, PRODUCT].sum()), _products(weights, mean_A, mean_B)
        within = whole - means[0], float(sums[:, SQUARE].real.sum()) - means[1]
        return cls(weights, (mean_A, mean_B), within, _products(weights, m_A, m_B))

    def line(self) -> Line:
        """The fit, once it is known how much of a tint there is."""
        varied = (self.within[1] / self.weights.sum()) ** 0.5 / _VARIED
        seen = self._tinted(self.within[0] / self.within[1]) if varied > 0 else 0.0
        pooled = 1 / (1 + min(seen, varied) ** 4)
        there, square = (a + pooled * b for a, b in zip(self.within, self.between, strict=True))
        return self.line_with(there / square, pooled)

    def offset(self) -> Line:
        """The same, c being 1."""
        return self.line_with(1 + 0j, 1 / (1 + self._tinted(1 + 0j) ** 4))

    def _tinted(self, c: complex) -> float:
        """Size of the tint over its noise floor."""
        sizes = np.abs(self.line_with(c, 0.0).tint) ** 2
        return float(np.sqrt(_average(sizes, self.weights))) / _TINT_FLOOR

    def line_with(self, c: complex, pooled: float) -> Line:
        """The line of a given c, with as much of a tint as is not pooled."""
        off = self.means[1] - c * self.means[0]
        t = complex(_average(off, self.weights))
        return Line(t, c, (1 - pooled) * (off - t))


def _average(values: NDArray[Any], weights: NDArray[Any]) -> Any:
    return (values * weights).sum() / weights.sum()


def _products(w: NDArray[Any], a: NDArray[Any], b: NDArray[Any]) -> tuple[complex, float]:
    return complex(dot(w * a.conj(), b)), float(dot(w, a.real**2 + a.imag**2))
