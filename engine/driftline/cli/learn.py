"""``driftline learn``."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from driftline.cli import say
from driftline.cli.options import Frames, Json, LedgerPath, open_ledger

if TYPE_CHECKING:
    from driftline.drift import Learned
    from driftline.recipe import LensTerms


def learn(frames: Frames, ledger: LedgerPath = None, as_json: Json = False) -> int:
    """Learn how your camera renders, from your own raw + JPEG pairs.

    One likeness for each camera and picture setting, kept in the ledger. From then on plain is nearly the
    camera's own rendering, and drift is measured from there.
    """
    from driftline import drift  # noqa: PLC0415
    from driftline.errors import UsageError  # noqa: PLC0415
    from driftline.frames import list_frames  # noqa: PLC0415
    from driftline.pipeline import open_frame  # noqa: PLC0415

    opened = open_ledger(ledger)
    results = drift.learn(open_frame(path) for path in list_frames(frames))
    learned = [one for one in results if not isinstance(one, UsageError)]
    refused = [one for one in results if isinstance(one, UsageError)]
    if not learned and refused:
        raise refused[0]
    for one in learned:
        drift.keep_learned(opened, one)
    if as_json:
        problems = [{"code": one.code, "reason": one.message} for one in refused]
        documents = [one.json() for one in learned]
        say.document({**documents[0], "likenesses": documents, "refused": problems})
    else:
        say.lines(line for one in learned for line in told(one))
        say.lines(line for one in refused for line in one.report().splitlines())
    return 0


def _of_lens(terms: LensTerms) -> Iterator[str]:
    moved, ev = sum(terms.distortion), sum(terms.falloff_ev)
    if moved:
        yield f"{'barrel' if moved < 0 else 'pincushion'} distortion of {abs(moved):.1%} at the corner"
    if ev:
        yield f"corners lifted by {ev:.2f} EV"
    yield "as the files state" if terms.source == "file" else f"measured on {terms.pairs} pairs"


def told(one: Learned) -> Iterator[str]:
    """What was learned, in words."""
    likeness = one.likeness
    setting = f", setting {likeness.setting}" if likeness.setting else ""
    yield f"{likeness.camera}{setting}: learned from {likeness.pairs} pairs"
    yield (
        f"  on pairs held out plain differs from the camera's picture by {one.after[0]:.1f} ΔE00 "
        f"in the mean, {one.before[0]:.1f} before"
    )
    for terms in likeness.lens.values():
        yield f"  {terms.name or 'lens unknown'} at {terms.focal_mm:g} mm: {', '.join(_of_lens(terms))}"
    for name, reason in one.left_out.items():
        yield f"  left out {name}: {reason}"
