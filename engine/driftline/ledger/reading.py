"""What can be asked of a ledger: versions, texts, lineage, trends, settings."""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import suppress
from typing import TYPE_CHECKING

from driftline.errors import LedgerError, RecipeError
from driftline.ledger import lineage, saving
from driftline.ledger.commits import read_objects
from driftline.ledger.known import recipe_path
from driftline.ledger.lineage import Lineage
from driftline.ledger.names import check_name
from driftline.ledger.opened import OpenLedger
from driftline.ledger.select import Asked, When, select
from driftline.ledger.versions import Version

if TYPE_CHECKING:
    from driftline.ledger.settings import Settings
    from driftline.ledger.trend import Trend
    from driftline.recipe import Recipe

MAX_RECIPE_BYTES = 64 * 1024


class Reading(OpenLedger):
    """The questions."""

    def versions(
        self,
        name: str | None = None,
        *,
        since: When | None = None,
        until: When | None = None,
        frame: Asked = None,
        verdict: Asked = None,
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
            ``no-such-recipe``, ``recipe-not-saved``.
        """
        found = self._history.versions(None if name is None else check_name(name))
        if name is not None and not found:
            raise self._history.no_version_of(name)
        return select(found, since=since, until=until, frame=frame, verdict=verdict)

    def recipes(self) -> list[str]:
        """The names of all recipes that have a version."""
        return sorted(self._history.now().last)

    def last_versions(self) -> dict[str, str]:
        """The last version of each recipe, ``{"tram-fog": "tram-fog@9"}``."""
        return {name: str(last.ref) for name, last in self._history.now().last.items()}

    def version(self, ref: str) -> Version:
        """The version a reference means: ``NAME@7``, or ``NAME`` for its last one.

        Raises
        ------
        LedgerError
            ``no-such-recipe``, ``recipe-not-saved``, ``no-such-version``, ``bad-ref``.
        """
        return self._history.version(ref)

    def text(self, ref: str) -> str:
        """The text of a version, exactly as it was saved."""
        return saving.decoded(self._content(self.version(ref)), ref)

    def texts(self, versions: Iterable[Version]) -> dict[str, str]:
        """The texts of many versions by ref, read by one process of git.

        A version whose text cannot be read is left out; :meth:`text` says what is wrong with it.
        """
        asked = list(versions)
        names = [f"{version.commit}:{recipe_path(version.recipe)}" for version in asked]
        texts = {}
        for version, found in zip(asked, read_objects(self._store.git, names), strict=True):
            if found is not None and found.kind == "blob":
                with suppress(RecipeError):
                    texts[version.ref] = saving.decoded(found.content, version.ref)
        return texts

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
            return self._history.no_version_of(name)
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
            raise self._history.no_version_of(name)
        return lineage.lineage_of(self.versions(), name)

    def trend(self, name: str) -> Trend:
        """How a recipe settles: the course of each parameter that ever moved, and what still moves.

        Raises
        ------
        LedgerError
            ``no-such-recipe``, ``recipe-not-saved``.
        """
        from driftline.ledger.trend import trend_of  # noqa: PLC0415  (what only few commands need)
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

    def settings(self) -> Settings:
        """The ledger's settings, as they stand in its working file (defaults if there is none).

        Raises
        ------
        RecipeError
            ``settings-...``: names line and field.
        """
        return saving.read_settings(self._store)
