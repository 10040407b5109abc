"""A DNG writer by the open specification (DNG 1.4, 2012; TIFF/EP; EXIF 2.32): one raw, one JPEG preview."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from datetime import datetime
from fractions import Fraction
from math import log2
from pathlib import Path
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from PIL import Image

from making import lossless_jpeg
from making.tiff import BYTE, DOUBLE, LONG, RATIONAL, SHORT, SRATIONAL, UNDEFINED, Directory, tiff_bytes

RGGB = ((0, 1), (1, 2))
_CFA, _LINEAR_RAW, _YCBCR, _GREY = 32803, 34892, 6, 1
_NONE, _JPEG = 1, 7
_EXIF_KEYS = frozenset(
    (
        "iso",
        "exposure_time",
        "f_number",
        "focal_length",
        "focal_35mm",
        "bias_ev",
        "taken",
        "lens",
        "make",
        "model",
    )
)


def write_dng(
    path: Path | str,
    mosaic_or_planes: NDArray[np.uint16],
    *,
    pattern: ArrayLike = RGGB,
    black: ArrayLike = 512,
    white: ArrayLike = 16383,
    as_shot_neutral: Sequence[float] | None = (0.5, 1.0, 0.6),
    color_matrix: ArrayLike | None = None,
    illuminant: int = 21,
    forward_matrix: ArrayLike | None = None,
    second: tuple[int, ArrayLike, ArrayLike | None] | None = None,
    orientation: int = 1,
    active_area: tuple[int, int, int, int] | None = None,
    default_crop: tuple[int, int, int, int] | None = None,
    preview_jpeg: bytes | None = None,
    exif: Mapping[str, Any] | None = None,
    setting: str | None = None,
    noise_profile: Sequence[float] | None = None,
    compression: Literal["lossless-jpeg", "none"] = "lossless-jpeg",
    components: int | None = None,
    camera_model: str = "Ostrel K2",
) -> Path:
    """Write one DNG file.

    Parameters
    ----------
    path
        Where to write.
    mosaic_or_planes
        uint16 sensor values, (H, W) behind a colour filter pattern or (H, W, 3) linear planes.
    pattern
        The colour filter pattern, 0 red, 1 green, 2 blue, from the top left of the active area;
        not used for planes.
    black, white
        Black level: one number, one a photosite of a repeating block (2-D), or one a plane (3,).
        White level: one number, or for planes one each.
    as_shot_neutral
        Camera RGB of a neutral under the scene's light; None leaves the tag out.
    color_matrix, illuminant, forward_matrix
        3 × 3 XYZ → camera under the EXIF light source ``illuminant`` (21 is D65), and the optional
        balanced camera → XYZ (D50) matrix. None leaves the tags out.
    second
        A second (illuminant, color matrix, forward matrix or None).
    orientation
        EXIF orientation, 1 to 8. The preview is stored as the sensor sees it, unturned.
    active_area
        (top, left, bottom, right) in photosites.
    default_crop
        (top, left, height, width) inside the active area.
    preview_jpeg
        Bytes of a baseline JPEG (YCbCr or grey), the camera rendering; None: the raw stands alone.
    exif
        Any of ``iso``, ``exposure_time`` (s), ``f_number``, ``focal_length`` (mm), ``focal_35mm``,
        ``bias_ev``, ``taken`` (datetime), ``lens``, ``make``, ``model``.
    setting
        The in-camera picture setting, kept as AsShotProfileName.
    noise_profile
        (scale, offset) of the variance over the 0 … 1 signal, once or for each plane.
    compression, components
        Lossless JPEG, or none; how many columns are interleaved as JPEG components (default: two for a
        mosaic of even width, three for planes).
    camera_model
        UniqueCameraModel.

    Returns
    -------
    Path
        The file written.

    Raises
    ------
    ValueError
        If the array is neither a mosaic nor three planes of uint16, or an ``exif`` key is unknown.
    """
    values = np.asarray(mosaic_or_planes)
    if values.dtype != np.uint16 or not (values.ndim == 2 or (values.ndim == 3 and values.shape[2] == 3)):
        raise ValueError(f"{values.dtype} array of shape {values.shape}; expected uint16 (H, W) or (H, W, 3)")
    sensor = _raw_directory(values, compression, components)
    _levels(sensor, values.ndim == 3, black, white)
    if values.ndim == 2:
        _filter_pattern(sensor, np.asarray(pattern))
    if active_area is not None:
        sensor.put(50829, LONG, *active_area)
    if default_crop is not None:
        top, left, height, width = default_crop
        sensor.put(50719, LONG, left, top)
        sensor.put(50720, LONG, width, height)
    first = sensor if preview_jpeg is None else _preview_directory(preview_jpeg)
    if first is not sensor:
        first.point(330, sensor)
    _identity(first, camera_model, orientation, setting)
    _colour(
        first,
        neutral=as_shot_neutral,
        color_matrix=color_matrix,
        illuminant=illuminant,
        forward_matrix=forward_matrix,
        second=second,
    )
    if noise_profile is not None:
        first.put(51041, DOUBLE, *noise_profile)
    if exif is not None:
        _exposure(first, exif)
    target = Path(path)
    target.write_bytes(tiff_bytes(first))
    return target


def _raw_directory(values: NDArray[np.uint16], compression: str, components: int | None) -> Directory:
    """The directory of the sensor values and the values themselves."""
    height, width = values.shape[:2]
    planes = 1 if values.ndim == 2 else 3
    directory = Directory()
    directory.put(254, LONG, 0)
    directory.put(256, LONG, width)
    directory.put(257, LONG, height)
    directory.put(258, SHORT, *([16] * planes))
    directory.put(262, SHORT, _CFA if planes == 1 else _LINEAR_RAW)
    directory.put(277, SHORT, planes)
    directory.put(278, LONG, height)
    directory.put(284, SHORT, 1)
    if compression == "none":
        directory.put(259, SHORT, _NONE)
        directory.hold(values.astype("<u2").tobytes())
        return directory
    directory.put(259, SHORT, _JPEG)
    interleaved = components or (planes if planes == 3 else 2 - width % 2)
    samples = values.reshape(height, width * planes // interleaved, interleaved)
    precision = 14 if int(values.max()) < 1 << 14 else 16
    directory.hold(lossless_jpeg.encode(samples, precision=precision))
    return directory


def _levels(directory: Directory, three_planes: bool, black: ArrayLike, white: ArrayLike) -> None:
    """BlackLevel with its repeat, and WhiteLevel."""
    level = np.asarray(black, dtype=np.float64)
    repeat = level.shape if level.ndim == 2 else (1, 1)
    flat = np.full(3, level) if three_planes and level.ndim == 0 else level.ravel()
    directory.put(50713, SHORT, *repeat)
    if np.all(flat == np.round(flat)):
        directory.put(50714, LONG, *(int(v) for v in flat))
    else:
        directory.put(50714, RATIONAL, *(float(v) for v in flat))
    ceiling = np.asarray(white).ravel()
    directory.put(50717, LONG, *(int(v) for v in (np.resize(ceiling, 3) if three_planes else ceiling)))


def _filter_pattern(directory: Directory, pattern: NDArray[Any]) -> None:
    """The colour filter pattern, rectangular layout, planes red, green, blue."""
    directory.put(33421, SHORT, *pattern.shape)
    directory.raw(33422, BYTE, bytes(int(v) for v in pattern.ravel()))
    directory.raw(50710, BYTE, bytes((0, 1, 2)))
    directory.put(50711, SHORT, 1)


def _preview_directory(jpeg: bytes) -> Directory:
    """The directory of the camera rendering: a JPEG in one strip, sRGB."""
    with Image.open(io.BytesIO(jpeg)) as picture:
        (width, height), grey = picture.size, picture.mode == "L"
        layers = getattr(picture, "layer", [])
    samples = 1 if grey else 3
    directory = Directory()
    directory.put(254, LONG, 1)
    directory.put(256, LONG, width)
    directory.put(257, LONG, height)
    directory.put(258, SHORT, *([8] * samples))
    directory.put(259, SHORT, _JPEG)
    directory.put(262, SHORT, _GREY if grey else _YCBCR)
    directory.put(277, SHORT, samples)
    directory.put(278, LONG, height)
    directory.put(284, SHORT, 1)
    if not grey:
        directory.put(530, SHORT, *(layers[0][1:3] if layers else (1, 1)))
        directory.put(531, SHORT, 2)  # cosited, as EXIF has it for 4:2:2
    directory.put(50970, LONG, 2)  # PreviewColorSpace: sRGB
    directory.hold(jpeg)
    return directory


def _identity(first: Directory, camera_model: str, orientation: int, setting: str | None) -> None:
    """Version, camera, orientation, picture setting."""
    first.raw(50706, BYTE, bytes((1, 4, 0, 0)))
    first.raw(50707, BYTE, bytes((1, 1, 0, 0)))
    first.text(50708, camera_model)
    first.put(274, SHORT, orientation)
    if setting is not None:
        first.text(50934, setting)  # AsShotProfileName
        first.text(50936, setting)  # ProfileName


def _matrix(directory: Directory, tag: int, matrix: ArrayLike) -> None:
    directory.put(tag, SRATIONAL, *(Fraction(round(float(v) * 10_000), 10_000) for v in np.ravel(matrix)))


def _colour(
    first: Directory,
    *,
    neutral: Sequence[float] | None,
    color_matrix: ArrayLike | None,
    illuminant: int,
    forward_matrix: ArrayLike | None,
    second: tuple[int, ArrayLike, ArrayLike | None] | None,
) -> None:
    """Matrices with their illuminants, and the as-shot neutral."""
    if color_matrix is not None:
        _matrix(first, 50721, color_matrix)
        first.put(50778, SHORT, illuminant)
    if forward_matrix is not None:
        _matrix(first, 50964, forward_matrix)
    if second is not None:
        first.put(50779, SHORT, second[0])
        _matrix(first, 50722, second[1])
        if second[2] is not None:
            _matrix(first, 50965, second[2])
    if neutral is not None:
        first.put(50728, RATIONAL, *(Fraction(round(float(v) * 1_000_000), 1_000_000) for v in neutral))


def _exposure(first: Directory, facts: Mapping[str, Any]) -> None:
    """Exposure data by EXIF 2.32, with make, model and date in the first directory too."""
    unknown = set(facts) - _EXIF_KEYS
    if unknown:
        raise ValueError(f"unknown exif keys {sorted(unknown)}; known are {sorted(_EXIF_KEYS)}")
    below = Directory()
    below.raw(36864, UNDEFINED, b"0232")
    for key, tag in (("make", 271), ("model", 272)):
        if key in facts:
            first.text(tag, facts[key])
    if "taken" in facts:
        stamp = facts["taken"]
        written = stamp.strftime("%Y:%m:%d %H:%M:%S") if isinstance(stamp, datetime) else str(stamp)
        first.text(306, written)
        below.text(36867, written)
    if "iso" in facts:
        below.put(34855, SHORT, min(int(facts["iso"]), 65535))
        below.put(34864, SHORT, 2)  # SensitivityType: recommended exposure index
    if "exposure_time" in facts:
        seconds = facts["exposure_time"]
        below.put(33434, RATIONAL, _shutter(seconds))
        below.put(37377, SRATIONAL, -log2(seconds))
    if "f_number" in facts:
        below.put(33437, RATIONAL, Fraction(facts["f_number"]).limit_denominator(100))
        below.put(37378, RATIONAL, 2 * log2(facts["f_number"]))
    if "bias_ev" in facts:
        below.put(37380, SRATIONAL, Fraction(facts["bias_ev"]).limit_denominator(12))
    if "focal_length" in facts:
        below.put(37386, RATIONAL, Fraction(facts["focal_length"]).limit_denominator(100))
    if "focal_35mm" in facts:
        below.put(41989, SHORT, round(facts["focal_35mm"]))
    if "lens" in facts:
        below.text(42036, facts["lens"])
    first.point(34665, below)


def _shutter(seconds: float) -> Fraction:
    """Exposure time as cameras write it: 1/n below a second."""
    if seconds < 1:
        return Fraction(1, round(1 / seconds)) if seconds <= 0.25 else Fraction(seconds).limit_denominator(10)
    return Fraction(seconds).limit_denominator(10)
