"""What a DNG states of its lens (Adobe, Digital Negative Specification 1.6.0.0, chapter 7)."""

from __future__ import annotations

import struct
from pathlib import Path

import numpy as np
import pytest

from driftline.frames.opcodes import lens_of_opcodes, stated_lens

CENTRE = (0.5, 0.5)


def opcode(number: int, body: bytes) -> bytes:
    """One opcode: identity, DNG version 1.3, no flags, length, parameters."""
    return struct.pack(">IIII", number, 0x01030000, 0, len(body)) + body


def warp(*radial: float, centre: tuple[float, float] = CENTRE, sideways: float = 0.0) -> bytes:
    """WarpRectilinear of three planes alike."""
    plane = (*radial, sideways, 0.0)
    return opcode(1, struct.pack(">I20d", 3, *(3 * plane), *centre))


def vignette(*terms: float, centre: tuple[float, float] = CENTRE) -> bytes:
    """FixVignetteRadial."""
    return opcode(3, struct.pack(">7d", *terms, *centre))


def listed(*opcodes: bytes) -> bytes:
    """An opcode list: how many, then each."""
    return struct.pack(">I", len(opcodes)) + b"".join(opcodes)


def test_a_warp_is_told_without_its_change_of_scale() -> None:
    """Source over destination radius is kr0 + kr1 r² + kr2 r⁴ + kr3 r⁶; kr0 is scale alone."""
    found = lens_of_opcodes(iter([listed(warp(1.02, -0.0306, 0.00204, 0.0))]))
    assert found is not None
    assert found.distortion == pytest.approx((-0.03, 0.002, 0.0))
    assert found.falloff_ev == (0.0, 0.0, 0.0)


def test_a_vignette_is_told_in_ev() -> None:
    """The gain 1 + k0 r² + … + k4 r¹⁰ agrees with the EV terms all over the picture to 0.01 EV."""
    terms = (0.35, 0.12, -0.05, 0.08, 0.02)
    found = lens_of_opcodes(iter([listed(opcode(9, b"12345678"), vignette(*terms))]))
    assert found is not None
    r2 = np.linspace(0, 1, 50)
    gain = 1 + sum(term * r2 ** (n + 1) for n, term in enumerate(terms))
    ev = sum(term * r2 ** (n + 1) for n, term in enumerate(found.falloff_ev))
    assert np.abs(np.log2(gain) - ev).max() < 0.01


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"\0\0\0\2",
        listed(warp(1.0, -0.01, 0.0, 0.0))[:-9],
        listed(warp(1.0, -0.01, 0.0, 0.0, centre=(0.6, 0.5))),
        listed(warp(1.0, -0.01, 0.0, 0.0, sideways=0.01)),
        listed(warp(float("nan"), 0.0, 0.0, 0.0)),
        listed(warp(1.0, 7.0, 0.0, 0.0)),
        listed(vignette(-3.0, 0.0, 0.0, 0.0, 0.0)),
        listed(vignette(float("inf"), 0.0, 0.0, 0.0, 0.0)),
        listed(opcode(3, b"short")),
        listed(opcode(1, b"no")),
    ],
)
def test_what_is_broken_or_off_the_middle_is_left_aside(content: bytes) -> None:
    """Cut off, not finite, past any lens, off the middle, sideways: nothing is stated."""
    assert lens_of_opcodes(iter([content])) is None


def test_a_file_that_states_nothing(tmp_path: Path) -> None:
    """No DNG, no statement."""
    (tmp_path / "text.dng").write_text("not a picture")
    assert stated_lens(tmp_path / "text.dng") is None


def test_real_files_with_other_opcodes_state_no_lens(raws: Path) -> None:
    """A phone's gain map (opcode 9) is no falloff of r alone."""
    assert stated_lens(raws / "ok/g4-linear.dng") is None
