"""``history``: versions newest first, questions to them, and how a look settles."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from batch.shoot import write_frame
from cli.conftest import QUAY, Cli
from driftline.ledger import Ledger

KEYS = {"recipe", "version", "copy", "ref", "commit", "when", "note", "kind", "changes", "parents", "drift"}


def refs(told: list[dict[str, str]]) -> list[str]:
    """The versions of a document, in its order."""
    return [version["ref"] for version in told]


def test_versions_newest_first_with_all_their_keys(cli: Cli, looks: Path) -> None:
    """The document of one recipe, and of all; a fork names its parent and keeps the parent's drift."""
    told = cli("history", "tram-fog", "--ledger", looks, "--json").json["versions"]
    assert refs(told) == ["tram-fog@3", "tram-fog@2", "tram-fog@1"]
    assert all(version.keys() >= KEYS for version in told)
    assert told[0]["parents"] == ["tram-fog@2"]
    everything = cli("history", "--ledger", looks, "--json").json["versions"]
    assert set(refs(everything)) == {*refs(told), "fog-at-dusk@1", "quay-night@1"}
    fork = next(version for version in everything if version["recipe"] == "fog-at-dusk")
    assert (fork["kind"], fork["parents"]) == ("fork", ["tram-fog@2"])
    assert fork["drift"] == told[1]["drift"] is not None


def test_text_says_what_when_why_and_how_far(cli: Cli, looks: Path) -> None:
    """Name and time, the changes in words, the drift, and the note line by line."""
    lines = cli("history", "tram-fog", "--ledger", looks).out.splitlines()
    assert re.fullmatch(r"tram-fog@3  \d{4}-\d\d-\d\d \d\d:\d\d", lines[0])
    assert "    contrast 1.00 → 1.30" in lines
    assert lines[2].startswith("    drift: ")
    assert lines[3:5] == ["    | harder", "    | than before"]


def test_an_unsaved_edit_is_said_beside_the_history(
    cli: Cli, looks: Path, edit: Callable[[str, str], None]
) -> None:
    """The remark is on standard error, with the command that keeps the edit."""
    edit("quay-night", QUAY.replace("1.2", "1.4"))
    told = cli("history", "--ledger", looks, "--json")
    assert "driftline save quay-night" in told.err
    assert cli("history", "tram-fog", "--ledger", looks).err == ""


def test_questions_to_a_long_history(cli: Cli, looks: Path, home: Path) -> None:
    """By day, by verdict, and by the frame they were measured on, given as a file or as a fingerprint."""

    def found(*question: str) -> list[str]:
        return refs(cli("history", "tram-fog", *question, "--ledger", looks, "--json").json["versions"])

    assert found("--since", "2020-01-01") == ["tram-fog@3", "tram-fog@2", "tram-fog@1"]
    assert found("--until", "2020-01-01") == []
    assert found("--frame", "noon.dng") == ["tram-fog@3", "tram-fog@2"]
    assert found("--verdict", "not judged") == ["tram-fog@1"]
    write_frame(home / "other.dng", 9)
    assert found("--frame", "other.dng") == []
    told = cli("history", "tram-fog", "--until", "2020-01-01", "--ledger", looks)
    assert (told.status, told.out) == (0, "no version answers that\n")


@pytest.mark.parametrize(
    ("question", "code"), [(("--since", "spring"), "bad-date"), (("--verdict", "fine"), "bad-verdict")]
)
def test_questions_that_make_no_sense(question: tuple[str, str], code: str, cli: Cli, looks: Path) -> None:
    """A day that is none and a verdict that is none are errors with what is expected."""
    told = cli("history", *question, "--ledger", looks)
    assert (told.status, told.err.startswith(f"error [{code}]")) == (2, True)


def test_the_trend_charts_what_ever_moved(cli: Cli, looks: Path) -> None:
    """One line a parameter with its path; the same as data; versions stay in the document."""
    told = cli("history", "tram-fog", "--trend", "--ledger", looks)
    assert told.out.splitlines()[0] == "tram-fog: 3 versions"
    assert re.search(r"  curve\.slope +▁▁█ +1 → 1\.3 +too early to say", told.out)
    document = cli("history", "tram-fog", "--trend", "--ledger", looks, "--json").json
    (trend,) = document["trends"]
    assert {course["field"] for course in trend["parameters"]} == {"exposure.ev", "curve.slope"}
    assert len(document["versions"]) == 3


def test_a_recipe_that_is_not_there(cli: Cli, looks: Path) -> None:
    """The nearest name is offered; status 2."""
    told = cli("history", "tram-fig", "--ledger", looks)
    assert (told.status, "tram-fog" in told.err) == (2, True)


def test_a_folder_that_is_no_ledger(cli: Cli, looks: Path) -> None:
    """A shoot, a file and nothing at all: each told as what it is, with the next step."""
    for place in ("shoot", "noon.dng", "nowhere"):
        told = cli("history", "--ledger", place)
        assert told.status == 2
        assert told.err.startswith("error [ledger-")
        assert "  try: " in told.err


def test_history_says_which_likeness_a_drift_was_measured_with(cli: Cli, home: Path) -> None:
    """A version measured with a learned likeness names it; one measured without names none."""
    ledger = Ledger.create(home / "past", {"dusk": "[white]\nshift = 2.0\n"})
    plain = {"verdict": "in keeping", "largest": None, "proofs": 1, "causes": {}}
    ledger.save("dusk", "[white]\nshift = 3.0\n", drift={**plain, "frames": {"ab" * 32: {}}})
    known = {"ab" * 32: {"likeness": "ostrel-k2-everyday 0123456789ab"}}
    ledger.save("dusk", "[white]\nshift = 4.0\n", drift={**plain, "frames": known})
    drifts = [
        line for line in cli("history", "dusk", "--ledger", "past").out.splitlines() if "drift:" in line
    ]
    assert drifts == [
        "    drift: in keeping on 1 proof; by the likeness ostrel-k2-everyday",
        "    drift: in keeping on 1 proof",
    ]


def test_a_question_may_name_several(cli: Cli, looks: Path) -> None:
    """Repeated verdicts give the versions of any of them, as many as each gives by itself."""

    def found(*verdicts: str) -> set[str]:
        asked = [word for verdict in verdicts for word in ("--verdict", verdict)]
        told = cli("history", *asked, "--ledger", looks, "--json").json["versions"]
        return set(refs(told))

    names = ("in keeping", "leaning", "overdone", "not judged")
    each = [found(name) for name in names]
    assert sum(map(len, each)) == len(found(*names)) == len(found())
    assert found(names[0], names[3]) == each[0] | each[3] > each[0]
