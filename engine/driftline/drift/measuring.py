"""Measuring drift between two pictures: which numbers there are, from which estimator, and how sure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from driftline.drift.causes import (
    COLOUR_CAUSES,
    Cause,
    Drift,
    all_not_comparable,
    not_comparable,
    ordered,
    unsure,
)
from driftline.drift.clipping import mostly_where, newly_clipped
from driftline.drift.colour import DARKEST, Colour, coloured, fit_colour, greyed
from driftline.drift.comparable import (
    NAMES,
    Names,
    doubt_about_all,
    doubt_about_white,
    monochrome,
    nothing_to_compare,
    too_little_colour,
)
from driftline.drift.detail import fit_detail
from driftline.drift.planes import Planes, from_oklab, luminance, relative_colour
from driftline.drift.registration import SAME_PLACE, Registration
from driftline.drift.residual import fit_residual
from driftline.drift.tone import Tone, fit_tone, mean_tone, stops
from driftline.drift.verdict import DEFAULT_BANDS, Bands, judge_alone
from driftline.drift.views import Mask, View, bring_together, common_mask, whole_cells

_SAMPLES, _COLOUR_SAMPLES, _FEW_SAMPLES = 60_000, 25_000, 20_000
_RESIDUAL_EVERY = 4
_FLOAT32 = 1e-4  # what the arithmetic alone leaves between equal pictures, log2 and ΔE00


def measure_drift(
    reference: Any, edited: Any, *, registered: bool = False, bands: Bands = DEFAULT_BANDS
) -> Drift:
    """How far an edited picture stands from a reference, by cause.

    Parameters
    ----------
    reference, edited
        (h, w, 3) encoded sRGB, upright, of any two sizes: float 0 … 1, uint8 or uint16.
    registered
        True: both show the same field, and are not searched for shift and scale.
    bands
        The limits of each cause; the whole drift is judged as if an edit had made it.

    Returns
    -------
    Drift
        Exactly 0 in every cause for equal pictures; of opposite sign when the two are exchanged (split tint
        and residual are sizes and stay). Causes that cannot be compared have no number and say why.

    Raises
    ------
    UsageError
        Not a picture of three channels.

    Examples
    --------
    >>> ramp = np.linspace(0.1, 0.8, 64, dtype=np.float32)
    >>> grey = np.repeat(np.repeat(ramp[None, :, None], 48, axis=0), 3, axis=2)
    >>> drift = measure_drift(grey, grey, registered=True)
    >>> drift.causes["exposure"].value, drift.causes["chroma"].reason
    (0.0, 'both pictures are black and white')
    """
    views = bring_together(reference, (edited,), registered=registered)
    if views.registration.problem:
        return Drift(all_not_comparable(views.registration.problem), registration=views.registration)
    A, B = views.pictures
    found = compare(A, B, common_mask(views.pictures), registration=views.registration)
    return judge_alone(found, bands)


def compare(
    A: View, B: View, mask: Mask, *, registration: Registration = SAME_PLACE, names: Names = NAMES
) -> Drift:
    """Drift of B against A on one grid, not judged.

    Parameters
    ----------
    A, B
        On one grid.
    mask
        Where both are clear of black and white; it may leave out more than the two need, so that three
        pictures are compared on the same places.
    names
        What to call the two when saying why they cannot be compared.
    """
    share = float(mask.mean())
    problem = nothing_to_compare(A, B, mask, names)
    if problem:
        return Drift(all_not_comparable(problem), registration=registration, compared_share=share)
    clipping = {key: Cause(key, points) for key, points in newly_clipped(A, B).items()}
    colour, laid = _colour(_sample(A, B, mask, _SAMPLES), names)
    tone = laid.tone()
    rest = {
        "exposure": Cause("exposure", _zeroed(tone.exposure)),
        "contrast": Cause("contrast", _zeroed(tone.contrast)),
        **colour,
        **_detail(A, B, mask),
        "residual": Cause("residual", _zeroed(laid.residual(), _FLOAT32)),
    }
    doubt = doubt_about_all(share)
    rest = {key: unsure(cause, doubt) for key, cause in rest.items()} if doubt else rest
    return Drift(
        ordered([*clipping.values(), *rest.values()]),
        registration=registration,
        compared_share=share,
        clipped_where=mostly_where(A, B),
    )


@dataclass(frozen=True)
class _Sample:
    """The same evenly spread cells of both pictures: linear sRGB and Oklab, (3, n) float64 each.

    A cell is the mean of two by two places in Oklab: that takes out most of what JPEG encoding does to
    colour, and a change of exposure, chroma or hue does to the mean what it does to each place.
    """

    rgb_a: Planes
    rgb_b: Planes
    lab_a: Planes
    lab_b: Planes


def _sample(A: View, B: View, mask: Mask, at_most: int) -> _Sample:
    cells = np.flatnonzero(whole_cells(mask))
    cells = cells[:: max(1, -(-len(cells) // at_most))]
    lab_a, lab_b = (picture.cells.reshape(3, -1)[:, cells].astype(np.float64) for picture in (A, B))
    return _Sample(from_oklab(lab_a), from_oklab(lab_b), lab_a, lab_b)


@dataclass(frozen=True)
class _LaidOver:
    """A with the colour of B, beside B; and B with the colour of A, beside A: linear sRGB (3, n)."""

    a_as_b: Planes
    b: Planes
    b_as_a: Planes
    a: Planes

    def tone(self) -> Tone:
        """Exposure and contrast of B against A."""
        x = [stops(luminance(rgb)) for rgb in (self.a_as_b, self.b, self.b_as_a, self.a)]
        return mean_tone(fit_tone(x[0], x[1]), fit_tone(x[2], x[3]))

    def residual(self) -> float:
        """What neither colour nor tone explains, ΔE00."""
        few = np.s_[:, ::_RESIDUAL_EVERY]
        return fit_residual(self.a_as_b[few], self.b[few], self.b_as_a[few], self.a[few])


def _colour(at: _Sample, names: Names) -> tuple[dict[str, Cause], _LaidOver]:
    """Every cause of colour, and the places with the colour of one picture laid over the other."""
    grey = monochrome(at.lab_a, at.lab_b, names)
    light = np.flatnonzero((at.lab_a[0] > DARKEST) & (at.lab_b[0] > DARKEST))
    z_A, z_B = (relative_colour(lab[:, light]) for lab in (at.lab_a, at.lab_b))
    reason = grey or too_little_colour(z_A, z_B)
    if reason:
        A, B = (greyed(at.lab_a), greyed(at.lab_b)) if grey else (at.rgb_a, at.rgb_b)
        return {key: not_comparable(key, reason) for key in COLOUR_CAUSES}, _LaidOver(A, B, B, A)
    some = light[:: max(1, -(-len(light) // _COLOUR_SAMPLES))]
    colour = fit_colour(at.rgb_a[:, some], at.rgb_b[:, some])
    A_as_B, B_as_A = coloured(at.lab_a, colour.forth), coloured(at.lab_b, colour.back)
    return _colour_causes(colour), _LaidOver(A_as_B, at.rgb_b, B_as_A, at.rgb_a)


def exposure_alone(A: View, B: View, mask: Mask) -> float | None:
    """The exposure of B against A in EV and nothing else; None when there is nothing to compare."""
    if nothing_to_compare(A, B, mask):
        return None
    return _colour(_sample(A, B, mask, _FEW_SAMPLES), NAMES)[1].tone().exposure


def _zeroed(value: float, rounding: float = 1e-9) -> float:
    """Rounding of the arithmetic is no drift."""
    return 0.0 if abs(value) < rounding else value


def _detail(A: View, B: View, mask: Mask) -> dict[str, Cause]:
    causes = {}
    for key, value in fit_detail(A.lab[0], B.lab[0], mask).items():
        none = not_comparable(key, "a picture has no detail of this size")
        causes[key] = none if value is None else Cause(key, _zeroed(value, _FLOAT32))
    return causes


def _colour_causes(colour: Colour) -> dict[str, Cause]:
    causes = {key: Cause(key, _zeroed(getattr(colour, key))) for key in ("white", "duv", "chroma", "hue")}
    doubt = doubt_about_white(colour)
    if doubt:
        causes.update({key: unsure(causes[key], doubt) for key in ("white", "duv")})
    for key, turn in colour.sectors.items():
        none = not_comparable(key, f"hardly any {key.removeprefix('hue_')} colours in the picture")
        causes[key] = none if turn is None else Cause(key, _zeroed(turn))
    none = not_comparable("split_tint", "the picture has only dark, only middle or only light tones")
    split = colour.split
    causes["split_tint"] = none if split is None else Cause("split_tint", _zeroed(abs(split)), vector=split)
    return causes
