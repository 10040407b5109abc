"""Drift told to a photographer."""

from __future__ import annotations

from dataclasses import replace

from driftline.drift.causes import NAMES, UNITS
from driftline.drift.checking import Checked, CheckedCause
from driftline.drift.registration import SAME_PLACE
from driftline.drift.verdict import DEFAULT_BANDS, judge
from driftline.drift.words import in_table, in_words


def checked(floors: dict[str, float] | None = None, **edits: float) -> Checked:
    """A check whose columns add up exactly; every cause comparable, 0 unless given."""
    causes = {}
    for key in UNITS:
        floor, edit = (floors or {}).get(key, 0.0), edits.get(key, 0.0)
        found = judge(floor, edit, floor + edit, DEFAULT_BANDS[key])
        alone = judge(floor, floor, floor, DEFAULT_BANDS[key]).ratio
        causes[key] = CheckedCause(
            key, floor, edit, floor + edit, found.judged, found.verdict, found.ratio, True, True, "", alone
        )
    return Checked(causes, "leaning", None, 0.0, SAME_PLACE, 1.0)


def test_clipping_says_how_much_and_where() -> None:
    """Newly clipped highlights are told as a share and a place."""
    found = replace(checked(clip_high=2.1), clipped_where={"clip_high": "the upper left"})
    assert in_words(found) == ["highlights: 2.1 % newly clipped, mostly the upper left, which is noticed"]


def test_colour_says_where_viewers_draw_the_line() -> None:
    """More colour is told as a factor of the camera's, with what viewers say of it."""
    assert in_words(checked(chroma=0.422)) == [
        "colour: 1.34 × the camera's, past the point where viewers start to call it unnatural"
    ]


def test_the_strongest_come_first_and_no_more_than_three() -> None:
    """Causes are told by how far they are out in their own bands."""
    lines = in_words(checked(exposure=0.5, contrast=0.3, white=-25.0, hue=8.0))
    assert [line.partition(":")[0] for line in lines] == ["exposure", "contrast", "white"]
    assert (
        lines[0]
        == "exposure: 0.50 EV lighter than the camera's, more than viewers accept as the same picture"
    )
    assert "25 mired cooler" in lines[2]


def test_nothing_to_say_is_said() -> None:
    """A check in keeping throughout says so in one line."""
    assert in_words(checked(exposure=0.02)) == [
        "nothing that anyone would notice beside the camera's own picture"
    ]


def test_split_toning_takes_the_white_with_it() -> None:
    """A shift of white that goes with split-toning is told as part of it, with the direction of the tint."""
    found = checked(split_tint=3.0, white=20.0)
    causes = dict(found.causes)
    causes["split_tint"] = replace(causes["split_tint"], vector=-0.3 + 3.0j)
    (line,) = in_words(replace(found, causes=causes))
    assert line == (
        "split tone: light tones towards yellow, dark ones towards blue, 1.4 times what is noticed; "
        "the white goes with it (+20 mired)"
    )


def test_a_split_tone_that_plain_has_already_is_not_all_laid_to_the_edit() -> None:
    """Its direction is that of both together: the parts of the two are told beside it."""
    (line, *_) = in_words(checked({"split_tint": 4.3}, split_tint=2.9))
    assert line.endswith("1.3 times what is noticed (2.9 by the edit, 4.3 by plain already)")


def test_a_floor_alone_is_said_not_to_be_the_edits_doing() -> None:
    """Where plain differs from the camera and the edit does not, the edit is not blamed."""
    lines = in_words(checked({"contrast": 0.3}, exposure=0.2))
    assert lines[-1] == "not the edit's doing: plain itself differs from the camera's picture in contrast"


def test_an_edit_on_a_large_floor_names_its_own_part() -> None:
    """Where plain stands well off already, the edit's own part is told beside the total."""
    assert in_words(checked({"chroma": 0.3}, chroma=0.3))[0].startswith(
        "colour: 1.52 × the camera's (1.23 × by the edit)"
    )


def test_an_edit_on_a_larger_floor_goes_first() -> None:
    """Where plain stands further off than the edit pushes, the edit is not told with plain's distance."""
    (line,) = in_words(checked({"chroma": 1.2}, chroma=0.3))
    assert line.startswith("colour: 1.23 × by the edit, where plain has 2.30 × already, past the point")


def test_a_frame_without_a_white_is_said_to_be_that() -> None:
    """Where plain's own white is a guess, that stands among the first lines, not only under the table."""
    found = checked(exposure=0.4)
    causes = dict(found.causes)
    reason = "the white of plain is a guess: the file states no usable as-shot white (red -1); each must be"
    for key in ("white", "duv"):
        causes[key] = CheckedCause(key, None, None, None, None, "not judged", 0.0, False, False, reason)
    assert in_words(replace(found, causes=causes))[1] == (
        "not the edit's doing: the white of plain is a guess: the file states no usable as-shot white, "
        "so that all its colours may stand far from the camera's"
    )


def test_the_table_has_every_cause_once() -> None:
    """Comparable causes have a line with four numbers; the others stand together by reason."""
    found = checked(exposure=0.41)
    causes = dict(found.causes)
    for key in ("white", "duv"):
        causes[key] = CheckedCause(key, None, None, None, None, "not judged", 0.0, False, False, "no white")
    table = in_table(replace(found, causes=causes))
    assert table[0].split() == ["floor", "edit", "total", "judged"]
    assert table[1].split() == ["exposure", "0.00", "+0.41", "+0.41", "+0.41", "EV", "overdone"]
    assert table[-1] == "not compared: white, green to magenta: no white"
    assert len(table) == len(UNITS)
    assert all(name in "\n".join(table) for name in NAMES.values())
