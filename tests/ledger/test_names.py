"""Names of recipes, copies and versions."""

from __future__ import annotations

import pytest

from driftline.errors import LedgerError
from driftline.ledger.names import Ref, check_name, is_label, parse_ref, suggested_name


@pytest.mark.parametrize("name", ["a", "0", "tram-fog", "a" * 64, "x-", "1-2-3"])
def test_allowed_names(name: str) -> None:
    """Lower-case letters, digits and hyphens, 1 to 64."""
    assert check_name(name) == name


@pytest.mark.parametrize(
    "name",
    [
        "",
        "A",
        "-a",
        "a" * 65,
        "a b",
        "a/b",
        "..",
        ".",
        "a.b",
        "ä",
        "a\n",
        "a\0",
        "con",
        "nul",
        "lpt1",
        "com0",
        "١",
    ],
)
def test_refused_names(name: str) -> None:
    """Anything that some file system would fold, keep for itself, or take for a path."""
    with pytest.raises(LedgerError) as caught:
        check_name(name)
    assert caught.value.code == "bad-name"
    check_name(suggested_name(name))


@pytest.mark.parametrize("ref", [Ref("tram-fog", 7), Ref("a", 1, "laptop"), Ref("x-1", 123456789, "l-2")])
def test_a_ref_reads_as_it_is_written(ref: Ref) -> None:
    """parse_ref(str(ref)) is the ref."""
    assert parse_ref(str(ref)) == ref


@pytest.mark.parametrize(
    "text", ["a", "a@", "a@-1", "a@1.", "a@1.B", "a@1.a.b", "a@1 ", "a@1\n", "a@１", "@1"]
)
def test_what_is_no_ref(text: str) -> None:
    """Nothing else passes for the name of a version."""
    with pytest.raises(LedgerError):
        parse_ref(text)


def test_labels() -> None:
    """A copy's label is like a name, but shorter."""
    assert is_label("laptop-7qd")
    assert not is_label("")
    assert not is_label("a.b")
    assert not is_label("x" * 33)
