"""Learning how a camera renders."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

import demo_frames
from driftline.drift.anchoring import anchor
from driftline.drift.checking import check_frame
from driftline.drift.fitting import Fit, default_fit, differences_to, fit_likeness
from driftline.drift.learning import FEWEST_PAIRS, Learned, frame_in, keep_learned, learn
from driftline.drift.lenses import Optics, falloffs, lens_terms
from driftline.drift.pairs import Pair, pair_of
from driftline.errors import UsageError
from driftline.frames.opcodes import StatedLens
from driftline.ledger import Ledger
from driftline.pipeline import open_frame
from driftline.recipe import NEUTRAL, TONE_STOPS, parse_likeness
from driftline.stages.chroma import Response
from driftline.stages.standing import shown_stops

STOPS = np.array(TONE_STOPS)
KNOWN = Fit(
    matrix=np.array([[1.15, -0.1, -0.05], [-0.04, 1.1, -0.06], [0.02, -0.12, 1.1]]),
    tone=np.minimum(shown_stops(STOPS * 1.1) + 0.05 * np.sin(STOPS), 2.45),
    response=Response((1.0, 2.0, -1.5, 0, 0, 0, 0), (0.1, 0.08, 0, 0, -0.05, 0, 0)),
)


def made_up(fit: Fit, *, seed: int, outliers: float = 0.0) -> Pair:
    """A frame that a known camera rendered, with 1 % noise, and some places that moved between the two."""
    rng = np.random.default_rng(seed)
    light = 2.0 ** rng.uniform(-9, -0.5, (4000, 1)) * 2.0 ** rng.uniform(-0.7, 0.7)
    scene = light * rng.dirichlet([5, 5, 5], 4000) * 3
    shown = fit.render(scene * 2.0 ** rng.uniform(-0.3, 0.3)) * rng.normal(1, 0.01, (4000, 3))
    moved = rng.random(4000) < outliers
    shown[moved] = shown[rng.permutation(4000)][moved]
    return Pair(f"made-{seed}", scene, np.clip(shown, 1e-6, 1))


def test_a_known_camera_is_found_again() -> None:
    """A known matrix, curve and response (made here): pairs held out agree to 1 ΔE00, from more than 3."""
    fit = fit_likeness([made_up(KNOWN, seed=s) for s in range(5)])
    held_out = made_up(KNOWN, seed=99)
    assert differences_to(default_fit(), held_out).mean() > 3
    assert differences_to(fit, held_out).mean() < 1.0


def test_places_that_moved_do_not_count() -> None:
    """With 15 % of the places wrong, the rest is learned nearly as well: robust, as misregistration asks."""
    fit = fit_likeness([made_up(KNOWN, seed=s, outliers=0.15) for s in range(5)])
    assert differences_to(fit, made_up(KNOWN, seed=99)).mean() < 1.5


def test_too_few_pairs_are_refused() -> None:
    """The error says how many there are, how many are needed, and which kind."""
    (refused,) = learn([open_frame(demo_frames.named("night-wide"))])
    assert isinstance(refused, UsageError)
    assert refused.code == "too-few-pairs"
    assert str(FEWEST_PAIRS) in refused.message


@pytest.fixture(scope="module")
def learned() -> list[Learned | UsageError]:
    """What the demo shoot teaches of its bodies."""
    return learn(open_frame(path) for path in demo_frames.paths())


def test_each_body_of_the_demo_shoot_is_learned(learned: list[Learned | UsageError]) -> None:
    """On frames held out plain agrees with the camera rendering to 2.5 ΔE00 in the mean, on both bodies.

    The camera's true curve stands in the registry and is not known to the code.
    """
    found = {one.likeness.camera: one for one in learned if isinstance(one, Learned)}
    assert set(found) == {frame["truth"]["body"] for frame in demo_frames.registry()}
    for one in found.values():
        assert one.after[0] <= 2.5
        assert one.after[0] < one.before[0]


def test_lenses_are_learned_as_they_are(learned: list[Learned | UsageError]) -> None:
    """Distortion and half the falloff, which is what the demo's camera undoes (truth of the registry)."""
    truths = {frame["truth"]["lens"]["name"]: frame["truth"]["lens"] for frame in demo_frames.registry()}
    terms = [t for one in learned if isinstance(one, Learned) for t in one.likeness.lens.values()]
    assert {t.name for t in terms} >= {"K 18 mm", "K 35 mm"}
    for one in terms:
        truth = truths[one.name]
        assert one.focal_mm == truth["focal_length"]
        assert one.distortion[0] == pytest.approx(truth["distortion"], abs=0.0015)
        assert one.falloff_ev[0] == pytest.approx(-truth["falloff_ev"] / 2, abs=0.04)
    assert not {t.name for t in terms} - {name for name, truth in truths.items() if truth["falloff_ev"]}


def test_one_pair_of_a_lens_is_not_enough() -> None:
    """One alone may be a scene that is lit so; two that disagree show nothing; two that agree do."""
    one = Optics("K 18 mm", 18.0, k1=-0.016)
    assert falloffs([(one, 0.3)]) == {}
    assert lens_terms([one], {}) == {}
    assert falloffs([(one, 0.6), (one, -0.2)]) == {}
    assert falloffs([(one, 0.31), (one, 0.29)]) == {one.key: pytest.approx(0.3)}
    assert falloffs([(Optics(), 0.3), (Optics(), 0.3)]) == {}, "an unknown focal length is no lens"
    assert lens_terms([one, one], {})["lens-1"].distortion == (-0.016, 0.0, 0.0)


def test_what_the_files_state_goes_first() -> None:
    """DNG opcodes are taken as they stand, whatever the pairs seem to show."""
    stated = StatedLens((-0.03, 0.002, 0.0), (0.5, 0.1, 0.0))
    those = [Optics("zoom", 24.0, k1=-0.01, stated=stated)]
    terms = lens_terms(those, falloffs([(those[0], 0.2), (those[0], 0.2)]))["lens-1"]
    assert (terms.distortion, terms.falloff_ev, terms.source) == (
        stated.distortion,
        stated.falloff_ev,
        "file",
    )


def test_falloff_is_told_from_the_scene() -> None:
    """Made-up pairs whose corners a known lens darkens: found again to 0.02 EV, with 15 % of places wrong."""
    lens = Optics("made up", 24.0)
    pairs = []
    for seed in range(4):
        pair = made_up(KNOWN, seed=seed, outliers=0.15)
        r2 = np.random.default_rng(seed + 50).uniform(0, 1, len(pair.scene))
        darkened = pair.scene * np.exp2(-0.4 * r2)[:, None]
        pairs.append(Pair(pair.name, darkened, pair.shown, lens, r2))
    assert fit_likeness(pairs).falloffs[lens.key] == pytest.approx(0.4, abs=0.02)


def test_a_monochrome_rendering_teaches_no_colour(learned: list[Learned | UsageError]) -> None:
    """The frame in the camera's monochrome mode is left out, and it is said."""
    pair, reason = pair_of(open_frame(demo_frames.named("noon-middle")), "mono")
    assert pair is None
    assert "black and white" in reason


def test_a_kept_likeness_is_used_and_brings_the_floor_down(
    learned: list[Learned | UsageError], tmp_path: Path
) -> None:
    """From then on plain starts nearer to the camera: contrast and colour of the floor shrink."""
    ledger = Ledger.create(tmp_path / "looks", {})
    one = next(one for one in learned if isinstance(one, Learned))
    name = keep_learned(ledger, one)
    assert parse_likeness(ledger.likeness(name) or "", source=name) == one.likeness
    sums = []
    for opened in (None, ledger):
        total = 0.0
        for path in demo_frames.paths():
            frame = frame_in(opened, path)
            if opened and frame.likeness is None:
                continue
            causes = check_frame(frame, NEUTRAL).causes
            total += sum(abs(causes[key].floor or 0) for key in ("contrast", "chroma"))
        sums.append(total)
    assert sums[1] < sums[0]


def test_a_learned_lens_needs_no_more_bending(learned: list[Learned | UsageError], tmp_path: Path) -> None:
    """With its lens undone, plain lies on the camera rendering of a wide frame without distortion."""
    ledger = Ledger.create(tmp_path / "looks", {})
    for one in learned:
        if isinstance(one, Learned):
            keep_learned(ledger, one)
    path = demo_frames.named("fog-wide")
    before, after = (anchor(frame_in(opened, path)).registration for opened in (None, ledger))
    assert abs(before.k1) > 0.01
    assert abs(after.k1) < 0.002
    assert after.correlation > before.correlation - 0.001


def test_the_real_pair_is_learned_on_one_half_and_holds_on_the_other(raws: Path) -> None:
    """d30.crw, fitted on the upper half of the picture, measured on the lower: nearer than the default."""
    pair, reason = pair_of(open_frame(raws / "ok/d30.crw"), "d30")
    assert pair is not None, reason
    half = len(pair.scene) // 2  # the places stand in the order of rows
    upper, lower = (
        Pair("half", pair.scene[part], pair.shown[part]) for part in (slice(half), slice(half, None))
    )
    before = differences_to(default_fit(), lower).mean()
    assert differences_to(fit_likeness([upper]), lower).mean() < before
