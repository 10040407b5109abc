"""The ledger: recipes, settings and their git history; nothing lost, everything traceable.

Owns the repository: its write steps, version names, lineage, settings, kept proofs and the record of
prints. It is the only room that knows git. It must not know pixels, frames' contents or the terminal.
Read :meth:`~driftline.ledger.writing.Writing.save` and
:meth:`~driftline.ledger.store.Store.commit` first. Names are loaded on first use.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from driftline.first_use import on_first_use

_WHERE = {
    "Course": "trend",
    "Edge": "lineage",
    "Ledger": "ledger",
    "Lineage": "lineage",
    "Node": "lineage",
    "OpenChoice": "meeting",
    "Point": "trend",
    "Reconciled": "reconcile",
    "Record": "runs",
    "Ref": "names",
    "Saved": "saving",
    "Settings": "settings",
    "Trend": "trend",
    "Version": "versions",
    "check_name": "names",
    "parse_ref": "names",
    "suggested_name": "names",
}

__all__ = [
    "Course",
    "Edge",
    "Ledger",
    "Lineage",
    "Node",
    "OpenChoice",
    "Point",
    "Reconciled",
    "Record",
    "Ref",
    "Saved",
    "Settings",
    "Trend",
    "Version",
    "check_name",
    "parse_ref",
    "suggested_name",
]

if TYPE_CHECKING:
    from driftline.ledger.ledger import Ledger
    from driftline.ledger.lineage import Edge, Lineage, Node
    from driftline.ledger.meeting import OpenChoice
    from driftline.ledger.names import Ref, check_name, parse_ref, suggested_name
    from driftline.ledger.reconcile import Reconciled
    from driftline.ledger.runs import Record
    from driftline.ledger.saving import Saved
    from driftline.ledger.settings import Settings
    from driftline.ledger.trend import Course, Point, Trend
    from driftline.ledger.versions import Version

__getattr__ = on_first_use(__name__, _WHERE)
