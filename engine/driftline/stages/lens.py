"""What a camera takes out of its lens: radial distortion and falloff towards the corners (step 4).

The picture is sampled where the sensor saw each place, and brightened where the lens darkened it. Lengths are
in half diagonals from the middle, so that nothing depends on the size of the picture.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

GAIN_STEPS = 1024
"""Steps of r² up to 1 at which the gain is worked out; between them it runs straight."""
_RADII = np.linspace(0.0, 1.0, 513)

Terms = tuple[float, ...]


class Bend(NamedTuple):
    """Numbers of one lens: what a compiled kernel needs, worked out in float64 and rounded.

    Attributes
    ----------
    radial
        Factors of 1, r², r⁴ and r⁶: a place at r is sampled at r times their sum.
    gain
        (GAIN_STEPS + 2,) float32 by r² where it was sampled.
    """

    radial: tuple[float, float, float, float]
    gain: NDArray[np.float32]


def bend_of(distortion: Terms, falloff_ev: Terms) -> Bend:
    """The numbers of a lens; a distortion that would show what lies outside is drawn in to its corner."""
    k = [*distortion, 0.0, 0.0, 0.0][:3]
    reach = _RADII * (1 + k[0] * _RADII**2 + k[1] * _RADII**4 + k[2] * _RADII**6)
    drawn_in = max(1.0, float(reach.max()))
    radial = (1 / drawn_in, k[0] / drawn_in, k[1] / drawn_in, k[2] / drawn_in)
    r2 = np.arange(GAIN_STEPS + 2) / GAIN_STEPS
    ev = sum(term * r2 ** (n + 1) for n, term in enumerate(falloff_ev)) + 0.0 * r2
    r0, r1, r2_, r3 = (round(float(term), 9) for term in radial)
    return Bend((r0, r1, r2_, r3), np.round(np.exp2(ev), 6).astype(np.float32))


def lens(rgb: NDArray[np.float32], *, distortion: Terms = (), falloff_ev: Terms = ()) -> NDArray[np.float32]:
    """Undo the distortion and the falloff of a lens.

    Parameters
    ----------
    rgb
        (H, W, 3) linear light; values above 1 and below 0 are kept.
    distortion
        k1, k2, k3: the sensor saw at r (1 + k1 r² + k2 r⁴ + k3 r⁶) what belongs at r, r = 1 at the corner.
        Below 0 is a barrel, as of a wide lens; typically -0.02 … 0.02.
    falloff_ev
        EV by which r², r⁴, r⁶ … of the place where it was seen brighten; typically 0.2 … 1 in all.

    Returns
    -------
    NDArray
        (H, W, 3) float32. Sampled by a cubic through four places each way (Catmull and Rom 1974), held within
        the four nearest, so that no lamp has a dark rim. Nothing to undo: the very same values.

    Examples
    --------
    >>> out = lens(np.ones((9, 9, 3), np.float32), falloff_ev=(1.0,))
    >>> out[[0, 4], [0, 4], 0].astype(float).round(2).tolist()
    [1.73, 1.0]
    """
    if not any((*distortion, *falloff_ev)):
        return rgb
    bend = bend_of(distortion, falloff_ev)
    height, width = rgb.shape[:2]
    y, x, r2 = _places(height, width, bend.radial)
    rows, columns = (y + (height - 1) / 2, x + (width - 1) / 2)
    at = np.clip(r2 * GAIN_STEPS, 0, GAIN_STEPS)
    step = np.floor(at).astype(np.intp)
    gain = bend.gain[step] + (bend.gain[step + 1] - bend.gain[step]) * (at - step)
    picture = _cubic(rgb, rows, columns) if any(distortion) else rgb
    return np.asarray(picture * gain[..., None], np.float32)


def _places(height: int, width: int, radial: tuple[float, ...]) -> tuple[NDArray[np.float64], ...]:
    """Row and column from the middle where each place was seen, and r² there."""
    y = np.arange(height)[:, None] - (height - 1) / 2
    x = np.arange(width)[None, :] - (width - 1) / 2
    corner = (height * height + width * width) / 4
    r2 = (y * y + x * x) / corner
    factor = radial[0] + r2 * (radial[1] + r2 * (radial[2] + r2 * radial[3]))
    return y * factor, x * factor, r2 * factor * factor


def _cubic(
    rgb: NDArray[np.float32], rows: NDArray[np.float64], columns: NDArray[np.float64]
) -> NDArray[np.float64]:
    height, width = rgb.shape[:2]
    top, left = np.floor(rows), np.floor(columns)
    down, right = (_weights(rows - top), _weights(columns - left))
    places = [np.clip(top.astype(np.intp) + n, 0, height - 1) for n in (-1, 0, 1, 2)]
    across = [np.clip(left.astype(np.intp) + n, 0, width - 1) for n in (-1, 0, 1, 2)]
    total = np.zeros((*rows.shape, 3))
    for row, weight in zip(places, down, strict=True):
        line = sum(w[..., None] * rgb[row, column] for w, column in zip(right, across, strict=True))
        total = total + weight[..., None] * line
    near = np.stack([rgb[row, column] for row in places[1:3] for column in across[1:3]])
    return np.asarray(np.clip(total, near.min(axis=0), near.max(axis=0)))


def _weights(t: NDArray[np.float64]) -> tuple[NDArray[np.float64], ...]:
    """Catmull-Rom weights of the four places about a fraction."""
    return (
        t * (t * (1.0 - 0.5 * t) - 0.5),
        t * t * (1.5 * t - 2.5) + 1.0,
        t * (t * (2.0 - 1.5 * t) + 0.5),
        t * t * (0.5 * t - 0.5),
    )
