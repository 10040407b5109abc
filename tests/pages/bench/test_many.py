"""A recipe with a thousand versions."""

from __future__ import annotations

import itertools
import json

import pytest

from driftline.ledger import Ledger
from driftline.pages.bench import past
from pages.bench.synthetic import many, text_of

NAME, LAST = "long-street", 1000


@pytest.fixture(scope="module")
def ledger(tmp_path_factory: pytest.TempPathFactory) -> Ledger:
    """A thousand versions."""
    return Ledger.open(many(tmp_path_factory.mktemp("many") / "looks", NAME, LAST))


def test_the_synthetic_ledger_is_one(ledger: Ledger) -> None:
    """Its versions read as those that were saved."""
    assert ledger.version(NAME).ref == f"{NAME}@{LAST}"
    assert ledger.text(f"{NAME}@500") == text_of(NAME, 500)
    assert not ledger.working_differs(NAME)


def test_all_of_them_are_told(ledger: Ledger) -> None:
    """Each with its distance; what goes over the wire stays below half a megabyte."""
    told = past.versions_json(ledger, NAME)
    assert [one["label"] for one in told] == [str(n) for n in range(1, LAST + 1)]
    assert all(one["distance"] is not None for one in told[1:])
    assert told[-1]["distance"] < told[1]["distance"]
    assert len(json.dumps(told)) < 500_000


def test_a_parameters_way_holds_only_its_moves(ledger: Ledger) -> None:
    """Where a value stays, nothing is repeated; the way ends at the value of the last version."""
    found = past.ways_json(ledger, NAME)
    assert found["versions"] == LAST
    way = found["ways"]["curve.slope"]
    assert 100 < len(way) <= LAST
    assert all(a[1] != b[1] for a, b in itertools.pairwise(way))
    assert way[-1][1] == ledger.read(NAME).curve.slope
    assert len(json.dumps(found)) < 100_000
