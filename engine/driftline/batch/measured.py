"""What was measured of prints when they were made, so that a resumed run can speak of all its frames.

It is kept in the index, which may be thrown away: then less is said, and nothing is wrong.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence

from pydantic import ValidationError

from driftline.batch.index import Index
from driftline.batch.order import Kept, Measures, Printed, RunResult


class MeasuredPrints:
    """Measures by the making of a print.

    Parameters
    ----------
    index
        Where they are kept.
    bands
        Of drift: verdicts by other bands are none.
    """

    def __init__(self, index: Index, bands: Mapping[str, Sequence[float]]) -> None:
        self._index = index
        self._judged_by = hashlib.sha256(json.dumps(bands, sort_keys=True).encode()).hexdigest()

    def keep(self, one: Printed) -> None:
        """Keep what was measured of a print that was just made."""
        self._index.remember(_name(one.making.key()), self._judged_by, one.measures.model_dump_json())

    def recalled(self, result: RunResult) -> RunResult:
        """The result with what is known of the prints that were there already."""
        return result.model_copy(update={"there": [self._measured(one) for one in result.there]})

    def _measured(self, one: Kept) -> Kept:
        told = self._index.recall(_name(one.key), self._judged_by)
        try:
            return one.model_copy(update={"measures": Measures.model_validate_json(told)}) if told else one
        except ValidationError:  # somebody else wrote there
            return one


def _name(key: str) -> str:
    return f"print {key}"
