"""Trees: the folders of a commit, rewritten only along the paths that change."""

from __future__ import annotations

from collections.abc import Mapping
from subprocess import Popen
from typing import NamedTuple

from driftline.errors import LedgerError
from driftline.ledger.files import sync_object
from driftline.ledger.plumbing import ObjectReader, Plumbing

_KINDS = {"40000": "tree", "160000": "commit"}


class Entry(NamedTuple):
    """One line of a tree."""

    mode: str
    id: str


def parse_tree(content: bytes, id_bytes: int) -> dict[bytes, Entry]:
    """The entries of a tree object by name."""
    entries, place = {}, 0
    while place < len(content):
        space = content.index(b" ", place)
        end = content.index(b"\0", space)
        stop = end + 1 + id_bytes
        entries[content[space + 1 : end]] = Entry(
            content[place:space].decode(), content[end + 1 : stop].hex()
        )
        place = stop
    return entries


def write_trees(git: Plumbing, base: str, blobs: Mapping[str, str | None]) -> tuple[str, dict[str, str]]:
    """Write the trees of `base` with some files set to other blobs (None: taken out).

    Gives the root's id, and the blobs that these files had before. The cost depends on the folders along
    these paths, not on how much else the ledger holds.
    """
    changes = _by_folder(blobs)
    with ObjectReader(git) as reader:
        old = {folder: _read(reader, base, folder) for folder in changes}
    with git.started("mktree", "-z", "--batch") as writer:
        for folder in sorted(changes, key=_depth, reverse=True):
            entries = old[folder] | changes[folder]
            kept = {name: entry for name, entry in entries.items() if entry is not None}
            tree = _write(writer, kept) if kept or not folder else None
            if folder:
                parent, _, name = folder.rpartition("/")
                changes[parent][name.encode()] = Entry("40000", tree) if tree else None
            if tree:
                sync_object(git.folder, tree)
    assert tree is not None
    return tree, {path: entry.id for path in blobs if (entry := _at(old, path)) is not None}


def _at(trees: Mapping[str, Mapping[bytes, Entry | None]], path: str) -> Entry | None:
    folder, _, name = path.rpartition("/")
    return trees[folder].get(name.encode())


def _by_folder(blobs: Mapping[str, str | None]) -> dict[str, dict[bytes, Entry | None]]:
    changes: dict[str, dict[bytes, Entry | None]] = {"": {}}
    for path, blob in blobs.items():
        folder, _, name = path.rpartition("/")
        changes.setdefault(folder, {})[name.encode()] = Entry("100644", blob) if blob else None
        while folder:
            folder = folder.rpartition("/")[0]
            changes.setdefault(folder, {})
    return changes


def _depth(folder: str) -> int:
    return folder.count("/") + 1 if folder else 0


def _read(reader: ObjectReader, base: str, folder: str) -> dict[bytes, Entry | None]:
    found = reader.get(f"{base}:{folder}" if folder else f"{base}^{{tree}}") if base else None
    if found is None:
        return {}
    if found.kind != "tree":
        raise LedgerError(
            "ledger-broken", f"{folder}: a file where the ledger keeps a folder", hint=f"git rm {folder}"
        )
    return dict(parse_tree(found.content, len(found.id) // 2))


def _write(writer: Popen[bytes], entries: Mapping[bytes, Entry]) -> str | None:
    assert writer.stdin is not None
    assert writer.stdout is not None
    lines = (
        f"{entry.mode.zfill(6)} {_KINDS.get(entry.mode, 'blob')} {entry.id}\t".encode() + name + b"\0"
        for name, entry in entries.items()
    )
    writer.stdin.write(b"".join(lines) + b"\0")
    writer.stdin.flush()
    return writer.stdout.readline().decode().strip() or None
