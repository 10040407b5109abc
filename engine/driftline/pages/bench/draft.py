"""The file that is edited: a recipe's working file in the ledger."""

from __future__ import annotations

from driftline.ledger import Ledger


class Draft:
    """A recipe's working file, and the note beside it of what can be undone.

    Parameters
    ----------
    ledger, name
        The recipe.
    """

    def __init__(self, ledger: Ledger, name: str) -> None:
        self.name = name
        self.where = f"recipes/{name}.toml"
        self._ledger = ledger

    def text(self) -> str:
        """What it says; raises what says why there is none."""
        return self._ledger.working_text(self.name)

    def content(self) -> bytes | None:
        """What it holds, None if there is no file."""
        return self._ledger.working_bytes(self.name)

    def write(self, content: bytes, *, seen: bytes | None) -> None:
        """Replace it, if it still holds what was seen last."""
        self._ledger.write_working(self.name, content, seen=seen)

    def note(self) -> bytes | None:
        """What was noted of it last."""
        return self._ledger.draft_note(self.name)

    def keep_note(self, note: bytes) -> None:
        """Note something of it; it can be done without."""
        self._ledger.keep_draft_note(self.name, note)
