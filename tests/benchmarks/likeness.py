"""Print how near plain comes to the camera's picture, before and after learning, on pictures held out.

Run ``PYTHONPATH=tests nice python tests/benchmarks/likeness.py [FOLDER]``; FOLDER holds raw files with their
cameras' own JPEG, of which one half of each picture is learned and the other measured. The figures of the
demo shoot are of whole pictures: every place that is clear of black and white in both. Places are of one size
before and after, though a lens undone exactly would let the pictures be laid pixel on pixel: finer places
differ by more (on one frame 4.8 against 4.0 for the same likeness).
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path

import numpy as np

import demo_frames
from driftline.colorimetry.difference import XYZ_to_lab, ciede2000
from driftline.colorimetry.primaries import D65_XY, SRGB_TO_XYZ, xy_to_XYZ
from driftline.drift.anchoring import anchor
from driftline.drift.camera import camera_of
from driftline.drift.fitting import default_fit, differences_to, fit_likeness
from driftline.drift.learning import likeness_from
from driftline.drift.pairs import Pair, pair_of
from driftline.drift.planes import halved
from driftline.drift.views import common_mask, whole_cells
from driftline.frames import list_frames
from driftline.pipeline import Frame, open_frame
from driftline.recipe import Likeness

FEWEST = 3
MOST_PLACES = 250_000


def differences(path: Path, likeness: Likeness | None) -> np.ndarray:
    """ΔE00 between plain and the camera rendering, place by place on the common grid."""
    frame = open_frame(path)
    frame.likeness = likeness
    views = anchor(frame).views
    mask, rgbs = common_mask(views), [view.rgb for view in views]
    while mask.size > MOST_PLACES:
        mask, rgbs = whole_cells(mask), [halved(rgb) for rgb in rgbs]
    white = xy_to_XYZ(D65_XY)
    labs = [XYZ_to_lab(np.clip(rgb[:, mask].T, 0, 1) @ SRGB_TO_XYZ.T, white) for rgb in rgbs]
    return np.asarray(ciede2000(labs[0], labs[1]))


def groups() -> dict[tuple[str, str], list[tuple[Frame, Pair]]]:
    """The usable pairs of the demo shoot, by body and setting."""
    found: dict[tuple[str, str], list[tuple[Frame, Pair]]] = {}
    for path in demo_frames.paths():
        frame = open_frame(path)
        pair, _ = pair_of(frame, path.name)
        if pair is not None:
            found.setdefault(camera_of(frame), []).append((frame, pair))
    return found


def on_the_demo(camera: tuple[str, str], those: Sequence[tuple[Frame, Pair]]) -> None:
    """Each frame in turn held out."""
    print(f"\n{camera[0]}, setting {camera[1]}: {len(those)} pairs")
    if len(those) < FEWEST:
        print("  too few to hold one out")
        return
    means = []
    for place, (frame, _) in enumerate(those):
        rest = [pair for n, (_, pair) in enumerate(those) if n != place]
        ours = [differences(frame.path, one) for one in (None, likeness_from(*camera, rest))]
        means.append([one.mean() for one in ours])
        tails = [np.percentile(one, 95) for one in ours]
        print(
            f"  {frame.path.name:22} mean {means[-1][0]:.2f} -> {means[-1][1]:.2f}"
            f"   p95 {tails[0]:.2f} -> {tails[1]:.2f}"
        )
    before, after = np.mean(means, axis=0)
    print(f"  held out, mean of the frames: ΔE00 {before:.2f} before, {after:.2f} after")
    for terms in likeness_from(*camera, [pair for _, pair in those]).lens.values():
        k1, ev = terms.distortion[0], terms.falloff_ev[0]
        print(f"  {terms.name}: k1 {k1:+.5f}, falloff {ev:+.3f} EV {told(terms.name)}")


def told(lens: str) -> str:
    """What is true of a lens of the demo shoot: its camera undoes all distortion and half the falloff."""
    truths = [frame["truth"]["lens"] for frame in demo_frames.registry()]
    truth = next(one for one in truths if one["name"] == lens)
    return f"(true: {truth['distortion']:+.5f}, {-truth['falloff_ev'] / 2:+.3f} EV)"


def halves(pair: Pair) -> list[Pair]:
    """The upper and the lower half: places stand in the order of rows."""
    half = len(pair.scene) // 2
    return [Pair(pair.name, pair.scene[part], pair.shown[part]) for part in (np.s_[:half], np.s_[half:])]


def on_real(path: Path) -> None:
    """Learned on one half of a picture, measured on the other, both ways."""
    pair, reason = pair_of(open_frame(path), path.name)
    if pair is None:
        print(f"  {path.name}: {reason}")
        return
    for name, (learned, measured) in zip(
        ("upper -> lower", "lower -> upper"), (halves(pair), halves(pair)[::-1]), strict=True
    ):
        before, after = (differences_to(fit, measured) for fit in (default_fit(), fit_likeness([learned])))
        print(
            f"  {path.name:22} {name}: mean {before.mean():.2f} -> {after.mean():.2f}"
            f"   p95 {np.percentile(before, 95):.2f} -> {np.percentile(after, 95):.2f}"
        )


def main() -> None:
    """Measure and print."""
    for camera, those in groups().items():
        on_the_demo(camera, those)
    for folder in sys.argv[1:]:
        print(f"\n{Path(folder).name}: one half learned, the other measured")
        for path in list_frames([Path(folder)]):
            on_real(path)


if __name__ == "__main__":
    main()
