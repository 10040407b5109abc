"""Small prints to test with."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from driftline.prints import Making, Provenance, pixel_digest

SHA = "0123456789abcdef" * 4


def picture(height: int = 48, width: int = 64) -> NDArray[np.uint8]:
    """Soft colour ramps with some texture, uint8 sRGB."""
    rows, columns = np.mgrid[0:height, 0:width].astype(np.float64)
    texture = np.random.default_rng(5).normal(0, 6, (height, width))
    planes = [rows * 4 + texture, columns * 3 + texture, 255 - rows * 2 - columns + texture]
    return np.clip(np.stack(planes, axis=-1), 0, 255).astype(np.uint8)


def provenance(pixels: NDArray[np.uint8], **changes: object) -> Provenance:
    """A provenance with every field at a value of its own."""
    making = Making(
        fingerprint=SHA,
        recipe="tram-fog",
        identity=SHA[::-1],
        ref="tram-fog@8.laptop",
        correction="ev = 0.3\nturn = 0.8\n",
        likeness="quay-2/standard:" + SHA[:16],
        edition=3,
        space="srgb",
        long_edge=64,
        acutance=0.25,
        encoding="jpeg",
        quality=91,
        ceiling_bytes=900_000,
    )
    whole = Provenance(
        making=making,
        frame="night-07.dng",
        quick=SHA,
        commit="ab" * 20,
        anchor_ev=-0.1 + 0.3,
        decoder="rawpy 0.0, LibRaw 0.0",
        mosaic=SHA,
        pixels=pixel_digest(pixels),
        recipe_text="about = \"<fog> & 'rain'\"\r\n\t[exposure]\nev = 0.35\n",
    )
    return whole.model_copy(update=changes)
