"""Versions: what is known of each, read from the history in one call of git."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from driftline.errors import LedgerError
from driftline.ledger.message import Message, from_json, from_json_mapping
from driftline.ledger.names import Ref, nearest, parse_ref
from driftline.ledger.plumbing import Plumbing

if TYPE_CHECKING:
    from driftline.recipe import Change


@dataclass(frozen=True)
class Version:
    """A saved state of a recipe.

    ``when`` is the time on the saver's clock, ISO 8601 with zone; it is shown and never used for order.
    ``kind``: version, words, fork, restore, blend, temper, merge. ``parents``: refs of the versions this
    one came from. ``drift``: what was measured on its proofs when it was saved, None if nothing was.
    """

    recipe: str
    version: int
    copy: str
    ref: str
    commit: str
    when: str
    note: str
    kind: str
    words: tuple[str, ...]
    parents: tuple[str, ...]
    proofs: tuple[str, ...]
    drift: Mapping[str, Any] | None
    edition: str
    look: str
    changed: tuple[Mapping[str, Any], ...]

    @property
    def changes(self) -> tuple[Change, ...]:
        """What changed against the first parent, by field path."""
        from driftline.recipe import Change  # noqa: PLC0415  (history in words does not need the recipe room)

        return tuple(
            Change(field=c["field"], before=c["from"], after=c["to"], unit=c["unit"]) for c in self.changed
        )

    def json(self) -> dict[str, Any]:
        """The version as ``history --json`` gives it."""
        return {
            "recipe": self.recipe,
            "version": self.version,
            "copy": self.copy,
            "ref": self.ref,
            "commit": self.commit,
            "when": self.when,
            "note": self.note,
            "kind": self.kind,
            "changes": [dict(change) for change in self.changed],
            "parents": list(self.parents),
            "proofs": list(self.proofs),
            "drift": self.drift,
        }


def read_log(git: Plumbing, tips: list[str], *, recipe: str | None = None) -> Iterator[tuple[str, str, str]]:
    """Commit, time and message of every commit from `tips` back, newest first by ancestry.

    With `recipe`, only those that are a version of it.
    """
    words = ["log", "-z", "--topo-order", "--no-show-signature", "--no-color", "--format=%H %cI%n%B"]
    if recipe is not None:
        words += ["--extended-regexp", f"--grep=^Recipe: {recipe}$"]
    out = git.run(*words, *tips, "--").decode("utf-8", "replace")
    for record in out.split("\0"):
        head, found, body = record.lstrip("\n").partition("\n")
        if found:
            commit, _, when = head.partition(" ")
            yield commit, when, body


def parse_version(commit: str, when: str, body: str) -> Version | None:
    """The version that a commit saved, None if it saved none."""
    message = Message(body)
    try:
        ref = parse_ref(message.first("Version"))
    except LedgerError:
        return None
    if message.first("Recipe") != ref.recipe:
        return None
    changed = from_json(message.first("Changes"))
    return Version(
        recipe=ref.recipe,
        version=ref.number,
        copy=ref.copy,
        ref=str(ref),
        commit=commit,
        when=when,
        note=message.note,
        kind=message.first("Kind") or "version",
        words=message.words,
        parents=message.every("Derived-from"),
        proofs=tuple(message.first("Proofs").split()),
        drift=from_json_mapping(message.first("Drift")),
        edition=message.first("Edition"),
        look=message.first("Look"),
        changed=tuple(changed) if isinstance(changed, list) else (),
    )


def read_versions(git: Plumbing, tips: list[str], recipe: str | None = None) -> list[Version]:
    """All versions reachable from `tips`, newest first; a name that appears twice counts once, the older."""
    found: dict[str, Version] = {}
    for commit, when, body in read_log(git, tips, recipe=recipe):
        version = parse_version(commit, when, body)
        if version is not None:
            found.pop(version.ref, None)
            found[version.ref] = version
    return list(found.values())


def find_version(git: Plumbing, tip: str, ref: Ref) -> Version | None:
    """The version of that name, None if the history of `tip` does not hold it."""
    named = f"^Version: {ref.recipe}@{ref.number}" + (rf"\.{ref.copy}$" if ref.copy else "$")
    words = ["log", "-z", "--no-show-signature", "--no-color", "--format=%H %cI%n%B"]
    out = git.run(*words, "--extended-regexp", f"--grep={named}", tip, "--").decode("utf-8", "replace")
    for record in reversed(out.split("\0")):
        head, _, body = record.partition("\n")
        commit, _, when = head.partition(" ")
        version = parse_version(commit, when, body)
        if version is not None and version.ref == str(ref):
            return version
    return None


def no_such_version(ref: Ref, highest: int) -> LedgerError:
    """The error for a version that is not in the ledger."""
    last = f"; the last is {ref.recipe}@{highest}" if highest else ""
    return LedgerError(
        "no-such-version", f"{ref}: no such version{last}", hint=f"driftline history {ref.recipe} lists them"
    )


def no_such_recipe(name: str, names: list[str]) -> LedgerError:
    """The error for a recipe that is not in the ledger."""
    return LedgerError("no-such-recipe", f"{name}: no such recipe in this ledger", hint=nearest(name, names))
