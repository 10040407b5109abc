"""Working files, written for someone who edits at a screen: never over what somebody else wrote."""

from __future__ import annotations

from driftline.errors import LedgerError
from driftline.ledger.known import recipe_path
from driftline.ledger.names import check_name
from driftline.ledger.reading import MAX_RECIPE_BYTES, Reading


class Drafting(Reading):
    """Unsaved edits, kept where a text editor keeps them: in the working file."""

    def working_bytes(self, name: str) -> bytes | None:
        """What a recipe's working file holds, None if there is none.

        Raises
        ------
        LedgerError
            ``ledger-link``, ``ledger-file-too-large``.
        """
        return self._store.files.read(recipe_path(check_name(name)), limit=MAX_RECIPE_BYTES)

    def write_working(self, name: str, content: bytes, *, seen: bytes | None) -> None:
        """Replace a recipe's working file, whole, if it still holds what was seen last.

        The version it belongs to is not saved by this; for every command it is a hand edit.

        Parameters
        ----------
        name
            The recipe.
        content
            The new text.
        seen
            What the file held when it was looked at last; None: there was none.

        Raises
        ------
        LedgerError
            ``working-file-changed`` when it holds something else by now; ``ledger-busy``,
            ``ledger-read-only``, ``ledger-disk-full``, ...
        """
        path = recipe_path(check_name(name))
        with self._store.locked():
            if self.working_bytes(name) != seen:
                raise LedgerError(
                    "working-file-changed",
                    f"{self.path / path}: changed by another program meanwhile; it was left alone",
                    hint="look at what it holds now, then decide",
                )
            if content != seen:
                self._store.files.write(path, content)
