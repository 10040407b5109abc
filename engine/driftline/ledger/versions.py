"""Versions: what is known of each, from the commit that saved it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from driftline.errors import LedgerError
from driftline.ledger.commits import Commit
from driftline.ledger.message import Message, from_json, from_json_mapping
from driftline.ledger.names import Ref, parse_ref

if TYPE_CHECKING:
    from driftline.recipe import Change


@dataclass(frozen=True)
class Version:
    """A saved state of a recipe.

    ``when`` is the time on the saver's clock, ISO 8601 with zone; it is shown and never used for order.
    Everything else that is kept with a version is read from its message when it is asked for.
    """

    recipe: str
    version: int
    copy: str
    ref: str
    commit: str
    when: str
    message: Message

    @property
    def kind(self) -> str:
        """What made it: version, words, fork, restore, blend, temper, merge."""
        return self.message.first("Kind") or "version"

    @property
    def note(self) -> str:
        """The photographer's own words."""
        return self.message.note

    @property
    def words(self) -> tuple[str, ...]:
        """The changes in words."""
        return self.message.words

    @property
    def parents(self) -> tuple[str, ...]:
        """Refs of the versions it came from."""
        return self.message.every("Derived-from")

    @property
    def proofs(self) -> tuple[str, ...]:
        """Fingerprints of the proofs it was measured on."""
        return tuple(self.message.first("Proofs").split())

    @property
    def edition(self) -> str:
        """The edition of the pipeline that its drift was measured with."""
        return self.message.first("Edition")

    @property
    def look(self) -> str:
        """The identity of its parameters: equal for versions that render alike."""
        return self.message.first("Look")

    @cached_property
    def drift(self) -> Mapping[str, Any] | None:
        """What was measured on its proofs when it was saved; None if nothing was."""
        return from_json_mapping(self.message.first("Drift"))

    @cached_property
    def changed(self) -> tuple[Mapping[str, Any], ...]:
        """The changes as ``{field, from, to, unit}``, against the version before."""
        changed = from_json(self.message.first("Changes"))
        return tuple(changed) if isinstance(changed, list) else ()

    @property
    def changes(self) -> tuple[Change, ...]:
        """What changed against the version before, by field path."""
        from driftline.recipe import Change  # noqa: PLC0415  (history in words does not need the recipe room)

        return tuple(Change(c["field"], _value(c["from"]), _value(c["to"]), c["unit"]) for c in self.changed)

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


def _value(value: Any) -> Any:
    return tuple(value) if isinstance(value, list) else value


def parse_version(commit: Commit) -> Version | None:
    """The version that a commit saved, None if it saved none."""
    message = Message(commit.message)
    name = message.first("Version")
    if not name:
        return None
    try:
        ref = parse_ref(name)
    except LedgerError:
        return None
    if message.first("Recipe") != ref.recipe:
        return None
    return version_of(commit, ref)


def version_of(commit: Commit, ref: Ref) -> Version:
    """The version that a commit is known to have saved."""
    message = Message(commit.message)
    return Version(ref.recipe, ref.number, ref.copy, str(ref), commit.id, commit.when, message)


def no_such_version(ref: Ref, highest: int) -> LedgerError:
    """The error for a version that is not in the ledger."""
    last = f"; the highest is {ref.recipe}@{highest}" if highest else ""
    return LedgerError(
        "no-such-version", f"{ref}: no such version{last}", hint=f"driftline history {ref.recipe} lists them"
    )
