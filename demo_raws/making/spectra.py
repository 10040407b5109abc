"""Measured and computed spectra on one wavelength grid: lights, reflectances, the standard observer.

Everything is sampled at :data:`WAVELENGTHS`. Data come from colour-science, loaded on first use.
"""

from __future__ import annotations

import warnings
from functools import cache
from types import ModuleType

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
WAVELENGTHS: Array = np.arange(400.0, 701.0, 5.0)
LUMENS_PER_WATT = 683.0
_STEP = 5.0


@cache
def colour_science() -> ModuleType:
    """The colour-science package, without its note on absent plotting."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour  # noqa: PLC0415 - costs a second, and only the makers need it

        return colour


def sampled(distribution: object) -> Array:
    """A colour-science distribution on our grid: (61,) or (61, n), zero outside its own range."""
    wavelengths = np.asarray(distribution.wavelengths)  # type: ignore[attr-defined]
    values = np.asarray(distribution.values)  # type: ignore[attr-defined]
    if values.ndim == 1:
        return np.asarray(np.interp(WAVELENGTHS, wavelengths, values, left=0, right=0))
    columns = [np.interp(WAVELENGTHS, wavelengths, column, left=0, right=0) for column in values.T]
    return np.stack(columns, axis=1)


@cache
def observer() -> Array:
    """CIE 1931 2° colour-matching functions, (61, 3)."""
    return sampled(colour_science().MSDS_CMFS["CIE 1931 2 Degree Standard Observer"])


def luminance(radiance: Array) -> Array:
    """cd/m² of spectral radiance in W/(m² sr nm), over the last axis."""
    return np.asarray(LUMENS_PER_WATT * _STEP * (radiance @ observer()[:, 1]))


def tristimulus(radiance: Array) -> Array:
    """XYZ with Y in cd/m² of spectral radiance, over the last axis."""
    return np.asarray(LUMENS_PER_WATT * _STEP * (radiance @ observer()))


def of_luminance(spectrum: Array, level: float) -> Array:
    """A spectrum scaled to a luminance in cd/m²."""
    return np.asarray(spectrum * (level / luminance(spectrum)))


def daylight(kelvin: float) -> Array:
    """CIE daylight of a correlated colour temperature, 4000 to 25000 K, relative."""
    science = colour_science()
    xy = science.temperature.CCT_to_xy_CIE_D(kelvin)
    return sampled(science.sd_CIE_illuminant_D_series(xy)) / 100.0


def planckian(kelvin: float) -> Array:
    """A black body by Planck's law, c2 = 1.4388e-2 m K, relative to its value at 560 nm."""
    metres = WAVELENGTHS * 1e-9

    def law(at: Array | float) -> Array:
        return np.asarray(at**-5.0 / np.expm1(1.4388e-2 / (at * kelvin)))

    return law(metres) / law(560e-9)


def lamp(name: str) -> Array:
    """A measured lamp of colour-science (CIE illuminants, or the NIST light sources), relative."""
    science = colour_science()
    for table in (science.SDS_ILLUMINANTS, science.SDS_LIGHT_SOURCES):
        if name in table:
            values = sampled(table[name])
            return np.asarray(values / values.max())
    raise KeyError(name)


@cache
def chart() -> dict[str, Array]:
    """Reflectances of the 24 patches, measured (N. Ohta, in colour-science), by patch name in row order."""
    table = colour_science().SDS_COLOURCHECKERS["ColorChecker N Ohta"]
    return {name: sampled(table[name]) for name in table}


@cache
def training_reflectances() -> Array:
    """190 reflectances that AMPAS publishes for camera characterisation (P-2013-001), (190, 61)."""
    table = colour_science().characterisation.read_training_data_rawtoaces_v1()
    return np.asarray(sampled(table).T)


def bumps(base: float, *peaks: tuple[float, float, float]) -> Array:
    """A smooth invented reflectance: a base plus (height, centre nm, width nm) Gaussian bumps, 0.01 to 0.98.

    A centre beyond the grid makes an edge: reds are a bump at 720 nm.
    """
    total = np.full_like(WAVELENGTHS, base)
    for height, centre, width in peaks:
        total += height * np.exp(-0.5 * ((WAVELENGTHS - centre) / width) ** 2)
    return np.clip(total, 0.01, 0.98)


def step(low: float, high: float, edge: float, width: float = 18.0) -> Array:
    """A smooth invented reflectance that goes from ``low`` to ``high`` at an edge in nm."""
    return np.asarray(low + (high - low) / (1 + np.exp(-(WAVELENGTHS - edge) / width)))
