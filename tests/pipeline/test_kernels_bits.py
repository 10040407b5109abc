"""The same bits on every machine: small results against fingerprints, as compiled here and for less."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from driftline.pipeline.kernels.demosaic import demosaic
from driftline.pipeline.kernels.highlights import rebuild_mosaic
from driftline.pipeline.kernels.linearise import Levels
from driftline.pipeline.kernels.noise import reduce_chroma_noise
from driftline.stages.noise import NoiseModel
from patterns import RGGB, SIX_BY_SIX, seen_through

CLIP = np.array([1.5, 1.0, 1.25])

FINGERPRINTS = {
    "demosaic 2 x 2": "c200c6352b91d0d0550840aa1f4d0717c254457056f82b66782918d03c290b79",
    "demosaic 6 x 6": "13392ae0becc164c2ec0c73b8ed7b544f896441b5a376f055baaf157d1d52772",
    "highlights": "fd0b9639bc5f5e615fc9c2949804b0f24a0aacb146210420e89e4ffdaf3773d0",
    "noise": "28c5f2ee88fc2d5584ca42d16cff2f86d656bcd9ce97de5af0c5933ed22cbe1b",
}
"""SHA-256 of small results; a new one changes pixels and needs a new edition."""


def worked_out(height=70, width=83):
    """A mosaic from whole-number arithmetic, so that no library has a say in its values."""
    y, x = np.indices((height, width))
    texture = ((y * 7919 + x * 104729 + y * x * 31) % 4099) / np.float32(4099)
    glow = np.maximum(1600 - (y - 35) ** 2 - (x - 40) ** 2, 0) / np.float32(800)
    return (texture.astype(np.float32) * np.float32(0.4) + glow.astype(np.float32)).astype(np.float32)


def fingerprints():
    """SHA-256 of what each kernel makes of :func:`worked_out`."""
    results = {
        "demosaic 2 x 2": demosaic(worked_out(), RGGB),
        "demosaic 6 x 6": demosaic(worked_out(), SIX_BY_SIX),
    }
    clipped = np.minimum(results["demosaic 2 x 2"], CLIP.astype(np.float32))
    linear = Levels(np.zeros((2, 2), np.float32), np.ones((2, 2), np.float32))
    mosaic = seen_through(clipped, RGGB)
    results["highlights"] = rebuild_mosaic(mosaic, RGGB, linear, clip=CLIP)
    noise = NoiseModel(shot=(0.02, 0.01, 0.015), read=(0.01, 0.005, 0.007))
    results["noise"] = reduce_chroma_noise(clipped.copy(), strength=0.75, noise=noise)
    assert np.any(results["highlights"] != mosaic)
    return {
        name: hashlib.sha256(np.ascontiguousarray(r).tobytes()).hexdigest() for name, r in results.items()
    }


def test_known_bits():
    """The bits are those written down here: on this machine, and on any other."""
    assert fingerprints() == FINGERPRINTS


def test_same_bits_without_vector_instructions():
    """Compiled for the plainest processor of this kind, the kernels give the same bits.

    Numba is held to it by NUMBA_CPU_NAME and NUMBA_CPU_FEATURES, numpy by NPY_DISABLE_CPU_FEATURES. Such a
    processor has no fused multiply-add, so a fused product in the ordinary build would show.
    """
    script = (
        "import sys; sys.path[:0] = sys.argv[1:]; import test_kernels_bits as t; "
        "assert t.fingerprints() == t.FINGERPRINTS, t.fingerprints()"
    )
    environment = {
        **os.environ,
        "NUMBA_CPU_NAME": "generic",
        "NUMBA_CPU_FEATURES": "",
        "NPY_DISABLE_CPU_FEATURES": " ".join(optional_features()),
    }
    here = Path(__file__).parent
    subprocess.run([sys.executable, "-c", script, here, here.parent], env=environment, check=True)


def optional_features():
    """What numpy found in this processor beyond what it needs."""
    umath = pytest.importorskip("numpy._core._multiarray_umath")
    return [name for name in umath.__cpu_dispatch__ if umath.__cpu_features__.get(name)]
