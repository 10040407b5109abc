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
from driftline.drift.colour import DARKEST, Colour, coloured, coloured_places, fit_colour
from driftline.drift.comparable import (
    NAMES,
    Names,
    doubt_about_all,
    doubt_about_detail,
    doubt_about_exposure,
    doubt_about_white,
    doubt_beside_white,
    monochrome,
    nothing_to_compare,
    without_colour,
)
from driftline.drift.detail import detail_between
from driftline.drift.places import Lights, Places
from driftline.drift.planes import Planes, from_oklab
from driftline.drift.registration import SAME_PLACE, Registration
from driftline.drift.residual import fit_residual
from driftline.drift.together import FEW_SAMPLES, Together
from driftline.drift.tone import Tone, fit_tone, mean_tone
from driftline.drift.verdict import DEFAULT_BANDS, Bands, judge_alone
from driftline.drift.views import Mask, View, bring_together, common_mask

_COLOUR_SAMPLES = 20_000
_FEW_CELLS, _FEW_BLOCKS = 200, 100  # of a sector of hue; a block has the noise of four cells
_FLOAT32 = 1e-4  # what the arithmetic alone leaves between equal pictures, ΔE00


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
    views = bring_together(reference, edited, registered=registered)
    if views.registration.problem:
        return Drift(all_not_comparable(views.registration.problem), registration=views.registration)
    at = Together(views.pictures, common_mask(views.pictures))
    return judge_alone(drift_between(at, registration=views.registration), bands)


def compare(A: View, B: View, mask: Mask, *, names: Names = NAMES) -> Drift:
    """Drift of B against A on one grid and under one mask, not judged; see :func:`drift_between`."""
    return drift_between(Together((A, B), mask), names=names)


def drift_between(
    at: Together,
    pair: tuple[int, int] = (0, 1),
    *,
    registration: Registration = SAME_PLACE,
    names: Names = NAMES,
) -> Drift:
    """Drift of one picture against another, not judged.

    Parameters
    ----------
    at
        The pictures.
    pair
        Which of them is the reference, and which the edited one.
    registration
        To be handed on.
    names
        What to call the two when saying why they cannot be compared.
    """
    problem = nothing_to_compare(at, pair, names)
    if problem:
        return Drift(all_not_comparable(problem), registration=registration, compared_share=at.share)
    A, B = (at.views[i] for i in pair)
    colour = _colour(at, pair, names)
    cells, blocks = (colour.laid_over(*(each[i] for i in pair)) for each in (at.cells, at.blocks))
    rest = {**colour.causes, **cells.tonal(), "residual": blocks.residual(), **_detail(at, pair)}
    doubt = doubt_about_all(at.share)
    rest = {key: unsure(cause, doubt) for key, cause in rest.items()} if doubt else rest
    clipping = [Cause(key, points) for key, points in newly_clipped(A, B).items()]
    return Drift(
        ordered([*clipping, *rest.values()]),
        registration=registration,
        compared_share=at.share,
        clipped_where=mostly_where(A, B),
    )


@dataclass(frozen=True)
class _LaidOver:
    """A with the colour of B, beside B; and B with the colour of A, beside A."""

    a_as_b: Lights
    b: Lights
    b_as_a: Lights
    a: Lights

    def tone(self) -> Tone:
        """Exposure and contrast of B against A."""
        there, back = (
            fit_tone(self.a_as_b.ordered, self.b.ordered),
            fit_tone(self.b_as_a.ordered, self.a.ordered),
        )
        return mean_tone(there, back)

    def tonal(self) -> dict[str, Cause]:
        """Exposure and contrast."""
        tone = self.tone()
        exposure, doubt = (
            Cause("exposure", _zeroed(tone.exposure)),
            doubt_about_exposure(self.a.ordered, self.b.ordered),
        )
        return {
            "exposure": unsure(exposure, doubt) if doubt else exposure,
            "contrast": Cause("contrast", _zeroed(tone.contrast)),
        }

    def residual(self) -> Cause:
        """What neither tone nor colour explain."""
        left = fit_residual(self.a_as_b, self.b, self.b_as_a, self.a)
        return Cause("residual", _zeroed(left, _FLOAT32))


@dataclass(frozen=True)
class _ColourBetween:
    """What of colour parts two pictures: every cause of it, and how to lay one's colour over the other."""

    causes: dict[str, Cause]
    fit: Colour | None
    grey: bool

    def laid_over(self, A: Places, B: Places) -> _LaidOver:
        """Places of both pictures, the colour of each laid over the other."""
        a, b = (A.greys, B.greys) if self.grey else (A.lights, B.lights)
        if self.fit is None:
            return _LaidOver(a, b, b, a)
        L = (A.lab[0] + B.lab[0]) / 2
        forth, back = coloured(A.lab, self.fit.forth, L), coloured(B.lab, self.fit.back, L)
        return _LaidOver(Lights(forth), b, Lights(back), a)


def _colour(at: Together, pair: tuple[int, int], names: Names) -> _ColourBetween:
    grey = monochrome(at.cells[pair[0]], at.cells[pair[1]], names)
    blocks = _light_enough(*(at.blocks[i].lab for i in pair))
    missing, reason = without_colour(*blocks)
    if grey or len(missing) == len(COLOUR_CAUSES):
        causes = {key: not_comparable(key, grey or reason) for key in COLOUR_CAUSES}
        return _ColourBetween(causes, None, bool(grey))
    fit = fit_colour(*(from_oklab(lab) for lab in blocks), coloured=not missing)
    causes = _colour_causes(fit) | _sector_causes(fit, at, pair)
    return _ColourBetween(causes | {key: not_comparable(key, reason) for key in missing}, fit, grey=False)


def _light_enough(lab_A: Planes, lab_B: Planes) -> tuple[Planes, Planes]:
    """Those places of two pictures (Oklab) that are light enough for their colour to be compared."""
    light = np.flatnonzero((lab_A[0] > DARKEST) & (lab_B[0] > DARKEST))
    light = light[:: max(1, -(-len(light) // _COLOUR_SAMPLES))]
    return lab_A[:, light], lab_B[:, light]


def exposure_alone(A: View, B: View, mask: Mask) -> float | None:
    """The exposure of B against A in EV and nothing else; None when there is nothing to compare."""
    at = Together((A, B), mask, FEW_SAMPLES)
    if nothing_to_compare(at, (0, 1)):
        return None
    return _colour(at, (0, 1), NAMES).laid_over(*at.cells).tone().exposure


def _zeroed(value: float, rounding: float = 1e-7) -> float:
    """Rounding of the arithmetic is no drift."""
    return 0.0 if abs(value) < rounding else value


def _detail(at: Together, pair: tuple[int, int]) -> dict[str, Cause]:
    causes = {}
    for key, contrasts in at.details.items():
        value = detail_between(*(contrasts[i] for i in pair))
        none = not_comparable(key, "a picture has no detail of this size")
        causes[key] = none if value is None else Cause(key, _zeroed(value))
        doubt = doubt_about_detail(*(contrasts[i] for i in pair))
        causes[key] = unsure(causes[key], doubt) if doubt else causes[key]
    return causes


def _colour_causes(colour: Colour) -> dict[str, Cause]:
    causes = {key: Cause(key, _zeroed(getattr(colour, key))) for key in ("white", "duv", "chroma", "hue")}
    doubt = doubt_about_white(colour)
    if doubt:
        causes.update({key: unsure(causes[key], doubt) for key in ("white", "duv")})
    doubt = doubt_beside_white(colour)
    if doubt:
        causes.update({key: unsure(causes[key], doubt) for key in ("chroma", "hue")})
    none = not_comparable("split_tint", "the picture has only dark, only middle or only light tones")
    split = colour.split
    causes["split_tint"] = none if split is None else Cause("split_tint", _zeroed(abs(split)), vector=split)
    return causes


def _sector_causes(colour: Colour, at: Together, pair: tuple[int, int]) -> dict[str, Cause]:
    """Hue by sector, where there is enough of it.

    A picture with enough leaves of its own is read with a quarter of what makes them enough: an edit that
    darkens most of them out of what can be compared is not let go for that.
    """
    causes, doubt = {}, doubt_beside_white(colour)
    for key, turn in colour.sectors.items():
        causes[key] = not_comparable(key, f"hardly any {key.removeprefix('hue_')} colours in the picture")
        enough = turn and turn.places >= _fewest(at)
        scarce = turn and turn.places >= _fewest(at) / 4
        if turn and (enough or (scarce and any(_has_alone(at.views[i], key) for i in pair))):
            causes[key] = Cause(key, _zeroed(turn.degrees))
            causes[key] = unsure(causes[key], doubt) if doubt else causes[key]
    return causes


def _has_alone(view: View, sector: str) -> bool:
    """Whether one picture has enough of a sector, wherever it is clear of black and white itself."""
    alone = Together((view,), view.inside)
    return coloured_places(alone.blocks[0].lab)[sector] >= _fewest(alone)


def _fewest(at: Together) -> int:
    return _FEW_CELLS if at.blocks is at.cells else _FEW_BLOCKS
