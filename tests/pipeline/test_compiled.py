"""The compiled pass against the reference, and the same bits however it is cut up."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import demo_frames
from driftline.colorimetry.encodings import srgb_encode
from driftline.pipeline import develop, open_frame
from driftline.pipeline.compiled import compile_plan, encode
from driftline.pipeline.plan import Plan, plan
from driftline.recipe import (
    NEUTRAL,
    TONE_STOPS,
    Band,
    Chroma,
    Curve,
    Likeness,
    Mono,
    Recipe,
    Split,
    Tint,
    White,
    parse_recipe,
)

MATRIX = np.array([[1.6, -0.4, -0.2], [-0.2, 1.5, -0.3], [0.0, -0.5, 1.5]])
TOLERANCE_CODES = 0.5
"""Largest difference of compiled and reference, in 8-bit code values."""

FULL = parse_recipe(
    """
    exposure.ev = 0.4
    white.shift = 15
    white.duv = 0.002
    curve = { slope = 1.2, toe = -0.3, shoulder = 0.5 }
    chroma.scale = 1.1
    chroma.band.brick = { hue = 40, width = 35, turn = -6, scale = 1.2, lightness = 0.03 }
    chroma.band.sky = { hue = 250, width = 50, turn = 6 }
    split = { low = { hue = 250, chroma = 0.02 }, high = { hue = 80, chroma = 0.01 } }
    """,
    source="full",
)


def picture(seed: int = 1, shape: tuple[int, int] = (37, 1100)) -> np.ndarray:
    """Camera RGB from below black to beyond white, wider than one chunk of the kernel."""
    rng = np.random.default_rng(seed)
    light = 2.0 ** rng.uniform(-12, 1.5, (*shape, 1))
    return (light * rng.uniform(0.4, 1.6, (*shape, 3)) - 0.001).astype(np.float32)


def planned(recipe: Recipe) -> Plan:
    """The recipe on a made-up camera under 5000 K light."""
    return plan(recipe, camera_to_srgb=MATRIX, light=(5000.0, 0.003), anchor_ev=0.2)


def codes_apart(recipe: Recipe, rgb: np.ndarray) -> np.ndarray:
    """Difference of compiled and reference in 8-bit code values."""
    steps = planned(recipe)
    reference = srgb_encode(steps.run(rgb))
    return np.abs(encode(compile_plan(steps).run(rgb), eight_bits=False) - reference) * 255


@pytest.mark.parametrize(
    "recipe", [NEUTRAL, FULL, Recipe(mono=Mono(filter="red"))], ids=["plain", "full", "mono"]
)
def test_compiled_equals_reference(recipe: Recipe) -> None:
    """No pixel is further than half a code value from plain numpy."""
    apart = codes_apart(recipe, picture())
    assert apart.max() < TOLERANCE_CODES
    assert apart.mean() < 0.01


def test_compiled_equals_reference_with_a_likeness() -> None:
    """A learned matrix, curve and response by hue, under a full recipe."""
    tone = tuple(min(1.1 * stop if stop < 0 else 1.2 * stop - 0.14 * stop**2, 2.4) for stop in TONE_STOPS)
    likeness = Likeness(
        camera="a",
        matrix=(1.1, -0.1, 0, -0.05, 1.1, -0.05, 0, -0.2, 1.2),
        tone=tone,
        turn=(1, 2, -1, 0, 0.5, 0, 0),
        scale=(0.1, 0.05, 0, 0, 0, 0.02, 0),
    )
    steps = plan(FULL, camera_to_srgb=MATRIX, light=(5000.0, 0.003), likeness=likeness)
    reference = srgb_encode(steps.run(picture()))
    apart = np.abs(encode(compile_plan(steps).run(picture()), eight_bits=False) - reference) * 255
    assert np.percentile(apart, 99.9) < TOLERANCE_CODES
    assert apart.max() < 2
    assert np.abs(reference - srgb_encode(planned(FULL).run(picture()))).mean() > 0.005


@settings(max_examples=int(os.environ.get("DRIFTLINE_DEEP", "0")) * 400 + 25, deadline=None)
@given(
    slope=st.floats(0.5, 2),
    toe=st.floats(-1, 1),
    shoulder=st.floats(-1, 1),
    shift=st.floats(-100, 100),
    scale=st.floats(0, 2),
    hue=st.floats(0, 360),
    width=st.floats(5, 180),
    turn=st.floats(-60, 60),
    low=st.floats(0, 0.1),
    pivot=st.floats(0.1, 0.9),
    spread=st.floats(0.05, 0.5),
)
def test_compiled_equals_reference_for_random_recipes(
    slope: float,
    toe: float,
    shoulder: float,
    shift: float,
    scale: float,
    hue: float,
    width: float,
    turn: float,
    low: float,
    pivot: float,
    spread: float,
) -> None:
    """Any allowed recipe: half a code value for 99.9 % of values, two for the rest (the gamut's corners)."""
    recipe = Recipe(
        curve=Curve(slope=slope, toe=toe, shoulder=shoulder),
        white=White(shift=shift),
        chroma=Chroma(scale=scale, band={"a": Band(hue=hue, width=width, turn=turn, scale=1.3)}),
        split=Split(low=Tint(hue=hue, chroma=low), pivot=pivot, spread=spread),
    )
    apart = codes_apart(recipe, picture(seed=2, shape=(8, 64)))
    assert np.percentile(apart, 99.9) < TOLERANCE_CODES
    assert apart.max() < 2


def test_the_same_bits_for_any_strip() -> None:
    """Rows cut anywhere give the bytes of the whole."""
    rgb = picture()
    tables = compile_plan(planned(FULL))
    whole = tables.run(rgb)
    for rows in (1, 5, 16):
        pieces = [tables.run(rgb[top : top + rows]) for top in range(0, len(rgb), rows)]
        assert np.array_equal(np.concatenate(pieces), whole)


def test_eight_bits_are_the_rounded_floats() -> None:
    """The encoder straight to uint8 agrees with rounding the encoded float."""
    linear = np.random.default_rng(4).random((9, 500, 3)).astype(np.float32)
    exact = encode(linear, eight_bits=False) * np.float32(255) + np.float32(0.5)
    assert np.array_equal(encode(linear, eight_bits=True), exact.astype(np.uint8))


def digest(environment: dict[str, str]) -> str:
    """SHA-256 of a small print made in a fresh process under other conditions."""
    code = (
        "import sys, hashlib; sys.path[:0] = sys.argv[1:3]\n"
        "from test_compiled import small_print\n"
        "print(hashlib.sha256(small_print().tobytes()).hexdigest())"
    )
    here = Path(__file__).parent
    done = subprocess.run(
        [sys.executable, "-c", code, str(here), str(here.parent)],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, **environment},
    )
    return done.stdout.strip()


def small_print() -> np.ndarray:
    """A demo frame through the full recipe, from mosaic to bytes."""
    return develop(open_frame(demo_frames.named("night-wide")), FULL, anchor_ev=0.3, long_edge=300, depth=8)


@pytest.mark.parametrize(
    "environment",
    [
        {"NUMBA_CPU_NAME": "generic", "NUMBA_CPU_FEATURES": "", "NUMBA_CACHE_DIR": ""},
        {"NPY_DISABLE_CPU_FEATURES": "AVX2 FMA3 AVX512F AVX512CD AVX512_SKX"},
    ],
    ids=["oldest processor for kernels", "older processor for numpy"],
)
def test_the_same_bits_on_older_processors(environment: dict[str, str], tmp_path: Path) -> None:
    """Forced to older instruction sets, every byte of a print is the same."""
    environment = {
        key: value or str(tmp_path) for key, value in environment.items() if key != "NUMBA_CPU_FEATURES"
    }
    assert digest(environment) == hashlib.sha256(small_print().tobytes()).hexdigest()
