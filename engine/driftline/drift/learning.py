"""Learning a likeness from a photographer's own raw + JPEG pairs, and using it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from os import PathLike
from typing import Any

import numpy as np

from driftline.drift.camera import camera_of
from driftline.drift.fitting import default_fit, differences_to, fit_likeness
from driftline.drift.lenses import lens_terms
from driftline.drift.pairs import Pair, pair_of
from driftline.errors import FrameError, UsageError
from driftline.ledger import Ledger
from driftline.pipeline import Frame, KeptFrame, open_frame
from driftline.recipe import Likeness, likeness_name, likeness_text, parse_likeness

FEWEST_PAIRS = 3
"""One is held out at a time, and two of different light must be left to learn from."""
WORST_MEAN = 5.0
"""Mean ΔE00 on held-out pairs beyond which no global model describes the camera."""


@dataclass(frozen=True)
class Learned:
    """A likeness, with the error on pairs held out, before (default rendering) and after."""

    likeness: Likeness
    before: tuple[float, float]
    after: tuple[float, float]
    left_out: dict[str, str]

    def json(self) -> dict[str, Any]:
        """As ``learn --json`` gives it; errors are ΔE00."""
        return {
            "camera": self.likeness.camera,
            "setting": self.likeness.setting,
            "pairs": self.likeness.pairs,
            "held_out": {"mean": self.after[0], "p95": self.after[1]},
            "before": {"mean": self.before[0], "p95": self.before[1]},
            "lenses": [
                {
                    "lens": terms.name,
                    "focal_mm": terms.focal_mm,
                    "distortion": list(terms.distortion),
                    "falloff_ev": list(terms.falloff_ev),
                    "source": terms.source,
                    "pairs": terms.pairs,
                }
                for terms in self.likeness.lens.values()
            ],
            "left_out": self.left_out,
        }


def learn(frames: Iterable[Frame]) -> list[Learned | UsageError]:
    """Learn one likeness for each camera and setting among some frames.

    Parameters
    ----------
    frames
        Frames with their camera renderings; those that cannot be used are named in the result.

    Returns
    -------
    list
        For each camera and setting what was learned, cross-validated by frame; or the error that says why
        nothing could be: too few pairs, or pairs that no global model describes.
    """
    groups: dict[tuple[str, str], list[Pair]] = {}
    left_out: dict[tuple[str, str], dict[str, str]] = {}
    for frame in frames:
        try:
            key = camera_of(frame)
            pair, reason = pair_of(frame, frame.path.name)
        except FrameError as error:
            key, pair, reason = ("unreadable frames", ""), None, error.message
        groups.setdefault(key, [])
        left_out.setdefault(key, {})
        if pair is None:
            left_out[key][frame.path.name] = reason
        else:
            groups[key].append(pair)
    return [_learn_one(camera, setting, groups[camera, setting], left_out[camera, setting])
            for camera, setting in groups]  # fmt: skip


def _learn_one(
    camera: str, setting: str, pairs: Sequence[Pair], left_out: dict[str, str]
) -> Learned | UsageError:
    named = f"{camera}, setting {setting or 'unknown'}"
    if len(pairs) < FEWEST_PAIRS:
        return UsageError(
            "too-few-pairs",
            f"{named}: {len(pairs)} usable pair{'s' if len(pairs) != 1 else ''}; "
            f"at least {FEWEST_PAIRS} of different light are needed",
            hint="more frames of that camera and setting: sun, shade, lamps, and something colourful",
        )
    before, after = [], []
    for place, pair in enumerate(pairs):
        rest = [*pairs[:place], *pairs[place + 1 :]]
        before.append(differences_to(default_fit(), pair))
        after.append(differences_to(fit_likeness(rest), pair))
    error = _summary(after)
    if error[0] > WORST_MEAN:
        return UsageError(
            "pairs-too-unlike",
            f"{named}: pairs held out differ by {error[0]:.1f} ΔE00 in the mean; "
            f"at most {WORST_MEAN:g} is a likeness",
            hint="leave out frames with local tone tricks or another setting, or learn them apart",
        )
    likeness = likeness_from(camera, setting, pairs, held_out=error)
    return Learned(likeness, _summary(before), error, left_out)


def _summary(differences: Sequence[np.ndarray]) -> tuple[float, float]:
    """Mean and 95th percentile over frames, each frame counting alike."""
    means = np.mean([one.mean() for one in differences])
    tails = np.mean([np.percentile(one, 95) for one in differences])
    return round(float(means), 3), round(float(tails), 3)


def likeness_from(
    camera: str, setting: str, pairs: Sequence[Pair], *, held_out: tuple[float, float] | None = None
) -> Likeness:
    """The likeness that some pairs show, however few; ``held_out`` is its error, to be kept with it."""
    fit = fit_likeness(pairs)
    return Likeness(
        camera=camera,
        setting=setting,
        matrix=_rounded(fit.matrix.ravel()),
        tone=_rounded(fit.tone),
        turn=_rounded(fit.response.turn),
        scale=_rounded(fit.response.log2_scale),
        lens=lens_terms([pair.optics for pair in pairs], fit.falloffs),
        pairs=len(pairs),
        held_out_mean=held_out[0] if held_out else None,
        held_out_p95=held_out[1] if held_out else None,
    )


def _rounded(values: Iterable[float]) -> tuple[float, ...]:
    return tuple(round(float(value), 5) + 0.0 for value in values)


def keep_learned(ledger: Ledger, learned: Learned) -> str:
    """Keep a likeness in the ledger; from then on frames of its camera and setting are developed with it."""
    ledger.keep_likeness(learned.likeness.name, likeness_text(learned.likeness))
    return learned.likeness.name


def likeness_of(ledger: Ledger | None, frame: Frame | KeptFrame) -> Likeness | None:
    """The likeness that a ledger holds for the camera and setting of a frame."""
    if ledger is None or not ledger.likenesses():
        return None
    name = likeness_name(*camera_of(frame))
    text = ledger.likeness(name)
    return None if text is None else parse_likeness(text, source=f"likeness {name}")


def frame_in(ledger: Ledger | None, path: str | PathLike[str]) -> Frame:
    """Open a frame as a ledger knows it: with the likeness of its camera and setting, where one was learned.

    Raises
    ------
    FrameError
        The frame cannot be read.
    RecipeError
        A likeness that was edited by hand into something else.
    """
    frame = open_frame(path)
    frame.likeness = likeness_of(ledger, frame)
    return frame
