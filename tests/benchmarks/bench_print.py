"""A 24-megapixel raw file to a finished JPEG, against LibRaw through rawpy and Pillow in the same run.

Run ``PYTHONPATH=engine:demo_raws:tests python tests/benchmarks/bench_print.py [ROUNDS]``.
"""

from __future__ import annotations

import io
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from subprocess import PIPE
from typing import Any

import numpy as np
import rawpy
from making.dng import write_dng
from PIL import Image

import demo_frames
from driftline.batch.job import print_frame
from driftline.batch.order import Form, Job, Look
from driftline.colorimetry.encodings import srgb_encode
from driftline.drift.anchoring import anchor_ev
from driftline.drift.checking import check_frame, check_picture, edit_of
from driftline.pipeline import develop, open_frame
from driftline.pipeline.compiled import compile_plan
from driftline.pipeline.developing import quantise
from driftline.pipeline.frame import Frame
from driftline.pipeline.plan import Plan, plan
from driftline.pipeline.strips import written_in_strips
from driftline.prints.jpeg import encode_jpeg
from driftline.recipe import Curve, parse_recipe

TEXT = """
white.shift = 10
exposure.ev = 0.2
curve = { slope = 1.1, toe = -0.1, shoulder = 0.3 }
chroma.scale = 1.05
chroma.band.brick = { hue = 40, width = 35, turn = -3, scale = 1.1 }
chroma.band.sky = { hue = 250, width = 50, scale = 0.95 }
split = { low = { hue = 250, chroma = 0.01 }, high = { hue = 80, chroma = 0.008 } }
"""
FULL = parse_recipe(TEXT, source="full")
HEIGHT, WIDTH = 4000, 6000
EXIF = {
    "make": "Ostrel",
    "model": "K2",
    "lens": "Ostrel 35 mm",
    "taken": datetime(2024, 11, 5, 9, 22),
    "exposure_time": 1 / 250,
    "f_number": 4.0,
    "iso": 400,
    "focal_length": 23.0,
    "focal_35mm": 35,
    "bias_ev": 0.0,
}


def large_dng(folder: Path) -> Path:
    """24 megapixels: a demo mosaic mirrored on and on; LibRaw makes its camera rendering, at full size."""
    path = folder / "large.dng"
    _write_large(path, jpeg(np.zeros((400, 600, 3), np.uint8)))
    with rawpy.imread(str(path)) as raw:
        rendering = raw.postprocess(use_camera_wb=True)
    return _write_large(path, jpeg(rendering))


def _write_large(path: Path, preview: bytes) -> Path:
    sensor = open_frame(demo_frames.named("grey-tight")).sensor()
    assert sensor.pattern is not None
    height, width = sensor.values.shape
    cells = sensor.values.reshape(height // 2, 2, width // 2, 2)  # whole cells, so that the pattern goes on
    cells = np.concatenate([cells, cells[::-1]], axis=0)
    mosaic = np.concatenate([cells, cells[:, :, ::-1]], axis=2).reshape(2 * height, 2 * width)
    times = (-(-HEIGHT // (2 * height)), -(-WIDTH // (2 * width)))
    return write_dng(
        path,
        np.tile(mosaic, times)[:HEIGHT, :WIDTH],
        pattern=sensor.pattern,
        black=int(sensor.black[0, 0]),
        white=int(sensor.white[0]),
        as_shot_neutral=tuple(1 / sensor.as_shot),
        color_matrix=sensor.xyz_to_camera,
        preview_jpeg=preview,
        exif=EXIF,
        compression="none",
    )


PEER = """
import io, sys, rawpy
from PIL import Image
for path in sys.stdin:
    with rawpy.imread(path.strip()) as raw:
        Image.fromarray(raw.postprocess()).save(io.BytesIO(), "jpeg", quality=92)
    print(flush=True)
"""


@contextmanager
def peer() -> Iterator[Callable[[Path], object]]:
    """rawpy at its defaults and Pillow's JPEG, in a process of its own: none of our settings reach it."""
    with subprocess.Popen([sys.executable, "-c", PEER], stdin=PIPE, stdout=PIPE, text=True) as process:
        wanted, done = process.stdin, process.stdout
        assert wanted is not None
        assert done is not None

        def develop_one(path: Path) -> None:
            print(path, file=wanted, flush=True)
            assert done.readline() == "\n"

        yield develop_one
        wanted.close()


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


def with_verdict(path: Path, out: Path) -> None:
    """A whole print as a batch makes it: anchor, verdict, provenance, file."""
    out.unlink(missing_ok=True)
    job = Job(frame=path, target=out, look=Look(name="full", text=TEXT, ref="full@1"), form=Form())
    print_frame(job.model_dump(mode="json"))


def checked(path: Path) -> None:
    """A check alone: no pixel of the print is made."""
    check_frame(Frame(path), FULL)


def peak_megabytes(path: Path, out: Path) -> tuple[int, int]:
    """Peak resident memory of a fresh process that makes one print, and of its decoder."""
    code = (
        "import re, sys, pathlib, bench_print as b\n"
        "b.with_verdict(pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2]))\n"
        "from driftline.frames.child import _decoder\n"
        "for pid in ('self', _decoder.pid):\n"
        "    status = pathlib.Path(f'/proc/{pid}/status').read_text()\n"
        "    print(int(re.search(r'VmHWM:\\s+(\\d+)', status)[1]) >> 10)"
    )  # not ru_maxrss: it begins with what the parent had when it forked
    found = subprocess.run(
        [sys.executable, "-c", code, path, out],
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
        capture_output=True,
        text=True,
        check=True,
    )
    own, decoder = found.stdout.split()
    return int(own), int(decoder)


def stages(path: Path) -> list[tuple[str, float]]:
    """Where the time of one print goes, in seconds, the pages of memory being there already."""
    frame, told = Frame(path), dict[str, float]()

    def timed(name: str, function: Callable[[], Any]) -> Any:
        function()
        start = time.perf_counter()
        found = function()
        told[name] = time.perf_counter() - start
        return found

    timed("decode, through the child", lambda: Frame(path).sensor())
    tables = compile_plan(plan(FULL, camera_to_srgb=frame.camera_to_srgb, light=frame.light()))
    timed("demosaic alone, tile by tile", lambda: frame.write_by_tiles(lambda *_: None, np.uint8))
    picture = timed("demosaic and develop", lambda: frame.write_by_tiles(tables.write_8, np.uint8))
    timed("JPEG", lambda: encode_jpeg(picture, quality=92))
    timed("floor: one pass over the pixels", lambda: np.copyto(np.empty_like(picture), picture))
    told |= measuring_stages(path)
    return list(told.items())


def measuring_stages(path: Path) -> dict[str, float]:
    """Where the time of a verdict goes, from the file on."""
    frame, marks = Frame(path), [time.perf_counter()]
    anchor_ev(frame)
    marks.append(time.perf_counter())
    edit = edit_of(frame, FULL)
    marks.append(time.perf_counter())
    check_picture(frame, edit)
    marks.append(time.perf_counter())
    names = ("anchor, from the file", "edit at measuring size", "verdict")
    return {name: after - before for name, before, after in zip(names, marks, marks[1:], strict=False)}


def preview_seconds(path: Path, rounds: int) -> tuple[float, float]:
    """A 1.5-megapixel preview again after a change: compiled, and as the plain numpy stages write it."""
    frame = Frame(path)
    camera = frame.developable(long_edge=1500)
    slopes = (1.1 + 0.001 * n for n in range(1, 2 * rounds + 3))  # never one met before
    recipes = [FULL.model_copy(update={"curve": Curve(slope=s, toe=-0.1, shoulder=0.3)}) for s in slopes]
    facts: dict[str, Any] = {"camera_to_srgb": frame.camera_to_srgb, "light": frame.light()}

    def changed() -> Plan:
        return plan(recipes.pop(), **facts, anchor_ev=0.2)

    def compiled() -> object:
        return written_in_strips(compile_plan(changed()).write_8, camera, dtype=np.uint8)

    def plainly() -> object:
        return quantise(np.float32(srgb_encode(changed().run(camera))), 8)

    return median(compiled, rounds), median(plainly, rounds)


def main(rounds: int) -> None:
    """Print the table."""
    with tempfile.TemporaryDirectory() as folder, peer() as libraw:
        path, out = large_dng(Path(folder)), Path(folder, "print.jpg")

        def ours() -> bytes:
            return encode_jpeg(develop(open_frame(path), FULL, anchor_ev=0.2, depth=8), quality=92)

        for name, function in (
            ("raw to JPEG, full recipe", ours),
            ("the same with anchor, verdict and provenance, written", lambda: with_verdict(path, out)),
        ):
            pairs = np.array([[median(function, 1), median(lambda: libraw(path), 1)] for _ in range(rounds)])
            (a, b), ratio = np.median(pairs, axis=0), np.median(pairs[:, 0] / pairs[:, 1])
            print(f"{name}: ours {a:.2f} s, LibRaw + Pillow {b:.2f} s, ratio {ratio:.2f}")
        alone, whole = (median(f, rounds) for f in (lambda: checked(path), lambda: with_verdict(path, out)))
        print(f"check, files to verdict: {alone:.2f} s, {alone / whole:.2f} of the print with its verdict")
        for name, seconds in stages(path):
            print(f"  {name:40s} {seconds * 1000:7.0f} ms")
        fast, slow = preview_seconds(path, rounds)
        print(f"1.5-megapixel preview: {fast * 1000:.0f} ms, numpy {slow * 1000:.0f} ms, 1/{slow / fast:.0f}")
        own, decoder = peak_megabytes(path, out)
        print(f"peak memory of one print with its verdict: {own} MB, and {decoder} MB in its decoder")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5)
