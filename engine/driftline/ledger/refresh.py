"""The write steps that a killed or hindered saver left undone: found, and done by the next command."""

from __future__ import annotations

from contextlib import suppress
from typing import NamedTuple

from driftline.errors import LedgerError
from driftline.ledger.indexing import set_entries
from driftline.ledger.plumbing import ObjectReader
from driftline.ledger.store import Outgoing, Store, Written

_MANY = 200


class Moved(NamedTuple):
    """A file that differs between two commits; an empty blob means it is not there."""

    path: str
    before: str
    after: str


def refresh(store: Store, before: str, after: str) -> bool:
    """Bring working files and index from commit `before` to `after`, as steps 3 to 5 would have.

    Files with an unsaved hand edit stay as they are, and so does what someone put into the index.
    False if something could not be done yet.
    To be called with the lock held.
    """
    moved = moved_between(store, before, after)
    if not moved:
        return True
    with ObjectReader(store.git) as reader:
        written = {change.path: _write(store, reader, change) for change in moved}
    staged = _staged(store, [change.path for change in moved])
    behind = {
        change.path: change.after or None for change in moved if staged.get(change.path, "") == change.before
    }
    indexed = not behind or set_entries(store.git, store.root, behind)
    for change in moved:
        if written[change.path] is Written.YES:
            store.note(change.path, change.after or None)
    return indexed and Written.NOT_YET not in written.values()


def moved_between(store: Store, before: str, after: str, *, strict: bool = False) -> list[Moved]:
    """The plain files that differ between two commits.

    Raises
    ------
    LedgerError
        ``ledger-link`` when `strict` and one of the others is a symbolic link, a program or a repository.
    """
    out = store.git.run("diff-tree", "-r", "-z", "--no-renames", "--end-of-options", before, after)
    words = out.decode("utf-8", "surrogateescape").split("\0")
    moved = []
    for head, path in zip(words[0::2], words[1::2], strict=False):
        old_mode, new_mode, old, new, _ = head.lstrip(":").split(" ")
        plain = {"000000", "100644"}
        if old_mode in plain and new_mode in plain:
            moved.append(Moved(path, old.strip("0") and old, new.strip("0") and new))
        elif strict:
            raise LedgerError(
                "ledger-link",
                f"{path}: the other copy has something there that is not a plain file (mode {new_mode})",
                hint="look at it there; a ledger holds plain files only",
            )
    return moved


def _write(store: Store, reader: ObjectReader, change: Moved) -> Written:
    """Step 3 for one file; a file that was deleted by hand is not brought back."""
    if store.noted(change.path) or change.before:
        with suppress(LedgerError):
            if store.files.read(change.path) is None:
                return Written.EDITED
    found = reader.get(change.after) if change.after else None
    content = found.content if found else None
    return store.write_file(Outgoing(change.path, content, change.after or None, change.before or None))


def _staged(store: Store, paths: list[str]) -> dict[str, str]:
    asked = [f":(literal){path}" for path in paths] if len(paths) <= _MANY else []
    out = store.git.run("ls-files", "--stage", "-z", "--", *asked)
    staged = {}
    for line in out.decode("utf-8", "surrogateescape").split("\0"):
        head, found, path = line.partition("\t")
        if found:
            staged[path] = head.split(" ")[1]
    return staged
