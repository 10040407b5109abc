"""A print made again: the same pixels, or a precise word on what is missing."""

from __future__ import annotations

import dataclasses
import shutil
from pathlib import Path

import numpy as np
import pytest
from making.dng import write_dng

from driftline.errors import PrintError, UsageError
from driftline.pipeline import EDITION, develop, open_frame
from driftline.prints import (
    Credit,
    Location,
    Making,
    Provenance,
    Traced,
    decoder_name,
    depth_of,
    pixel_digest,
    read_provenance,
    remake,
    write_print,
)
from driftline.recipe import identity, parse_recipe

TEXT = "[curve]\nslope = 1.2\n[grain]\nrms_granularity = 8.0\n"


def frame_file(path: Path, seed: int = 1) -> Path:
    """A small frame of soft light and noise."""
    rng = np.random.default_rng(seed)
    light = np.linspace(900, 12000, 96)[None, :] * rng.normal(1, 0.02, (64, 96))
    return write_dng(path, light.astype(np.uint16))


def print_of(frame_path: Path, out: Path, *, encoding: str = "jpeg", with_text: bool = True) -> Traced:
    """A print as a batch makes it."""
    frame, recipe = open_frame(frame_path), parse_recipe(TEXT, source="dusk")
    making = Making(
        fingerprint=frame.fingerprint(),
        recipe="dusk",
        identity=identity(recipe),
        ref="dusk@3",
        edition=EDITION,
        long_edge=80,
        encoding=encoding,
        quality=92 if encoding == "jpeg" else None,
    )
    pixels = develop(frame, recipe, anchor_ev=0.35, long_edge=80, depth=depth_of(making))
    told = Provenance(
        making=making,
        frame=frame_path.name,
        anchor_ev=0.35,
        decoder=decoder_name(),
        mosaic=pixel_digest(frame.sensor().values),
        pixels=pixel_digest(pixels),
        recipe_text=TEXT if with_text else None,
    )
    write_print(pixels, out, provenance=told, exposure=frame.exposure(), credit=Credit("Ines Okoro"))
    return read_provenance(out)


@pytest.fixture
def frame(tmp_path: Path) -> Path:
    """A frame on disk."""
    return frame_file(tmp_path / "night-07.dng")


@pytest.mark.parametrize("encoding", ["jpeg", "tiff"])
def test_the_same_pixels_and_with_the_same_encoder_the_same_file(
    frame: Path, tmp_path: Path, encoding: str
) -> None:
    """From the print and the frame alone, under other names: grain, anchor, size and credit included."""
    traced = print_of(frame, tmp_path / "a", encoding=encoding)
    moved = frame.rename(tmp_path / "elsewhere.dng")
    shutil.move(tmp_path / "a", tmp_path / "renamed")
    again = remake(read_provenance(tmp_path / "renamed"), moved, tmp_path / "b")
    assert (again.same_pixels, again.same_picture, again.remarks) == (True, True, ())
    assert traced == read_provenance(tmp_path / "b")
    assert (tmp_path / "b").read_bytes() == (tmp_path / "renamed").read_bytes()


def test_the_text_may_come_from_the_ledger(frame: Path, tmp_path: Path) -> None:
    """Without the text in the print, the version's text makes it."""
    traced = print_of(frame, tmp_path / "a.jpg", with_text=False)
    with pytest.raises(PrintError) as caught:
        remake(traced, frame, tmp_path / "b.jpg")
    assert (caught.value.code, "dusk@3" in caught.value.message) == ("recipe-missing", True)
    assert remake(traced, frame, tmp_path / "b.jpg", recipe_text=TEXT + "# a comment\n").same_pixels


def test_another_text_is_refused(frame: Path, tmp_path: Path) -> None:
    """A ledger in which that version says something else is the wrong one."""
    traced = print_of(frame, tmp_path / "a.jpg", with_text=False)
    with pytest.raises(PrintError) as caught:
        remake(traced, frame, tmp_path / "b.jpg", recipe_text="[curve]\nslope = 1.3\n")
    assert caught.value.code == "recipe-differs"


def test_another_frame_is_refused(frame: Path, tmp_path: Path) -> None:
    """Told by content: the name alone does not make it the frame."""
    traced = print_of(frame, tmp_path / "a.jpg")
    with pytest.raises(PrintError) as caught:
        remake(traced, frame_file(frame, seed=2), tmp_path / "b.jpg")
    assert caught.value.code == "frame-differs"


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"edition": EDITION + 1}, "edition-differs"),
        ({"likeness": "quay-2:abc"}, "likeness-missing"),
    ],
)
def test_what_this_driftline_cannot_do_is_said(
    frame: Path, tmp_path: Path, change: dict[str, object], code: str
) -> None:
    """Another edition, or a likeness: named, and nothing is written."""
    traced = print_of(frame, tmp_path / "a.jpg")
    making = traced.provenance.making.model_copy(update=change)
    other = Traced(traced.provenance.model_copy(update={"making": making}), True, Credit())
    with pytest.raises(PrintError) as caught:
        remake(other, frame, tmp_path / "b.jpg")
    assert caught.value.code == code
    assert not (tmp_path / "b.jpg").exists()


def test_differences_are_named_from_the_sensor_on(frame: Path, tmp_path: Path) -> None:
    """Another decoding, other pixels, another encoder: each is told apart from the others."""
    traced = print_of(frame, tmp_path / "a.jpg")
    sha = "0" * 64
    for number, (change, word) in enumerate(
        [
            ({"mosaic": sha, "pixels": sha, "picture": sha}, "decoded"),
            ({"pixels": sha, "picture": sha}, "defect"),
            ({"picture": sha, "encoder": "an older one"}, "encoded by"),
        ]
    ):
        other = Traced(traced.provenance.model_copy(update=change), True, Credit())
        again = remake(other, frame, tmp_path / f"{number}.jpg")
        assert word in again.remarks[0]
        assert again.same_pixels == ("pixels" not in change)
        assert not again.same_picture


def test_a_location_that_the_frame_does_not_have(frame: Path, tmp_path: Path) -> None:
    """Somebody else wrote it into the print: it is not made up, and that is said; nor is one added."""
    traced = print_of(frame, tmp_path / "a.jpg")
    again = remake(dataclasses.replace(traced, located=True), frame, tmp_path / "b.jpg")
    assert "does not say it" in again.remarks[0]
    remake(traced, frame, tmp_path / "c.jpg", location=Location(-33.5, 151.25))
    for name in ("b.jpg", "c.jpg"):
        assert not read_provenance(tmp_path / name).located
        assert (tmp_path / name).read_bytes() == (tmp_path / "a.jpg").read_bytes()


def test_nothing_is_overwritten(frame: Path, tmp_path: Path) -> None:
    """The print itself as the target is refused."""
    traced = print_of(frame, tmp_path / "a.jpg")
    with pytest.raises(PrintError) as caught:
        remake(traced, frame, tmp_path / "a.jpg")
    assert caught.value.code == "print-exists"


@pytest.mark.parametrize(("encoding", "name"), [("jpeg", "b.png"), ("jpeg", "b.tif"), ("tiff", "b.jpg")])
def test_a_suffix_that_says_something_else(encoding: str, name: str, frame: Path, tmp_path: Path) -> None:
    """No JPEG is written under the name of another kind of file."""
    traced = print_of(frame, tmp_path / "a", encoding=encoding)
    with pytest.raises(UsageError) as caught:
        remake(traced, frame, tmp_path / name)
    assert (caught.value.code, encoding.upper() in caught.value.message) == ("unknown-suffix", True)
    assert not (tmp_path / name).exists()
