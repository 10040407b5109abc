"""A 24-megapixel raw file to a finished JPEG, against LibRaw through rawpy and Pillow in the same run.

Run ``PYTHONPATH=engine:demo_raws:tests python tests/benchmarks/bench_print.py [ROUNDS]``.
"""

from __future__ import annotations

import io
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import rawpy
from making.dng import write_dng
from PIL import Image

import demo_frames
from driftline.pipeline import develop, open_frame
from driftline.pipeline.compiled import compile_plan
from driftline.pipeline.frame import Frame
from driftline.pipeline.plan import plan
from driftline.pipeline.strips import in_strips
from driftline.recipe import parse_recipe

FULL = parse_recipe(
    """
    white.shift = 10
    exposure.ev = 0.2
    curve = { slope = 1.1, toe = -0.1, shoulder = 0.3 }
    chroma.scale = 1.05
    chroma.band.brick = { hue = 40, width = 35, turn = -3, scale = 1.1 }
    chroma.band.sky = { hue = 250, width = 50, scale = 0.95 }
    split = { low = { hue = 250, chroma = 0.01 }, high = { hue = 80, chroma = 0.008 } }
    """,
    source="full",
)
HEIGHT, WIDTH = 4000, 6000


def large_dng(folder: Path) -> Path:
    """24 megapixels: a demo frame's mosaic repeated, with a full-size camera rendering."""
    frame = open_frame(demo_frames.named("grey-middle"))
    sensor = frame.sensor()
    assert sensor.pattern is not None
    times = (-(-HEIGHT // sensor.values.shape[0]), -(-WIDTH // sensor.values.shape[1]))
    mosaic = np.tile(sensor.values, times)[:HEIGHT, :WIDTH]
    rendering = np.tile((frame.camera_rendering() * 255).astype(np.uint8), (10, 10, 1))[:HEIGHT, :WIDTH]
    preview = io.BytesIO()
    Image.fromarray(rendering).save(preview, "jpeg", quality=92)
    return write_dng(
        folder / "large.dng",
        mosaic,
        pattern=sensor.pattern,
        black=int(sensor.black[0, 0]),
        white=int(sensor.white[0]),
        as_shot_neutral=tuple(1 / sensor.as_shot),
        color_matrix=sensor.xyz_to_camera,
        preview_jpeg=preview.getvalue(),
        compression="none",
    )


def libraw(path: Path) -> bytes:
    """rawpy at its defaults and Pillow's JPEG."""
    with rawpy.imread(str(path)) as raw:
        return jpeg(raw.postprocess())


def jpeg(picture: np.ndarray) -> bytes:
    """Pillow's JPEG at quality 92."""
    file = io.BytesIO()
    Image.fromarray(picture).save(file, "jpeg", quality=92)
    return file.getvalue()


def median(function: Callable[[], object], rounds: int) -> float:
    """Median wall time in seconds after one warm-up."""
    function()
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        function()
        times.append(time.perf_counter() - start)
    return float(np.median(times))


def stages(path: Path) -> list[tuple[str, float]]:
    """Where the time of one print goes, in seconds."""
    clock = [time.perf_counter()]

    def lap() -> float:
        clock.append(time.perf_counter())
        return clock[-1] - clock[-2]

    frame = Frame(path)
    sensor = frame.sensor()
    out = [("decode", lap())]
    mosaic = frame._mosaic()
    out.append(("linearise", lap()))
    rgb = frame._planes(mosaic)
    out.append(("demosaic", lap()))
    frame = Frame(path)
    frame.__dict__["_sensor"] = sensor
    clock.append(time.perf_counter())
    camera = frame.developable()
    out.append(("developable (linearise, demosaic, highlights, crop, turn)", lap()))
    del rgb
    tables = compile_plan(plan(FULL, camera_to_srgb=frame.camera_to_srgb, light=frame.light()))
    linear = in_strips(tables.run, camera)
    out.append(("point stages", lap()))
    from functools import partial

    from driftline.pipeline.compiled import encode

    picture = in_strips(partial(encode, eight_bits=True), linear, dtype=np.uint8)
    out.append(("encode to 8 bits", lap()))
    jpeg(picture)
    out.append(("JPEG", lap()))
    return out


def main(rounds: int) -> None:
    """Print the table."""
    with tempfile.TemporaryDirectory() as folder:
        path = large_dng(Path(folder))

        def ours() -> bytes:
            return jpeg(develop(open_frame(path), FULL, anchor_ev=0.2, depth=8))

        ratios = []
        for _ in range(rounds):
            a, b = median(ours, 1), median(lambda: libraw(path), 1)
            ratios.append((a, b, a / b))
        a, b, ratio = np.median(np.array(ratios), axis=0)
        print(f"raw to JPEG, full recipe: ours {a:.2f} s, LibRaw + Pillow {b:.2f} s, ratio {ratio:.2f}")
        for name, seconds in stages(path):
            print(f"  {name:58s} {seconds * 1000:7.0f} ms")
        small = Frame(path)
        small.developable(long_edge=1500)

        def preview(*, reference: bool) -> object:
            return develop(small, FULL, long_edge=750, draft=True, depth=8, reference=reference)

        fast = median(lambda: preview(reference=False), rounds)
        slow = median(lambda: preview(reference=True), 1)
        print(
            f"1.5-megapixel preview: {fast * 1000:.0f} ms, "
            f"reference {slow * 1000:.0f} ms, 1/{slow / fast:.0f}"
        )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 3)
