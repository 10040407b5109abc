"""What none of the other causes explains, as the mean CIEDE2000 that is left."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.colorimetry.difference import XYZ_to_lab, ciede2000
from driftline.colorimetry.primaries import D65_XY, SRGB_TO_XYZ, xy_to_XYZ
from driftline.drift.planes import luminance, mixed
from driftline.drift.tone import quantiles

_CURVE = np.linspace(0.0, 1.0, 65)
_WHITE = xy_to_XYZ(D65_XY)


def fit_residual(A_as_B: NDArray[Any], B: NDArray[Any], B_as_A: NDArray[Any], A: NDArray[Any]) -> float:
    """Mean ΔE00 (k_L = 2) left with colour and tone of one picture laid over the other; both ways, averaged.

    Parameters
    ----------
    A_as_B, B, B_as_A, A
        (3, n) linear sRGB of the same places: A with the colour of B, and B itself; and the other way round.
    """
    return (_left(_toned(A_as_B, B), B) + _left(_toned(B_as_A, A), A)) / 2


def _toned(rgb: NDArray[Any], like: NDArray[Any]) -> NDArray[Any]:
    """Scale each pixel so that luminance is spread as in ``like``."""
    Y = np.maximum(luminance(rgb), 1e-6)
    from_Y, to_Y = quantiles(Y, _CURVE), quantiles(luminance(like), _CURVE)
    from_Y = from_Y + np.arange(len(from_Y)) * 1e-12
    return np.asarray(rgb * (np.interp(Y, from_Y, to_Y) / Y))


def _left(a: NDArray[Any], b: NDArray[Any]) -> float:
    lab_a, lab_b = (XYZ_to_lab(mixed(np.clip(p, 0, 1), SRGB_TO_XYZ).T, _WHITE) for p in (a, b))
    return float(ciede2000(lab_a, lab_b, k_lightness=2.0).mean())
