"""What this copy knows of its history without walking through it: every version's commit, in order.

Two files in ``.git/driftline``: ``versions`` has a line for each version, oldest first, and only grows;
``known.json`` says for which commit that holds, how far the list is valid, and what is the last version
of each recipe. They are only ever a shortcut: brought up to date from the commit they were made for,
built anew when history was rewritten or they make no sense, and they can be deleted at any time. With
them a save costs the same after ten thousand versions as after one, the history of a recipe reads only
its own commits, and a crash after the commit point is noticed by the next command.
"""

from __future__ import annotations

import json
from contextlib import suppress
from dataclasses import dataclass, field, replace
from typing import Any, NamedTuple

from driftline.errors import LedgerError
from driftline.ledger.commits import ids_between, parse_commit, read_objects
from driftline.ledger.files import PRIVATE, WorkingFolder
from driftline.ledger.names import Ref, is_label, parse_ref
from driftline.ledger.plumbing import Plumbing
from driftline.ledger.versions import parse_version

KNOWN = f"{PRIVATE}/known.json"
REGISTER = f"{PRIVATE}/versions"


def recipe_path(name: str) -> str:
    """Where a recipe's working file stands in the ledger."""
    return f"recipes/{name}.toml"


class Entry(NamedTuple):
    """One line of the list of versions: the commit, the blob of the recipe's text, the version's name."""

    commit: str
    blob: str
    ref: str


class Last(NamedTuple):
    """The last version of one recipe, and the highest number this copy knows of it."""

    ref: Ref
    commit: str
    blob: str
    highest: int


@dataclass
class Known:
    """What is known as of one commit; ``head`` is empty when that is nothing."""

    head: str = ""
    last: dict[str, Last] = field(default_factory=dict)
    labels: set[str] = field(default_factory=set)
    size: int = 0
    """How many bytes of the list are valid."""
    lines: int = 0
    """How many versions are in them."""
    pending: list[Entry] = field(default_factory=list)
    """Versions that are not in the list yet."""

    def learn(self, head: str, entries: list[Entry]) -> None:
        """Take in newer versions, oldest first."""
        self.head = head
        for entry in entries:
            ref = parse_ref(entry.ref)
            before = self.last.get(ref.recipe)
            highest = max(ref.number, before.highest if before else 0)
            self.last[ref.recipe] = Last(ref, entry.commit, entry.blob, highest)
            self.labels.add(ref.copy)
        self.pending.extend(entries)


def load(files: WorkingFolder) -> Known:
    """What was noted last; nothing when there is no note or it makes no sense."""
    try:
        noted: dict[str, Any] = json.loads(files.read(KNOWN) or b"{}")
        last = {
            name: Last(parse_ref(entry["ref"]), entry["commit"], entry["blob"], int(entry["highest"]))
            for name, entry in noted["recipes"].items()
        }
        labels = {label for label in noted["labels"] if not label or is_label(label)}
        return Known(str(noted["head"]), last, labels, int(noted["size"]), int(noted["lines"]))
    except (LedgerError, ValueError, KeyError, TypeError, AttributeError):
        return Known()


def store(files: WorkingFolder, known: Known) -> None:
    """Note what is known; a ledger where that cannot be written works all the same."""
    lines = "".join(f"{entry.commit} {entry.blob} {entry.ref}\n" for entry in known.pending).encode()
    noted: dict[str, Any] = {
        "head": known.head,
        "size": known.size + len(lines),
        "lines": known.lines + len(known.pending),
        "labels": sorted(known.labels),
        "recipes": {
            name: {"ref": str(last.ref), "commit": last.commit, "blob": last.blob, "highest": last.highest}
            for name, last in sorted(known.last.items())
        },
    }
    with suppress(LedgerError):
        files.write_at(REGISTER, known.size, lines)
        files.write(KNOWN, json.dumps(noted, indent=1).encode(), durable=False)
        known.size, known.lines, known.pending = noted["size"], noted["lines"], []


def entries(files: WorkingFolder, known: Known, recipe: str | None = None) -> list[Entry] | None:
    """All versions, or those of one recipe, oldest first, each name once; None when the list is damaged."""
    content = (files.read(REGISTER) or b"")[: known.size] if known.size else b""
    if (len(content), content.count(b"\n"), content.count(b" ")) != (
        known.size,
        known.lines,
        2 * known.lines,
    ):
        return None
    lines = content.decode("ascii", "replace").splitlines()
    if recipe is not None:
        lines = [line for line in lines if f" {recipe}@" in line]
    if any(line.count(" ") != 2 for line in lines):
        return None
    found: dict[str, Entry] = {}
    for entry in [*(Entry(*line.split(" ")) for line in lines), *known.pending]:
        if recipe is None or entry.ref.startswith(f"{recipe}@"):
            found.setdefault(entry.ref, entry)
    return list(found.values())


def bring_up_to(git: Plumbing, files: WorkingFolder, known: Known, head: str) -> tuple[Known, bool]:
    """What is known as of `head`, and whether it was reached by going on from there.

    Only the commits since are read; all of them when history was rewritten or the list is damaged. Numbers
    that were given out once stay used even then; a name that was given out once keeps its version.
    """
    if known.head == head:
        return known, True
    listed = entries(files, known) if known.head else None
    if listed is not None and git.attempt("merge-base", "--is-ancestor", known.head, head).status == 0:
        taken = {entry.ref for entry in listed}
        new = [entry for entry in read_entries(git, known.head, head) if entry.ref not in taken]
        fresh = replace(known, last=dict(known.last), labels=set(known.labels), pending=list(known.pending))
        fresh.learn(head, _once(new))
        return fresh, True
    fresh = Known(labels=set(known.labels))
    fresh.learn(head, _once(read_entries(git, "", head)))
    for name, last in fresh.last.items():
        if name in known.last and known.last[name].highest > last.highest:
            fresh.last[name] = last._replace(highest=known.last[name].highest)
    return fresh, False


def _once(found: list[Entry]) -> list[Entry]:
    """Each name once, with the oldest version that bears it."""
    first: dict[str, Entry] = {}
    for entry in found:
        first.setdefault(entry.ref, entry)
    return list(first.values())


def read_entries(git: Plumbing, known: str, tip: str) -> list[Entry]:
    """The versions that `tip` has and `known` (a commit, or nothing) has not, oldest first."""
    ids = ids_between(git, tip, known)
    commits = [parse_commit(found) for found in read_objects(git, ids) if found is not None]
    versions = [version for commit in commits if (version := parse_version(commit)) is not None]
    texts = [f"{version.commit}:{recipe_path(version.recipe)}" for version in versions]
    return [
        Entry(version.commit, text.id if text is not None else "-", version.ref)
        for version, text in zip(versions, read_objects(git, texts), strict=True)
    ]
