"""An open ledger: the store, its history, and the one way in which anything is written."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress
from pathlib import Path
from typing import TypeVar

from driftline.errors import LedgerError
from driftline.ledger import known
from driftline.ledger.files import PRIVATE
from driftline.ledger.history import History
from driftline.ledger.known import Entry, Known
from driftline.ledger.store import BranchMovedError, Store
from driftline.ledger.tidy import tidy

MAX_NOTE_BYTES = 4 * 1024 * 1024
_ROUNDS = 50

R = TypeVar("R")


class OpenLedger:
    """What the parts of a ledger have in common."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._history = History(store)

    @property
    def path(self) -> Path:
        """The ledger's folder."""
        return self._store.root

    @property
    def private(self) -> Path:
        """The folder for what this copy can make again; it is in no commit and in no clone."""
        return self.path / PRIVATE

    def own_note(self, path: str) -> bytes | None:
        """What this copy noted for itself under a path; None if there is nothing to be read."""
        with suppress(LedgerError):
            return self._store.files.read(f"{PRIVATE}/{path}", limit=MAX_NOTE_BYTES)
        return None

    def keep_own_note(self, path: str, note: bytes) -> None:
        """Note something for this copy, in no commit; where that cannot be written nothing happens.

        Parameters
        ----------
        path
            Below :attr:`private`, beginning with a folder for notes of its kind.
        note
            What can be done without; at most 4 MB are read.
        """
        with suppress(LedgerError):
            self._store.files.write(f"{PRIVATE}/{path}", note, durable=False)

    def _writing(self, attempt: Callable[[Known], R]) -> R:
        """Run `attempt` with the lock held, again whenever plain git moved the branch meanwhile."""
        with self._store.locked():
            done = self._until_it_holds(attempt)
        tidy(self._store.git)
        return done

    def _until_it_holds(self, attempt: Callable[[Known], R]) -> R:
        for _ in range(_ROUNDS):
            now = self._history.catch_up(self._store.head())
            try:
                return attempt(now)
            except BranchMovedError:
                continue
        raise LedgerError(
            "ledger-busy",
            f"{self.path}: another program keeps moving the branch",
            hint="wait for it to finish, then run the same command again",
        )


def put(
    store: Store, now: Known, files: Mapping[str, bytes | None], message: str, *entries: tuple[str, str]
) -> str:
    """Commit some files on top of what is known, and take the new commit in; give its id.

    A commit whose files or index could not be brought up to it is not noted as known, so the next command
    finds it and does what is missing.

    Parameters
    ----------
    files, message
        As for :meth:`Store.commit`.
    entries
        Blob and name of the versions that this commit saves.
    """
    commit, complete = store.commit(now.head, files, message)
    now.learn(commit, [Entry(commit, blob, ref) for blob, ref in entries])
    if complete:
        known.store(store.files, now)
    return commit


def refuse_unsaved_edit(store: Store, path: str, content: bytes | None, last_blob: str) -> None:
    """Refuse to write over a working file that holds an unsaved hand edit.

    Raises
    ------
    LedgerError
        ``unsaved-edit``.
    """
    present = store.files.read(path)
    if present is None or present == content or store.is_ours(path, present, last_blob):
        return
    folder, _, file = path.rpartition("/")
    name = file.removesuffix(".toml")
    raise LedgerError(
        "unsaved-edit",
        f"{store.root / path}: holds a hand edit that is not saved, and would be overwritten",
        hint=f"driftline save {name} first; or put the file away" if folder == "recipes" else "put it away",
    )
