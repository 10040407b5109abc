"""The camera rendering: embedded, beside the raw, or none, with the reason."""

from __future__ import annotations

import io
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image, ImageOps

from driftline.colorimetry.encodings import srgb_decode
from driftline.errors import FrameError
from driftline.frames import RawFrame, upright
from frames.written import COLOR_SPACE, MODEL, ORIENTATION, SOFTWARE, TAKEN, exif_block, gradient, picture

EXIF = {"model": "Ostrel K2", "taken": datetime(2025, 11, 3, 7, 41, 5)}


def pillow_upright(blob: bytes, orientation: int) -> np.ndarray:
    """Pillow's own decode of a JPEG, turned by Pillow as if it had that Orientation tag."""
    shown = Image.open(io.BytesIO(blob)).convert("RGB")
    shown.getexif()[ORIENTATION] = orientation
    return np.asarray(ImageOps.exif_transpose(shown), dtype=np.float32) / 255


def shown(frame: RawFrame) -> np.ndarray:
    """A rendering that must be there."""
    pixels = frame.camera_rendering()
    assert pixels is not None, frame.camera_rendering_reason
    return pixels


@pytest.mark.parametrize("orientation", range(1, 9))
def test_embedded_is_upright(dng: Callable[..., Path], orientation: int) -> None:
    """The preview is stored like the sensor's values and turns with them, mirrored ones too."""
    blob = picture()
    pixels = shown(RawFrame(dng(preview_jpeg=blob, orientation=orientation)))
    assert np.array_equal(pixels, pillow_upright(blob, orientation))
    assert pixels.flags.c_contiguous


@pytest.mark.parametrize("orientation", [5, 6, 7, 8])
def test_a_preview_that_lies_across_is_upright_already(dng: Callable[..., Path], orientation: int) -> None:
    """Some writers store the preview the way it is seen: a tall one of a wide sensor is not turned again."""
    blob = picture(size=(320, 480))
    pixels = shown(RawFrame(dng(preview_jpeg=blob, orientation=orientation)))
    assert np.array_equal(pixels, pillow_upright(blob, 1))


def test_reason_of_an_embedded_one(dng: Callable[..., Path]) -> None:
    """Where the rendering comes from can be asked before or after it was made."""
    frame = RawFrame(dng(preview_jpeg=picture()))
    assert frame.camera_rendering_reason == "the JPEG embedded in the raw"
    assert shown(frame).shape == (320, 480, 3)
    assert frame.camera_rendering_reason == "the JPEG embedded in the raw"


def test_max_edge(dng: Callable[..., Path]) -> None:
    """A smaller one for measuring, upright too."""
    frame = RawFrame(dng(preview_jpeg=picture(), orientation=6))
    small = frame.camera_rendering(max_edge=120)
    assert small is not None
    assert small.shape == (120, 80, 3)


def test_adobe_rgb_is_converted_and_said(dng: Callable[..., Path]) -> None:
    """A preview whose own EXIF states Adobe RGB is converted to sRGB."""
    green = np.full((320, 480, 3), (60, 160, 60), np.uint8)
    path = dng(preview_jpeg=picture(green, exif=exif_block(exif={COLOR_SPACE: 65535}, interop={1: "R03"})))
    # The writer states sRGB in PreviewColorSpace; a camera that knows better leaves the tag out.
    path.write_bytes(
        path.read_bytes().replace((50970).to_bytes(2, "little"), (50980).to_bytes(2, "little"), 1)
    )
    frame = RawFrame(path)
    assert np.ptp(shown(frame)[100, 100]) > 0.45
    assert frame.camera_rendering_reason == "the JPEG embedded in the raw, converted from Adobe RGB (1998)"


def test_none(dng: Callable[..., Path]) -> None:
    """A raw without a preview and without a companion has no rendering, and that is no error."""
    frame = RawFrame(dng())
    assert frame.camera_rendering() is None
    assert frame.camera_rendering_reason == "the raw holds no JPEG; no JPEG of the same name lies beside it"


def test_a_tiny_one_is_none(dng: Callable[..., Path]) -> None:
    """A thumbnail of 160 × 120 is no rendering to compare with."""
    frame = RawFrame(dng(preview_jpeg=picture(size=(160, 120))))
    assert frame.camera_rendering() is None
    assert "the raw's JPEG is tiny (160 × 120)" in frame.camera_rendering_reason


def test_a_broken_one_is_none(dng: Callable[..., Path]) -> None:
    """An embedded JPEG that breaks off is passed over with the reason; the sensor data are not touched."""
    frame = RawFrame(dng(preview_jpeg=picture()[:20_000]))
    assert frame.camera_rendering() is None
    assert "the JPEG embedded in the raw cannot be read" in frame.camera_rendering_reason
    assert frame.sensor().values.shape == (120, 160)


@pytest.mark.parametrize("name", ["frame.jpg", "frame.JPG", "FRAME.Jpeg", "Frame.jpeg"])
def test_beside(dng: Callable[..., Path], name: str) -> None:
    """The JPEG of the same name, in any case, stands in for a missing preview."""
    path = dng()
    path.with_name(name).write_bytes(picture())
    frame = RawFrame(path)
    assert shown(frame).shape == (320, 480, 3)
    assert frame.camera_rendering_reason == f"the raw holds no JPEG; {name} beside the raw"


@pytest.mark.parametrize("orientation", range(1, 9))
def test_beside_turns_by_its_own_tag(dng: Callable[..., Path], orientation: int) -> None:
    """A companion has an Orientation tag of its own, and that counts."""
    size = (480, 320) if orientation < 5 else (320, 480)
    blob = picture(size=size, exif=exif_block({ORIENTATION: orientation}))
    path = dng()
    path.with_suffix(".jpg").write_bytes(blob)
    assert np.array_equal(shown(RawFrame(path)), pillow_upright(blob, orientation))


def test_embedded_goes_before_beside(dng: Callable[..., Path]) -> None:
    """A companion is only looked for where the raw has no rendering."""
    path = dng(preview_jpeg=picture(size=(480, 320)))
    path.with_suffix(".jpg").write_bytes(picture(size=(960, 640)))
    assert shown(RawFrame(path)).shape == (320, 480, 3)


@pytest.mark.parametrize(
    ("first", "exif"),
    [
        ({MODEL: "Ostrel K2"}, {}),
        ({MODEL: "Ostrel K2"}, {TAKEN: "2025:11:03 07:41:05"}),
        ({MODEL: "Ostrel K2", SOFTWARE: "Ver.1.05"}, {TAKEN: "2025:11:03 07:41:06"}),
        ({MODEL: "Ostrel K2", SOFTWARE: "Ostrel K2 Ver2.10"}, {}),
        ({MODEL: "Ostrel K2", SOFTWARE: "1.00"}, {}),
    ],
)
def test_companions_that_are_taken(
    dng: Callable[..., Path], first: dict[int, Any], exif: dict[int, Any]
) -> None:
    """Same camera, same moment, firmware or nothing as the software."""
    path = dng(exif=EXIF)
    path.with_suffix(".jpg").write_bytes(picture(exif=exif_block(first, exif)))
    assert shown(RawFrame(path)).shape == (320, 480, 3)


@pytest.mark.parametrize(
    ("first", "exif", "size", "reason"),
    [
        ({}, {}, (480, 320), "it names no camera"),
        ({MODEL: "Ostrel K3"}, {}, (480, 320), "with another camera (Ostrel K3)"),
        (
            {MODEL: "Ostrel K2", SOFTWARE: "Picture Workshop 7"},
            {},
            (480, 320),
            "written by Picture Workshop 7, not by the camera",
        ),
        (
            {MODEL: "Ostrel K2"},
            {TAKEN: "2025:11:03 07:41:35"},
            (480, 320),
            "taken at 2025-11-03 07:41:35, the raw at 2025-11-03 07:41:05",
        ),
        ({MODEL: "Ostrel K2"}, {}, (320, 480), "proportions (320 × 480) are not those of the raw"),
        ({MODEL: "Ostrel K2"}, {}, (480, 340), "proportions (480 × 340) are not those of the raw"),
        ({}, {}, (240, 160), "it is tiny (240 × 160)"),
    ],
)
def test_companions_that_are_not_taken(
    dng: Callable[..., Path], first: dict[int, Any], exif: dict[int, Any], size: tuple[int, int], reason: str
) -> None:
    """An edited, foreign, differently cropped or tiny JPEG is not the camera's, and that is said."""
    path = dng(exif=EXIF)
    path.with_suffix(".jpg").write_bytes(picture(size=size, exif=exif_block(first, exif)))
    frame = RawFrame(path)
    assert frame.camera_rendering() is None
    assert reason in frame.camera_rendering_reason


def test_square_and_wide_crops_are_taken(dng: Callable[..., Path]) -> None:
    """In-camera proportions of 1:1 and 16:9 are normal for a 4:3 sensor."""
    path = dng()
    for size in ((400, 400), (640, 360)):
        path.with_suffix(".jpg").write_bytes(picture(size=size))
        assert shown(RawFrame(path)).shape == (size[1], size[0], 3)


def test_the_cameras_own_one_is_found_beside_an_edited_one(dng: Callable[..., Path]) -> None:
    """Of two JPEGs of one stem the edited one is passed over; if neither is the camera's, both are told."""
    path = dng(exif=EXIF)
    edited = picture(exif=exif_block({MODEL: "Ostrel K2", SOFTWARE: "Picture Workshop 7"}))
    path.with_suffix(".JPG").write_bytes(edited)
    path.with_suffix(".jpeg").write_bytes(picture(exif=exif_block({MODEL: "Ostrel K2"})))
    frame = RawFrame(path)
    assert shown(frame).shape == (320, 480, 3)
    assert frame.camera_rendering_reason == "the raw holds no JPEG; frame.jpeg beside the raw"
    path.with_suffix(".jpeg").write_bytes(picture())
    frame = RawFrame(path)
    assert frame.camera_rendering() is None
    assert frame.camera_rendering_reason == (
        "the raw holds no JPEG; frame.JPG beside it is not taken: it was written by Picture Workshop 7, "
        "not by the camera; frame.jpeg beside it is not taken: it names no camera, "
        "as one that was saved again"
    )


def test_a_broken_companion(dng: Callable[..., Path]) -> None:
    """A companion that cannot be read is a reason, not a crash."""
    path = dng()
    path.with_suffix(".jpg").write_bytes(picture()[:2000])
    frame = RawFrame(path)
    assert frame.camera_rendering() is None
    assert "frame.jpg beside the raw cannot be read" in frame.camera_rendering_reason


def test_a_missing_raw(tmp_path: Path) -> None:
    """No file, no rendering: that is an error, not a frame without one."""
    with pytest.raises(FrameError) as caught:
        RawFrame(tmp_path / "gone.dng").camera_rendering()
    assert caught.value.code == "frame-missing"


def test_real_files(raws: Path) -> None:
    """Sizes as listed with the files; a bitmap and a raw without a preview have none."""
    sizes = {
        "ok/d30.crw": (960, 1440, 3),
        "ok/g4-linear.dng": (338, 600, 3),
        "ok/d1.nef": None,
        "ok/chart-bordered.dng": None,
        "derived/bayer-h6.dng": (512, 768, 3),
        "derived/sixbysix-h8.dng": (1020, 1530, 3),
        "derived/n900-small.dng": None,
        "bad/sensor-cut-jpeg-whole.arw": (1080, 1616, 3),
    }
    found = {name: RawFrame(raws / name).camera_rendering() for name in sizes}
    assert {name: None if pixels is None else pixels.shape for name, pixels in found.items()} == sizes
    assert "bitmap of 160 × 120" in RawFrame(raws / "ok/d1.nef").camera_rendering_reason


def test_a_mirrored_real_file(raws: Path) -> None:
    """Turned like the sensor, the preview agrees with the sensor's greens; as stored it does not.

    The files' list has 0.999 for a development turned alike and 0.30 as stored.
    """
    frame = RawFrame(raws / "derived" / "bayer-h7-mirrored.dng")
    sensor = frame.sensor()
    green = (sensor.values[::2, 1::2].astype(np.float64) + sensor.values[1::2, ::2]) / 2
    stored = np.log(green.reshape(64, 8, 96, 8).mean(axis=(1, 3)) + 1)
    linear = srgb_decode(shown(frame)[..., 1]).reshape(64, 8, 96, 8).mean(axis=(1, 3))

    def agreement(plain: np.ndarray) -> float:
        return float(np.corrcoef(plain.ravel(), np.log(linear + 1e-3).ravel())[0, 1])

    assert agreement(upright(stored, sensor.orientation)) > 0.99
    assert agreement(stored) < 0.5


def test_gradient_is_no_mirror_of_itself() -> None:
    """The invented picture differs from all its turned selves, so that turning it wrongly shows."""
    square = gradient(64, 64)
    turned = [np.rot90(square, turns) for turns in (1, 2, 3)]
    assert not any(np.array_equal(square, other) for other in [*turned, square[::-1], square[:, ::-1]])
