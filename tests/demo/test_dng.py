"""The DNG writer, read back by LibRaw and tifffile: neither shares code with it."""

from __future__ import annotations

import io
from datetime import datetime
from pathlib import Path

import numpy as np
import pytest
import rawpy
import tifffile
from making.dng import RGGB, write_dng
from making.lossless_jpeg import code_lengths, encode
from PIL import Image

SIX = np.array(
    [
        [1, 1, 0, 1, 1, 2],
        [1, 1, 2, 1, 1, 0],
        [2, 0, 1, 0, 2, 1],
        [1, 1, 2, 1, 1, 0],
        [1, 1, 0, 1, 1, 2],
        [0, 2, 1, 2, 0, 1],
    ]
)
MATRIX = ((0.9, -0.3, -0.1), (-0.4, 1.2, 0.2), (0.0, 0.1, 0.6))


def _values(shape: tuple[int, ...], bits: int) -> np.ndarray:
    values = np.random.default_rng(7).integers(0, 1 << bits, shape).astype(np.uint16)
    values[0, 0], values[0, 2], values[1, 0] = 0, (1 << bits) - 1, 1 << (bits - 1)
    return values


def _jpeg(mode: str = "RGB") -> bytes:
    stream = io.BytesIO()
    Image.linear_gradient("L").resize((60, 40)).convert(mode).save(stream, "JPEG", subsampling=1)
    return stream.getvalue()


@pytest.mark.parametrize("compression", ["lossless-jpeg", "none"])
@pytest.mark.parametrize("bits", [14, 16])
@pytest.mark.parametrize("pattern", [RGGB, ((1, 0), (2, 1)), SIX], ids=["rggb", "grbg", "six"])
def test_libraw_reads_the_mosaic_bit_for_bit(
    tmp_path: Path, pattern: object, bits: int, compression: str
) -> None:
    """Random values, the worst case for the entropy coder, come back exactly, with their pattern."""
    values = _values((96, 150), bits)
    path = write_dng(tmp_path / "a.dng", values, pattern=pattern, compression=compression)  # type: ignore[arg-type]
    with rawpy.imread(str(path)) as raw:
        np.testing.assert_array_equal(raw.raw_image, values)
        assert raw.raw_pattern is not None
        seen = np.where(raw.raw_pattern == 3, 1, raw.raw_pattern)
    np.testing.assert_array_equal(seen, pattern)


@pytest.mark.parametrize("compression", ["lossless-jpeg", "none"])
@pytest.mark.parametrize("bits", [14, 16])
def test_libraw_reads_linear_planes_bit_for_bit(tmp_path: Path, bits: int, compression: str) -> None:
    """Three planes without a mosaic come back exactly."""
    values = _values((96, 150, 3), bits)
    path = write_dng(tmp_path / "a.dng", values, compression=compression)  # type: ignore[arg-type]
    with rawpy.imread(str(path)) as raw:
        assert raw.raw_pattern is None
        np.testing.assert_array_equal(raw.raw_image[..., :3], values)


@pytest.mark.parametrize("components", [1, 2])
@pytest.mark.parametrize("width", [150, 151])
def test_smooth_mosaics_survive_any_interleaving(tmp_path: Path, width: int, components: int) -> None:
    """A smooth mosaic, coded with short codes, comes back exactly at odd widths and either interleaving."""
    if width % components:
        components = 1
    ramp = np.add.outer(np.arange(97), np.arange(width)).astype(np.uint16) * 3
    path = write_dng(tmp_path / "a.dng", ramp, components=components)
    with rawpy.imread(str(path)) as raw:
        np.testing.assert_array_equal(raw.raw_image, ramp)
    assert path.stat().st_size < ramp.nbytes / 3


def test_code_lengths_keep_to_sixteen_bits_and_leave_the_all_ones_code_free() -> None:
    """Fibonacci counts, which drive Huffman codes deepest, still fit T.81's limits (annex K.2)."""
    counts = np.ones(17, dtype=np.int64)
    for k in range(2, 17):
        counts[k] = counts[k - 1] + counts[k - 2]
    lengths = code_lengths(counts)
    assert lengths.max() <= 16
    assert np.sum(2.0**-lengths) < 1.0


def test_samples_beyond_the_precision_are_refused() -> None:
    """A sample that does not fit is an error, not a wrapped value."""
    with pytest.raises(ValueError, match="12 bits"):
        encode(np.full((4, 4, 1), 4096, np.uint16), precision=12)


def _pixels(jpeg: bytes) -> np.ndarray:
    """Decoded, since LibRaw puts an EXIF header of its own before a JPEG that has none."""
    with Image.open(io.BytesIO(jpeg)) as picture:
        return np.asarray(picture)


def _full_file(path: Path, orientation: int = 6, grey: bool = False) -> Path:
    return write_dng(
        path,
        _values((96, 150), 14),
        black=((500, 512), (520, 530)),
        white=16000,
        as_shot_neutral=(0.5, 1.0, 0.625),
        color_matrix=MATRIX,
        forward_matrix=MATRIX,
        orientation=orientation,
        active_area=(0, 0, 96, 150),
        default_crop=(2, 4, 80, 120),
        preview_jpeg=_jpeg("L" if grey else "RGB"),
        exif={
            "iso": 6400,
            "exposure_time": 1 / 30,
            "f_number": 2.8,
            "focal_length": 23.0,
            "focal_35mm": 35,
            "bias_ev": -2 / 3,
            "taken": datetime(2031, 11, 4, 18, 20),
            "lens": "K 23 mm",
            "make": "Ostrel",
            "model": "K2",
        },
        setting="Plain",
        noise_profile=(1e-4, 1e-6),
    )


def test_libraw_reads_levels_white_crop_and_preview(tmp_path: Path) -> None:
    """LibRaw sees the levels, as-shot multipliers, inset crop, orientation and the preview's pixels."""
    with rawpy.imread(str(_full_file(tmp_path / "a.dng"))) as raw:
        assert raw.black_level_per_channel == [500, 512, 530, 520]  # LibRaw's order: R G B G2
        assert raw.white_level == 16000
        assert raw.camera_whitebalance[:3] == pytest.approx([2.0, 1.0, 1.6])
        sizes = raw.sizes
        crop = (sizes.crop_top_margin, sizes.crop_left_margin, sizes.crop_height, sizes.crop_width)
        assert (*crop, sizes.flip) == (2, 4, 80, 120, 6)
        np.testing.assert_array_equal(_pixels(raw.extract_thumb().data), _pixels(_jpeg()))


@pytest.mark.parametrize(("orientation", "flip"), [(1, 0), (3, 3), (6, 6), (8, 5)])
def test_libraw_reads_the_orientation(tmp_path: Path, orientation: int, flip: int) -> None:
    """EXIF orientations 1, 3, 6, 8 are LibRaw's flips 0, 3, 6, 5 (LibRaw's documentation of sizes.flip)."""
    with rawpy.imread(str(_full_file(tmp_path / "a.dng", orientation))) as raw:
        assert raw.sizes.flip == flip


def test_the_colour_matrix_acts_as_the_specification_says(tmp_path: Path) -> None:
    """LibRaw's camera → sRGB matrix inverts (XYZ → camera · sRGB → XYZ) with rows summing to 1."""
    with rawpy.imread(str(_full_file(tmp_path / "a.dng"))) as raw:
        found = raw.color_matrix[:, :3]
    srgb_to_xyz = np.array(
        [
            [0.4124564, 0.3575761, 0.1804375],
            [0.2126729, 0.7151522, 0.0721750],
            [0.0193339, 0.1191920, 0.9503041],
        ]
    )  # IEC 61966-2-1
    srgb_to_camera = np.array(MATRIX) @ srgb_to_xyz
    srgb_to_camera /= srgb_to_camera.sum(axis=1, keepdims=True)
    np.testing.assert_allclose(found, np.linalg.inv(srgb_to_camera), atol=2e-3)


def test_tifffile_agrees_with_the_tags(tmp_path: Path) -> None:
    """A general-purpose TIFF reader finds both directories, the EXIF block and the decoded preview."""
    with tifffile.TiffFile(_full_file(tmp_path / "a.dng")) as file:
        preview = file.pages[0]
        sensor = preview.pages[0]
        tags = {tag.name: tag.value for tag in preview.tags}
        below = {tag.name: tag.value for tag in sensor.tags}
    assert tags["ExifTag"]["ExposureTime"] == (1, 30)
    assert tags["ExifTag"]["ExposureBiasValue"] == (-2, 3)
    assert tags["ExifTag"]["FNumber"] == (14, 5)
    assert tags["ExifTag"]["ISOSpeedRatings"] == 6400
    assert tags["DNGVersion"] == bytes((1, 4, 0, 0))
    assert tags["AsShotProfileName"] == "Plain"
    assert tags["CalibrationIlluminant1"] == 21
    assert below["CFARepeatPatternDim"] == (2, 2)
    assert below["CFAPattern"] == bytes((0, 1, 1, 2))
    assert below["BlackLevel"] == (500, 512, 520, 530)
    assert (below["ImageWidth"], below["ImageLength"]) == (150, 96)


def test_a_grey_preview_is_kept(tmp_path: Path) -> None:
    """A one-component JPEG, as a monochrome mode writes it, comes back with its pixels."""
    with rawpy.imread(str(_full_file(tmp_path / "a.dng", grey=True))) as raw:
        np.testing.assert_array_equal(_pixels(raw.extract_thumb().data), _pixels(_jpeg("L")))


def test_unknown_exif_keys_are_refused(tmp_path: Path) -> None:
    """A misspelt key is an error, not a lost fact."""
    with pytest.raises(ValueError, match="apperture"):
        write_dng(tmp_path / "a.dng", _values((8, 8), 14), exif={"apperture": 2.8})


def test_other_shapes_are_refused(tmp_path: Path) -> None:
    """Only uint16 mosaics and triples of planes are written."""
    with pytest.raises(ValueError, match="expected uint16"):
        write_dng(tmp_path / "a.dng", np.zeros((8, 8), np.float32))  # type: ignore[arg-type]
