"""Fitting a likeness to pairs: matrix, monotone curve and a smooth response by hue, robustly, in turn.

The model is that of Kim et al. ('A new in-camera imaging model for color computer vision', PAMI 2012), its
gamut mapping held down to a few harmonics of hue: a global model, so that it cannot swallow an edit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.colorimetry.difference import XYZ_to_lab, ciede2000
from driftline.colorimetry.oklab import oklab_to_rec2020, rec2020_to_oklab
from driftline.colorimetry.primaries import D65_XY, REC2020_LUMINANCE, REC2020_TO_XYZ, xy_to_XYZ
from driftline.drift.lenses import Falloffs, falloffs, slope_with_radius
from driftline.drift.pairs import Pair, Samples
from driftline.recipe import HUE_TERMS, TONE_STOPS
from driftline.stages.chroma import Response, chroma, harmonics
from driftline.stages.standing import MIDDLE_GREY, SHOWN_GREY, shown_stops

_STOPS = np.array(TONE_STOPS)
_ROUNDS, _ROBUST_ROUNDS = 6, 3
_PRIOR, _BENDING = 2.0, 6.0
_TIGHT = 0.02
_COLOURED = 0.02
_RIDGE = 0.02


@dataclass(frozen=True)
class Fit:
    """A likeness in numbers: (3, 3) matrix, stops shown at :data:`TONE_STOPS`, response by hue; falloffs."""

    matrix: NDArray[np.float64]
    tone: NDArray[np.float64]
    response: Response
    falloffs: Falloffs = field(default_factory=dict)

    def render(self, scene: Samples) -> Samples:
        """Display-linear Rec. 2020 of scene-linear samples."""
        light = np.maximum(scene @ self.matrix.T, 1e-9)
        shown = SHOWN_GREY * np.exp2(shown_stops(np.log2(light / MIDDLE_GREY), tone=(_STOPS, self.tone)))
        lab = chroma(rec2020_to_oklab(shown), response=self.response)
        return oklab_to_rec2020(lab.astype(np.float64))


NOTHING = Response((0.0,) * HUE_TERMS, (0.0,) * HUE_TERMS)


def default_fit() -> Fit:
    """No likeness: the default curve and nothing else."""
    return Fit(np.eye(3), shown_stops(_STOPS), NOTHING)


def fit_likeness(pairs: Sequence[Pair]) -> Fit:
    """Fit all parts to the samples of some pairs."""
    found = default_fit()
    shown = np.concatenate([pair.shown for pair in pairs])
    for _ in range(_ROUNDS):
        seen = [pair.through(found.falloffs) for pair in pairs]
        scene = np.concatenate([p.scene * gain_to(found, p.scene, p.shown) for p in seen])
        found = replace(found, tone=_fit_tone(scene @ found.matrix.T, shown))
        found = replace(found, matrix=_fit_matrix(scene, shown, found.tone))
        found = replace(found, falloffs=falloffs([(p.optics, _slope(found, p)) for p in pairs]))
    response = _fit_response(replace(found, response=NOTHING).render(scene), shown)
    return replace(found, response=response)


def _slope(fit: Fit, pair: Pair) -> float:
    """EV by which r² is shown brighter than the fit shows it without any falloff."""
    wanted = _scene_of(pair.shown @ REC2020_LUMINANCE, fit.tone)
    seen = np.maximum(pair.scene @ fit.matrix.T @ REC2020_LUMINANCE, 1e-9)
    return slope_with_radius(np.log2(wanted / seen), pair.radii)


def gain_to(fit: Fit, scene: Samples, shown: Samples) -> float:
    """The gain in linear light with which the fit shows a frame as bright as its camera did."""
    wanted = _scene_of(shown @ REC2020_LUMINANCE, fit.tone)
    seen = np.maximum(scene @ fit.matrix.T @ REC2020_LUMINANCE, 1e-9)
    return float(np.exp2(np.median(np.log2(wanted / seen))))


def differences_to(fit: Fit, pair: Pair) -> NDArray[np.float64]:
    """ΔE00 between a fit's rendering and the camera's at every sample, at equal brightness."""
    pair = pair.through(fit.falloffs)
    ours = fit.render(pair.scene * gain_to(fit, pair.scene, pair.shown))
    white = xy_to_XYZ(D65_XY)
    lab = [XYZ_to_lab(np.clip(rgb, 0, 1) @ REC2020_TO_XYZ.T, white) for rgb in (ours, pair.shown)]
    return ciede2000(lab[0], lab[1])


def _scene_of(shown: NDArray[Any], tone: NDArray[Any]) -> NDArray[Any]:
    """Scene light that a curve shows so."""
    rising = tone + np.arange(len(tone)) * 1e-9
    return np.asarray(MIDDLE_GREY * np.exp2(np.interp(np.log2(shown / SHOWN_GREY), rising, _STOPS)))


def _fit_tone(light: Samples, shown: Samples) -> NDArray[np.float64]:
    """The monotone curve through all channels, drawn to the default where nothing was seen."""
    from scipy.optimize import isotonic_regression  # noqa: PLC0415  loaded where it is needed

    x = np.clip(np.log2(np.maximum(light, 1e-9) / MIDDLE_GREY), _STOPS[0], _STOPS[-1]).ravel()
    y = np.log2(shown / SHOWN_GREY).ravel()
    basis = _between_knots(x)
    bend = np.diff(np.eye(len(_STOPS)), 2, axis=0) * _BENDING * np.sqrt(len(x)) / 100
    default = shown_stops(_STOPS)
    prior = np.eye(len(_STOPS)) * _PRIOR
    held = bend.T @ bend + prior.T @ prior
    curve: NDArray[Any] = default
    weight: NDArray[Any] = np.ones(len(x))
    for _ in range(_ROBUST_ROUNDS):
        weighted = basis * weight[:, None]
        curve = np.linalg.solve(basis.T @ weighted + held, weighted.T @ y + held @ default)
        weight = np.asarray(_huber(y - basis @ curve))
    return np.asarray(isotonic_regression(np.minimum(curve, np.log2(1 / SHOWN_GREY))).x)


def _between_knots(x: NDArray[Any]) -> NDArray[np.float64]:
    """(n, knots): the shares that linear interpolation gives to the knots about each x."""
    left = np.clip(np.searchsorted(_STOPS, x, side="right") - 1, 0, len(_STOPS) - 2)
    part = (x - _STOPS[left]) / (_STOPS[left + 1] - _STOPS[left])
    basis = np.zeros((len(x), len(_STOPS)))
    basis[np.arange(len(x)), left] = 1 - part
    basis[np.arange(len(x)), left + 1] = part
    return basis


def _fit_matrix(scene: Samples, shown: Samples, tone: NDArray[Any]) -> NDArray[np.float64]:
    """Rows that each sum to 1, by weighted least squares on light brought back through the curve."""
    wanted = _scene_of(shown, tone)
    matrix = np.eye(3)
    for k in range(3):
        others = [j for j in range(3) if j != k]
        step = scene[:, others] - scene[:, [k]]
        aim = wanted[:, k] - scene[:, k]
        weight = 1 / (wanted[:, k] + _TIGHT) ** 2
        found = np.zeros(2)
        robust: NDArray[Any] = np.ones(len(scene))
        for _ in range(_ROBUST_ROUNDS):
            w = (weight * robust)[:, None]
            normal = step.T @ (w * step) + 1e-3 * np.eye(2) * len(scene)
            found = np.linalg.solve(normal, (w * step).T @ aim)
            robust = _huber((aim - step @ found) * np.sqrt(weight))
        matrix[k, others] = found
        matrix[k, k] = 1 - found.sum()
    return matrix


def _fit_response(ours: Samples, shown: Samples) -> Response:
    """Turn and scale by hue, from the coloured samples."""
    a, b = (rec2020_to_oklab(np.maximum(rgb, 0)) for rgb in (ours, shown))
    z_a, z_b = a[:, 1] + 1j * a[:, 2], b[:, 1] + 1j * b[:, 2]
    coloured = (np.abs(z_a) > _COLOURED) & (np.abs(z_b) > _COLOURED)
    if coloured.sum() < 200:
        return NOTHING
    z_a, z_b = z_a[coloured], z_b[coloured]
    hue = np.degrees(np.angle(z_a))
    basis = np.stack([harmonics(hue, tuple(row)) for row in np.eye(HUE_TERMS)], axis=1)
    turn = _ridge(basis, np.degrees(np.angle(z_b / z_a)), np.abs(z_a))
    scale = _ridge(basis, np.log2(np.abs(z_b) / np.abs(z_a)), np.abs(z_a))
    return Response(tuple(turn.tolist()), tuple(scale.tolist()))


def _ridge(basis: NDArray[Any], values: NDArray[Any], weight: NDArray[Any]) -> NDArray[np.float64]:
    found = np.zeros(basis.shape[1])
    robust = np.ones(len(values))
    for _ in range(_ROBUST_ROUNDS):
        w = (weight * robust)[:, None]
        normal = basis.T @ (w * basis) + _RIDGE * weight.sum() * np.eye(basis.shape[1])
        found = np.linalg.solve(normal, (w * basis).T @ values)
        robust = _huber(values - basis @ found)
    return found


def _huber(left: NDArray[Any]) -> NDArray[Any]:
    """Weights that fall off beyond 1.345 robust standard deviations (Huber 1964)."""
    size = np.abs(left)
    scale = 1.4826 * np.median(size) + 1e-12
    return np.asarray(np.minimum(1.0, 1.345 * scale / np.maximum(size, 1e-12)))
