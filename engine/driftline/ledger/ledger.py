"""The ledger: what a photographer's looks were, are, and came from."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from driftline.errors import LedgerError
from driftline.ledger import creating, lineage, saving
from driftline.ledger.commits import read_objects
from driftline.ledger.doors import check_outline, looks_like_ledger
from driftline.ledger.kept import KeptTexts
from driftline.ledger.known import Known, recipe_path
from driftline.ledger.lineage import Lineage
from driftline.ledger.names import check_name, parse_ref
from driftline.ledger.proofs import ProofShelf
from driftline.ledger.reconcile import Reconciling
from driftline.ledger.runs import PrintRecord
from driftline.ledger.saving import Draft, Saved
from driftline.ledger.select import When, select
from driftline.ledger.store import StepHook, Store, no_hook
from driftline.ledger.trend import Trend, trend_of
from driftline.ledger.versions import Version, no_such_recipe

if TYPE_CHECKING:
    from driftline.ledger.settings import Settings
    from driftline.recipe import Recipe

MAX_RECIPE_BYTES = 64 * 1024


class Ledger(ProofShelf, PrintRecord, KeptTexts, Reconciling):
    """One ledger: a folder with recipes, settings and their git history.

    Use :meth:`create`, :meth:`open` or :meth:`find`. Every method may raise LedgerError; what it refuses,
    it has not begun.
    """

    # -- doors ------------------------------------------------------------------------------------------

    @classmethod
    def create(
        cls,
        path: str | Path,
        recipes: Mapping[str, str] | None = None,
        *,
        settings_text: str | None = None,
        after_step: StepHook = no_hook,
    ) -> Ledger:
        """Make a ledger in a new or empty folder, with one version of each given recipe.

        Parameters
        ----------
        path
            The folder; it appears only when it is complete.
        recipes
            Recipe texts by name.
        settings_text
            The content of ``settings.toml``; absent: all defaults, with comments.

        Raises
        ------
        LedgerError
            ``ledger-exists`` when there is one, ``folder-not-empty`` when there is something else.
        """
        folder = _absolute(path)
        creating.create(folder, recipes or {}, settings_text)
        return cls.open(folder, after_step=after_step)

    @classmethod
    def open(cls, path: str | Path, *, wait_s: float = 60.0, after_step: StepHook = no_hook) -> Ledger:
        """Open the ledger in a folder.

        Parameters
        ----------
        path
            The ledger's folder; ``~`` is expanded.
        wait_s
            How long a save waits for another program that is saving, in seconds.
        after_step
            Called after each numbered write step; for tests.

        Raises
        ------
        LedgerError
            ``ledger-not-found``, ``ledger-bare``, ``ledger-linked``.
        """
        folder = _absolute(path)
        check_outline(folder)
        return cls(Store(folder, wait_s=wait_s, after_step=after_step))

    @classmethod
    def find(cls, start: str | Path | None = None) -> Ledger:
        """Open the ledger that `start` (default: the current folder) lies in.

        Raises
        ------
        LedgerError
            ``ledger-not-found``.
        """
        folder = _absolute(start or ".")
        for candidate in (folder, *folder.parents):
            if looks_like_ledger(candidate):
                return cls.open(candidate)
        raise LedgerError(
            "ledger-not-found",
            f"{folder}: neither this folder nor one above it is a ledger",
            hint="driftline init DIR makes one; --ledger PATH or DRIFTLINE_LEDGER names another",
        )

    # -- reading ----------------------------------------------------------------------------------------

    def versions(
        self,
        name: str | None = None,
        *,
        since: When | None = None,
        until: When | None = None,
        frame: str | None = None,
        verdict: str | None = None,
    ) -> list[Version]:
        """All versions, or those of one recipe, newest first (by ancestry, not by clocks).

        Parameters
        ----------
        name
            The recipe.
        since, until, frame, verdict
            Only the versions that answer these; see :func:`~driftline.ledger.select.select`.

        Raises
        ------
        LedgerError
            ``no-such-recipe``.
        """
        found = self._history.versions(None if name is None else check_name(name))
        if name is not None and not found:
            raise no_such_recipe(name, self.recipes())
        return select(found, since=since, until=until, frame=frame, verdict=verdict)

    def recipes(self) -> list[str]:
        """The names of all recipes that have a version."""
        return sorted(self._history.now().last)

    def text(self, ref: str) -> str:
        """The text of a version, exactly as it was saved."""
        return saving.decoded(self._content(self.version(ref)), ref)

    def read(self, ref: str) -> Recipe:
        """The recipe of a version."""
        return saving.parsed(self.text(ref), ref)

    def _content(self, version: Version) -> bytes:
        content = self._store.content(version.commit, recipe_path(version.recipe))
        if content is None:
            raise LedgerError(
                "ledger-broken",
                f"{version.ref}: its commit {version.commit[:12]} holds no {recipe_path(version.recipe)}",
                hint=f"git -C '{self.path}' fsck --strict",
            )
        return content

    def working_text(self, name: str) -> str:
        """The text of a recipe's working file.

        Raises
        ------
        LedgerError
            ``no-such-recipe``, or ``no-such-recipe-file`` when only the file is missing.
        """
        return saving.decoded(self._working(name), recipe_path(name))

    def _working(self, name: str) -> bytes:
        content = self._store.files.read(recipe_path(check_name(name)), limit=MAX_RECIPE_BYTES)
        if content is None:
            raise self._no_file(name)
        return content

    def _no_file(self, name: str) -> LedgerError:
        last = self._history.now().last
        if name not in last:
            return no_such_recipe(name, [*self._store.files.stems("recipes", ".toml"), *last])
        return LedgerError(
            "no-such-recipe-file",
            f"{self.path / recipe_path(name)}: no such file; its last version is {last[name].ref}",
            hint=f"driftline restore {last[name].ref} writes it out again",
        )

    def working_differs(self, name: str) -> bool:
        """Whether the working file is not what the last version is; False if there is no file."""
        content = self._store.files.read(recipe_path(check_name(name)), limit=MAX_RECIPE_BYTES)
        last = self._history.now().last.get(name)
        return content is not None and (last is None or self._store.blob_id(content) != last.blob)

    def lineage(self, name: str | None = None) -> Lineage:
        """The family tree of all versions, or of one recipe and its relatives."""
        if name is not None and check_name(name) not in self._history.now().last:
            raise no_such_recipe(name, self.recipes())
        return lineage.lineage_of(self.versions(), name)

    def trend(self, name: str) -> Trend:
        """How a recipe settles: the course of each parameter that ever moved, and what still moves.

        Raises
        ------
        LedgerError
            ``no-such-recipe``.
        """
        from driftline.recipe import field_spec, parameters  # noqa: PLC0415

        versions = self.versions(name)[::-1]
        texts = [f"{version.commit}:{recipe_path(name)}" for version in versions]
        states = []
        for version, found in zip(versions, read_objects(self._store.git, texts), strict=True):
            recipe = saving.parsed(saving.decoded(found.content if found else b"", version.ref), version.ref)
            states.append((version.ref, version.when, parameters(recipe)))
        specs = {field: field_spec(field) for _, _, values in states for field in values}
        units = {field: spec.unit for field, spec in specs.items()}
        return trend_of(name, states, units, {field: spec.neutral for field, spec in specs.items()})

    # -- writing ----------------------------------------------------------------------------------------

    def save(
        self,
        name: str,
        text: str | None = None,
        *,
        note: str = "",
        drift: Mapping[str, Any] | None = None,
        proofs: Sequence[str] = (),
        kind: str = "version",
        parents: Sequence[str] = (),
        edition: str = "",
    ) -> Saved:
        """Save a recipe as a new version.

        Parameters
        ----------
        name
            The recipe's name.
        text
            Its new text; absent: the working file, as edited by hand.
        note
            The photographer's own words about this version.
        drift
            What was measured on its proofs; anything JSON can hold.
        proofs
            Fingerprints of these proofs.
        kind
            What made it: version, restore, fork, blend, temper, merge. Where only words changed (comments,
            about, form), a version becomes ``words``.
        parents
            Refs it came from; absent: the recipe's last version.
        edition
            The edition of the pipeline that its drift was measured with.

        Returns
        -------
        Saved
            ``saved`` is False, and nothing happened, when the text is that of the last version.

        Raises
        ------
        RecipeError
            The text is not a recipe, or its ``name`` is another one.
        LedgerError
            ``unsaved-edit`` when `text` would overwrite a hand edit; ``ledger-busy``, ...
        """
        check_name(name)

        def attempt(now: Known) -> Saved:
            content = self._working(name) if text is None else text.encode("utf-8", "surrogateescape")
            draft = Draft(
                name, content, note, kind, tuple(parents),
                drift=drift, proofs=tuple(proofs), edition=edition, from_working_file=text is None,
            )  # fmt: skip
            return saving.save(self._store, now, draft, self.version)

        return self._writing(attempt)

    def fork(self, ref: str, new: str, *, note: str = "") -> Saved:
        """Begin a new recipe from a version of another; the new one keeps its parent.

        Raises
        ------
        LedgerError
            ``recipe-exists`` when `new` is taken.
        """
        check_name(new)

        def attempt(now: Known) -> Saved:
            parent = self.version(ref)
            if new in now.last or self._store.files.read(recipe_path(new)) is not None:
                raise LedgerError(
                    "recipe-exists", f"{new}: there is a recipe of that name", hint="fork to another name"
                )
            content = saving.renamed(self._content(parent), new, parent.ref)
            return saving.save(
                self._store, now, Draft(new, content, note, "fork", (parent.ref,)), self.version
            )

        return self._writing(attempt)

    def restore(self, ref: str, *, note: str = "") -> Saved:
        """Make a new version that is what an old one was; everything between stays in the history.

        Raises
        ------
        LedgerError
            ``unsaved-edit`` when the working file holds a hand edit that is not saved.
        """
        if "@" not in ref:
            parse_ref(ref)

        def attempt(now: Known) -> Saved:
            old = self.version(ref)
            draft = Draft(old.recipe, self._content(old), note, "restore", (old.ref,))
            return saving.save(self._store, now, draft, self.version)

        return self._writing(attempt)

    def blend(self, a: str, b: str, new: str, *, weight: float = 0.5, note: str = "") -> Saved:
        """Make a recipe that stands between two versions; it keeps both as its parents.

        Parameters
        ----------
        a, b
            Versions, or recipes (their last version).
        new
            The recipe to save to; a new one, or a further version of one there is.
        weight
            0 gives `a`, 1 gives `b`.

        Returns
        -------
        Saved
            ``remarks`` says what could not be mixed and whose it is.
        """
        check_name(new)

        def attempt(now: Known) -> Saved:
            first, second = self.version(a), self.version(b)
            content, remarks = saving.blended(
                (self._content(first), first.ref), (self._content(second), second.ref), weight, new
            )
            draft = Draft(new, content, note, "blend", (first.ref, second.ref), remarks=remarks)
            return saving.save(self._store, now, draft, self.version)

        return self._writing(attempt)

    # -- settings ---------------------------------------------------------------------------------------

    def settings(self) -> Settings:
        """The ledger's settings, as they stand in its working file (defaults if there is none).

        Raises
        ------
        RecipeError
            ``settings-...``: names line and field.
        """
        return saving.read_settings(self._store)

    def save_settings(self, text: str | None = None, *, note: str = "") -> bool:
        """Keep the settings file as edited by hand, or a new text for it; False if nothing changed."""

        def attempt(now: Known) -> bool:
            return saving.save_settings(self._store, now, text, note)

        return self._writing(attempt)


def _absolute(path: str | Path) -> Path:
    return Path(os.path.realpath(Path(path).expanduser()))
