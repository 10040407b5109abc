"""What came out of checking one frame, for a photographer or as JSON."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from driftline.cli import say

if TYPE_CHECKING:
    from driftline.drift import Checked, Explained, Past
    from driftline.errors import FrameError


class Outcome(NamedTuple):
    """A frame with its drift, or with why there is none; which section did most; and what was done before."""

    path: Path
    checked: Checked | None
    error: FrameError | None
    explained: Explained | None = None
    past: Past | None = None

    def json(self) -> dict[str, Any]:
        """As it stands in ``check --json``."""
        nothing: dict[str, Any] = {"verdict": None, "largest": None, "causes": {}}
        return {
            "path": str(self.path),
            **(self.checked.json() if self.checked else nothing),
            "past": self.past.json(self.checked) if self.past and self.checked else None,
            "shares": self.explained.json() if self.explained else None,
            "error": self._error(),
        }

    def _error(self) -> dict[str, str] | None:
        error = self.error
        return {"code": error.code, "reason": error.message, "hint": error.hint} if error else None

    def tell(self, label: str) -> None:
        """Say the verdict, what it hangs on, and the table; of a bad frame, what is wrong with it."""
        from driftline.drift import in_table, in_words  # noqa: PLC0415

        if self.error:
            say.trouble(self.error.report())
        if self.checked:
            say.lines([f"{self.path.name} with {label}: {self.checked.verdict}"])
            why = [self.explained.in_words] if self.explained and self.explained.in_words else []
            before = self.past.in_words(self.checked) if self.past else []
            lines = (*in_words(self.checked), *why, *before, *in_table(self.checked))
            say.lines(f"  {line}" for line in lines)
