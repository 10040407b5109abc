"""Pairs in which nothing was edited: other encodings, sizes, crops, shifts and a slight distortion.

No cause may leave its noise floor on any of them, and none may give a warning.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from scipy import ndimage

from drift.pictures import Picture, jpeg, to_uint8
from driftline.colorimetry.encodings import srgb_decode, srgb_encode
from driftline.drift import FLOORS, Drift

QUALITIES = (75, 85, 92, 95)
SUBSAMPLINGS = ("4:2:0", "4:2:2", "4:4:4")


def nulls(picture: Picture) -> Iterator[tuple[str, Picture, Picture]]:
    """Name, reference and 'edit' of every null on one picture."""
    for quality in QUALITIES:
        for subsampling in SUBSAMPLINGS:
            yield f"JPEG {quality} {subsampling}", picture, jpeg(picture, quality, subsampling)
    yield "shift 0.5 px", reduced(picture[:, :-2], 2), reduced(picture[:, 1:-1], 2)
    yield "shift 0.5, 0.5 px", reduced(picture[:-2, :-2], 2), reduced(picture[1:-1, 1:-1], 2)
    for by in (1, 2, 3):
        yield f"shift {by} px", picture[:, :-by], picture[:, by:]
    yield "shift 3, -2 px", picture[:-3, 2:], picture[3:, :-2]
    yield "half scale", picture, reduced(picture, 2)
    yield "quarter scale", picture, reduced(picture, 4)
    yield "quarter scale, JPEG 90 4:2:2", picture, jpeg(reduced(picture, 4), 90, "4:2:2")
    yield "3 % crop", picture, cropped(picture, 0.03)
    yield "3 % crop, half scale", picture, reduced(cropped(picture, 0.03), 2)
    yield "3 % crop, JPEG 90 4:2:2", picture, jpeg(cropped(picture, 0.03), 90, "4:2:2")
    yield "1 % distortion", picture, distorted(picture, 0.01)
    yield "-1 % distortion", picture, distorted(picture, -0.01)
    yield "1 % distortion, JPEG 90 4:2:2", picture, jpeg(distorted(picture, 0.01), 90, "4:2:2")
    for turns in range(4):
        for mirrored in (False, True):
            if turns or mirrored:
                pair = [_turned(p, turns, mirrored) for p in (picture, jpeg(picture, 85, "4:2:2"))]
                yield f"orientation {turns}{' mirrored' * mirrored}", pair[0], pair[1]


def _turned(picture: Picture, turns: int, mirrored: bool) -> Picture:
    turned = np.rot90(picture, turns)
    return np.ascontiguousarray(turned[:, ::-1] if mirrored else turned)


def reduced(picture: Picture, by: int) -> Picture:
    """Averaged over blocks in linear light."""
    h, w = picture.shape[0] // by, picture.shape[1] // by
    linear = srgb_decode(picture[: h * by, : w * by] / 255).reshape(h, by, w, by, 3).mean(axis=(1, 3))
    return to_uint8(srgb_encode(linear))


def cropped(picture: Picture, share: float) -> Picture:
    """A share of each edge cut off, a little off the middle."""
    h, w = picture.shape[:2]
    top, left = round(h * share * 0.4), round(w * share * 0.6)
    return picture[top : top + round(h * (1 - share)), left : left + round(w * (1 - share))]


def distorted(picture: Picture, k1: float) -> Picture:
    """Radial distortion, r (1 + k1 r²) with r 1 at the corner, by cubic interpolation in linear light."""
    h, w = picture.shape[:2]
    y, x = np.mgrid[:h, :w].astype(float)
    y, x = y - (h - 1) / 2, x - (w - 1) / 2
    bend = 1 + k1 * (y * y + x * x) / ((h * h + w * w) / 4)
    at = np.stack([y * bend + (h - 1) / 2, x * bend + (w - 1) / 2])
    linear = srgb_decode(picture / 255)
    planes = [ndimage.map_coordinates(linear[..., c], at, order=3, mode="nearest") for c in range(3)]
    bent = to_uint8(srgb_encode(np.clip(np.stack(planes, axis=-1), 0, 1)))
    inset = round(max(k1, 0) * max(h, w) / 2) + 1  # what was sampled from outside the picture
    return bent[inset:-inset, inset:-inset]


def above_floor(drift: Drift) -> dict[str, float]:
    """Causes that left their floor, as value over floor; those not sure of themselves do not count."""
    return {
        key: abs(cause.value) / FLOORS[key]
        for key, cause in drift.causes.items()
        if cause.judgeable and cause.value is not None and abs(cause.value) > FLOORS[key]
    }
