"""Photographs of known truth, seen through colour filter patterns, and the error of an interpolation.

The truth is mosaicked in linear light; PSNR is taken over the three channels in sRGB code values, a border
of 10 pixels left out. Run ``PYTHONPATH=engine:demo_raws python tests/benchmarks/demosaic.py``.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.colorimetry.encodings import srgb_decode, srgb_encode

RGGB = np.array([[0, 1], [1, 2]], dtype=np.uint8)
SIX_BY_SIX = np.array(
    [
        [1, 2, 1, 1, 0, 1],
        [0, 1, 0, 2, 1, 2],
        [1, 2, 1, 1, 0, 1],
        [1, 0, 1, 1, 2, 1],
        [2, 1, 2, 0, 1, 0],
        [1, 0, 1, 1, 2, 1],
    ],
    dtype=np.uint8,
)
PHOTOGRAPHS = ("astronaut", "coffee", "chelsea", "rocket", "stereo_motorcycle")
OTHERS = ("immunohistochemistry", "retina", "hubble_deep_field")
"""Held out: no constant of the methods was looked for on these."""
ELECTRONS, READ_NOISE = 600.0, 0.003
BORDER = 10

Picture = NDArray[np.float32]


def photographs(names: tuple[str, ...] = PHOTOGRAPHS) -> dict[str, Picture]:
    """Linear RGB of pictures that scikit-image ships, side at most 760 pixels."""
    from skimage import data

    pictures = {}
    for name in names:
        loaded = getattr(data, name)()
        coded = (loaded[0] if isinstance(loaded, tuple) else loaded)[:760, :760, :3]
        pictures[name] = srgb_decode(coded / 255.0).astype(np.float32)
    return pictures


def seen_through(picture: Picture, pattern: NDArray[Any]) -> Picture:
    """The mosaic of a picture."""
    height, width = picture.shape[:2]
    rows, columns = np.indices((height, width))
    colour = pattern[rows % pattern.shape[0], columns % pattern.shape[1]].astype(np.intp)
    return np.take_along_axis(picture, colour[..., None], axis=2)[..., 0]


def with_noise(
    mosaic: Picture, electrons: float = ELECTRONS, read: float = READ_NOISE, seed: int = 1
) -> Picture:
    """Photon noise of ``electrons`` at full scale and Gaussian read noise."""
    rng = np.random.default_rng(seed)
    photons = rng.poisson(np.maximum(mosaic, 0).astype(np.float64) * electrons) / electrons
    return (photons + rng.normal(0, read, mosaic.shape)).astype(np.float32)


def psnr(linear: Picture, truth: Picture) -> float:
    """Peak signal-to-noise ratio in dB, in sRGB code values."""
    shown = srgb_encode(np.clip(linear, 0, 1).astype(np.float64))
    error = (shown - srgb_encode(truth.astype(np.float64)))[BORDER:-BORDER, BORDER:-BORDER]
    return float(-10 * np.log10(np.mean(np.square(error))))


def decoder(folder: Path, algorithm: str | None = None) -> Callable[[Picture, NDArray[Any]], Picture]:
    """The decoder's own interpolation (LibRaw through rawpy), as a function of mosaic and pattern.

    Six-by-six mosaics are tiled to 600 pixels and more a side, since it refuses smaller ones; it chooses
    its three-pass method for them by itself.
    """
    import rawpy
    from making.dng import write_dng

    chosen = {} if algorithm is None else {"demosaic_algorithm": rawpy.DemosaicAlgorithm[algorithm]}

    def interpolate(mosaic: Picture, pattern: NDArray[Any]) -> Picture:
        period = pattern.shape[0]
        height, width = (size // period * period for size in mosaic.shape)
        times = (-(-620 // height), -(-620 // width)) if period == 6 else (1, 1)
        values = np.tile(mosaic[:height, :width], times)
        codes = np.clip(np.rint(values * 60000 + 2000), 0, 65535).astype(np.uint16)
        path = write_dng(
            folder / "mosaic.dng",
            codes,
            pattern=pattern,
            black=2000,
            white=62000,
            as_shot_neutral=(1.0, 1.0, 1.0),
            compression="none",
        )
        with rawpy.imread(str(path)) as raw:
            rgb = raw.postprocess(
                **chosen,
                output_color=rawpy.ColorSpace.raw,
                gamma=(1, 1),
                output_bps=16,
                no_auto_bright=True,
                no_auto_scale=False,
                user_wb=[1.0, 1.0, 1.0, 1.0],
                user_flip=0,
                adjust_maximum_thr=0.0,
            )
        out = np.full((*mosaic.shape, 3), np.nan, np.float32)
        out[:height, :width] = rgb[:height, :width] / np.float32(65535)
        return out

    return interpolate
