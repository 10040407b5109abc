"""Everything on one bench: the ledger, the frames, the recipe under edit, and the work done for the page."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from pathlib import Path
from threading import Event, Lock, get_native_id
from typing import Any, TypeVar

from driftline.drift.rechecking import Rechecking
from driftline.errors import UsageError
from driftline.ledger import Ledger
from driftline.pages.bench.draft import WorkingFile, draft_of, is_file
from driftline.pages.bench.edit import Edit
from driftline.pages.bench.proof import BenchProof, LastOpened

MOST_FRAMES = 12
_KINDS = ("pixels", "drift", "shares", "ledger")
_PATIENT = ("drift", "shares")
_NICE = 10

R = TypeVar("R")


class OutdatedError(Exception):
    """Something newer was asked for meanwhile; nobody waits for this any more."""


class Desk:
    """The state behind the page, for all windows that show it.

    Parameters
    ----------
    ledger
        The ledger.
    paths
        Raw files to judge by, at most 12; they are decoded when they are first asked for.
    recipe
        The recipe to begin with; absent: the one that was saved last. Of ``NAME@7`` the recipe is edited as
        it stands, and the version hangs beside it. A file that lies outside the ledger is edited where it
        lies, until it is taken in.

    Raises
    ------
    UsageError
        ``bench-too-many``, ``bench-no-recipe``.
    LedgerError, RecipeError
        There is no such recipe, or its file cannot be read.
    """

    def __init__(self, ledger: Ledger, paths: Sequence[Path], recipe: str | None = None) -> None:
        if len(paths) > MOST_FRAMES:
            raise UsageError(
                "bench-too-many",
                f"{len(paths)} frames; the bench takes up to {MOST_FRAMES}",
                hint="the few frames that a look is judged by",
            )
        self.ledger = ledger
        opened = LastOpened()
        self.proofs = tuple(BenchProof(ledger, path, opened) for path in paths)
        recipe = recipe or _latest(ledger)
        self.beside = "" if is_file(recipe) or "@" not in recipe else ledger.version(recipe).ref
        self.edit = Edit(draft_of(ledger, recipe.partition("@")[0] if self.beside else recipe))
        self.outside = self.edit.outside
        self._checking: dict[int, Rechecking] = {}
        self._newest: dict[tuple[str, str], int] = {}
        self._lock = Lock()
        self._closing = Event()
        self._workers = {
            kind: ThreadPoolExecutor(1, f"bench-{kind}", _give_way if kind in _PATIENT else None)
            for kind in _KINDS
        }

    def worker(self, kind: str) -> ThreadPoolExecutor:
        """Where work of a kind is done, one piece after another."""
        return self._workers[kind]

    def newest(self, kind: str, who: str, turn: int) -> Callable[[], None]:
        """Announce work for a place on a page; what is given back raises when newer work was announced.

        Parameters
        ----------
        kind
            ``pixels``, ``drift``, ``shares`` or ``softer``.
        who
            The window and the place in it that the work is for.
        turn
            Counts upwards.
        """
        key = (kind, who)
        with self._lock:
            self._newest[key] = max(turn, self._newest.get(key, 0))

        def check() -> None:
            if self._closing.is_set() or self._newest[key] > turn:
                raise OutdatedError

        return check

    def proof(self, place: int) -> BenchProof:
        """A frame by its place.

        Raises
        ------
        UsageError
            ``bench-no-frame``.
        """
        if not 0 <= place < len(self.proofs):
            raise UsageError("bench-no-frame", f"frame {place}: there is none", hint="one that is shown")
        return self.proofs[place]

    def checking(self, place: int) -> Rechecking:
        """What checks recipes on a frame."""
        proof = self.proof(place)
        with self._lock:
            if place not in self._checking:
                self._checking[place] = Rechecking(proof, bands=self.ledger.settings().bands)
            return self._checking[place]

    def open(self, name: str) -> None:
        """Go on with another recipe, or the file outside that was begun with; each stays as it stands."""
        again = self.outside if self.outside and name == self.outside.name else None
        self.edit = Edit(again or WorkingFile(self.ledger, name))

    def outside_json(self) -> dict[str, Any]:
        """The file outside the ledger that can be chosen; where it is and its name, if it is under edit."""
        here = self.edit.outside
        return {
            "outside": self.outside.name if self.outside else "",
            "from": {"file": here.where, "name": here.suggested()} if here else None,
        }

    def close(self) -> None:
        """Stop working; what was begun is given up."""
        self._closing.set()
        for worker in self._workers.values():
            worker.shutdown(wait=False, cancel_futures=True)


def _give_way() -> None:
    """Let the pictures have the processor first: on Linux a thread has a priority of its own."""
    if sys.platform == "linux":
        with suppress(OSError):
            os.setpriority(os.PRIO_PROCESS, get_native_id(), _NICE)


def titles(proofs: Sequence[BenchProof]) -> list[Mapping[str, Any]]:
    """What the page calls the frames."""
    return [{"place": place, "name": proof.path.name} for place, proof in enumerate(proofs)]


def _latest(ledger: Ledger) -> str:
    versions = ledger.versions()
    if not versions:
        raise UsageError("bench-no-recipe", "the ledger holds no recipe yet", hint="driftline save NAME")
    return versions[0].recipe
