"""Taking a frame: what is written as truth is what the file holds. Needs no renderer."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import numpy as np
import pytest
import rawpy
from making import camera, lens, rendering, spectra
from making.frames import Plan, take
from PIL import Image

PLAN = Plan(
    "test.dng",
    "a grey wall",
    "a test",
    datetime(2024, 11, 5, 9, 30),
    camera.K2,
    lens.REPRO,
    5.6,
)
LIGHT = spectra.of_luminance(spectra.daylight(5500), 1000.0)


def _wall(body: camera.Body, height: int = 60, width: int = 90) -> np.ndarray:
    """Grey of 18 %, the upper half twice as bright, in light of 1000 cd/m² on white."""
    planes = np.ones((height, width, 1)) * camera.response(body, 0.18 * LIGHT)
    planes[: height // 2] *= 2
    return planes


@pytest.mark.parametrize("body", list(camera.BODIES.values()), ids=list(camera.BODIES))
@pytest.mark.parametrize("orientation", [1, 3, 6, 8])
def test_a_turned_frame_is_upright_once_turned_back(
    tmp_path: Path, body: camera.Body, orientation: int
) -> None:
    """LibRaw, which turns by the orientation tag, shows the bright half on top."""
    take(
        replace(PLAN, body=body, orientation=orientation), _wall(body), camera.response(body, LIGHT), tmp_path
    )
    with rawpy.imread(str(tmp_path / "test.dng")) as raw:
        picture = raw.postprocess(gamma=(1, 1), no_auto_bright=True, output_bps=16, half_size=True)
        thumb = raw.extract_thumb().data
    half = picture.shape[0] // 2
    assert picture[: half - 4].mean() > 1.8 * picture[half + 4 :].mean()
    with Image.open(io.BytesIO(thumb)) as opened:
        turned = opened.size[0] < opened.size[1]
    assert turned == (orientation in (6, 8))


def test_truth_states_the_light_and_the_error_of_the_meter(tmp_path: Path) -> None:
    """On an even wall of 36 % and 18 %, metered as a whole, 18 % grey falls about 0.6 EV too low."""
    entry = take(PLAN, _wall(camera.K2), camera.response(camera.K2, LIGHT), tmp_path)
    truth = entry["truth"]
    np.testing.assert_allclose(truth["true_neutral"], camera.neutral(camera.K2, LIGHT), atol=1e-5)
    assert truth["true_mired"] == pytest.approx(1e6 / 5500, abs=4)
    assert truth["subject_white_level"] == pytest.approx(1000, rel=0.06)  # green is not quite the eye
    assert truth["subject_grey_error_ev"] == pytest.approx(-np.log2(1.5), abs=0.2)


def test_bias_moves_the_exposure_and_is_written_down(tmp_path: Path) -> None:
    """One stop of bias gives the sensor twice the light."""
    white = camera.response(camera.K2, LIGHT)
    levels = []
    for bias in (0.0, 1.0):
        entry = take(replace(PLAN, bias_ev=bias), _wall(camera.K2), white, tmp_path)
        levels.append(entry["truth"]["subject_grey_error_ev"])
    assert levels[1] - levels[0] == pytest.approx(1.0, abs=0.05)


def test_a_white_set_from_a_card_is_the_true_one(tmp_path: Path) -> None:
    """Where the photographer measured the white, the file holds it."""
    plan = replace(PLAN, measured_white=True)
    truth = take(plan, _wall(camera.K2), camera.response(camera.K2, LIGHT), tmp_path)["truth"]
    assert truth["as_shot_neutral"] == truth["true_neutral"]


def test_a_frame_without_noise_is_even(tmp_path: Path) -> None:
    """Without noise, photosites of one colour in an even half are equal."""
    take(PLAN, _wall(camera.K2), camera.response(camera.K2, LIGHT), tmp_path, noise=False)
    with rawpy.imread(str(tmp_path / "test.dng")) as raw:
        green = raw.raw_image[40::2, 1::2]
    assert np.ptp(green.astype(int)) == 0


def test_the_same_plan_gives_the_same_bytes(tmp_path: Path) -> None:
    """Noise is seeded: taken twice, the file is identical."""
    white = camera.response(camera.K2, LIGHT)
    first = take(PLAN, _wall(camera.K2), white, tmp_path)["sha256"]
    assert take(PLAN, _wall(camera.K2), white, tmp_path)["sha256"] == first


def test_the_richer_setting_is_recorded(tmp_path: Path) -> None:
    """The parameters of the camera rendering stand in the truth."""
    plan = replace(PLAN, style=rendering.RICH)
    entry = take(plan, _wall(camera.K2), camera.response(camera.K2, LIGHT), tmp_path)
    assert entry["truth"]["style"]["exponent"] == rendering.RICH.exponent
