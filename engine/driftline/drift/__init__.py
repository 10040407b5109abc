"""How far an edit stands from the camera rendering, by cause, and what to make of it.

Owns registration, the estimators, bands and verdicts, the frame's anchor, shares and temper. Knows pixels as
encoded sRGB arrays, recipes and frames; must not know git, prints or the terminal. Read
:func:`~driftline.drift.measuring.measure_drift` and :func:`~driftline.drift.verdict.judge` first.

Names are loaded on first use: bands and words cost nothing, pictures load scipy.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from driftline.first_use import on_first_use

_WHERE = {
    "kept_frame": "saving",
    "Learned": "learning",
    "frame_in": "learning",
    "keep_learned": "learning",
    "learn": "learning",
    "Band": "verdict",
    "Bands": "verdict",
    "Cause": "causes",
    "Checked": "checking",
    "CheckedCause": "checking",
    "DEFAULT_BANDS": "verdict",
    "Drift": "causes",
    "FLOORS": "causes",
    "Judgement": "verdict",
    "Registration": "registration",
    "UNITS": "causes",
    "anchor_ev": "anchoring",
    "forget": "anchoring",
    "bands_from": "verdict",
    "SavedMeasured": "saving",
    "add_proofs": "saving",
    "blend_measured": "deriving",
    "fork_measured": "deriving",
    "restore_measured": "deriving",
    "kept_frames": "saving",
    "measure_on": "on_proofs",
    "save_measured": "saving",
    "between": "checking",
    "check_frame": "checking",
    "MarkedSquares": "mapping",
    "difference_map": "mapping",
    "difference_marks": "mapping",
    "Apportioned": "apportioning",
    "Explained": "explaining",
    "Part": "apportioning",
    "Shares": "apportioning",
    "Tempered": "tempering",
    "TemperedVersion": "tempered_version",
    "explained": "explaining",
    "shares": "apportioning",
    "temper": "tempering",
    "temper_version": "tempered_version",
    "in_table": "words",
    "in_words": "words",
    "judge": "verdict",
    "measure_drift": "measuring",
    "map_between": "mapping",
    "Past": "past",
    "past_edits": "past",
    "past_in_words": "past",
    "past_of": "past",
    "places": "past",
    "render": "rendering",
}

__all__ = [
    "DEFAULT_BANDS",
    "FLOORS",
    "UNITS",
    "Apportioned",
    "Band",
    "Bands",
    "Cause",
    "Checked",
    "CheckedCause",
    "Drift",
    "Explained",
    "Judgement",
    "Learned",
    "MarkedSquares",
    "Part",
    "Past",
    "Registration",
    "SavedMeasured",
    "Shares",
    "Tempered",
    "TemperedVersion",
    "add_proofs",
    "anchor_ev",
    "bands_from",
    "between",
    "blend_measured",
    "check_frame",
    "difference_map",
    "difference_marks",
    "explained",
    "forget",
    "fork_measured",
    "frame_in",
    "in_table",
    "in_words",
    "judge",
    "keep_learned",
    "kept_frame",
    "kept_frames",
    "learn",
    "map_between",
    "measure_drift",
    "measure_on",
    "past_edits",
    "past_in_words",
    "past_of",
    "places",
    "render",
    "restore_measured",
    "save_measured",
    "shares",
    "temper",
    "temper_version",
]

if TYPE_CHECKING:
    from driftline.drift.anchoring import anchor_ev, forget
    from driftline.drift.apportioning import Apportioned, Part, Shares, shares
    from driftline.drift.causes import FLOORS, UNITS, Cause, Drift
    from driftline.drift.checking import Checked, CheckedCause, between, check_frame
    from driftline.drift.deriving import blend_measured, fork_measured, restore_measured
    from driftline.drift.explaining import Explained, explained
    from driftline.drift.learning import Learned, frame_in, keep_learned, learn
    from driftline.drift.mapping import MarkedSquares, difference_map, difference_marks, map_between
    from driftline.drift.measuring import measure_drift
    from driftline.drift.on_proofs import measure_on
    from driftline.drift.past import Past, past_edits, past_in_words, past_of, places
    from driftline.drift.registration import Registration
    from driftline.drift.rendering import render
    from driftline.drift.saving import SavedMeasured, add_proofs, kept_frame, kept_frames, save_measured
    from driftline.drift.tempered_version import TemperedVersion, temper_version
    from driftline.drift.tempering import Tempered, temper
    from driftline.drift.verdict import DEFAULT_BANDS, Band, Bands, Judgement, bands_from, judge
    from driftline.drift.words import in_table, in_words

__getattr__ = on_first_use(__name__, _WHERE)


def __dir__() -> list[str]:
    return sorted(__all__)
