"""Detail by scale."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage

from drift.pictures import Picture, contrast, edited, exposure, photograph, to_uint8
from driftline.colorimetry.encodings import srgb_decode, srgb_encode
from driftline.drift import measure_drift

KEYS = ("detail_fine", "detail_middling", "detail_broad")


def sharpened(picture: Picture, radius: float, amount: float) -> Picture:
    """An unsharp mask on luminance in encoded values."""
    plane = (picture / 255).astype(np.float64)
    grey = plane.mean(axis=-1)
    return to_uint8(plane + amount * (grey - ndimage.gaussian_filter(grey, radius))[..., None])


def read(picture: Picture, other: Picture) -> list[float]:
    """Fine, middling and broad detail of one picture against another, pixel on pixel."""
    causes = measure_drift(picture, other, registered=True).causes
    return [causes[key].value or 0.0 for key in KEYS]


@pytest.mark.parametrize("name", ["astronaut", "coffee", "chelsea"])
def test_sharpening_is_read_at_its_own_scale(name: str) -> None:
    """A narrow mask is read as fine detail, a wide one as broad, and a wider amount reads more."""
    picture = photograph(name)
    fine = read(picture, sharpened(picture, 1.0, 0.6))
    assert fine[0] == max(fine)
    assert fine[0] > 0.26
    broad = read(picture, sharpened(picture, 20.0, 0.4))
    assert broad[2] > 0.05
    assert broad[2] > read(picture, sharpened(picture, 20.0, 0.2))[2] > 0


def test_blur_takes_fine_detail_away() -> None:
    """A blurred picture reads less fine detail, and is the opposite the other way round."""
    picture = photograph("chelsea")
    linear = srgb_decode(picture / 255)
    blurred = to_uint8(srgb_encode(np.clip(ndimage.gaussian_filter(linear, (1, 1, 0)), 0, 1)))
    there, back = read(picture, blurred), read(blurred, picture)
    assert there[0] < -0.5
    assert there == pytest.approx([-value for value in back])


@pytest.mark.parametrize("edit", [exposure(0.5), contrast(1.4), contrast(0.7)])
def test_a_tone_curve_is_no_detail(edit: object) -> None:
    """Exposure and contrast leave detail alone, at every scale."""
    picture = photograph("coffee")
    assert np.abs(read(picture, edited(picture, edit))).max() < 0.02


def test_what_is_as_faint_as_rounding_is_not_judged() -> None:
    """In fog rounding to 8 bits is as large as the finest detail there is: a number, but no verdict."""
    picture = photograph("chelsea")
    fog = to_uint8(0.6 + 0.1 * (picture / 255))
    cause = measure_drift(fog, edited(fog, exposure(-1.0)), registered=True).causes["detail_fine"]
    assert not cause.confident
    assert "rounding" in cause.reason
    assert cause.verdict == "not judged"
    clear = measure_drift(picture, edited(picture, exposure(-1.0)), registered=True).causes["detail_fine"]
    assert clear.confident
