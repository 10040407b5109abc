"""Hints from exposure data: light values by handbook tables, rules by common practice."""

from __future__ import annotations

from pathlib import Path

import pytest

from batch.shoot import write_shoot
from driftline.batch import look_over
from driftline.batch.hints import hints, light_value
from driftline.frames import ExposureData
from driftline.ledger import Ledger
from driftline.ledger.settings import Practice

PRACTICE = Practice()


def seen(light: float = 10.0, *, bias: float = 0.0, **more: float) -> ExposureData:
    """An exposure for a light value, f/8 at ISO 100: N² / t = 2^EV; a bias is in the exposure."""
    shutter_s = 64 / 2 ** (light - bias)
    return ExposureData(**{"aperture": 8.0, "shutter_s": shutter_s, "iso": 100.0, "bias_ev": bias, **more})


@pytest.mark.parametrize(
    ("aperture", "seconds", "iso", "light"),
    [
        (16, 1 / 125, 100, 15),  # "sunny 16", nominal 15
        (8, 1 / 500, 100, 15),
        (22, 1 / 500, 400, 16),  # Kodak F-4017 (2016), ISO 400: sand or snow f/22 at 1/500 s
        (16, 1 / 500, 400, 15),  # bright sun, distinct shadows f/16
        (11, 1 / 500, 400, 14),  # hazy sun f/11
        (8, 1 / 500, 400, 13),  # cloudy bright f/8
        (5.6, 1 / 500, 400, 12),  # heavy overcast or open shade f/5.6
        (1, 1, 100, 0),  # APEX: EV 0 is f/1 at 1 s
    ],
)
def test_light_values_of_handbooks(aperture: float, seconds: float, iso: float, light: float) -> None:
    """Printed tables, within the rounding of what is engraved on lenses and dials."""
    found = light_value(ExposureData(aperture=aperture, shutter_s=seconds, iso=iso))
    assert found == pytest.approx(light, abs=0.15)


def test_the_light_is_the_same_whatever_the_bias() -> None:
    """A bias changes the exposure and not the light: +1 EV exposes twice as long."""
    for bias in (-2.0, 0.0, 1.0):
        assert light_value(seen(12.0, bias=bias)) == pytest.approx(12.0)


@pytest.mark.parametrize("missing", ["aperture", "shutter_s", "iso"])
def test_no_light_value_from_half_an_exposure(missing: str) -> None:
    """What is not known is not guessed."""
    assert light_value(seen(**{missing: None})) is None  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("seconds", "focal", "said"),
    [
        (1 / 200, 28.0, ""),
        (1 / 197, 28.0, ""),
        (1 / 160, 28.0, "1/160 s: slow for people"),
        (1 / 60, 28.0, "1/60 s: slow for people"),
        (1 / 60, 85.0, "1/60 s: slow for people and 85 mm"),
        (1 / 250, 400.0, "1/250 s: slow for 400 mm"),
        (1 / 60, None, "1/60 s: slow for people"),
        (2.0, None, "2 s: slow for people"),
        (None, 50.0, ""),
    ],
)
def test_shutter_times(seconds: float | None, focal: float | None, said: str) -> None:
    """1/200 s for people, one over the 35-mm-equivalent focal length always; rounding of dials counts for
    nothing, and nothing is said of what is unknown.
    """
    told = hints(ExposureData(shutter_s=seconds, focal_35mm=focal), PRACTICE)
    assert told == ((said,) if said else ())


@pytest.mark.parametrize(("iso", "told"), [(6400.0, ()), (12800.0, ("ISO 12800: over 6400",))])
def test_iso(iso: float, told: tuple[str, ...]) -> None:
    """Up to the ceiling nothing is said."""
    assert hints(ExposureData(iso=iso), PRACTICE) == told


@pytest.mark.parametrize(
    ("light", "bias", "said"),
    [
        (15.0, 0.0, "light 15: sun -0.3, snow +1 EV"),
        (15.0, -1 / 3, ""),
        (16.0, 1.0, ""),
        (15.0, -1.0, "light 15: sun -0.3, snow +1 EV"),
        (13.7, 0.0, ""),
        (12.0, 0.0, "light 12: grey +0.3, fog or snow +1 EV"),
        (12.0, 1 / 3, ""),
        (12.0, 1.0, ""),
        (10.0, 0.0, ""),
        (7.0, 0.0, "light 7: night -1 to -2 EV"),
        (7.0, -1.0, ""),
        (7.0, -1.7, ""),
        (-2.0, -3.0, "light -2: night -1 to -2 EV"),
    ],
)
def test_bias_against_the_light(light: float, bias: float, said: str) -> None:
    """Common practice: -0.3 in harsh sun, +0.3 on a grey day, -1 to -2 at night, +1 in snow or fog; what was
    done so already is not mentioned.
    """
    told = hints(seen(light, bias=bias, shutter_s=64 / 2 ** (light - bias)), PRACTICE)
    assert [one for one in told if one.startswith("light")] == ([said] if said else [])


def test_the_settings_hold_the_rules(tmp_path: Path) -> None:
    """Other rules in the ledger's settings, other hints; also in the document."""
    write_shoot(tmp_path / "shoot", 1)
    text = "[practice]\niso_ceiling = 200\n"
    ledger = Ledger.create(tmp_path / "looks", {"dusk": "[curve]\nslope = 1.1\n"}, settings_text=text)
    (frame,) = look_over([tmp_path / "shoot"], ledger).frames
    assert frame.hints == ("ISO 400: over 200",)
    assert frame.json()["hints"] == ["ISO 400: over 200"]
    assert look_over([tmp_path / "shoot"], None).frames[0].hints == ()
