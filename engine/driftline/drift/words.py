"""Drift in words for a photographer: the most telling lines first, then the table."""

from __future__ import annotations

from cmath import phase
from collections.abc import Callable, Mapping
from math import degrees
from types import MappingProxyType
from typing import TYPE_CHECKING

from driftline.drift.causes import COLOUR_CAUSES, FLOORS, NAMES
from driftline.drift.verdict import IN_KEEPING, LEANING, NOT_JUDGED

if TYPE_CHECKING:
    from driftline.drift.checking import Checked, CheckedCause

TELLING = 3
WHITE_IS_A_GUESS = "the white of plain is a guess"
_WORTH_SAYING = 0.5  # of the notice band
_COLUMNS = ("floor", "edit", "total", "judged")

_HUES = (  # Oklab degrees
    (-30, "magenta"), (15, "red"), (55, "orange"), (92, "yellow"), (120, "yellow-green"), (150, "green"),
    (195, "cyan"), (258, "blue"), (300, "violet"), (330, "magenta"), (375, "red"),
)  # fmt: skip
_TURNS = {
    "hue": (
        "towards yellow (reds), towards cyan (greens)",
        "towards magenta (reds), towards yellow (greens)",
    ),
    "hue_skin": ("towards yellow", "towards red"),
    "hue_foliage": ("towards blue-green", "towards yellow"),
    "hue_sky": ("towards violet", "towards cyan"),
}


def in_words(checked: Checked) -> list[str]:
    """The most telling lines of a check, strongest first, in plain words with numbers.

    At most three causes; then one line for what plain itself already differs by, and one for what could not
    be compared or is not sure.
    """
    causes = checked.causes
    if not any(cause.comparable for cause in causes.values()):
        return [f"nothing is compared: {next(iter(causes.values())).reason}"]
    telling = sorted(
        (c for c in causes.values() if c.ratio >= _WORTH_SAYING and not _goes_with_split(c, causes)),
        key=lambda cause: -cause.ratio,
    )[:TELLING]
    lines = [_line(cause, checked) for cause in telling]
    if not lines:
        lines = ["nothing that anyone would notice beside the camera's own picture"]
    return [*lines, *_deliberate(causes), *_unknown_white(causes), *_floor_alone(causes)]


def in_table(checked: Checked) -> list[str]:
    """Every cause with numbers, one a line: floor, edit, total, judged, unit, verdict; then the others."""
    causes = checked.causes.values()
    rows = [_row(cause) for cause in causes if cause.comparable]
    if not rows:
        return []
    rows.insert(0, ["", *_COLUMNS, "", ""])
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    aligned = [
        "  ".join(
            cell.rjust(width) if 0 < i <= len(_COLUMNS) else cell.ljust(width)
            for i, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    ]
    reasons: dict[str, list[str]] = {}
    for cause in causes:
        if not cause.comparable:
            reasons.setdefault(cause.reason, []).append(NAMES[cause.key])
    return [*aligned, *(f"not compared: {', '.join(names)}: {why}" for why, names in reasons.items())]


def _row(cause: CheckedCause) -> list[str]:
    numbers = [_signed(getattr(cause, column)) for column in _COLUMNS]
    verdict = f"not judged: {cause.reason}" if cause.verdict == NOT_JUDGED else cause.verdict
    return [NAMES[cause.key], *numbers, cause.unit, verdict]


def _signed(value: float | None) -> str:
    if value is None:
        return "–"
    text = f"{value:+.2f}"
    return "0.00" if text in ("+0.00", "-0.00") else text


def _line(cause: CheckedCause, checked: Checked) -> str:
    said = _SAYING[cause.key](cause, checked)
    return f"{NAMES[cause.key]}: {said}{_weight(cause)}"


def _weight(cause: CheckedCause) -> str:
    """What the verdict means, in the words of those who looked at pictures."""
    if cause.verdict == IN_KEEPING or (cause.key == "split_tint" and cause.verdict == LEANING):
        return ""
    if cause.key == "chroma" and (cause.judged or 0) > 0:
        start, well = (
            "past the point where viewers start to call it unnatural",
            "which viewers call unnatural",
        )
        return f", {start if cause.verdict == LEANING else well}"
    return (
        ", which is noticed" if cause.verdict == LEANING else ", more than viewers accept as the same picture"
    )


def _times(cause: CheckedCause, checked: Checked) -> str:
    if cause.edit and abs(cause.floor or 0) > abs(cause.edit) and (cause.floor or 0) * cause.edit > 0:
        return f"{2**cause.edit:.2f} × by the edit, where plain has {2 ** (cause.floor or 0):.2f} × already"
    return f"{2 ** (cause.total or 0):.2f} × the camera's{_share(cause)}"


def _share(cause: CheckedCause) -> str:
    """How much of the total is the edit's, where plain itself stands well off."""
    if abs(cause.floor or 0) < 2 * FLOORS[cause.key] or cause.edit is None:
        return ""
    if cause.unit == "log2":
        return f" ({2**cause.edit:.2f} × by the edit)"
    return f" ({cause.edit:+.{2 if cause.unit == 'EV' else 0}f} by the edit)"


def _exposure(cause: CheckedCause, checked: Checked) -> str:
    total = cause.total or 0
    return f"{abs(total):.2f} EV {'lighter' if total > 0 else 'darker'} than the camera's{_share(cause)}"


def _white(cause: CheckedCause, checked: Checked) -> str:
    total = cause.total or 0
    return f"{abs(total):.0f} mired {'warmer' if total > 0 else 'cooler'} than the camera's{_share(cause)}"


def _duv(cause: CheckedCause, checked: Checked) -> str:
    total = cause.total or 0
    return f"{abs(total):.1f} × 10⁻³ Duv {'greener' if total > 0 else 'more magenta'} than the camera's"


def _turned(cause: CheckedCause, checked: Checked) -> str:
    total = cause.total or 0
    way = _TURNS[cause.key][0 if total > 0 else 1]
    return f"turned by {abs(total):.0f}° {way}{_share(cause)}"


def _split(cause: CheckedCause, checked: Checked) -> str:
    how_far = f"{cause.ratio:.1f} times what is noticed" if cause.ratio >= 1 else "less than is noticed"
    if (cause.floor or 0) >= 2 * FLOORS[cause.key] and cause.edit is not None:
        how_far += f" ({cause.edit:.1f} by the edit, {cause.floor:.1f} by plain already)"
    said = f"light and dark tones part in colour, {how_far}"
    if cause.vector:
        hue, other = (degrees(phase(v)) % 360 for v in (cause.vector, -cause.vector))
        said = f"light tones towards {_hue_name(hue)}, dark ones towards {_hue_name(other)}, {how_far}"
    shift = checked.causes["white"].edit
    return f"{said}; the white goes with it ({shift:+.0f} mired)" if shift and abs(shift) >= 1 else said


def _hue_name(hue: float) -> str:
    return min(_HUES, key=lambda named: abs(named[0] - hue))[1]


def _clipped(cause: CheckedCause, checked: Checked) -> str:
    what = "black" if cause.key == "clip_low" else "clipped"
    where = checked.clipped_where.get(cause.key)
    return f"{abs(cause.judged or 0):.1f} % newly {what}{f', mostly {where}' if where else ''}"


def _residual(cause: CheckedCause, checked: Checked) -> str:
    return f"ΔE00 {abs(cause.total or 0):.1f} that none of the others explains (local changes, single hues)"


_SAYING: Mapping[str, Callable[[CheckedCause, Checked], str]] = MappingProxyType(
    {
        "exposure": _exposure,
        "contrast": _times,
        "white": _white,
        "duv": _duv,
        "chroma": _times,
        "hue": _turned,
        "hue_skin": _turned,
        "hue_foliage": _turned,
        "hue_sky": _turned,
        "split_tint": _split,
        "clip_low": _clipped,
        "clip_high": _clipped,
        "detail_fine": _times,
        "detail_middling": _times,
        "detail_broad": _times,
        "residual": _residual,
    }
)


def _goes_with_split(cause: CheckedCause, causes: Mapping[str, CheckedCause]) -> bool:
    """Whether a shift of white is what split-toning does to it, and is said with that."""
    split = causes["split_tint"]
    return cause.key in ("white", "duv") and split.ratio >= max(_WORTH_SAYING, cause.ratio / 2)


def _deliberate(causes: Mapping[str, CheckedCause]) -> list[str]:
    """One line for colour that is not compared on purpose."""
    reason = causes["chroma"].reason
    if any(causes[key].comparable for key in COLOUR_CAUSES) or "black and white" not in reason:
        return []
    return [f"{reason}: a step taken on purpose; its colour is not compared, its tones are"]


def _unknown_white(causes: Mapping[str, CheckedCause]) -> list[str]:
    """One line for a frame without a white to start from: all its colours may stand off for that alone."""
    white = causes["white"]
    if white.comparable or not white.reason.startswith(WHITE_IS_A_GUESS):
        return []
    what = white.reason.partition(" (")[0]
    return [f"not the edit's doing: {what}, so that all its colours may stand far from the camera's"]


def _floor_alone(causes: Mapping[str, CheckedCause]) -> list[str]:
    """One line for the cause by which plain alone differs most, where that is more than the edit does."""
    alone = [c for c in causes.values() if c.comparable and c.confident and c.floor_ratio >= 1 > c.ratio]
    if not alone:
        return []
    names = [NAMES[c.key] for c in sorted(alone, key=lambda c: -c.floor_ratio)[:TELLING]]
    return [f"not the edit's doing: plain itself differs from the camera's picture in {', '.join(names)}"]
