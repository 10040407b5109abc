"""The decoder child's own side, asked through the wire."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from driftline.errors import FrameError
from driftline.frames import RawFrame
from driftline.frames.child import ask_decoder
from driftline.frames.preview import preview_of
from driftline.frames.tags import text
from frames.written import MODEL, exif_block, picture


def test_facts_of_a_sensor(dng: Callable[..., Path], mosaic: NDArray[np.uint16]) -> None:
    """Everything that gives the values meaning comes with them."""
    answer = ask_decoder(dng(black=[[500, 512], [520, 530]]), "sensor")
    assert np.array_equal(answer.arrays["values"], mosaic)
    assert answer.facts["black"] == [500, 512, 530, 520]
    assert answer.facts["pattern"] == [[0, 1], [3, 2]]
    assert answer.facts["white"] == 16383
    assert answer.complaints == ""


def test_planes_lose_their_fourth(dng: Callable[..., Path]) -> None:
    """LibRaw hands out four planes for three."""
    planes = np.random.default_rng(1).integers(600, 15000, (60, 80, 3)).astype(np.uint16)
    assert np.array_equal(ask_decoder(dng(planes), "sensor").arrays["values"], planes)


def test_a_preview_is_handed_over_byte_for_byte(dng: Callable[..., Path]) -> None:
    """What the camera stored comes out, with its own EXIF, whatever the decoder put in front of it."""
    for blob in (picture(), picture(exif=exif_block({MODEL: "Ostrel K2"}))):
        preview = preview_of(ask_decoder(dng(preview_jpeg=blob), "preview"))
        assert preview.blob == blob
    assert text(preview.tags, "Image Model") == "Ostrel K2"


def test_no_preview_still_has_sizes(dng: Callable[..., Path]) -> None:
    """A raw without a preview is known to have none, and how large it is."""
    preview = preview_of(ask_decoder(dng(), "preview"))
    assert (preview.blob, preview.problem) == (None, "the raw holds no JPEG")
    assert (preview.sizes["height"], preview.sizes["width"]) == (120, 160)


@pytest.mark.parametrize("want", ["sensor", "preview", "facts"])
def test_what_cannot_be_opened_fails_at_opening(tmp_path: Path, want: str) -> None:
    """Whatever is wanted of it, a text is unsupported at the first step."""
    path = tmp_path / "a.dng"
    path.write_text("not a raw file\n" * 500)
    failed = ask_decoder(path, want).failed
    assert failed is not None
    assert (failed["kind"], failed["step"]) == ("unsupported", "open")


def test_no_frame_shows_through_another(dng: Callable[..., Path], mosaic: NDArray[np.uint16]) -> None:
    """Photosites that a file has no data for are zero, not what the frame before left in memory.

    The file states twice as many rows as it holds; LibRaw decodes it without a word.
    """
    full, half = dng(np.tile(mosaic, (2, 1)), name="full.dng"), dng(name="half.dng")
    blob = half.read_bytes()
    entry = (257).to_bytes(2, "little") + b"\4\0\1\0\0\0"
    half.write_bytes(blob.replace(entry + (120).to_bytes(4, "little"), entry + (240).to_bytes(4, "little")))
    for _ in range(3):
        assert ask_decoder(full, "sensor").arrays["values"][120:].all()
        values = ask_decoder(half, "sensor").arrays["values"]
        assert values.shape == (240, 160)
        assert np.array_equal(values[:120], mosaic)
        assert not values[120:].any()
    with pytest.raises(FrameError, match="120 of 240 rows hold nothing but zeros"):
        RawFrame(half).sensor()


def test_a_real_frame_without_data(raws: Path) -> None:
    """all-zero-no-error.dng is all zero also after a frame that fills the memory."""
    for name in ("ok/d30.crw", "bad/all-zero-no-error.dng") * 3:
        values = ask_decoder(raws / name, "sensor").arrays["values"]
        assert values.any() == (name == "ok/d30.crw")


def test_complaints_do_not_stick(raws: Path, tmp_path: Path, dng: Callable[..., Path]) -> None:
    """What the decoder says about one file is not held against the next."""
    blob = (raws / "ok" / "g4-linear.dng").read_bytes()
    (tmp_path / "cut.dng").write_bytes(blob[: len(blob) * 9 // 10])
    assert ask_decoder(tmp_path / "cut.dng", "sensor").complaints == "Premature end of JPEG file"
    assert ask_decoder(dng(), "sensor").complaints == ""


def test_the_zone_of_the_machine_does_not_move_times(raws: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A camera's local time is what it wrote, in whatever zone the machine is (d30.crw: 13:03:32)."""
    from driftline.frames.child import Child, Limits

    monkeypatch.setenv("TZ", "Asia/Tokyo")
    child = Child(Limits())
    try:
        assert child.ask(raws / "ok" / "d30.crw", "facts").facts["taken"] == "2018-01-01T13:03:32"
    finally:
        child.close()
