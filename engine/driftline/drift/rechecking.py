"""Checking one recipe after another on the same frame, as fast as it goes: what never changes is kept."""

from __future__ import annotations

from functools import cached_property
from typing import Any

from driftline.drift.apportioning import Pause, Shares, no_pause, shares
from driftline.drift.causes import Drift
from driftline.drift.checking import Checked, check_picture, edit_of, floor_of
from driftline.drift.verdict import Bands, bands_from
from driftline.pipeline import Developable
from driftline.recipe import Recipe


class Rechecking:
    """A frame that is checked again and again while a recipe is edited.

    The floor is measured once, where the camera rendering and plain are clear of black and white;
    :func:`~driftline.drift.checking.check_frame` leaves out also where the edit is not, so that its floor
    moves a little with the edit. Edit, total, judged amounts and verdicts are the same numbers.

    Parameters
    ----------
    frame
        From :func:`driftline.open_frame`, or a kept proof.
    bands
        As in :func:`~driftline.drift.checking.check_frame`.
    """

    def __init__(self, frame: Developable, *, bands: Any = None) -> None:
        self._frame = frame
        self.bands: Bands = bands_from(bands)

    @cached_property
    def _floor(self) -> Drift:
        return floor_of(self._frame)

    def check(self, recipe: Recipe) -> Checked:
        """A recipe checked on the frame.

        Raises
        ------
        FrameError
            The frame cannot be decoded.
        """
        return check_picture(self._frame, edit_of(self._frame, recipe), bands=self.bands, floor=self._floor)

    def shares(self, recipe: Recipe, *, pause: Pause = no_pause) -> Shares:
        """Which section of a recipe moved the frame how far; see :func:`~.apportioning.shares`."""
        return shares(self._frame, recipe, bands=self.bands, pause=pause)
