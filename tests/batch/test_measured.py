"""What was measured of prints, kept for a run that is resumed."""

from __future__ import annotations

from batch.shoot import printed
from driftline.batch.index import open_index
from driftline.batch.measured import MeasuredPrints
from driftline.batch.order import Kept, Printed, RunResult

BANDS = {"white": (20.0, 40.0, 20.0, 40.0)}


def there(one: Printed) -> RunResult:
    """A later run that finds this print."""
    kept = Kept(frame=one.frame, path=one.path, ref=None, fingerprint="0", key=one.making.key())
    return RunResult(there=[kept])


def test_measures_come_back_with_the_print_and_its_bands() -> None:
    """For the same making judged by the same bands; for others nothing is known."""
    one = printed(1, verdict="overdone", largest="white", floor_ev=0.02)
    with open_index(None) as index:
        MeasuredPrints(index, BANDS).keep(one)
        assert MeasuredPrints(index, BANDS).recalled(there(one)).there[0].measures == one.measures
        other = one.model_copy(update={"making": one.making.model_copy(update={"quality": 80})})
        assert MeasuredPrints(index, BANDS).recalled(there(other)).there[0].measures is None
        wider = {"white": (30.0, 60.0, 30.0, 60.0)}
        assert MeasuredPrints(index, wider).recalled(there(one)).there[0].measures is None


def test_what_somebody_else_wrote_there_is_not_known() -> None:
    """A row that makes no sense is no error."""
    one = printed(1)
    with open_index(None) as index:
        measured = MeasuredPrints(index, BANDS)
        measured.keep(one)
        index._database.execute("UPDATE digested SET content = '[]'")  # type: ignore[union-attr]
        assert measured.recalled(there(one)).there[0].measures is None
