"""Two invented camera bodies: from spectra to a clipped, noisy mosaic with exposure and white of its own.

Between spectra and mosaic stand *planes*: what each colour of photosite would see at every place, float
(H, W, 3), scaled so that daylight D65 of 1 cd/m² gives green 1.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d, maximum_filter
from scipy.optimize import least_squares

from making import spectra

Array = NDArray[np.float64]
SIX_BY_SIX = (
    (1, 1, 0, 1, 1, 2),
    (1, 1, 2, 1, 1, 0),
    (2, 0, 1, 0, 2, 1),
    (1, 1, 2, 1, 1, 0),
    (1, 1, 0, 1, 1, 2),
    (0, 2, 1, 2, 0, 1),
)


@dataclass(frozen=True)
class Body:
    """An invented camera: its filter pattern, levels, and noise.

    ``full_well`` is in electrons at ``base_iso``; ``read_noise`` in electrons at base and at high gain.
    ``passband`` widens and shifts the measured sensitivities (nm), so that two bodies see differently.
    """

    model: str
    pattern: tuple[tuple[int, ...], ...]
    black: int
    white: int
    base_iso: int
    full_well: float
    read_noise: tuple[float, float]
    rendering_scale: float
    passband: tuple[float, float] = (0.0, 0.0)
    make: str = "Ostrel"


K2 = Body("K2", ((0, 1), (1, 2)), 512, 15892, 100, 48_000, (3.2, 1.6), 1.0)
K6 = Body("K6", SIX_BY_SIX, 1022, 16383, 160, 32_000, (3.6, 1.5), 2 / 3, (9.0, -5.0))
BODIES = {body.model: body for body in (K2, K6)}


@dataclass(frozen=True)
class Exposure:
    """Exposure time in seconds, f-number, ISO."""

    seconds: float
    f_number: float
    iso: int

    @property
    def ev100(self) -> float:
        """Exposure value at ISO 100 that this exposure is right for."""
        return float(np.log2(self.f_number**2 / self.seconds * 100 / self.iso))


@cache
def sensitivities(body: Body) -> Array:
    """Spectral sensitivities (61, 3), scaled so that D65 of 1 cd/m² gives green 1.

    Measured at the National Physical Laboratory (Darrodi, Finlayson, Goodman and Mackiewicz 2015, J. Opt.
    Soc. Am. A 32(3)), as colour-science carries them. The other set it carries is of a layered sensor,
    whose matrix to sRGB has noise gains of 6 to 9; it would not be a plausible camera here. The second
    body has the same measurement with wider passbands, shifted, behind a steeper infrared filter.
    """
    table = spectra.colour_science().MSDS_CAMERA_SENSITIVITIES
    measured = np.clip(spectra.sampled(table[next(iter(table))]), 0, None)
    width, shift = body.passband
    if width:
        wide = gaussian_filter1d(measured, width / 5.0, axis=0)
        grid = spectra.WAVELENGTHS
        moved = np.stack([np.interp(grid - shift, grid, column) for column in wide.T], axis=1)
        measured = moved / (1 + np.exp((grid[:, None] - 655) / 6))
    light = spectra.of_luminance(spectra.daylight(6504.0), 1.0)
    return np.asarray(measured / (light @ measured[:, 1]))


def response(body: Body, radiance: Array) -> Array:
    """Planes of spectral radiance (…, 61) in W/(m² sr nm)."""
    return np.asarray(radiance @ sensitivities(body))


def neutral(body: Body, light: Array) -> Array:
    """Camera RGB of a perfect white under a light, green 1."""
    seen = response(body, light)
    return np.asarray(seen / seen[1])


DAYLIGHT, TUNGSTEN = 21, 17  # EXIF light sources: D65 and standard illuminant A


@cache
def xyz_to_camera(body: Body, light_source: int = DAYLIGHT) -> Array:
    """XYZ → camera under D65 or illuminant A, for the colour matrix tags.

    By AMPAS P-2013-001: the matrix from balanced camera RGB to XYZ with the least squared CIELAB error over
    its 190 training reflectances, white kept exactly (Finlayson and Drew 1997, J. Electronic Imaging 6(4));
    the tag is its inverse, unbalanced. Illuminant A is a black body of 2856 K (CIE 15).
    """
    light = spectra.daylight(6504.0) if light_source == DAYLIGHT else spectra.planckian(2856.0)
    white = spectra.tristimulus(light) / spectra.luminance(light)
    stimuli = spectra.training_reflectances() * light
    seen = response(body, stimuli) / response(body, light)
    target = _lab(spectra.tristimulus(stimuli) / spectra.luminance(light), white)

    def matrix(free: Array) -> Array:
        two = free.reshape(3, 2)
        return np.column_stack((two, white - two.sum(axis=1)))

    fit = least_squares(
        lambda free: (_lab(seen @ matrix(free).T, white) - target).ravel(), [0.5, 0.3, 0.2, 0.7, 0.0, 0.1]
    )
    to_camera = np.linalg.inv(matrix(fit.x)) * neutral(body, light)[:, None]
    return np.asarray(to_camera)


def _lab(xyz: Array, white: Array) -> Array:
    """CIELAB 1976 (CIE 15), clipped at zero."""
    t = np.clip(xyz / white, 0, None)
    f = np.where(t > (6 / 29) ** 3, np.cbrt(t), t / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.stack(
        (116 * f[..., 1] - 16, 500 * (f[..., 0] - f[..., 1]), 200 * (f[..., 1] - f[..., 2])), axis=-1
    )


def meter(planes: Array) -> float:
    """Exposure value at ISO 100 by a centre-weighted average of green, K = 12.5 (ISO 2720).

    A cell of the meter saturates at eight times the reading, so that a lamp in the frame does not rule it.
    """
    height, width = planes.shape[:2]
    y = np.linspace(-1, 1, height)[:, None]
    x = np.linspace(-1, 1, width)[None, :]
    weight = 0.35 + np.exp(-(x**2 + y**2) / 0.5)
    green = planes[..., 1]
    level = float((green * weight).sum() / weight.sum())
    for _ in range(40):
        level = float((np.minimum(green, 8 * level) * weight).sum() / weight.sum())
    return float(np.log2(level * 100 / 12.5))


def choose_exposure(ev100: float, f_number: float, *, slowest: float, base_iso: int) -> Exposure:
    """Aperture priority: the nearest usual time; ISO up to 6400 where it would pass ``slowest``."""
    seconds = f_number**2 / 2.0**ev100 * 100 / base_iso
    iso = base_iso
    if seconds > slowest:
        thirds = min(round(3 * np.log2(seconds / slowest)), round(3 * np.log2(6400 / base_iso)))
        iso = _nominal_iso(base_iso * 2 ** (thirds / 3))
        seconds = f_number**2 / 2.0**ev100 * 100 / iso
    return Exposure(nominal_time(seconds), f_number, iso)


_DECADE = (100, 125, 160, 200, 250, 320, 400, 500, 640, 800)
_ISOS = (*_DECADE, *(10 * iso for iso in _DECADE[:-1]))
_PARTS = (
    "8000 6400 5000 4000 3200 2500 2000 1600 1250 1000 800 640 500 400 320 250 200 160 125 100 "
    "80 60 50 40 30 25 20 15 13 10 8 6 5 4"
)
_TIMES = (*(1 / int(part) for part in _PARTS.split()), 0.3, 0.4, 0.5, 0.6, 0.8, 1.0, 1.3, 1.6, 2.0)


def _nominal_iso(value: float) -> int:
    return min(_ISOS, key=lambda nominal: abs(float(np.log2(value / nominal))))


def nominal_time(seconds: float) -> float:
    """The nearest time of the usual scale of thirds, in seconds."""
    return min(_TIMES, key=lambda nominal: abs(np.log2(seconds / nominal)))


def signal(planes: Array, exposure: Exposure) -> Array:
    """Sensor signal, 1 at saturation: a metered level falls on 12.7 % (ISO 12232: 18 % / √2)."""
    return np.asarray(0.127 * planes / (0.125 * 2.0**exposure.ev100))


def noise_at(body: Body, iso: int) -> tuple[float, float]:
    """(electrons at saturation, read noise in electrons) at an ISO."""
    gain = iso / body.base_iso
    low, high = body.read_noise
    return body.full_well / gain, high + (low - high) / gain


def noise_profile(body: Body, iso: int) -> tuple[float, float]:
    """(scale, offset) of the variance of the 0 … 1 signal, as DNG's NoiseProfile has it."""
    electrons, read = noise_at(body, iso)
    return 1 / electrons, (read / electrons) ** 2


def colours(body: Body, shape: tuple[int, ...]) -> NDArray[np.uint8]:
    """The colour of every photosite, (H, W)."""
    pattern = np.array(body.pattern, dtype=np.uint8)
    rows, columns = shape[:2]
    repeats = (-(-rows // pattern.shape[0]), -(-columns // pattern.shape[1]))
    return np.tile(pattern, repeats)[:rows, :columns]


def expose(body: Body, planes: Array, exposure: Exposure, *, seed: int | None) -> NDArray[np.uint16]:
    """The mosaic: sampled through the pattern, photon and read noise, digitised to 14 bits, clipped.

    Without a ``seed`` there is no noise (but there is rounding).
    """
    sites = colours(body, planes.shape)[..., None].astype(np.intp)
    level = np.take_along_axis(signal(planes, exposure), sites, axis=2)[..., 0]
    electrons, read = noise_at(body, exposure.iso)
    if seed is not None:
        generator = np.random.default_rng(seed)
        collected = generator.poisson(np.clip(level, 0, 4) * electrons) + generator.normal(
            0, read, level.shape
        )
        level = collected / electrons
    numbers = body.black + level * (body.white - body.black)
    return np.clip(np.rint(numbers), 0, body.white).astype(np.uint16)


@cache
def _locus(body: Body) -> tuple[Array, Array]:
    """Mireds from 100 to 500, and log (r/g, b/g) of each: daylight, and Planckian below 4000 K."""
    mireds = np.arange(100.0, 501.0, 5.0)
    lights = [spectra.daylight(1e6 / m) if m <= 250 else spectra.planckian(1e6 / m) for m in mireds]
    seen = np.array([neutral(body, light) for light in lights])
    return mireds, np.log(seen[:, [0, 2]])


_SUNLIGHT = 185.0  # mired


def estimate_white(
    body: Body, mosaic: NDArray[np.uint16], ev100: float, *, warmest: float = 330.0
) -> tuple[Array, float]:
    """The camera's own as-shot neutral (green 1) and its mired value: an estimate, not always right.

    Shades of grey (Finlayson and Trezzi 2004, Minkowski norm 6) on what is not clipped; then four fifths of
    the way to the nearest light of the locus, which is kept within 115 … ``warmest`` mired so that lamp
    light stays a little warm. The brighter it is (from EV 10 to 14 at ISO 100), the more, up to seven tenths,
    sunlight of 185 mired is assumed instead: a blue sky in the picture is no blue light.
    """
    sites = colours(body, mosaic.shape)
    level = (mosaic.astype(np.float64) - body.black) / (body.white - body.black)
    open_places = maximum_filter(level, 2 * len(body.pattern) + 1) < 0.95  # no colour clipped nearby
    if open_places.mean() < 0.01:
        open_places[:] = True
    r, g, b = (np.mean(np.clip(level[(sites == c) & open_places], 0, None) ** 6) ** (1 / 6) for c in range(3))
    seen = np.log([r / g, b / g])
    mireds, locus = _locus(body)
    nearest = mireds[np.argmin(((locus - seen) ** 2).sum(axis=1))]
    trust = 0.7 * float(np.clip((ev100 - 10.0) / 4.0, 0.0, 1.0))
    mired = float(np.clip((1 - trust) * nearest + trust * _SUNLIGHT, 115.0, warmest))
    on_locus = np.array([np.interp(mired, mireds, locus[:, k]) for k in range(2)])
    off = seen - np.array([np.interp(nearest, mireds, locus[:, k]) for k in range(2)])
    red, blue = np.exp(on_locus + 0.2 * np.clip(off, -0.5, 0.5))
    return np.array([red, 1.0, blue]), mired


def mired_of(body: Body, camera_neutral: Array) -> float:
    """The mired value on the locus nearest to a camera neutral."""
    mireds, locus = _locus(body)
    seen = np.log([camera_neutral[0] / camera_neutral[1], camera_neutral[2] / camera_neutral[1]])
    return float(mireds[np.argmin(((locus - seen) ** 2).sum(axis=1))])
