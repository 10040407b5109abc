"""Chromatic adaptation as one linear matrix in XYZ (von Kries in a sharpened cone space)."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from driftline.arrays import Matrix

BRADFORD = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])
CAT16 = np.array(
    [[0.401288, 0.650173, -0.051461], [-0.250268, 1.204414, 0.045854], [-0.002079, 0.048952, 0.953127]]
)


def adaptation_matrix(
    from_XYZ: ArrayLike, to_XYZ: ArrayLike, *, method: Literal["bradford", "cat16"] = "bradford"
) -> Matrix:
    """The matrix that turns colours seen under one white into corresponding colours under another.

    Parameters
    ----------
    from_XYZ, to_XYZ
        (3,) the two whites, Y = 1.
    method
        ``bradford`` (Lam 1985, as in ICC.1) or ``cat16`` (Li et al. 2017).

    Returns
    -------
    Matrix
        (3, 3) float64, XYZ to XYZ; maps ``from_XYZ`` to ``to_XYZ``.

    Examples
    --------
    >>> m = adaptation_matrix([0.950456, 1.0, 1.089058], [0.964296, 1.0, 0.825105])
    >>> m[0].round(4).tolist()
    [1.0479, 0.0229, -0.0502]
    """
    XYZ_TO_LMS = BRADFORD if method == "bradford" else CAT16
    gain = (XYZ_TO_LMS @ np.asarray(to_XYZ, dtype=np.float64)) / (
        XYZ_TO_LMS @ np.asarray(from_XYZ, dtype=np.float64)
    )
    return np.asarray(np.linalg.solve(XYZ_TO_LMS, gain[:, None] * XYZ_TO_LMS))
