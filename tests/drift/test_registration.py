"""Bringing pictures together: crop, aspect, scale, shift, distortion, and refusing what does not fit."""

from __future__ import annotations

import numpy as np
import pytest

from drift.nulls import cropped, distorted, reduced
from drift.pictures import NAMES, Picture, chroma, contrast, edited, exposure, jpeg, photograph, white
from driftline.drift import measure_drift
from driftline.drift.grid import linear_light
from driftline.drift.registration import TURNS, Registration, register


def light(picture: Picture) -> Picture:
    """The picture in linear light, pixel by pixel."""
    return linear_light(picture, name="a picture", keep=10**9)


def pixels(found: Registration, picture: Picture) -> tuple[float, ...]:
    """Top, left, height and width of the part of the reference that both show, in pixels."""
    h, w = picture.shape[:2]
    window = found.reference
    return window.top * h, window.left * w, window.height * h, window.width * w


@pytest.mark.parametrize("name", ["coffee", "rocket"])
@pytest.mark.parametrize(("top", "left"), [(0, 3), (7, 0), (5, 11)])
def test_a_shift_is_found_to_a_tenth_of_a_pixel(name: str, top: int, left: int) -> None:
    """The window of a picture cut off at the top and left is found where it was cut."""
    picture = photograph(name)
    found = register(light(picture), light(edited(picture, exposure(0.5))[top:, left:]))
    assert pixels(found, picture)[:2] == pytest.approx((top, left), abs=0.1)
    assert found.problem == ""


@pytest.mark.parametrize("name", ["coffee", "rocket"])
def test_a_crop_at_another_scale_is_found(name: str) -> None:
    """A crop that was reduced as well is found to a third of a pixel of the larger, at every edge."""
    picture = photograph(name)
    h, w = picture.shape[:2]
    found = register(light(picture), light(reduced(cropped(picture, 0.08), 2)))
    height, width = (round(n * 0.92) // 2 * 2 for n in (h, w))
    expected = (round(h * 0.032), round(w * 0.048), height, width)
    assert pixels(found, picture) == pytest.approx(expected, abs=0.34)


@pytest.mark.parametrize("aspect", [16 / 9, 1.0, 4 / 5])
def test_another_aspect_is_found(aspect: float) -> None:
    """A picture cut to another aspect, as cameras offer, lies where it was cut."""
    picture = photograph("motorcycle")
    h, w = picture.shape[:2]
    height, width = (h, round(h * aspect)) if aspect < w / h else (round(w / aspect), w)
    top, left = (h - height) // 2, (w - width) // 2
    part = jpeg(picture[top : top + height, left : left + width], 90, "4:2:2")
    found = register(light(picture), light(part))
    assert pixels(found, picture) == pytest.approx((top, left, height, width), abs=0.3)


@pytest.mark.parametrize("k1", [0.01, -0.01, 0.03])
@pytest.mark.parametrize("name", ["coffee", "rocket"])
def test_distortion_is_found_and_its_sign_turns_with_the_pair(name: str, k1: float) -> None:
    """A radial distortion of 1 to 3 % at the corner is found; exchanged, the pair reads its opposite.

    The pictures are taken at p (1 + k1 r²), so that a place lies nearly k1 r³ nearer to the middle.
    """
    picture = photograph(name)
    bent = light(distorted(picture, k1))
    found, back = register(light(picture), bent), register(bent, light(picture))
    assert found.k1 == pytest.approx(-k1, rel=0.15)
    assert back.k1 == pytest.approx(-found.k1)
    assert found.reference == back.edited


def test_edits_do_not_move_the_registration() -> None:
    """Strong tone, colour and black-and-white edits are found in the same place, and accepted."""
    picture = photograph("rocket")
    for edit in (exposure(2.0), exposure(-2.0), contrast(2.0), chroma(0.0), chroma(2.5), white(120)):
        found = register(light(picture), light(edited(picture, edit)[6:, 4:]))
        assert found.problem == ""
        assert pixels(found, picture)[:2] == pytest.approx((6, 4), abs=0.15)


@pytest.mark.parametrize("turn", TURNS)
def test_a_turned_picture_is_not_compared_and_the_turn_is_named(turn: str) -> None:
    """A picture that is not upright is refused, with the turn that would bring it home."""
    picture = photograph("astronaut")
    other = np.ascontiguousarray(TURNS[turn](picture))
    reason = measure_drift(picture, other).causes["exposure"].reason
    undone = {
        "turned by 90 degrees": "turned by 270 degrees",
        "turned by 270 degrees": "turned by 90 degrees",
    }
    assert f"have to be {undone.get(turn, turn)} to lie" in reason


def test_pictures_of_different_things_are_refused() -> None:
    """No two different photographs are taken for one, nor two halves of one."""
    pictures = {name: light(photograph(name)) for name in NAMES}
    for a in NAMES:
        for b in NAMES:
            if a < b:
                assert register(pictures[a], pictures[b]).problem, (a, b)
        half = pictures[a].shape[1] // 2
        assert register(pictures[a][:, :half], pictures[a][:, half : 2 * half]).problem, a


def test_noise_registers_with_nothing() -> None:
    """White noise does not lie on another white noise, and a flat picture has nothing to lie by."""
    random = np.random.default_rng(1)
    a, b = (random.integers(20, 230, (200, 300, 3)).astype(np.uint8) for _ in range(2))
    assert "do not lie" in register(light(a), light(b)).problem
    assert "nothing in it" in register(light(a), light(np.full_like(b, 90))).problem
