"""Messages to and from the decoder child."""

from __future__ import annotations

import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from driftline.frames.wire import pack_message, take_message

VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=8,
)


@given(st.dictionaries(st.text(), VALUES, max_size=5))
def test_a_message_comes_back_as_it_was(message: dict[str, object]) -> None:
    """Numbers keep every bit, and text every character."""
    assert take_message(io.BytesIO(pack_message(message)).read) == message


def test_names_that_are_not_utf_8_pass() -> None:
    """A path of bytes that are no text travels by its surrogates."""
    message = {"path": b"/\xff.dng".decode(errors="surrogateescape")}
    assert take_message(io.BytesIO(pack_message(message)).read) == message


def test_several_messages_follow_one_another() -> None:
    """Two messages in one stream are read one by one."""
    stream = io.BytesIO(pack_message({"a": 1}) + pack_message({"b": 2}))
    assert [take_message(stream.read), take_message(stream.read)] == [{"a": 1}, {"b": 2}]


def test_what_is_not_an_object_is_refused() -> None:
    """A list is no message."""
    with pytest.raises(ValueError, match="JSON object, not list"):
        take_message(io.BytesIO(b"\x00\x00\x00\x02[]").read)
