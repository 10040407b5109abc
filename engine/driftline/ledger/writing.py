"""What makes versions: saving, forking, restoring, blending; and keeping the settings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from driftline.errors import LedgerError
from driftline.ledger import saving
from driftline.ledger.known import Known, recipe_path
from driftline.ledger.names import check_name, parse_ref
from driftline.ledger.reading import Reading
from driftline.ledger.saving import Draft, Saved


class Writing(Reading):
    """The deeds."""

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

    def save_settings(self, text: str | None = None, *, note: str = "") -> bool:
        """Keep the settings file as edited by hand, or a new text for it; False if nothing changed."""

        def attempt(now: Known) -> bool:
            return saving.save_settings(self._store, now, text, note)

        return self._writing(attempt)
