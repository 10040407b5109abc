"""What this copy knows of its history without reading it: the last version of each recipe.

Kept in ``.git/driftline/known.json`` and only ever a shortcut: it names the commit it was made for, is
brought up to date from there, and can be deleted at any time. With it a save costs the same after ten
thousand versions as after one, and a crash after the commit point is noticed by the next command.
"""

from __future__ import annotations

import json
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any

from driftline.errors import LedgerError
from driftline.ledger.files import PRIVATE, WorkingFolder
from driftline.ledger.names import Ref, is_label, parse_ref
from driftline.ledger.plumbing import ObjectReader, Plumbing
from driftline.ledger.versions import Version, read_versions

PATH = f"{PRIVATE}/known.json"


def recipe_path(name: str) -> str:
    """Where a recipe's working file stands in the ledger."""
    return f"recipes/{name}.toml"


@dataclass(frozen=True)
class Last:
    """The last version of one recipe, and the highest number this copy knows of it."""

    ref: Ref
    commit: str
    blob: str
    highest: int


@dataclass
class Known:
    """The last versions as of one commit; ``head`` is empty when nothing is known."""

    head: str = ""
    last: dict[str, Last] = field(default_factory=dict)
    labels: set[str] = field(default_factory=set)
    onwards: bool = True
    """Whether ``head`` was reached by adding to what was known before, not by rewriting it."""


def load(files: WorkingFolder) -> Known:
    """What was noted last; nothing known when there is no note or it makes no sense."""
    try:
        noted: dict[str, Any] = json.loads(files.read(PATH) or b"{}")
        last = {
            name: Last(parse_ref(entry["ref"]), entry["commit"], entry["blob"], int(entry["highest"]))
            for name, entry in noted["recipes"].items()
        }
        return Known(
            str(noted["head"]), last, {label for label in noted["labels"] if not label or is_label(label)}
        )
    except (LedgerError, ValueError, KeyError, TypeError, AttributeError):
        return Known()


def store(files: WorkingFolder, known: Known) -> None:
    """Note what is known; a ledger where that cannot be written works all the same."""
    noted = {
        "head": known.head,
        "labels": sorted(known.labels),
        "recipes": {
            name: {"ref": str(last.ref), "commit": last.commit, "blob": last.blob, "highest": last.highest}
            for name, last in sorted(known.last.items())
        },
    }
    with suppress(LedgerError):
        files.write(PATH, json.dumps(noted, indent=1).encode(), durable=False)


def bring_up_to(git: Plumbing, known: Known, head: str) -> Known:
    """What is known, as of `head`: only the commits since are read, or all if history was rewritten."""
    if known.head == head:
        return known
    onwards = bool(known.head) and _is_ancestor(git, known.head, head)
    fresh = Known(head, dict(known.last) if onwards else {}, set(known.labels), onwards)
    versions = read_versions(git, [head, f"^{known.head}"] if onwards else [head])
    latest: dict[str, Version] = {}
    highest: dict[str, int] = {name: last.highest for name, last in known.last.items()}
    for version in versions:
        latest.setdefault(version.recipe, version)
        highest[version.recipe] = max(highest.get(version.recipe, 0), version.version)
        fresh.labels.add(version.copy)
    with ObjectReader(git) as reader:
        for name, version in latest.items():
            found = reader.get(f"{version.commit}:{recipe_path(name)}")
            ref = Ref(name, version.version, version.copy)
            fresh.last[name] = Last(ref, version.commit, found.id if found else "", highest[name])
    return fresh


def _is_ancestor(git: Plumbing, older: str, newer: str) -> bool:
    return git.attempt("merge-base", "--is-ancestor", older, newer).status == 0
