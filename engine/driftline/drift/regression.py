"""The robust regression behind white, chroma, hue and split tint: a line, beside it a tint by lightness."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

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

    def means(self, weight: NDArray[Any], *values: NDArray[Any]) -> list[NDArray[Any]]:
        """The weighted mean of each step."""
        total = np.add.reduceat(weight, self.starts)
        return [np.add.reduceat(weight * value, self.starts) / total for value in values]

    @property
    def levels(self) -> NDArray[Any]:
        """The mean lightness of each step."""
        return np.asarray(np.add.reduceat(self.lightness, self.starts) / self.counts)

    def spread(self, of_steps: NDArray[Any]) -> NDArray[Any]:
        """A number of each step, at every place."""
        return np.repeat(of_steps, self.counts)


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
        False: c stays 1, for pictures so nearly grey that no change of chroma or hue can be read.
    """
    base = steps.lightness**2
    w, c, least = base, start if turning else 1 + 0j, _ROUNDING if turning else 1e-9
    for _ in range(_ROUNDS):
        sums, last = _Sums.of(steps, w, z_A, z_B), c
        line = sums.line() if turning else sums.offset()
        c = line.c
        if turning and abs(c - last) < _SETTLED:
            break
        miss = np.abs(z_B - c * z_A - steps.spread(line.t + line.tint)) * steps.lightness
        limit = max(1.345 * 1.4826 * float(np.median(miss[::_SCALE_EVERY])), least)
        w = base * np.minimum(1.0, limit / np.maximum(miss, 1e-12))
    return line


@dataclass(frozen=True)
class _Sums:
    """Means of each step, and sums of products within the steps and between them."""

    weights: NDArray[Any]
    means: tuple[NDArray[Any], NDArray[Any]]
    within: tuple[complex, float]
    between: tuple[complex, float]

    @classmethod
    def of(cls, steps: Steps, w: NDArray[Any], z_A: NDArray[Any], z_B: NDArray[Any]) -> _Sums:
        """With a weight for every place."""
        weights = np.add.reduceat(w, steps.starts)
        mean_A, mean_B = steps.means(w, z_A, z_B)
        d_A, d_B = z_A - steps.spread(mean_A), z_B - steps.spread(mean_B)
        m_A, m_B = (mean - np.average(mean, weights=weights) for mean in (mean_A, mean_B))
        return cls(weights, (mean_A, mean_B), _products(w, d_A, d_B), _products(weights, m_A, m_B))

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
        return float(np.sqrt(np.average(sizes, weights=self.weights))) / _TINT_FLOOR

    def line_with(self, c: complex, pooled: float) -> Line:
        """The line of a given c, with as much of a tint as is not pooled."""
        off = self.means[1] - c * self.means[0]
        t = complex(np.average(off, weights=self.weights))
        return Line(t, c, (1 - pooled) * (off - t))


def _products(w: NDArray[Any], a: NDArray[Any], b: NDArray[Any]) -> tuple[complex, float]:
    return complex(dot(w * a.conj(), b)), float(dot(w, a.real**2 + a.imag**2))
