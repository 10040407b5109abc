"""One frame, from end to end."""

from __future__ import annotations

import pickle
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import rawpy
from numpy.typing import NDArray

from driftline.errors import FrameError
from driftline.frames import RawFrame, Sensor

CUTS = (10, 30, 50, 70, 90, 95, 99)
REAL = ("d30.crw", "g4-linear.dng", "d1.nef", "chart-bordered.dng")
DERIVED = ("bayer-h6.dng", "bayer-h7-mirrored.dng", "sixbysix-h8.dng", "n900-small.dng", "rose-rggb.dng")


def test_opening_reads_nothing(tmp_path: Path) -> None:
    """A frame can be made of a path that is not there; asking it for something is the error."""
    frame = RawFrame(tmp_path / "gone.dng")
    with pytest.raises(FrameError):
        frame.sensor()


def test_decoded_once(dng: Callable[..., Path]) -> None:
    """The sensor is decoded on first use and kept, even if the file goes away."""
    frame = RawFrame(dng())
    first = frame.sensor()
    frame.path.unlink()
    assert frame.sensor() is first


def test_the_original_is_never_touched(dng: Callable[..., Path]) -> None:
    """Reading everything there is to read leaves the file as it was, also one without write permission."""
    path = dng(exif={"iso": 100})
    path.chmod(0o444)
    before = (path.read_bytes(), path.stat().st_mtime_ns)
    frame = RawFrame(path)
    frame.sensor(), frame.exposure(), frame.camera_rendering(), frame.fingerprint(), frame.quick_fingerprint()
    assert (path.read_bytes(), path.stat().st_mtime_ns) == before
    assert [each.name for each in path.parent.iterdir()] == [path.name]


@pytest.mark.parametrize(
    "name", ["späte Bahn 7.dng", "a b'\"$;.dng", "日本.dng", "new\nline.dng", "\udcff\udcfe.dng"]
)
def test_any_name(dng: Callable[..., Path], mosaic: NDArray[np.uint16], name: str) -> None:
    """Names with spaces, quotes, other scripts, a line break, or bytes that are no text."""
    try:
        path = dng(name=name)
    except OSError:
        pytest.skip("this file system does not take such a name")
    assert np.array_equal(RawFrame(path).sensor().values, mosaic)


def test_a_relative_path(dng: Callable[..., Path], monkeypatch: pytest.MonkeyPatch) -> None:
    """Relative paths are those of the user's folder, not of the child's."""
    path = dng()
    monkeypatch.chdir(path.parent)
    assert RawFrame(path.name).sensor().values.shape == (120, 160)


def test_a_suffix_does_not_matter(dng: Callable[..., Path]) -> None:
    """What a file is shows in its bytes."""
    path = dng(name="frame.bin")
    assert RawFrame(path).sensor().values.shape == (120, 160)


def test_what_was_refused_is_not_decoded_again(
    dng: Callable[..., Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Several threads ask for one frame; a decoder that hangs is waited for once."""
    bad = dng(name="bad.dng")
    bad.write_bytes(bad.read_bytes()[:5000])
    frame = RawFrame(bad)
    with pytest.raises(FrameError) as first:
        frame.sensor()
    monkeypatch.setattr("driftline.frames.frame.ask_decoder", lambda *_: pytest.fail("asked again"))
    with pytest.raises(FrameError) as again:
        frame.sensor()
    assert again.value.code == first.value.code


def test_it_travels_between_processes(dng: Callable[..., Path]) -> None:
    """A frame can be pickled, with what it holds."""
    frame = RawFrame(dng())
    frame.sensor()
    copy = pickle.loads(pickle.dumps(frame))
    assert np.array_equal(copy.sensor().values, frame.sensor().values)


def test_one_bad_frame_does_not_spoil_the_next(dng: Callable[..., Path]) -> None:
    """After an error the next frame decodes."""
    bad = dng(name="bad.dng")
    bad.write_bytes(bad.read_bytes()[:5000])
    with pytest.raises(FrameError):
        RawFrame(bad).sensor()
    assert RawFrame(dng(name="good.dng")).sensor().values.shape == (120, 160)


def described(sensor: Sensor) -> tuple[object, ...]:
    """Shape, pattern, orientation and crop of a sensor."""
    pattern = None if sensor.pattern is None else sensor.pattern[0].tolist()
    return sensor.values.shape, pattern, sensor.orientation, sensor.crop


def test_real_files(raws: Path) -> None:
    """Sizes, patterns, orientation and crops of the real files, as listed with them."""
    found = {name: described(RawFrame(raws / "ok" / name).sensor()) for name in REAL}
    assert found == {
        "d30.crw": ((1448, 2176), [0, 1], 1, (6, 8, 1440, 2160)),
        "g4-linear.dng": ((338, 600, 3), None, 1, (0, 0, 338, 600)),
        "d1.nef": ((1324, 2012), [2, 1], 1, (0, 0, 1324, 2012)),
        "chart-bordered.dng": ((1156, 1734), [0, 1], 1, (0, 0, 1156, 1734)),
    }
    found = {name: described(RawFrame(raws / "derived" / name).sensor()) for name in DERIVED}
    assert found == {
        "bayer-h6.dng": ((1024, 1536), [1, 0], 1, (0, 0, 1024, 1536)),
        "bayer-h7-mirrored.dng": ((1024, 1536), [0, 1], 2, (0, 0, 1024, 1536)),
        "sixbysix-h8.dng": ((1020, 1530), [1, 1, 0, 1, 1, 2], 1, (0, 0, 1020, 1530)),
        "n900-small.dng": ((344, 256), [1, 0], 1, (0, 0, 344, 256)),
        "rose-rggb.dng": ((512, 768), [0, 1], 1, (0, 0, 512, 768)),
    }


@pytest.mark.parametrize("name", [f"ok/{name}" for name in REAL] + [f"derived/{name}" for name in DERIVED])
def test_real_values_and_levels_agree_with_libraw(raws: Path, name: str) -> None:
    """Values and each photosite's black and colour are LibRaw's own, asked directly in this process."""
    sensor = RawFrame(raws / name).sensor()
    with rawpy.imread(str(raws / name)) as raw:
        visible = raw.raw_image_visible
        black = np.array(raw.black_level_per_channel, dtype=float)
        assert np.array_equal(sensor.values, visible if visible.ndim == 2 else visible[..., :3])
        assert sensor.white.tolist() == [raw.white_level] * 3
        if sensor.pattern is None:
            assert np.array_equal(sensor.black, black[:3])
            return
        colours = raw.raw_colors_visible[:12, :12]
    repeat = (12 // sensor.pattern.shape[0], 12 // sensor.pattern.shape[1])
    assert np.array_equal(np.tile(sensor.black, repeat), black[colours])
    assert np.array_equal(np.tile(sensor.pattern, repeat), np.where(colours == 3, 1, colours))


def test_real_whites(raws: Path) -> None:
    """Invalid as-shot whites are noticed; valid ones are the reciprocals of the files' AsShotNeutral.

    d1.nef states 1, 1, 1, and its greys are grey as they are: looked at, it is pink with daylight's.
    """
    assert RawFrame(raws / "ok" / "d30.crw").sensor().as_shot is None
    d1 = RawFrame(raws / "ok" / "d1.nef").sensor()
    assert d1.as_shot is not None
    assert (d1.as_shot.tolist(), d1.xyz_to_camera) == ([1, 1, 1], None)
    assert "balanced the sensor values" in d1.doubts[0]
    neutrals = {
        "ok/g4-linear.dng": (0.515625, 1, 0.65625),
        "ok/chart-bordered.dng": (1, 2.477, 1.462),
        "derived/bayer-h6.dng": (0.522449, 1, 0.571429),
    }
    for name, neutral in neutrals.items():
        as_shot = RawFrame(raws / name).sensor().as_shot
        assert as_shot == pytest.approx(neutral[1] / np.array(neutral), rel=1e-5)


@pytest.mark.parametrize("name", REAL)
def test_a_cut_file_never_gives_another_picture(raws: Path, tmp_path: Path, name: str) -> None:
    """Cut anywhere, a file is an error or decodes into the identical mosaic."""
    blob = (raws / "ok" / name).read_bytes()
    whole = RawFrame(raws / "ok" / name).sensor().values
    codes = set()
    for percent in CUTS:
        path = tmp_path / f"{percent}-{name}"
        path.write_bytes(blob[: len(blob) * percent // 100])
        try:
            found = RawFrame(path).sensor().values
        except FrameError as error:
            codes.add(error.code)
        else:
            assert np.array_equal(found, whole)
    assert codes <= {"frame-truncated", "frame-damaged", "frame-not-raw"}


def test_the_decoders_only_sign_is_a_line_on_standard_error(raws: Path, tmp_path: Path) -> None:
    """g4-linear.dng cut at 90 % decodes without an exception, with 146 wrong rows; it is refused."""
    blob = (raws / "ok" / "g4-linear.dng").read_bytes()
    path = tmp_path / "cut.dng"
    path.write_bytes(blob[: len(blob) * 9 // 10])
    with pytest.raises(FrameError, match="Premature end of JPEG file") as caught:
        RawFrame(path).sensor()
    assert caught.value.code == "frame-truncated"
