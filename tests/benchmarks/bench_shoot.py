"""Looking over 50,000 frames for the first time, and again after ten new ones, against two plain loops.

Run ``PYTHONPATH=engine:demo_raws:tests python tests/benchmarks/bench_shoot.py [FRAMES] [FOLDER]``. The frames
are small valid DNG files, each with its own time and pixels, 500 a folder. The peers, in the same run over
files that were all read before: exifread on every file, as a plain script would do it (on a part of the
files, scaled up), and opening each file and reading its first 64 KB, which any index must do at least.
"""

from __future__ import annotations

import io
import os
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path
from statistics import median

import exifread
import numpy as np
from making.dng import write_dng
from PIL import Image

from driftline.batch import look_over
from driftline.cli.application import run
from driftline.frames import RawFrame
from driftline.ledger import Ledger

A_FOLDER = 500
FIRST = datetime(2021, 3, 1, 8, 0, 0)
MARK = b"\x11\x22\x33\x44\x55\x66\x77\x88"
TIME = b"2021:03:01 08:00:00"


def template(folder: Path) -> bytes:
    """A whole small frame: 64 × 48 photosites, a camera rendering of 480 × 320, complete EXIF."""
    mosaic = np.full((48, 64), 3000, np.uint16)
    mosaic.view(np.uint8).ravel()[: len(MARK)] = list(MARK)
    jpeg = io.BytesIO()
    Image.new("RGB", (480, 320), (90, 100, 110)).save(jpeg, "JPEG", quality=80)
    exif = {
        "make": "Quay",
        "model": "Quay 2",
        "iso": 400,
        "exposure_time": 1 / 250,
        "f_number": 5.6,
        "focal_length": 23.0,
        "focal_35mm": 35,
        "bias_ev": 0.0,
        "taken": FIRST,
    }
    path = write_dng(
        folder / "template.dng",
        mosaic,
        white=65535,
        preview_jpeg=jpeg.getvalue(),
        exif=exif,
        compression="none",
    )
    content = path.read_bytes()
    path.unlink()
    assert content.count(MARK) == 1
    assert content.count(TIME) == 2
    return content


def write(folder: Path, content: bytes, numbers: range) -> None:
    """Frames that differ in their pixels and in when they were taken."""
    for number in numbers:
        place = folder / f"{number // A_FOLDER:04d}"
        place.mkdir(exist_ok=True)
        taken = FIRST + timedelta(seconds=31 * number)
        own = content.replace(MARK, number.to_bytes(8, "big"))
        own = own.replace(TIME, f"{taken:%Y:%m:%d %H:%M:%S}".encode())
        (place / f"q{number:06d}.dng").write_bytes(own)


def timed(action: Callable[[], object]) -> float:
    """Seconds that it takes."""
    start = time.perf_counter()
    action()
    return time.perf_counter() - start


def files(folder: Path) -> Iterator[Path]:
    """All files below a folder."""
    for here, _, names in os.walk(folder):
        yield from (Path(here, name) for name in names)


def plain_exifread(folder: Path, most: int) -> int:
    """A plain loop over the library for EXIF; how many files it read."""
    count = 0
    for path in files(folder):
        with path.open("rb") as file:
            exifread.process_file(file, details=False)
        count += 1
        if count == most:
            break
    return count


def heads(folder: Path) -> None:
    """Open every file and read its beginning."""
    for path in files(folder):
        with path.open("rb") as file:
            os.fstat(file.fileno())
            file.read(64 * 1024)


def forget(folder: Path) -> bool:
    """Have the system drop what it keeps of the files in memory, as if they had just come off a card."""
    os.sync()
    for path in files(folder):
        descriptor = os.open(path, os.O_RDONLY)
        if not hasattr(os, "posix_fadvise"):
            return False
        os.posix_fadvise(descriptor, 0, 0, os.POSIX_FADV_DONTNEED)
        os.close(descriptor)
    return True


@contextmanager
def unheard() -> Iterator[None]:
    """What a command prints goes nowhere."""
    with open(os.devnull, "w") as nowhere:
        before, sys.stdout = sys.stdout, nowhere
        try:
            yield
        finally:
            sys.stdout = before


def command(folder: Path, ledger: Ledger, *more: str) -> None:
    """Run ``driftline shoot`` in this process."""
    with unheard():
        run(["shoot", str(folder), "--ledger", str(ledger.path), *more])


def ten_more(folder: Path, content: bytes, first: int, action: Callable[[], object]) -> float:
    """Seconds that something takes after ten new frames came in."""
    write(folder, content, range(first, first + 10))
    return timed(action)


def main(count: int, where: Path) -> None:
    """Print the table."""
    shoot = where / "shoot"
    shoot.mkdir()
    content = template(where)
    write(shoot, content, range(count))
    ledger = Ledger.create(where / "looks", {"dusk": "[curve]\nslope = 1.1\n"})
    heads(shoot)
    least = timed(lambda: heads(shoot))
    part = min(count, 5000)
    loop = timed(lambda: plain_exifread(shoot, part)) * count / part

    def told() -> str:
        return look_over([shoot], ledger).backlog(datetime.now())

    index = ledger.private / "frames.sqlite"
    first = timed(told)
    index.unlink()
    forgotten = forget(shoot)
    from_disk = timed(told)
    again = median(ten_more(shoot, content, count + 10 * times, told) for times in range(3))
    count += 30
    assert len(look_over([shoot], ledger).frames) == count
    print(f"{count} frames of {len(content)} bytes")
    disk = "from the disk" if forgotten else "(this system forgets no file it has read)"
    print(f"  first scan {disk} {from_disk:.2f} s, of files in memory {first:.2f} s")
    shares = f"1/{from_disk / again:.0f} of the first from the disk, 1/{first / again:.0f} from memory"
    print(f"  after ten new ones   {again:6.2f} s, {shares}")
    print(f"  open and read 64 KB  {least:6.2f} s; first scan / this = {first / least:.2f}")
    print(f"  exifread in a loop   {loop:6.2f} s; this / first scan = {loop / first:.2f}")
    ways: list[list[str]] = [[], ["--each"], ["--json"]]
    took = [
        ten_more(shoot, content, count + 10 * place, partial(command, shoot, ledger, *way))
        for place, way in enumerate(ways)
    ]
    told_each = ", ".join(
        f"{' '.join(way) or 'by folder'} {s:.2f} s" for way, s in zip(ways, took, strict=True)
    )
    print(f"  whole commands after ten new ones: {told_each}")
    everything_printed(shoot, ledger)
    learned = timed(lambda: look_over([shoot], ledger))
    later = timed(lambda: look_over([shoot], ledger))
    print(f"  with a record of every frame: {learned:.2f} s with fingerprints, then {later:.2f} s")


def everything_printed(shoot: Path, ledger: Ledger) -> None:
    """A record of as many prints as there are frames, in runs of a thousand."""
    lines = []
    for path in files(shoot):
        frame = RawFrame(path)
        quick = frame.quick_fingerprint()
        size = path.stat().st_size
        lines.append({"frame": frame.fingerprint(), "bytes": size, "quick": quick, "ref": "dusk@1"})
    for start in range(0, len(lines), 1000):
        ledger.record_run(2021, f"run-{start:06d}", lines[start : start + 1000])


if __name__ == "__main__":
    number = int(sys.argv[1]) if len(sys.argv) > 1 else 50_000
    with tempfile.TemporaryDirectory(dir=sys.argv[2] if len(sys.argv) > 2 else None) as place:
        main(number, Path(place))
