"""Acutance for the size of a print: where it acts, what it leaves alone, and that strips do not show."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from making.dng import write_dng
from numpy.typing import NDArray

from driftline.colorimetry.encodings import srgb_decode, srgb_encode
from driftline.pipeline import EDITION, Frame, develop, open_frame
from driftline.prints import Making, developed
from driftline.prints import sized as module
from driftline.recipe import NEUTRAL, NO_CORRECTION
from driftline.stages.finish import finish

SHA = "0" * 64


def making(acutance: float, encoding: str = "jpeg", long_edge: int | None = 120) -> Making:
    """A print of some size."""
    return Making(
        fingerprint=SHA,
        recipe="dusk",
        identity=SHA,
        edition=EDITION,
        long_edge=long_edge,
        acutance=acutance,
        encoding=encoding,  # type: ignore[arg-type]
        quality=92 if encoding == "jpeg" else None,
    )


@pytest.fixture
def frame(tmp_path: Path) -> Frame:
    """A frame with edges and flat parts."""
    light = np.full((160, 240), 2500.0)
    light[:, 120:] = 8000.0
    light[80:, :] *= 1.2
    light += np.arange(160)[:, None] / 16
    return open_frame(write_dng(tmp_path / "a.dng", light.astype(np.uint16)))


def made(frame: Frame, asked: Making) -> NDArray[np.generic]:
    """The pixels of a print."""
    return developed(frame, NEUTRAL, asked, anchor_ev=0.2, correction=NO_CORRECTION)


@pytest.mark.parametrize("encoding", ["jpeg", "tiff"])
def test_none_is_the_developed_picture(frame: Frame, encoding: str) -> None:
    """Without acutance of its own a print is what is developed, bit for bit."""
    depth = 8 if encoding == "jpeg" else 16
    plain = develop(frame, NEUTRAL, anchor_ev=0.2, long_edge=120, depth=depth)  # type: ignore[arg-type]
    assert np.array_equal(made(frame, making(0.0, encoding)), plain)


def test_edges_gain_and_flat_parts_stay(frame: Frame) -> None:
    """Across the edge the step is steeper; away from it nothing changes."""
    plain, sharp = made(frame, making(0.0)).astype(int), made(frame, making(0.6)).astype(int)
    assert sharp.shape == plain.shape == (80, 120, 3)
    edge = np.abs(np.diff(sharp[20, :, 1])).max() - np.abs(np.diff(plain[20, :, 1])).max()
    assert edge > 3
    assert np.abs(sharp[10:30, 10:50] - plain[10:30, 10:50]).max() <= 1


def test_it_acts_on_the_reduced_pixels(frame: Frame) -> None:
    """The same as the stage on the finished small picture (computed here by its own way)."""
    small = develop(frame, NEUTRAL, anchor_ev=0.2, long_edge=120)
    expected = srgb_encode(finish(srgb_decode(small), acutance=0.6))
    assert np.abs(made(frame, making(0.6, "tiff")) / 65535 - expected).max() < 1e-4


def test_strips_do_not_show(frame: Frame, monkeypatch: pytest.MonkeyPatch) -> None:
    """In strips of any height the same bits."""
    whole = made(frame, making(0.6, "tiff", None))
    for rows in (1, 7, 64):
        monkeypatch.setattr(module, "_ROWS", rows)
        assert np.array_equal(made(frame, making(0.6, "tiff", None)), whole)
