"""Which section of a recipe did most of what is held against it, and what the verdict would be without it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from driftline.drift.apportioning import Shares, keeping, shares
from driftline.drift.checking import Checked, check_frame
from driftline.pipeline import Developable
from driftline.recipe import Recipe

_NOTHING = 1e-9
_MOST = 0.5


@dataclass(frozen=True)
class Explained:
    """Which section did most of what is held against an edit.

    Attributes
    ----------
    section
        Its name; None when no single one did.
    part
        Its share of all that is held against the edit; above 1 when others brought the picture back.
    verdict_without
        What the verdict would be without it.
    """

    shares: Shares
    verdict: str
    section: str | None
    part: float
    verdict_without: str

    @property
    def in_words(self) -> str:
        """One line; empty when there is nothing to say.

        Examples
        --------
        >>> from driftline.drift.apportioning import Apportioned
        >>> found = Shares(("curve", "white"), {}, Apportioned("x notice", 0.0, {}))
        >>> Explained(found, "overdone", "curve", 0.8, "in keeping").in_words
        'most of it by [curve]; without it the picture would be in keeping'
        """
        if not self.section:
            return ""
        who = f"[{self.section}] did more of it than any other section"
        if self.part >= _MOST:
            who = f"{'all' if len(self.shares.sections) == 1 else 'most'} of it by [{self.section}]"
        still = "still be " if self.verdict_without == self.verdict else "be "
        return f"{who}; without it the picture would {still}{self.verdict_without}"

    def json(self) -> dict[str, Any]:
        """As one JSON object: the section that did most, the verdict without it, and all shares."""
        return {"most": self.section, "verdict_without": self.verdict_without, **self.shares.json()}


def explained(frame: Developable, recipe: Recipe, checked: Checked, *, bands: Any = None) -> Explained:
    """Say which section of a recipe did most of what is held against it on a frame.

    Parameters
    ----------
    frame, recipe, bands
        As in :func:`shares`.
    checked
        What :func:`~driftline.drift.checking.check_frame` found of them.

    Raises
    ------
    FrameError
        The frame cannot be decoded.
    """
    found = shares(frame, recipe, bands=bands)
    ranked = found.ranked(checked)
    section = next((name for name, share in ranked.items() if share > _NOTHING), None)
    if section is None:
        return Explained(found, checked.verdict, None, 0.0, checked.verdict)
    without = keeping(recipe, set(found.sections) - {section})
    verdict = check_frame(frame, without, bands=bands).verdict
    whole = sum(ranked.values())
    part = ranked[section] / whole if whole > _NOTHING else 1.0
    return Explained(found, checked.verdict, section, part, verdict)
