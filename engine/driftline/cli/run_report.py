"""What a batch did, short and exact, and its prints for the pages."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from driftline.cli import say

if TYPE_CHECKING:
    from driftline.batch import Failed, RunResult
    from driftline.pages import Print

FEW = 12
"""Longer lists are no help to anybody who has to look at each frame."""


def summary(result: RunResult, out: Path) -> Iterator[str]:
    """A run in a few lines: what was made, what to look at, what failed and why."""
    yield f"{say.count(len(result.prints), 'print')} in {out}, {result.seconds:.1f} s"
    if len(result.prints) + len(result.failed) < result.asked or (result.prints and result.failed):
        yield f"  {say.count(result.asked, 'frame')}: {', '.join(_parts(result))}"
    unknown = _made(result) - len(result.measured)
    if unknown:
        yield f"  of {unknown} there already it is not known here how far they drift"
    if result.spread:
        found = result.spread
        few = f" ({found.frames} of {_made(result)} compared)" if found.frames < _made(result) else ""
        yield (
            f"  exposure against the cameras' own pictures{few}: {found.metered:.2f} EV apart as metered,"
            f" {found.anchored:.2f} EV as printed before the look"
        )
    yield from _by_hand(result)
    yield from failures(result.failed)


def failures(failed: Sequence[Failed]) -> Iterator[str]:
    """The frames that failed, each with its reason; then what to try, once. Nothing for none."""
    if failed:
        yield f"  {say.count(len(failed), 'frame')} failed:"
    for failure in failed:
        named = "" if failure.frame in failure.reason else f"{failure.frame}: "
        yield f"    {named}{failure.reason} [{failure.code}]"
    yield from list(_tries(failed))[:FEW]


def _tries(failed: Sequence[Failed]) -> Iterator[str]:
    """What to try, once: with the one frame that it is meant for, or with all of some codes."""
    meant: dict[str, list[Failed]] = {}
    for failure in failed:
        meant.setdefault(failure.hint, []).append(failure)
    for hint, those in meant.items():
        codes = " or ".join(dict.fromkeys(failure.code for failure in those))
        where = f"with {Path(those[0].frame).name}" if len(those) == 1 else f"where it says {codes}"
        if hint:
            yield f"  try, {where}: {hint}"


def _parts(result: RunResult) -> Iterator[str]:
    """What became of the frames; together they are all that were asked for."""
    parts = {
        "printed now": result.prints,
        "there already": result.there,
        "left as printed with an older version (--refresh prints them again)": result.older,
        "failed": result.failed,
    }
    return (f"{len(frames)} {words}" for words, frames in parts.items() if frames)


def _made(result: RunResult) -> int:
    """How many frames have the print that was asked for."""
    return len(result.prints) + len(result.there)


def _by_hand(result: RunResult) -> Iterator[str]:
    """The few frames to look at, apart by what is wrong with them; of many, the first."""
    titles = {"look": "the look drifts out of its bands on", "meter": "the meter was misled on"}
    for kind, title in titles.items():
        found = [one for one in result.by_hand if one.kind == kind]
        if found:
            yield f"  {title} {len(found)} of {say.count(_made(result), 'print')}, to look at by hand:"
        for one in found[:FEW]:
            yield f"    {Path(one.path).name}: {one.why}"
        if len(found) > FEW:
            yield f"    and {len(found) - FEW} more; --json names them all"


def pictured(result: RunResult) -> list[Print]:
    """The prints of a run for the pages."""
    from driftline.pages import Picture, Print  # noqa: PLC0415

    return [
        Print(
            name=Path(one.path).name,
            frame=Path(one.frame).name,
            ref=one.making.ref or one.making.recipe,
            picture=Picture(
                key=one.making.key(),
                load=Path(one.path).read_bytes,
                alt=f"{Path(one.frame).name}, printed with {one.making.ref or one.making.recipe}",
            ),
            verdict=one.verdict,
        )
        for one in result.prints
    ]
