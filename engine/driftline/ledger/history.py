"""The history of one ledger: its versions in order, and catching up with whatever happened meanwhile."""

from __future__ import annotations

from driftline.errors import LedgerError
from driftline.ledger import known
from driftline.ledger.commits import parse_commit, read_objects
from driftline.ledger.doors import current_branch
from driftline.ledger.known import Entry, Known, recipe_path
from driftline.ledger.names import check_name, nearest, parse_ref
from driftline.ledger.plumbing import Object
from driftline.ledger.refresh import refresh
from driftline.ledger.store import Store
from driftline.ledger.versions import Version, no_such_version, version_of


class History:
    """Reads versions by way of what is known, and never believes that more than the commits themselves."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def now(self) -> Known:
        """What is known as of the commit the branch stands on."""
        return self._renewed(self._store.head())

    def versions(self, recipe: str | None = None) -> list[Version]:
        """All versions, or those of one recipe, newest first."""
        self._store.configuration()
        noted = known.load(self._store.files)
        listed = self._listed(noted, recipe)
        tip = f"{current_branch(self._store.root)}^{{commit}}"
        first, *objects = read_objects(self._store.git, [tip, *(entry.commit for entry in listed)])
        head = first.id if first else self._store.head()
        found = _parsed(listed, objects) if listed and noted.head == head else None
        if found is None:
            listed = self._listed(self._renewed(head), recipe)
            found = _parsed(listed, read_objects(self._store.git, [entry.commit for entry in listed]))
        if found is None:
            listed = self._listed(
                known.bring_up_to(self._store.git, self._store.files, Known(), head)[0], recipe
            )
            found = _parsed(listed, read_objects(self._store.git, [entry.commit for entry in listed]))
        return found[::-1] if found else []

    def version(self, ref: str) -> Version:
        """The version that ``NAME@7`` names, or the last one of ``NAME``."""
        asked = parse_ref(ref) if "@" in ref else None
        now = self.now()
        name = asked.recipe if asked else check_name(ref)
        last = now.last.get(name)
        if last is None:
            raise self.no_version_of(name)
        asked = asked or last.ref
        if asked == last.ref:
            listed = [Entry(last.commit, last.blob, str(asked))]
        else:
            listed = [entry for entry in self._listed(now, name) if entry.ref == str(asked)]
        found = _parsed(listed, read_objects(self._store.git, [entry.commit for entry in listed]))
        if found is None:
            found = [version for version in self.versions(name) if version.ref == str(asked)]
        if not found:
            raise no_such_version(asked, last.highest)
        return found[0]

    def no_version_of(self, name: str) -> LedgerError:
        """The error for a recipe without a version: its file waits to be saved, or there is none.

        Parameters
        ----------
        name
            Of the recipe, checked.
        """
        drafts = self._store.files.stems("recipes", ".toml")
        if name in drafts:
            return LedgerError(
                "recipe-not-saved",
                f"{name}: {self._store.root / recipe_path(name)} is not saved yet, so it has no version",
                hint=f"driftline save {name} makes its first version",
            )
        return LedgerError(
            "no-such-recipe",
            f"{name}: no such recipe in this ledger",
            hint=nearest(name, [*drafts, *self.now().last]),
        )

    def catch_up(self, head: str) -> Known:
        """Bring notes, working files and index up to `head`; to be called with the lock held."""
        before = known.load(self._store.files)
        if before.head == head:
            return before
        now, onwards = known.bring_up_to(self._store.git, self._store.files, before, head)
        if not onwards or refresh(self._store, before.head, head):
            known.store(self._store.files, now)
        return now

    def _renewed(self, head: str) -> Known:
        """What is known as of `head`; noted for the next command if the ledger can be written."""
        noted = known.load(self._store.files)
        if noted.head == head:
            return noted
        try:
            with self._store.locked(wait_s=0.0):
                return self.catch_up(self._store.head())
        except LedgerError:
            return known.bring_up_to(self._store.git, self._store.files, noted, head)[0]

    def _listed(self, now: Known, recipe: str | None) -> list[Entry]:
        listed = known.entries(self._store.files, now, recipe)
        if listed is None:
            anew, _ = known.bring_up_to(self._store.git, self._store.files, Known(), now.head)
            listed = known.entries(self._store.files, anew, recipe)
        return listed or []


def _parsed(listed: list[Entry], objects: list[Object | None]) -> list[Version] | None:
    """The versions in commits that were read, None when one of them is not what the list says."""
    found = []
    for entry, content in zip(listed, objects, strict=True):
        if content is None:
            return None
        commit = parse_commit(content)
        if f"\nVersion: {entry.ref}\n" not in commit.message:
            return None
        found.append(version_of(commit, parse_ref(entry.ref)))
    return found
