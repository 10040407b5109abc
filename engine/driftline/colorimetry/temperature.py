"""Correlated colour temperature, Duv, mired, and the Planckian and daylight loci.

The Planckian locus is computed from Planck's law (c2 = 1.4388e-2 m K) and the CIE 1931 2-degree observer
at 5 nm, held here as a table of CIE 1960 (u, v) against mired; CCT and Duv are found as the nearest point
of that locus (Ohno, 'Practical use and calculation of CCT and Duv', LEUKOS 2014, is the definition; the
search is ours). A zero Duv is a point of the Planckian locus; D65 and the other daylights stand 0.0032
above it.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from driftline.arrays import Matrix

PLANCK_C2 = 1.4388e-2  # m K
MIRED_RANGE = (10.0, 1000.0)  # 100 000 K to 1000 K
LOCUS_RANGE = (1.0, 1000.0)  # mired: as far as the locus is searched


def mired(kelvin: float) -> float:
    """Micro reciprocal degrees, 10^6 / K."""
    return 1e6 / kelvin


def planckian_xy(kelvin: float) -> Matrix:
    """Chromaticity of the full radiator.

    Parameters
    ----------
    kelvin
        1000 … 100 000.

    Examples
    --------
    >>> planckian_xy(5000.0).round(4).tolist()
    [0.3451, 0.3516]
    """
    return _planckian_xy(1e6 / np.asarray(kelvin, dtype=np.float64))


def daylight_xy(kelvin: float) -> Matrix:
    """Chromaticity on the CIE daylight locus (CIE 15), 4000 … 25 000 K."""
    T = float(kelvin)
    if T <= 7000:
        x = -4.6070e9 / T**3 + 2.9678e6 / T**2 + 0.09911e3 / T + 0.244063
    else:
        x = -2.0064e9 / T**3 + 1.9018e6 / T**2 + 0.24748e3 / T + 0.237040
    return np.array([x, -3.000 * x * x + 2.870 * x - 0.275])


def xy_to_cct_duv(xy: ArrayLike) -> tuple[float, float]:
    """Correlated colour temperature in kelvin and Duv of a chromaticity.

    Duv is the signed distance from the Planckian locus in CIE 1960 (u, v): positive above, greener.

    Parameters
    ----------
    xy
        (2,) chromaticity, CIE 1931.

    Returns
    -------
    tuple of float
        Kelvin, held between 1000 and 1 000 000 (bluer than an infinitely hot radiator is no temperature),
        and Duv, typically within ±0.02.

    Examples
    --------
    >>> cct, duv = xy_to_cct_duv([0.3127, 0.3290])
    >>> round(cct), round(duv, 4)
    (6504, 0.0032)
    """
    uv = _xy_to_uv(np.asarray(xy, dtype=np.float64))
    mireds, locus = _locus()
    m = float(mireds[np.argmin(((locus - uv) ** 2).sum(axis=-1))])
    for _ in range(4):  # Newton's method on the slope of the squared distance, from 0.5 mired away
        foot, tangent, bend = _locus_piece(m)
        away = uv - foot
        m += float(away @ tangent) / float(tangent @ tangent - away @ bend)
        m = min(max(m, LOCUS_RANGE[0]), LOCUS_RANGE[1])
    foot, tangent, _ = _locus_piece(m)
    return float(1e6 / m), float((uv - foot) @ _above(tangent))


def cct_duv_to_xy(kelvin: float, duv: float) -> Matrix:
    """Chromaticity of a CCT and Duv; the inverse of :func:`xy_to_cct_duv` near the locus."""
    foot, tangent, _ = _locus_piece(mired(kelvin))
    u, v = foot + duv * _above(tangent)
    return np.asarray(np.array([3 * u, 2 * v]) / (2 * u - 8 * v + 4))


def shifted_white_xy(kelvin: float, duv: float, *, shift_mired: float, shift_duv: float = 0.0) -> Matrix:
    """Chromaticity of a light after a conversion filter.

    Parameters
    ----------
    kelvin, duv
        The light.
    shift_mired
        + is warmer (a lower colour temperature), as filter handbooks state it: -131 turns 3200 K into 5500 K.
    shift_duv
        + is greener.

    Returns
    -------
    Matrix
        (2,) x, y; the result is held between 1000 K and 100 000 K.
    """
    m = float(np.clip(mired(kelvin) + shift_mired, *MIRED_RANGE))
    return cct_duv_to_xy(1e6 / m, duv + shift_duv)


def _xy_to_uv(xy: NDArray[Any]) -> NDArray[Any]:
    x, y = xy[..., 0], xy[..., 1]
    return np.asarray(np.stack([4 * x, 6 * y], axis=-1) / (-2 * x + 12 * y + 3)[..., None])


def _planckian_xy(mireds: NDArray[Any]) -> NDArray[Any]:
    """Chromaticities (..., 2) of the full radiator at (...) mired."""
    wavelength, observer = _observer()
    exponent = (PLANCK_C2 * 1e9 / 1e6) * mireds[..., None] / wavelength
    XYZ = (wavelength**-5.0 / np.expm1(exponent)) @ observer
    return np.asarray(XYZ[..., :2] / XYZ.sum(axis=-1, keepdims=True))


def _locus_piece(m: float) -> tuple[NDArray[Any], NDArray[Any], NDArray[Any]]:
    """The Planckian locus in (u, v) at one mired value, its first and its second derivative by mired."""
    step = 0.05
    before, here, after = _xy_to_uv(_planckian_xy(np.array([m - step, m, m + step])))
    return here, (after - before) / (2 * step), (after - 2 * here + before) / step**2


def _above(tangent: NDArray[Any]) -> NDArray[Any]:
    """The unit normal of the locus that points up, to the green side."""
    u, v = tangent / np.hypot(*tangent)
    return np.array([-v, u]) if u > 0 else np.array([v, -u])


@cache
def _locus() -> tuple[NDArray[Any], NDArray[Any]]:
    mireds = np.linspace(*LOCUS_RANGE, 1000)
    return mireds, _xy_to_uv(_planckian_xy(mireds))


@cache
def _observer() -> tuple[NDArray[Any], NDArray[Any]]:
    from driftline.colorimetry.tables import CIE_1931  # noqa: PLC0415  loaded where it is needed

    return CIE_1931[:, 0], CIE_1931[:, 1:]
