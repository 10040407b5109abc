"""colour-science as an oracle for tests, behind one door."""

from __future__ import annotations

import warnings
from functools import cache
from typing import Any

import numpy as np


@cache
def colour() -> Any:
    """The module colour-science, which warns on import where optional packages are missing."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour as module
    return module


def chart_rec2020(patch: str) -> np.ndarray:
    """Linear Rec. 2020 (D65, Bradford-adapted) of a patch of the 24-patch chart (after November 2014)."""
    from driftline.colorimetry.adaptation import adaptation_matrix
    from driftline.colorimetry.primaries import D65_XY, REC2020_TO_XYZ, xy_to_XYZ

    chart = colour().CCS_COLOURCHECKERS["ColorChecker24 - After November 2014"]
    XYZ = colour().xyY_to_XYZ(chart.data[patch])
    adapt = adaptation_matrix(xy_to_XYZ(chart.illuminant), xy_to_XYZ(D65_XY))
    return np.linalg.solve(REC2020_TO_XYZ, adapt @ XYZ)


def p3_to_rec2020(rgb: np.ndarray) -> np.ndarray:
    """Linear Display P3 to linear Rec. 2020 by colour-science's own matrices."""
    spaces = colour().RGB_COLOURSPACES
    return colour().RGB_to_RGB(rgb, spaces["Display P3"], spaces["ITU-R BT.2020"]).astype(np.float32)


def illuminant(name: str, nm: np.ndarray) -> np.ndarray:
    """Relative spectral power of a CIE illuminant at evenly spread wavelengths."""
    return _at(colour().SDS_ILLUMINANTS[name], nm)


def chart_names() -> list[str]:
    """The 24 patches whose colours :func:`chart_rec2020` knows."""
    return list(colour().CCS_COLOURCHECKERS["ColorChecker24 - After November 2014"].data)


def chart_reflectance(patch: str, nm: np.ndarray) -> np.ndarray:
    """Spectral reflectance of a patch, BabelColor's average over many charts."""
    spectra = colour().SDS_COLOURCHECKERS["BabelColor Average"]
    at = chart_names().index(patch)
    return _at(list(spectra.values())[at], nm)


def _at(distribution: Any, nm: np.ndarray) -> np.ndarray:
    shape = colour().SpectralShape(float(nm[0]), float(nm[-1]), float(nm[1] - nm[0]))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return np.asarray(distribution.copy().align(shape).values)
