"""Weights of neighbours by cokriging, for any repeating colour filter pattern.

The picture is modelled as a random field (G. Matheron, "The intrinsic random functions and their
applications", Advances in Applied Probability 5(3), 1973) that varies as fast as distance across a direction
and slowly along it. It has a part that all colours share and a part of each colour's own. The best linear
unbiased estimates follow from the photosites around (universal cokriging, with a level for each colour and a
common slope, so that constants and common ramps are exact).
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

Place = tuple[int, int]

DIRECTIONS = ((0, 1), (1, 1), (1, 0), (1, -1))
"""Steps (down, right) along which the picture may vary slowly."""

SLOWNESS = 0.1
"""Variation of the shared part along a direction, where across it is 1."""

OWN_PARTS = ((0.1, 1.0), (2.0, 0.2))
"""Variation of each colour's own part, across a direction, and along it as a share of that. Two models: a
picture nearly grey, where colours differ slowly every way, and one of bold colours that go their own ways."""

NOISE = 0.005
"""Variance of the noise at a photosite; small, so that photosites keep nearly what they measured."""

FOLLOWING_SLOWNESS = 0.2
"""Variation along a direction of how a colour follows green."""

FOLLOWING_NOISE = 0.001
"""Keeps the weights for following tame."""

FEWEST = 3
"""Photosites of each colour that an estimate of differences uses, at least."""

FEWEST_FOLLOWED = 6
"""Photosites of a colour between which it is interpolated, at least."""

GRID = 2.0**20
"""Weights are rounded to this fraction, so that they are the same on every machine."""


def offsets(radius: int) -> list[Place]:
    """The square of neighbours (down, right), row by row."""
    return [(y, x) for y in range(-radius, radius + 1) for x in range(-radius, radius + 1)]


def difference_radius(pattern: NDArray[Any]) -> int:
    """Radius of the square of photosites that :func:`difference_weights` are for, 2 at least."""
    return max(radius_that_holds(FEWEST, pattern, (0, 1, 2)), 2)


def following_radius(pattern: NDArray[Any]) -> int:
    """Radius of the square of photosites that :func:`following_weights` are for."""
    return radius_that_holds(FEWEST_FOLLOWED, pattern, (0, 2))


def radius_that_holds(fewest: int, pattern: NDArray[Any], colours: tuple[int, ...]) -> int:
    """Radius of the smallest square that holds so many photosites of each colour wherever it lies."""
    for radius in range(1, 99):
        seen = np.stack([np.roll(pattern, (-y, -x), (0, 1)) for y, x in offsets(radius)])
        if min(int((seen == colour).sum(axis=0).min()) for colour in colours) >= fewest:
            return radius
    raise ValueError(f"pattern {pattern.tolist()}; expected all three colours")


@lru_cache(maxsize=8)
def difference_weights(pattern: bytes, shape: Place) -> NDArray[np.float32]:
    """Weights for red less green and blue less green, at each place of the pattern.

    Parameters
    ----------
    pattern, shape
        The colour filter pattern as uint8 bytes, and its shape (p, q).

    Returns
    -------
    NDArray
        (2 models, 4 directions, 2 differences, p, q, taps) float32, multiples of 2^-20; the taps are
        ``offsets(difference_radius(pattern))``. Over each colour they sum to what they should exactly.
    """
    colours = np.frombuffer(pattern, np.uint8).reshape(shape)
    taps = np.array(offsets(difference_radius(colours)))
    table = np.zeros((len(OWN_PARTS), len(DIRECTIONS), 2, *shape, len(taps)), np.float32)
    for model, direction, y, x in np.ndindex(len(OWN_PARTS), len(DIRECTIONS), *shape):
        seen = _seen(colours, taps, y, x)
        red, green, blue = _estimates(taps, seen, DIRECTIONS[direction], OWN_PARTS[model])
        for at, (estimate, colour) in enumerate(((red, 0), (blue, 2))):
            sums = {colour: 1, 1: -1}
            table[model, direction, at, y, x] = _rounded(estimate - green, seen, sums)
    return table


@lru_cache(maxsize=8)
def following_weights(pattern: bytes, shape: Place) -> NDArray[np.float32]:
    """Weights that interpolate red, and blue, between their own photosites.

    Parameters
    ----------
    pattern, shape
        As for :func:`difference_weights`.

    Returns
    -------
    NDArray
        (4 directions, 2 colours, p, q, taps) float32, multiples of 2^-20; the taps are
        ``offsets(following_radius(pattern))``, those of other colours weigh nothing.
    """
    colours = np.frombuffer(pattern, np.uint8).reshape(shape)
    taps = np.array(offsets(following_radius(colours)))
    table = np.zeros((len(DIRECTIONS), 2, *shape, len(taps)), np.float32)
    for direction, at, y, x in np.ndindex(len(DIRECTIONS), 2, *shape):
        seen = _seen(colours, taps, y, x)
        estimate = np.zeros(len(taps))
        own = seen == 2 * at
        estimate[own] = _interpolation(taps[own], DIRECTIONS[direction])
        table[direction, at, y, x] = _rounded(estimate, seen, {2 * at: 1})
    return table


def _seen(colours: NDArray[np.uint8], taps: NDArray[Any], y: int, x: int) -> NDArray[np.uint8]:
    """Colours of the photosites around a place."""
    p, q = colours.shape
    return np.asarray(colours[(y + taps[:, 0]) % p, (x + taps[:, 1]) % q])


def _estimates(
    taps: NDArray[Any], seen: NDArray[np.uint8], step: Place, own_part: tuple[float, float]
) -> NDArray[np.float64]:
    """(3, taps) weights for each colour in the middle of the square."""

    def covariance(apart: NDArray[Any], same: NDArray[Any]) -> NDArray[np.float64]:
        own = own_part[0] * _distance(apart, step, own_part[1])
        return -_distance(apart, step, SLOWNESS) - np.where(same, own, 0)

    between = covariance(taps[:, None] - taps[None], seen[:, None] == seen[None]) + NOISE * np.eye(len(taps))
    drift = np.column_stack([seen == 0, seen == 1, seen == 2, taps]).astype(float)
    system = np.block([[between, drift], [drift.T, np.zeros((5, 5))]])
    wanted = [[*covariance(taps, seen == c), c == 0, c == 1, c == 2, 0, 0] for c in range(3)]
    solved = np.linalg.solve(system, np.array(wanted, dtype=float).T)
    return np.asarray(solved[: len(taps)].T)


def _interpolation(places: NDArray[Any], step: Place) -> NDArray[np.float64]:
    """(sites,) weights of one colour's photosites."""
    n = len(places)
    between = FOLLOWING_NOISE * np.eye(n) - _distance(
        places[:, None] - places[None], step, FOLLOWING_SLOWNESS
    )
    drift = np.column_stack([np.ones(n), places])
    system = np.block([[between, drift], [drift.T, np.zeros((3, 3))]])
    wanted = np.concatenate([-_distance(places, step, FOLLOWING_SLOWNESS), [1, 0, 0]])
    # Of photosites in one line the slope across it cannot be told: the least weights that will do.
    return np.asarray(np.linalg.lstsq(system, wanted, rcond=1e-10)[0][:n])


def _distance(apart: NDArray[Any], step: Place, slowness: float) -> NDArray[np.float64]:
    """Distance in which steps along a direction count for less."""
    length = np.hypot(*step)
    along = (apart[..., 0] * step[0] + apart[..., 1] * step[1]) / length
    across = (apart[..., 0] * step[1] - apart[..., 1] * step[0]) / length
    return np.asarray(np.hypot(slowness * along, across))


def _rounded(
    estimate: NDArray[np.float64], seen: NDArray[np.uint8], sums: dict[int, int]
) -> NDArray[np.float32]:
    """Multiples of 2^-20 whose sum over each colour is exact, by correction of its largest weight."""
    row = np.round(estimate * GRID)
    for colour in range(3):
        sites = np.flatnonzero(seen == colour)
        largest = sites[np.argmax(np.abs(row[sites]))]
        row[largest] += sums.get(colour, 0) * GRID - row[sites].sum()
    return np.asarray(row / GRID, dtype=np.float32)
