"""What none of the other causes explains, as the mean CIEDE2000 that is left."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.colorimetry.difference import XYZ_to_lab, ciede2000
from driftline.colorimetry.primaries import D65_XY, SRGB_TO_XYZ, xy_to_XYZ
from driftline.drift.places import Lights
from driftline.drift.planes import mixed
from driftline.drift.tone import quantiles

_PLACES = 10_000  # a mean over so many is known to a hundredth
_CURVE = np.linspace(0.0, 1.0, 65)
_WHITE = xy_to_XYZ(D65_XY)


def fit_residual(A_as_B: Lights, B: Lights, B_as_A: Lights, A: Lights) -> float:
    """Mean ΔE00 (k_L = 2) left with colour and tone of one picture laid over the other; both ways, averaged.

    Parameters
    ----------
    A_as_B, B, B_as_A, A
        The same places: A with the colour of B, and B itself; and the other way round.
    """
    A_as_B, B, B_as_A, A = (lights.at_most(_PLACES) for lights in (A_as_B, B, B_as_A, A))
    return (_left(_toned(A_as_B, B), B.rgb) + _left(_toned(B_as_A, A), A.rgb)) / 2


def _toned(these: Lights, like: Lights) -> NDArray[Any]:
    """Scale each pixel so that luminance is spread as in ``like``."""
    Y = np.maximum(these.luminance, 1e-6)
    from_Y, to_Y = np.maximum(quantiles(these.ordered, _CURVE), 1e-6), quantiles(like.ordered, _CURVE)
    from_Y = from_Y + np.arange(len(from_Y)) * 1e-12
    return np.asarray(these.rgb * (np.interp(Y, from_Y, to_Y) / Y))


def _left(a: NDArray[Any], b: NDArray[Any]) -> float:
    lab_a, lab_b = (XYZ_to_lab(mixed(np.clip(p, 0, 1), SRGB_TO_XYZ).T, _WHITE) for p in (a, b))
    return float(ciede2000(lab_a, lab_b, k_lightness=2.0).mean())
