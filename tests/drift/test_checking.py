"""Checking recipes on frames: the three columns, the anchor, what cannot be compared."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from drift.shoot import demo, mono, truth
from driftline.arrays import EncodedRGB
from driftline.colorimetry.encodings import srgb_decode, srgb_encode
from driftline.drift import UNITS, anchor_ev, check_frame, render
from driftline.drift.anchoring import LIMIT_EV, anchor
from driftline.drift.causes import COLOUR_CAUSES
from driftline.pipeline import KeptFrame, develop, keep, open_frame
from driftline.recipe import NEUTRAL, Recipe, parse_recipe

WORDS = ("night", "fog", "grey", "chart", "noon", "shade")


def recipe(text: str) -> Recipe:
    """A recipe from its text."""
    return parse_recipe(text, source="a test")


@pytest.mark.parametrize("word", ["fog", "grey", "shade"])
def test_the_neutral_recipe_is_no_edit(word: str) -> None:
    """With the neutral recipe the edit column is exactly 0, floor is total, and nothing is judged."""
    for cause in check_frame(demo(word), NEUTRAL).causes.values():
        if cause.comparable:
            assert cause.edit == 0
            assert cause.floor == cause.total
            assert cause.judged in (0, None)


@pytest.mark.parametrize("word", WORDS)
def test_plain_reads_no_exposure_drift(word: str) -> None:
    """The anchor is the gain for which plain reads no exposure against the camera rendering, to .02 EV."""
    cause = check_frame(demo(word), NEUTRAL).causes["exposure"]
    assert cause.floor == pytest.approx(0, abs=0.02)
    assert abs(anchor_ev(demo(word))) < 1


def test_metered_shows_up_as_edit() -> None:
    """A recipe that starts as metered reads the anchor, taken back, in its edit column."""
    frame = kept("grey")
    frame.rendering = develop(frame, NEUTRAL, anchor_ev=0.8)
    edit = check_frame(frame, recipe('[exposure]\nanchor = "metered"\n')).causes["exposure"].edit
    assert edit == pytest.approx(-0.9, abs=0.2)  # through a standing curve


@pytest.mark.parametrize("word", ["fog", "grey", "noon", "shade"])
def test_the_lens_of_the_camera_is_found(word: str) -> None:
    """The camera undoes its lens, plain does not: the distortion found is that of the invented lens.

    Source: demo_raws/registry.json, which states each lens; the mark is 1.5 pixels at the corner of the grid.
    """
    found = anchor(demo(word))
    true = truth(demo(word))["lens"]["distortion"]
    corner = np.hypot(*found.layout.shape) / 2
    assert (found.registration.k1 - true) * corner == pytest.approx(0, abs=1.5)
    assert found.registration.correlation > 0.98


def test_the_columns_add_up_on_frames() -> None:
    """Floor and edit give the total within the closure bounds of the drift model, on every demo frame."""
    look = recipe(
        "[exposure]\nev = 0.3\n[white]\nshift = 12.0\n[curve]\nslope = 1.1\n[chroma]\nscale = 1.15\n"
    )
    for word in WORDS:
        causes = check_frame(demo(word), look).causes
        for key, bound in (
            ("exposure", 0.06),
            ("contrast", 0.04),
            ("chroma", 0.05),
            ("hue", 1.2),
            ("white", 3),
        ):
            cause = causes[key]
            if cause.comparable and cause.confident:
                assert cause.total == pytest.approx(cause.floor + cause.edit, abs=bound), (word, key)


def test_a_black_and_white_rendering_leaves_the_tones() -> None:
    """On the frame whose camera was set to black and white, colour has no number and exposure has."""
    found = check_frame(mono(), recipe("[exposure]\nev = 0.5\n"))
    for key in COLOUR_CAUSES:
        assert found.causes[key].edit is None
        assert "black and white" in found.causes[key].reason
        assert found.json()["causes"][key]["judged"] is None
    assert found.causes["exposure"].verdict == "overdone"
    assert found.verdict == "overdone"


def test_a_black_and_white_recipe_is_a_step_and_no_warning() -> None:
    """Turning a colour frame black and white is never overdone for want of colour."""
    found = check_frame(demo("grey"), recipe('[mono]\nfilter = "yellow"\n'))
    assert all(not found.causes[key].comparable for key in COLOUR_CAUSES)
    assert found.causes["contrast"].comparable


class Blind(KeptFrame):
    """A frame without a camera rendering, and one whose rendering is of something else."""

    rendering: EncodedRGB | None = None

    def camera_rendering(self, max_edge: int | None = None) -> EncodedRGB | None:
        """What the test gives."""
        return self.rendering


def kept(word: str) -> Blind:
    """A demo frame as a kept proof."""
    return Blind(keep(demo(word)))


def test_no_rendering_is_a_result() -> None:
    """Without a camera rendering every cause is null with the reason, the verdict is not judged, anchor 0."""
    frame = kept("grey")
    frame.camera_rendering_reason = "the raw holds no JPEG"
    found = check_frame(frame, recipe("[exposure]\nev = 0.5\n"))
    assert found.verdict == "not judged"
    assert found.largest is None
    assert found.anchor_ev == 0
    for cause in found.json()["causes"].values():
        assert [cause[column] for column in ("floor", "edit", "total", "judged")] == [None] * 4
        assert cause["reason"] == "no camera rendering: the raw holds no JPEG"
    assert list(found.causes) == list(UNITS)


def test_a_rendering_of_something_else_is_refused() -> None:
    """A rendering that does not fit the raw is not judged by, and does not move the anchor."""
    frame = kept("grey")
    frame.rendering = demo("noon").camera_rendering()
    found = check_frame(frame, recipe("[exposure]\nev = 0.5\n"))
    assert found.verdict == "not judged"
    assert "do not lie on each other" in found.causes["exposure"].reason
    assert anchor_ev(frame) == 0


@pytest.mark.parametrize("ev", [-1.5, 0.8, 6.0])
def test_the_anchor_finds_a_known_gain_within_its_limits(ev: float) -> None:
    """A rendering that is plain with a gain moves the anchor by that gain, at most 3 EV."""
    frame = kept("fog")
    frame.rendering = develop(frame, NEUTRAL, anchor_ev=min(ev, 2.0))
    if ev > LIMIT_EV:
        lighter = np.clip(srgb_decode(develop(frame, NEUTRAL, anchor_ev=-2.0)) * 2.0**ev, 0, 1)
        frame.rendering = srgb_encode(lighter).astype(np.float32)
        assert anchor_ev(frame) <= LIMIT_EV
    else:
        assert anchor_ev(frame) == pytest.approx(ev, abs=0.02)


def test_render_starts_from_the_anchor() -> None:
    """The public rendering is the anchored development; as metered it is the development as exposed."""
    frame = demo("night")
    assert np.array_equal(
        render(frame, NEUTRAL, long_edge=200),
        develop(frame, NEUTRAL, anchor_ev=anchor_ev(frame), long_edge=200),
    )
    metered = recipe('[exposure]\nanchor = "metered"\n')
    assert np.array_equal(render(frame, metered, long_edge=200), develop(frame, metered, long_edge=200))


def test_a_kept_proof_reads_as_its_frame() -> None:
    """A kept proof gives the edit column of the raw it was kept from, within the noise floors."""
    look = recipe("[exposure]\nev = 0.4\n[chroma]\nscale = 1.3\n")
    raw, proof = (check_frame(frame, look).causes for frame in (demo("grey"), KeptFrame(keep(demo("grey")))))
    for key, allowed in (("exposure", 0.03), ("contrast", 0.02), ("chroma", 0.03), ("white", 3.0)):
        assert raw[key].edit == pytest.approx(proof[key].edit, abs=allowed)


def test_the_real_pair_registers_and_its_white_is_unknown(raws: Path) -> None:
    """d30.crw: correlation above .98 with its inset crop, and no white read from an invalid as-shot white.

    Source: an open-data camera file; the bound on the correlation is the drift model's measurement of it.
    """
    found = check_frame(open_frame(raws / "ok" / "d30.crw"), recipe("[exposure]\nev = 0.4\n"))
    assert found.registration.correlation > 0.98
    for key in ("white", "duv"):
        assert found.causes[key].edit is None
        assert "as-shot white" in found.causes[key].reason
    assert found.causes["exposure"].edit == pytest.approx(0.45, abs=0.1)
