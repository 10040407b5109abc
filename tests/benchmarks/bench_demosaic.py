"""Demosaicking against LibRaw through rawpy: error on photographs of known truth, and time at 24 megapixels.

    PYTHONPATH=engine:demo_raws:tests:tests/benchmarks python tests/benchmarks/bench_demosaic.py [PART …]

The parts are ``quality``, ``colour`` and ``time``; all without one. Times are set against LibRaw's whole
``postprocess``; its run at half size, where it has nothing to interpolate, tells how much of that is not
demosaicking. Wall times are medians of three, and processor times are given because they hold on a busy
machine. ``pictures FOLDER`` writes rows to look at: truth, LibRaw's and ours; noisy ones with our colour
noise reduction last.
"""

from __future__ import annotations

import sys
import tempfile
import time
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import rawpy
from demosaic_pictures import (
    ELECTRONS,
    OTHERS,
    PHOTOGRAPHS,
    READ_NOISE,
    photographs,
    psnr,
    with_noise,
)
from making.dng import write_dng

from driftline.colorimetry.encodings import srgb_decode, srgb_encode
from driftline.pipeline.kernels.demosaic import demosaic
from driftline.pipeline.kernels.highlights import rebuild_mosaic
from driftline.pipeline.kernels.linearise import Levels
from driftline.pipeline.kernels.noise import reduce_chroma_noise
from driftline.stages import demosaic as reference
from driftline.stages.noise import estimate_noise, stated_noise
from libraw_interpolation import decoder
from neutral_pictures import false_colour, neutral_pictures
from patterns import RGGB, SIX_BY_SIX, seen_through

Method = Callable[[Any, Any], Any]


def directional(mosaic: Any, pattern: Any) -> Any:
    """The directional method of colour-demosaicing, on the sRGB-encoded mosaic."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from colour_demosaicing import demosaicing_CFA_Bayer_Menon2007
    return srgb_decode(demosaicing_CFA_Bayer_Menon2007(srgb_encode(mosaic.astype(np.float64)), "RGGB"))


def quieted(mosaic: Any, pattern: Any) -> Any:
    """Ours, with the colour noise taken out that the mosaic itself shows."""
    return reduce_chroma_noise(demosaic(mosaic, pattern), strength=1.0, noise=estimate_noise(mosaic, pattern))


def quieted_as_stated(mosaic: Any, pattern: Any) -> Any:
    """Ours, with the colour noise taken out that the file would state: what was put in."""
    profile = np.full((3, 2), [1 / ELECTRONS, READ_NOISE**2])
    noise = stated_noise(profile, multipliers=np.ones(3))
    return reduce_chroma_noise(demosaic(mosaic, pattern), strength=1.0, noise=noise)


def quality(folder: Path) -> None:
    """PSNR tables."""
    pictures = {**photographs(PHOTOGRAPHS), **photographs(OTHERS)}
    methods: dict[str, tuple[Any, Method]] = {
        "2 x 2 LibRaw AHD": (RGGB, decoder(folder, "AHD")),
        "2 x 2 LibRaw AAHD": (RGGB, decoder(folder, "AAHD")),
        "2 x 2 LibRaw DHT": (RGGB, decoder(folder, "DHT")),
        "2 x 2 directional (library)": (RGGB, directional),
        "2 x 2 ours, compiled": (RGGB, demosaic),
        "2 x 2 ours, reference": (RGGB, reference.demosaic),
        "2 x 2 ours, colour noise out": (RGGB, quieted),
        "6 x 6 LibRaw three-pass": (SIX_BY_SIX, decoder(folder)),
        "6 x 6 ours, compiled": (SIX_BY_SIX, demosaic),
        "6 x 6 ours, reference": (SIX_BY_SIX, reference.demosaic),
        "6 x 6 ours, colour noise out": (SIX_BY_SIX, quieted),
    }
    print("PSNR, dB:", *pictures, "| the mean is of the first five")
    for noisy in (False, True):
        print("noisy: 600 electrons, 0.003 read noise" if noisy else "clean")
        if noisy:
            methods["2 x 2 ours, as the file states"] = RGGB, quieted_as_stated
            methods["6 x 6 ours, as the file states"] = SIX_BY_SIX, quieted_as_stated
        for name, (pattern, method) in methods.items():
            figures = [error(method, picture, pattern, noisy) for picture in pictures.values()]
            print(
                f"  {name:30}",
                *(f"{f:6.2f}" for f in figures),
                f"  mean {np.mean(figures[:5]):.2f}",
                flush=True,
            )


def error(method: Method, picture: Any, pattern: Any, noisy: bool) -> float:
    """PSNR of one method on one picture; on whole periods of the pattern, so that all see the same."""
    height, width = (size // pattern.shape[0] * pattern.shape[0] for size in picture.shape[:2])
    picture = np.ascontiguousarray(picture[:height, :width])
    mosaic = seen_through(picture, pattern)
    return psnr(method(with_noise(mosaic) if noisy else mosaic, pattern), picture)


def colour(folder: Path) -> None:
    """False colour: mean OkLab chroma, in thousandths, of pictures without any, and PSNR."""
    rivals = {"2 x 2": (RGGB, ("AHD", "AAHD", "DHT")), "6 x 6": (SIX_BY_SIX, (None,))}
    for name, (pattern, algorithms) in rivals.items():
        methods = {f"LibRaw {a or 'three-pass'}": decoder(folder, a) for a in algorithms} | {"ours": demosaic}
        print(f"false colour {name}", *(f"{method:>18}" for method in methods))
        for title, picture in neutral_pictures().items():
            found = [method(seen_through(picture, pattern), pattern) for method in methods.values()]
            figures = (f"{1000 * false_colour(rgb):9.2f} {psnr(rgb, picture):5.1f} dB" for rgb in found)
            print(f"  {title:16}", *figures, flush=True)


def spent(function: Callable[[], object], rounds: int = 3) -> tuple[float, float]:
    """Median wall and processor time in seconds, after one run to warm up."""
    function()
    walls, processors = [], []
    for _ in range(rounds):
        wall, processor = time.perf_counter(), time.process_time()
        function()
        walls.append(time.perf_counter() - wall)
        processors.append(time.process_time() - processor)
    return float(np.median(walls)), float(np.median(processors))


def times(folder: Path) -> None:
    """Times at 24 megapixels."""
    picture = photographs(("coffee",))["coffee"]
    large = np.tile(picture, (11, 11, 1))[:4002, :6000]
    for name, pattern, algorithm in (("2 x 2 AHD", RGGB, "AHD"), ("6 x 6 three-pass", SIX_BY_SIX, None)):
        mosaic = seen_through(large, pattern)
        path = write_dng(
            folder / "large.dng",
            np.rint(mosaic * 16000).astype(np.uint16),
            pattern=pattern,
            compression="none",
        )
        whole = spent(lambda path=path, algorithm=algorithm: developed(path, algorithm))
        rest = spent(lambda path=path: developed(path, None, half=True))
        ours = spent(lambda mosaic=mosaic, pattern=pattern: demosaic(mosaic, pattern))
        alone = spent(lambda mosaic=mosaic, pattern=pattern: demosaic(mosaic, pattern, threads=1))
        print(f"{name}: LibRaw postprocess {whole[0]:.2f} s (processor {whole[1]:.2f}),", end=" ")
        print(f"its rest at half size {rest[0]:.2f} s (processor {rest[1]:.2f})")
        print(f"  ours {ours[0]:.2f} s (processor {ours[1]:.2f}), in one thread {alone[0]:.2f} s", end="; ")
        print(
            f"of LibRaw's postprocess {ours[0] / whole[0]:.2f} (processor {ours[1] / whole[1]:.2f})",
            flush=True,
        )

    rgb = demosaic(mosaic, SIX_BY_SIX)
    noise = estimate_noise(mosaic, SIX_BY_SIX)
    linear = Levels(np.zeros((6, 6), np.float32), np.ones((6, 6), np.float32))
    others: dict[str, Callable[[], object]] = {
        "highlights": lambda: rebuild_mosaic(mosaic, SIX_BY_SIX, linear, clip=np.array([0.9, 0.8, 0.85])),
        "estimate of noise": lambda: estimate_noise(mosaic, SIX_BY_SIX),
        "colour noise": lambda: reduce_chroma_noise(rgb, strength=0.5, noise=noise),
    }
    for name, function in others.items():
        wall, processor = spent(function)
        print(f"{name}: {wall:.2f} s (processor {processor:.2f})", flush=True)


def developed(path: Path, algorithm: str | None, *, half: bool = False) -> Any:
    """LibRaw's picture; the time includes its unpacking, a twentieth of a second."""
    chosen = {} if algorithm is None else {"demosaic_algorithm": rawpy.DemosaicAlgorithm[algorithm]}
    with rawpy.imread(str(path)) as raw:
        return raw.postprocess(**chosen, half_size=half)


def chart(size: int = 240) -> Any:
    """Linear RGB that is hard to interpolate: rings, slanted edges, thin lines, weave and small type."""
    fine = np.zeros((size * 4, size * 4, 3))  # drawn four times as large, then averaged
    v, u = np.indices(fine.shape[:2]) / 4.0
    rings = 0.5 + 0.45 * np.cos(np.pi * ((u - 60) ** 2 + (v - 60) ** 2) / 130)
    weave = 0.4 + 0.2 * np.sign(np.sin(np.pi * u / 1.7)) + 0.2 * np.sign(np.sin(np.pi * v / 2.3))
    inks = np.array([[0.7, 0.1, 0.1], [0.1, 0.5, 0.2], [0.1, 0.2, 0.7], [0.8, 0.7, 0.1], [0.05, 0.05, 0.05]])
    wedge = ((np.degrees(np.arctan2(v - 240, u - 120)) + 180) // 9).astype(int)
    fans = np.where((wedge % 2 == 0)[..., None], 0.8, inks[(wedge // 2) % 5])
    lines = np.full(fine.shape, 0.75)
    for k in range(9):
        near = np.abs((u - 140 - 10 * k) * np.cos(0.08 * k) + (v - 150) * np.sin(0.08 * k)) < 0.5 + 0.06 * k
        lines[near] = inks[k % 5]
    fine[:480, :480] = rings[:480, :480, None]
    fine[:480, 480:] = (weave[..., None] * np.array([0.9, 0.6, 0.4]))[:480, 480:]
    fine[480:, :480] = fans[480:, :480]
    fine[480:, 480:] = lines[480:, 480:]
    return fine.reshape(size, 4, size, 4, 3).mean(axis=(1, 3)).astype(np.float32)


def pictures(folder: Path, out: Path) -> None:
    """Truth, LibRaw's and ours side by side, three times as large."""
    loaded = photographs()
    crops = {
        "chart": chart(),
        "motorcycle": loaded["stereo_motorcycle"][200:398, 330:528],
        "rocket": loaded["rocket"][120:318, 250:448],
        "astronaut": loaded["astronaut"][0:198, 150:348],
        "coffee": loaded["coffee"][150:348, 250:448],
        **{name.replace(", ", "-").replace(" ", "-"): drawn for name, drawn in neutral_pictures().items()},
    }
    out.mkdir(parents=True, exist_ok=True)
    for name, crop in crops.items():
        for period, pattern, algorithms in ((2, RGGB, ("AHD", "DHT")), (6, SIX_BY_SIX, (None,))):
            mosaic = seen_through(crop, pattern)
            methods = [*(decoder(folder, algorithm) for algorithm in algorithms), demosaic]
            row = [crop, *(method(mosaic, pattern) for method in methods)]
            side_by_side(row, out / f"{name}-{period}.png")
            grainy = with_noise(mosaic)
            row = [crop, *(method(grainy, pattern) for method in methods), quieted(grainy, pattern)]
            side_by_side(row, out / f"{name}-{period}-noisy.png")


def side_by_side(row: list[Any], path: Path) -> None:
    """Linear pictures in a row, three times as large, as PNG."""
    from PIL import Image

    shown = np.concatenate([srgb_encode(np.clip(np.nan_to_num(part), 0, 1)) for part in row], axis=1)
    large = np.repeat(np.repeat(np.rint(shown * 255).astype(np.uint8), 3, axis=0), 3, axis=1)
    Image.fromarray(large).save(path)


if __name__ == "__main__":
    wanted = sys.argv[1:] or ["quality", "colour", "time"]
    if wanted[0] == "pictures":
        with tempfile.TemporaryDirectory() as name:
            pictures(Path(name), Path(wanted[1]))
    with tempfile.TemporaryDirectory() as name:
        for part, run in (("quality", quality), ("colour", colour), ("time", times)):
            if part in wanted:
                run(Path(name))
