"""Small shoots to print: scenes of light and texture, each its own, with camera renderings."""

from __future__ import annotations

import io
import os
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np
from making.dng import write_dng
from PIL import Image

from driftline.batch.order import Form, Look, Printed
from driftline.prints import Making

LOOK = Look(name="tram-fog", text="[curve]\nslope = 1.15\n", ref="tram-fog@7", commit="ab" * 20)
FORM = Form(quality=90)


def write_frame(
    path: Path, seed: int = 0, *, height: int = 48, width: int = 64, rendering: bool = True
) -> Path:
    """A frame with its own light, RGGB, 14 bit."""
    rng = np.random.default_rng(seed)
    rows, columns = np.mgrid[0:height, 0:width] / max(height, width)
    light = 0.15 + 0.3 * np.sin(3 * rows + seed) ** 2 + 0.2 * columns + rng.normal(0, 0.01, (height, width))
    colour = np.array([[0.5, 1.0], [1.0, 0.6]])
    mosaic = 512 + 15000 * np.clip(light, 0.01, 0.95) * np.tile(colour, (height // 2, width // 2))
    jpeg = io.BytesIO()
    grey = np.clip(255 * light ** (1 / 2.2), 0, 255).astype(np.uint8)
    Image.fromarray(grey).convert("RGB").save(jpeg, "JPEG", quality=95)
    exif = {"make": "Quay", "model": "Quay 2", "taken": datetime(2031, 3, 9, 7, 41), "iso": 400}
    write_dng(path, mosaic.astype(np.uint16), preview_jpeg=jpeg.getvalue() if rendering else None, exif=exif)
    return path


def write_shoot(folder: Path, count: int, *, first: int = 1) -> list[Path]:
    """Frames quay-01.dng, quay-02.dng, … in a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    return [write_frame(folder / f"quay-{n:02d}.dng", n) for n in range(first, first + count)]


def printed(number: int, **measured: Any) -> Printed:
    """The result of one print, as a worker gives it."""
    making = Making(fingerprint="0" * 64, recipe="dusk", identity="0" * 64, edition=1, quality=92)
    plain = {"verdict": "in keeping", "largest": None, "anchor_ev": 0.0, "midtone_ev": 0.0, "making": making}
    return Printed(frame=f"{number}.dng", path=f"{number}.jpg", **{**plain, **measured})


def contents(folder: Path) -> dict[str, bytes]:
    """Every file in a folder, by name."""
    return {name: (folder / name).read_bytes() for name in sorted(os.listdir(folder))}


def add_location(frame: Path) -> None:
    """Append a GPS directory (TIFF 6.0, Exif 2.32, 4.6.6) to a little-endian DNG's first directory, and the
    camera's serial number (DNG 1.4, CameraSerialNumber).
    """
    content = bytearray(frame.read_bytes())
    assert content[:4] == b"II*\0"
    at = int.from_bytes(content[4:8], "little")
    count = int.from_bytes(content[at : at + 2], "little")
    entries = [bytes(content[at + 2 + 12 * n :][:12]) for n in range(count)]
    place = len(content) + len(content) % 2
    gps = place + 48

    def entry(tag: int, kind: int, number: int, value: bytes) -> bytes:
        return b"".join(
            [
                tag.to_bytes(2, "little"),
                kind.to_bytes(2, "little"),
                number.to_bytes(4, "little"),
                value.ljust(4, b"\0"),
            ]
        )

    def parts(*numbers: int) -> bytes:
        return b"".join(n.to_bytes(4, "little") + (1).to_bytes(4, "little") for n in numbers)

    directory = [
        entry(1, 2, 2, b"S"),
        entry(2, 5, 3, place.to_bytes(4, "little")),
        entry(3, 2, 2, b"E"),
        entry(4, 5, 3, (place + 24).to_bytes(4, "little")),
    ]
    content += bytes(len(content) % 2) + parts(33, 30, 0) + parts(151, 15, 0)
    assert len(content) == gps
    content += len(directory).to_bytes(2, "little") + b"".join(directory) + bytes(4)
    first = len(content) + len(content) % 2
    content += bytes(len(content) % 2)
    serial = len(content)
    content += b"SN-0815\0"
    first = len(content)
    more = [
        entry(0x8825, 4, 1, gps.to_bytes(4, "little")),
        entry(0xC62F, 2, 8, serial.to_bytes(4, "little")),
    ]
    entries = sorted([*entries, *more], key=lambda e: e[1] * 256 + e[0])
    content += len(entries).to_bytes(2, "little") + b"".join(entries) + bytes(4)
    content[4:8] = first.to_bytes(4, "little")
    frame.write_bytes(content)
