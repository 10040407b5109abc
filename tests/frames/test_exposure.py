"""Exposure data: stated, checked, or unknown."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from driftline.errors import FrameError
from driftline.frames import ExposureData, RawFrame
from driftline.frames.exposure import needs_decoder, read_exposure
from frames.written import (
    AV,
    BIAS,
    FNUMBER,
    FOCAL,
    ISO,
    MODEL,
    TAKEN,
    TIME,
    TV,
    exif_block,
    picture,
    ratio,
    tags,
)

FACTS = {
    "iso": 400.0,
    "shutter_s": 0.008,
    "aperture": 5.6,
    "focal_mm": 31.0,
    "taken": "2018-01-01T13:03:32",
    "lens": "",
}


def of_exif(**entries: Any) -> ExposureData:
    """Exposure data of a raw file with these EXIF entries, and no help from the decoder."""
    codes = {
        "time": TIME,
        "fnumber": FNUMBER,
        "iso": ISO,
        "tv": TV,
        "av": AV,
        "bias": BIAS,
        "focal": FOCAL,
        "rei": 34866,
    }
    return read_exposure(tags(exif={codes[name]: value for name, value in entries.items()}), {}, {})


def test_everything_that_a_file_states(dng: Callable[..., Path]) -> None:
    """A file with full EXIF gives every quantity as written, and no doubts."""
    written = {
        "make": "Ostrel",
        "model": "Ostrel K2",
        "lens": "Ostrel 28 mm f/2.8",
        "iso": 1600,
        "exposure_time": 1 / 125,
        "f_number": 2.8,
        "focal_length": 28,
        "focal_35mm": 42,
        "bias_ev": -2 / 3,
        "taken": datetime(2025, 11, 3, 7, 41, 5),
    }
    assert RawFrame(dng(exif=written, setting="Plain Grey")).exposure() == ExposureData(
        make="Ostrel",
        model="Ostrel K2",
        lens="Ostrel 28 mm f/2.8",
        iso=1600,
        shutter_s=1 / 125,
        aperture=2.8,
        focal_mm=28,
        focal_35mm=42,
        bias_ev=pytest.approx(-2 / 3),
        taken=datetime(2025, 11, 3, 7, 41, 5),
        setting="Plain Grey",
    )


def test_a_file_that_states_nothing(dng: Callable[..., Path]) -> None:
    """Without EXIF everything is unknown; nothing is made up (LibRaw says 0 and 1970)."""
    assert RawFrame(dng()).exposure() == ExposureData()


def test_zero_is_unknown() -> None:
    """EXIF of zeros is a file that does not know, and the decoder's reading of it is not taken."""
    zeros = tags(
        exif={TIME: ratio(0), FNUMBER: ratio(0), ISO: 0, FOCAL: ratio(0), TV: ratio(0), AV: ratio(0)}
    )
    found = read_exposure(zeros, {}, FACTS | {"shutter_s": 1.0, "aperture": 1.0})
    assert (found.iso, found.shutter_s, found.aperture, found.focal_mm) == (None, None, None, None)
    assert found.doubts == ()


def test_the_decoder_is_asked_where_exif_is_silent() -> None:
    """A file without EXIF gets what the decoder reads."""
    found = read_exposure({}, {}, FACTS)
    assert (found.iso, found.shutter_s, found.aperture, found.focal_mm) == (400, 0.008, 5.6, 31)
    assert found.taken == datetime(2018, 1, 1, 13, 3, 32)
    assert needs_decoder({}, {})


def test_the_decoder_is_not_needed_where_exif_says_all() -> None:
    """Full EXIF, of the raw or of a JPEG that the camera wrote, saves unpacking the sensor data."""
    full = tags(
        exif={TIME: ratio(1, 60), FNUMBER: ratio(8), ISO: 100, FOCAL: ratio(28), TAKEN: "2025:11:03 07:41:05"}
    )
    assert not needs_decoder(full, {})
    assert not needs_decoder({}, full)


@pytest.mark.parametrize("seconds", [1.0, 4.967, 13.9])
def test_seconds_that_may_be_apex_are_unknown(seconds: float) -> None:
    """EXIF 2.3, annex C: Tv = -log2 t. The decoder's 4.967 may be 4.967 s or 1/31 s: neither is taken."""
    found = read_exposure({}, {}, FACTS | {"shutter_s": seconds})
    assert found.shutter_s is None
    assert "may be seconds or an APEX value" in found.doubts[0]


@pytest.mark.parametrize("seconds", [1 / 8000, 0.5, 30.0, 240.0])
def test_seconds_that_cannot_be_apex_are_taken(seconds: float) -> None:
    """A Tv below 1 or above 14 is no ordinary shutter speed, so the reading is a time."""
    found = read_exposure({}, {}, FACTS | {"shutter_s": seconds})
    assert found.shutter_s == seconds
    assert found.doubts == ()


@pytest.mark.parametrize(("tv", "seconds"), [(ratio(7), 1 / 128), (ratio(-2), 4.0)])
def test_apex_alone(tv: Any, seconds: float) -> None:
    """EXIF 2.3, annex C: t = 2^-Tv, where only ShutterSpeedValue is there."""
    assert of_exif(tv=tv).shutter_s == seconds


def test_aperture_by_apex_alone() -> None:
    """EXIF 2.3, annex C: N = 2^(Av / 2); Av 6 is f/8."""
    assert of_exif(av=ratio(6)).aperture == 8


def test_times_that_disagree_are_said() -> None:
    """ExposureTime counts, and an APEX value that is another time makes a doubt."""
    found = of_exif(time=ratio(1, 30), tv=ratio(8))
    assert found.shutter_s == pytest.approx(1 / 30)
    assert found.doubts == ("shutter is 1/30 s in EXIF, but 1/256 s by its APEX value; the first is taken",)


def test_nominal_times_agree() -> None:
    """1/125 s is Tv 7 (1/128 s): cameras write both, and that is no disagreement."""
    assert of_exif(time=ratio(1, 125), tv=ratio(7), fnumber=ratio(56, 10), av=ratio(5)).doubts == ()


def test_apertures_that_disagree_are_said() -> None:
    """FNumber counts, and an APEX value that is another one makes a doubt."""
    found = of_exif(fnumber=ratio(4), av=ratio(6))
    assert found.aperture == 4
    assert "8 by its APEX value" in found.doubts[0]


@pytest.mark.parametrize(
    ("entries", "name"),
    [
        ({"fnumber": ratio(900)}, "aperture"),
        ({"time": ratio(10_000_000)}, "shutter"),
        ({"bias": ratio(-100)}, "exposure bias"),
        ({"focal": ratio(90_000)}, "focal length"),
        ({"iso": 65535}, "ISO"),
    ],
)
def test_what_cannot_be_is_unknown_and_said(entries: dict[str, Any], name: str) -> None:
    """Values that no camera has are not passed on."""
    found = of_exif(**entries)
    assert found.doubts[0].startswith(f"{name} reads")
    assert {found.aperture, found.shutter_s, found.bias_ev, found.focal_mm, found.iso} == {None}


def test_iso_beyond_two_bytes() -> None:
    """EXIF 2.3: 65535 in PhotographicSensitivity means that RecommendedExposureIndex has the value."""
    assert of_exif(iso=65535, rei=102_400).iso == 102_400


def test_a_bias_of_zero_is_known() -> None:
    """No bias is 0 EV, which is not the same as unknown."""
    assert of_exif(bias=ratio(0)).bias_ev == 0
    assert of_exif().bias_ev is None


def test_the_jpegs_own_exif_helps() -> None:
    """Where the raw has none, EXIF that the camera wrote into its JPEG is taken."""
    own = tags({MODEL: "Ostrel K2"}, {TIME: ratio(1, 60), ISO: 200})
    found = read_exposure({}, own, {})
    assert (found.model, found.shutter_s, found.iso) == ("Ostrel K2", pytest.approx(1 / 60), 200)


def test_the_decoder_knows_the_camera() -> None:
    """Make and model where no EXIF names them."""
    found = read_exposure({}, {}, {"make": "Ostrel", "model": "K2"})
    assert (found.make, found.model) == ("Ostrel", "K2")


def test_raw_and_jpeg_that_disagree_are_said() -> None:
    """The raw's value counts, and the other is mentioned."""
    found = read_exposure(tags(exif={ISO: 200}), tags(exif={ISO: 3200}), {})
    assert found.iso == 200
    assert found.doubts == ("ISOSpeedRatings is 200 in the raw, but 3200 in its JPEG; the raw's is taken",)


def test_a_damaged_file_says_what_it_still_can(dng: Callable[..., Path]) -> None:
    """Exposure data do not need the sensor data, which lie behind them or not."""
    path = dng(exif={"iso": 800, "exposure_time": 1 / 60, "f_number": 4.0}, compression="lossless-jpeg")
    blob = path.read_bytes()
    middle = len(blob) // 2
    path.write_bytes(blob[:middle] + bytes(4000) + blob[middle + 4000 :])
    with pytest.raises(FrameError):
        RawFrame(path).sensor()
    assert (RawFrame(path).exposure().iso, RawFrame(path).exposure().aperture) == (800, 4)


def test_a_missing_file(tmp_path: Path) -> None:
    """No file, no exposure data."""
    with pytest.raises(FrameError) as caught:
        RawFrame(tmp_path / "gone.dng").exposure()
    assert caught.value.code == "frame-missing"


def test_real_files(raws: Path) -> None:
    """Against values read out of the files with another EXIF reader (tifffile) or by hand."""
    d1 = RawFrame(raws / "ok" / "d1.nef").exposure()
    assert (d1.iso, d1.shutter_s, d1.aperture, d1.focal_mm, d1.bias_ev) == (200, 1 / 250, 7.6, 20, 0)
    assert d1.taken == datetime(2000, 11, 19, 13, 1, 50, 240000)
    g4 = RawFrame(raws / "ok" / "g4-linear.dng").exposure()
    assert (g4.iso, g4.shutter_s, g4.aperture, g4.focal_mm, g4.bias_ev) == (50, 1 / 2000, 1.8, 4.42, None)
    chart = RawFrame(raws / "ok" / "chart-bordered.dng").exposure()
    assert (chart.iso, chart.shutter_s, chart.aperture, chart.taken) == (None, None, None, None)
    d30 = RawFrame(raws / "ok" / "d30.crw").exposure()
    assert (d30.make, d30.model, d30.iso, d30.shutter_s) == ("Canon", "EOS D30", 100, None)
    assert "4.967" in d30.doubts[0]


def test_no_location_is_read(raws: Path) -> None:
    """Nothing of a file's location data comes along."""
    found = RawFrame(raws / "bad" / "unsupported-codec.gpr").exposure()
    assert found.model == "HERO6 Black"
    assert not any("gps" in name.lower() or "117" in str(value) for name, value in vars(found).items())


def test_exif_in_the_jpeg_of_a_file(dng: Callable[..., Path]) -> None:
    """A preview with EXIF of its own is read where the raw is silent."""
    jpeg = picture(exif=exif_block({MODEL: "Ostrel K2"}, {TIME: ratio(1, 60), ISO: 200, FNUMBER: ratio(8)}))
    found = RawFrame(dng(preview_jpeg=jpeg)).exposure()
    assert (found.iso, found.aperture) == (200, 8)
