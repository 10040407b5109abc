"""Kept proofs."""

from __future__ import annotations

import numpy as np
import pytest

import demo_frames
from driftline.colorimetry.encodings import srgb_decode
from driftline.errors import FrameError
from driftline.pipeline import KeptFrame, develop, keep, kept_name, open_frame
from driftline.recipe import NEUTRAL, Curve, Recipe


@pytest.fixture(scope="module")
def files() -> dict[str, bytes]:
    """A demo frame, kept."""
    return keep(open_frame(demo_frames.named("grey-middle")))


@pytest.mark.parametrize(
    "recipe", [NEUTRAL, Recipe(curve=Curve(slope=1.4, toe=-0.5))], ids=["plain", "steep"]
)
def test_a_kept_proof_develops_like_the_frame(files: dict[str, bytes], recipe: Recipe) -> None:
    """Less than 0.7 code values in the mean, with the raw file away (0.54 plain, 0.65 steep).

    What is kept is reduced once already; brickwork and weave finer than that are averaged in another order.
    """
    frame = open_frame(demo_frames.named("grey-middle"))
    now = develop(frame, recipe, long_edge=400, draft=True, anchor_ev=0.4)
    later = develop(KeptFrame(files), recipe, long_edge=400, draft=True, anchor_ev=0.4)
    assert np.abs(now - later).mean() * 255 < 0.7


def test_it_holds_what_measuring_needs(files: dict[str, bytes]) -> None:
    """The camera rendering, the light, the matrix and the frame's fingerprint."""
    frame, kept = open_frame(demo_frames.named("grey-middle")), KeptFrame(files)
    assert kept.fingerprint() == frame.fingerprint()
    assert kept.light() == pytest.approx(frame.light())
    assert np.array_equal(kept.camera_to_srgb, frame.camera_to_srgb)
    rendering = kept.camera_rendering()
    assert rendering is not None
    assert max(rendering.shape) <= 1000
    for either in (frame, kept):
        encoded, light = either.camera_rendering(500), either.camera_light(500)
        assert encoded is not None
        assert light is not None
        np.testing.assert_allclose(light, srgb_decode(encoded), atol=1e-4)


def test_keeping_is_deterministic(files: dict[str, bytes]) -> None:
    """The same frame is kept as the same bytes, whenever it is done."""
    assert keep(open_frame(demo_frames.named("grey-middle"))) == files


def test_damage_is_an_error_of_ours(files: dict[str, bytes]) -> None:
    """A cut picture or absent facts name the kept proof and the way out."""
    for broken in ({**files, "light.tif": files["light.tif"][:200]}, {"light.tif": files["light.tif"]}):
        with pytest.raises(FrameError) as caught:
            KeptFrame(broken)
        assert caught.value.code == "proof-damaged"


def test_a_kept_proof_is_named_without_its_picture(files: dict[str, bytes]) -> None:
    """The facts alone give the frame's name; without them the error is ours."""
    assert kept_name({"facts.json": files["facts.json"]}) == KeptFrame(files).path.name
    for broken in ({}, {"facts.json": b"[]"}, {"facts.json": b"\0"}):
        with pytest.raises(FrameError, match="kept proof"):
            kept_name(broken)
