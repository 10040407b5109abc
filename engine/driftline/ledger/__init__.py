"""The ledger: recipes, settings and their git history; nothing lost, everything traceable.

Owns the repository: its write steps, version names, lineage, settings, kept proofs and the record of
prints. It is the only room that knows git. It must not know pixels, frames' contents or the terminal.
Read :meth:`~driftline.ledger.ledger.Ledger.save` and
:meth:`~driftline.ledger.store.Store.commit` first.
"""

from driftline.ledger.ledger import Ledger
from driftline.ledger.lineage import Edge, Lineage, Node
from driftline.ledger.meeting import OpenChoice
from driftline.ledger.names import Ref, check_name, parse_ref, suggested_name
from driftline.ledger.reconcile import Reconciled
from driftline.ledger.runs import Record
from driftline.ledger.saving import Saved
from driftline.ledger.trend import Course, Point, Trend
from driftline.ledger.versions import Version

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
    "Trend",
    "Version",
    "check_name",
    "parse_ref",
    "suggested_name",
]
