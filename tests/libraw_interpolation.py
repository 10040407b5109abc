"""The decoder's own interpolation (LibRaw through rawpy), to set ours against."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import rawpy
from making.dng import write_dng
from numpy.typing import NDArray

Picture = NDArray[np.float32]


def decoder(folder: Path, algorithm: str | None = None) -> Callable[[Picture, NDArray[Any]], Picture]:
    """LibRaw's interpolation as a function of mosaic and pattern.

    Six-by-six mosaics are tiled to 600 pixels and more a side, since it refuses smaller ones; it chooses
    its three-pass method for them by itself.
    """
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
