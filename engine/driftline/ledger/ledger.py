"""The ledger: what a photographer's looks were, are, and came from."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path

from driftline.errors import LedgerError
from driftline.ledger.doors import check_outline, looks_like_ledger
from driftline.ledger.drafting import Drafting
from driftline.ledger.kept import KeptTexts
from driftline.ledger.proofs import ProofShelf
from driftline.ledger.reconcile import Reconciling
from driftline.ledger.runs import PrintRecord
from driftline.ledger.store import StepHook, Store, no_hook
from driftline.ledger.writing import Writing


class Ledger(Writing, Drafting, Reconciling, ProofShelf, PrintRecord, KeptTexts):
    """One ledger: a folder with recipes, settings and their git history.

    Use :meth:`create`, :meth:`open` or :meth:`find`. Every method may raise LedgerError; what it refuses,
    it has not begun.
    """

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
        from driftline.ledger import creating  # noqa: PLC0415  (most commands make no ledger)

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

    def share(self, target: str | Path, *, proofs: bool = False) -> Path:
        """Make a copy to give away: a bare repository, from which anyone may clone.

        Parameters
        ----------
        target
            A folder that does not exist yet.
        proofs
            Whether kept proofs (they are pictures) go with it. Without them the copy is a ledger of its own:
            versions keep their names and texts, but it cannot be reconciled with this one.

        Raises
        ------
        LedgerError
            ``folder-not-empty``.
        """
        from driftline.ledger.sharing import share  # noqa: PLC0415

        return share(self._store, _absolute(target), proofs=proofs)


def _absolute(path: str | Path) -> Path:
    return Path(os.path.realpath(Path(path).expanduser()))
