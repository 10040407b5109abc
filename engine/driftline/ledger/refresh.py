"""The write steps that a killed or hindered saver left undone: found, and done by the next command."""

from __future__ import annotations

from typing import NamedTuple

from driftline.errors import LedgerError
from driftline.ledger.indexing import set_entries
from driftline.ledger.plumbing import ObjectReader
from driftline.ledger.store import Store


class Moved(NamedTuple):
    """A file that differs between two commits; an empty blob means it is not there."""

    path: str
    before: str
    after: str


def refresh(store: Store, before: str, after: str) -> None:
    """Bring working files and index from commit `before` to `after`, as steps 3 to 5 would have.

    Files with an unsaved hand edit stay as they are, and so does what someone put into the index.
    To be called with the lock held.
    """
    moved = _moved(store, before, after)
    if not moved:
        return
    with ObjectReader(store.git) as reader:
        written = [change for change in moved if _write(store, reader, change)]
    staged = _staged(store, [change.path for change in moved])
    behind = {
        change.path: change.after or None
        for change in moved
        if staged.get(change.path, "") == change.before and change.before != change.after
    }
    if behind:
        set_entries(store.git, store.root, behind)
    for change in written:
        store.note(change.path, change.after or None)


def _moved(store: Store, before: str, after: str) -> list[Moved]:
    out = store.git.run("diff-tree", "-r", "-z", "--no-renames", "--end-of-options", before, after)
    words = out.decode("utf-8", "surrogateescape").split("\0")
    moved = []
    for head, path in zip(words[0::2], words[1::2], strict=False):
        old_mode, new_mode, old, new, _ = head.lstrip(":").split(" ")
        plain = {"000000", "100644"}
        if old_mode in plain and new_mode in plain:
            moved.append(Moved(path, old.strip("0") and old, new.strip("0") and new))
    return moved


def _write(store: Store, reader: ObjectReader, change: Moved) -> bool:
    """Step 3 for one file; True if it now is what the commit says."""
    try:
        present = store.files.read(change.path)
        if present is None:
            if change.before or store.noted(change.path) or not change.after:
                return not change.after
        elif store.blob_id(present) == change.after:
            return True
        elif not store.is_ours(change.path, present, change.before):
            return False
        content = reader.get(change.after).content if change.after else None  # type: ignore[union-attr]
        if content is None:
            store.files.remove(change.path)
        else:
            store.files.write(change.path, content)
    except LedgerError:
        return False
    return True


def _staged(store: Store, paths: list[str]) -> dict[str, str]:
    out = store.git.run("ls-files", "--stage", "-z", "--", *(f":(literal){path}" for path in paths))
    staged = {}
    for line in out.decode("utf-8", "surrogateescape").split("\0"):
        head, found, path = line.partition("\t")
        if found:
            staged[path] = head.split(" ")[1]
    return staged
