"""Questions to a long history."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from driftline.errors import UsageError
from driftline.ledger.commits import Commit
from driftline.ledger.message import compose
from driftline.ledger.names import Ref
from driftline.ledger.select import select
from driftline.ledger.versions import Version, version_of


def version(number: int, when: str, verdict: str | None, proof: str) -> Version:
    """A version saved then, judged so, on that proof."""
    ref = Ref("x", number)
    drift = f'{{"verdict":"{verdict}"}}' if verdict else ""
    trailers = [("Recipe", "x"), ("Version", str(ref)), ("Proofs", proof), ("Drift", drift)]
    return version_of(Commit("0" * 40, when, compose(str(ref), [], "", trailers)), ref)


VERSIONS = [
    version(3, "2031-05-01T10:00:00+02:00", "overdone", "cd" * 32),
    version(2, "2031-04-12T23:30:00+00:00", "leaning", "ab" * 32),
    version(1, "2031-04-12T00:00:00+00:00", None, "ab" * 32),
]


@pytest.fixture(autouse=True)
def in_utc(monkeypatch: pytest.MonkeyPatch) -> None:
    """Days are those of UTC."""
    monkeypatch.setenv("TZ", "UTC")
    import time

    time.tzset()


@pytest.mark.parametrize(
    ("question", "numbers"),
    [
        ({}, [3, 2, 1]),
        ({"since": "2031-04-12"}, [3, 2, 1]),
        ({"since": "2031-04-13"}, [3]),
        ({"until": "2031-04-12"}, [2, 1]),
        ({"until": date(2031, 4, 11)}, []),
        ({"since": "2031-04-12T12:00", "until": "2031-04-30"}, [2]),
        ({"since": datetime(2031, 5, 1, 8, 0, tzinfo=UTC)}, [3]),
        ({"until": "2031-05-01T10:00:00+02:00"}, [2, 1]),
        ({"frame": "abab"}, [2, 1]),
        ({"frame": "AB" * 32}, [2, 1]),
        ({"verdict": "overdone"}, [3]),
        ({"verdict": "not judged"}, [1]),
        ({"frame": "abab", "verdict": "leaning", "since": "2031-04-12"}, [2]),
    ],
)
def test_questions(question: dict[str, object], numbers: list[int]) -> None:
    """Each option narrows the list; together all must hold; the order stays."""
    assert [found.version for found in select(VERSIONS, **question)] == numbers  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "question", [{"since": "soon"}, {"until": "2031-13-01"}, {"verdict": "fine"}, {"frame": "a"}]
)
def test_a_question_that_makes_no_sense(question: dict[str, str]) -> None:
    """Is an error with a hint, not an empty answer."""
    with pytest.raises(UsageError) as caught:
        select(VERSIONS, **question)  # type: ignore[arg-type]
    assert caught.value.hint
