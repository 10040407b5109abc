"""Names of prints: readable, harmless, never two alike."""

from __future__ import annotations

import unicodedata
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from driftline.batch.names import check_parts, distinct, print_stem
from driftline.errors import UsageError

PARTS = ("frame", "recipe", "version", "size")


def stem(frame: str, **more: str | None) -> str:
    """The name of a print of a frame with tram-fog@7."""
    return print_stem(PARTS, {"frame": frame, "recipe": "tram-fog", "version": "7", **more})


@pytest.mark.parametrize(
    ("frame", "name"),
    [
        ("night-07", "night-07-tram-fog-7"),
        ("Straße bei Regen", "Straße bei Regen-tram-fog-7"),
        ("a/b:c\x00d", "a_b_c_d-tram-fog-7"),
        ("...", "tram-fog-7"),
        (".hidden", "hidden-tram-fog-7"),
        ("--out", "out-tram-fog-7"),
        ("a\u202eb\u2028c\x85d", "a_b_c_d-tram-fog-7"),
    ],
)
def test_names_tell_frame_recipe_and_version(frame: str, name: str) -> None:
    """Letters of all languages stay; what a disk or another system does not take is replaced."""
    assert stem(frame) == name


@given(st.text(max_size=400))
def test_any_frame_gives_a_usable_name(frame: str) -> None:
    """Never empty, hidden, a path or too long for a disk (255 bytes with suffix and mark)."""
    name = stem(frame)
    assert name
    assert not name.startswith(".")
    assert "/" not in name
    assert "\0" not in name
    assert len(name.encode()) <= 200


def test_equal_names_are_told_apart_by_fingerprint() -> None:
    """Two cards with the same numbering: both get their mark, also if only case or composition differs."""
    composed, split = Path("a/Café.dng"), Path(unicodedata.normalize("NFD", "b/café.dng"))
    frames = {
        Path("a/x.dng"): "x",
        Path("b/x.dng"): "X",
        Path("c/y.dng"): "y",
        composed: "Café",
        split: split.stem,
    }
    marks = {Path("a/x.dng"): "11", Path("b/x.dng"): "22", composed: "33", split: "44"}
    names = distinct(frames, marks.__getitem__)
    assert names[Path("a/x.dng")] == "x-11"
    assert names[Path("b/x.dng")] == "X-22"
    assert names[Path("c/y.dng")] == "y"
    assert (names[composed], unicodedata.normalize("NFC", names[split])) == ("Café-33", "café-44")


def test_equal_content_is_numbered_by_path() -> None:
    """Two files of equal content are two frames: the order they were named in does not matter."""
    frames = [Path("b/x.dng"), Path("a/x.dng"), Path("c/x.dng")]
    names = distinct(dict.fromkeys(frames, "x"), lambda _: "11")
    assert names == {Path("a/x.dng"): "x-11", Path("b/x.dng"): "x-11-2", Path("c/x.dng"): "x-11-3"}
    assert list(names) == frames


@given(st.dictionaries(st.text("ab/", min_size=1, max_size=6), st.text("aA-12", max_size=3), max_size=12))
def test_no_two_names_are_alike(wished: dict[str, str]) -> None:
    """Whatever the wishes, the results differ."""
    names = distinct({Path(path): name for path, name in wished.items()}, lambda path: str(len(path.name)))
    assert len({name.casefold() for name in names.values()}) == len(names)


@pytest.mark.parametrize("parts", [["recipe"], ["frame", "colour"], []])
def test_odd_parts_are_refused(parts: list[str]) -> None:
    """A part that is none, or a name that would not tell frames apart."""
    with pytest.raises(UsageError) as caught:
        check_parts(parts)
    assert caught.value.code == "unknown-name-part"
