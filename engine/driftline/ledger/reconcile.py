"""``reconcile``: two copies of one ledger, each saved to on its own, become one history again.

Versions keep their names for ever. What only one side changed is taken over; a recipe that both changed
gets a version of kind merge, parameter by parameter, with both as its parents; what both changed in
different ways is a choice, and while one is open nothing is written.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any

from driftline.errors import LedgerError
from driftline.ledger import known, saving
from driftline.ledger.doors import current_branch
from driftline.ledger.known import Entry, Known, recipe_path
from driftline.ledger.message import compose
from driftline.ledger.names import Ref
from driftline.ledger.reading import Reading
from driftline.ledger.refresh import moved_between
from driftline.ledger.saving import Draft
from driftline.ledger.trees import write_trees

if TYPE_CHECKING:
    from driftline.ledger.meeting import Meeting, OpenChoice, Side

_ROUNDS = 5


@dataclass(frozen=True)
class Reconciled:
    """What a meeting of two copies did.

    ``merged``: refs of the versions that join both sides. ``received``, ``sent``: refs that were new here,
    and new there. ``choices``: what must be decided first; then nothing was written. ``pushed``: whether
    the other copy has everything now; if not, ``reason`` says why.
    """

    merged: tuple[str, ...] = ()
    received: tuple[str, ...] = ()
    sent: tuple[str, ...] = ()
    choices: tuple[OpenChoice, ...] = ()
    pushed: bool = False
    reason: str = ""

    def json(self) -> dict[str, Any]:
        """What ``reconcile --json`` gives."""
        return {
            "merged": list(self.merged),
            "received": list(self.received),
            "sent": list(self.sent),
            "choices": [choice.json() for choice in self.choices],
            "pushed": self.pushed,
            "reason": self.reason,
        }


class Reconciling(Reading):
    """The part of a ledger that meets other copies."""

    def reconcile(self, remote: str, *, choose: Mapping[str, Side] | None = None) -> Reconciled:
        """Bring this copy and another one together, and give the other what it lacks.

        Parameters
        ----------
        remote
            A bare repository on a disk, another git address, or the name of a remote that git knows.
        choose
            Decisions by the key of each choice (``tram-fog.curve.slope``), ``here`` or ``there``; under
            ``*``, what holds for all others.

        Raises
        ------
        LedgerError
            ``remote-not-found``, ``bad-remote``, ``ledger-unrelated``, ``ledger-same-label``,
            ``unsaved-edit``.
        """
        from driftline.ledger.remote import Remote  # noqa: PLC0415  (what only few commands need)

        self._store.configuration()
        other = Remote(self._store.git, remote)
        branch = current_branch(self.path)
        result = Reconciled()
        for _ in range(_ROUNDS):
            there = other.tip(branch)
            if there is not None:
                other.fetch(branch)
            result = self._writing(partial(self._met, there=there, settled=choose or {}))
            if result.choices:
                return result
            tip = self._store.head()
            sent = other.send(tip, branch) if tip != there else None
            if sent is None or sent.done:
                return _with(result, pushed=True)
            if not sent.moved:
                return _with(result, reason=sent.reason)
        return _with(result, reason="the other copy keeps moving; run the same command again")

    def _met(self, now: Known, there: str | None, settled: Mapping[str, Side]) -> Reconciled:
        """Bring our branch to where both sides are in it."""
        git, here = self._store.git, now.head
        if there is None:
            return Reconciled(sent=tuple(entry.ref for entry in self._entries(here, "")))
        base = git.attempt("merge-base", here, there).out.decode().strip()
        if not base:
            raise LedgerError(
                "ledger-unrelated",
                f"{self.path} and the other copy have no common beginning: two ledgers, not two copies",
                hint="to take over a look: driftline save NAME --from THE-OTHER/recipes/NAME.toml",
            )
        coming = {entry.ref: entry.blob for entry in self._entries(there, here)}
        going = {entry.ref: entry.blob for entry in self._entries(here, there)}
        self._check_names(coming, going)
        received, sent = tuple(coming), tuple(going)
        if base == there:
            return Reconciled(sent=sent)
        self._check_no_hand_edits(now, base, there)
        if base == here:
            self._store.advance(here, there, "received from another copy")
            self._history.catch_up(there)
            return Reconciled(received=received)
        from driftline.ledger.meeting import meet  # noqa: PLC0415

        meeting = meet(self._store, base, here, there, settled)
        if meeting.choices:
            return Reconciled(choices=tuple(meeting.choices))
        merged = self._join(now, there, meeting, f"{len(sent)} new here, {len(received)} new there")
        return Reconciled(merged=merged, received=received, sent=(*sent, *merged))

    def _join(self, now: Known, there: str, meeting: Meeting, counts: str) -> tuple[str, ...]:
        """The commit that joins both sides, and on top of it a version of each recipe that both changed."""
        store = self._store
        both = Known(now.head, dict(now.last), set(now.labels))
        both.learn(now.head, known.read_entries(store.git, now.head, there))
        tree, _ = write_trees(store.git, now.head, store.write_blobs(meeting.taken))
        message = compose(f"two copies brought together: {counts}", [], "", [("Kind", "merge")])
        top = store.write_commit(tree, [now.head, there], message)
        merged = []
        for name, content in self._texts_of_both(now, both, top, meeting):
            sides = [side.last[name].ref for side in (now, both) if name in side.last]
            ref = Ref(name, both.last[name].highest + 1, saving.copy_label(store, now))
            draft = Draft(name, content, "", "merge", tuple(str(side) for side in dict.fromkeys(sides)))
            tree, _ = write_trees(store.git, top, store.write_blobs({recipe_path(name): content}))
            top = store.write_commit(tree, [top], saving.message_of(store, now, draft, ref, self.version))
            merged.append(str(ref))
        store.advance(now.head, top, "two copies brought together")
        self._history.catch_up(top)
        return tuple(merged)

    def _texts_of_both(
        self, now: Known, both: Known, top: str, meeting: Meeting
    ) -> Iterator[tuple[str, bytes]]:
        """The recipes that need a version of kind merge: text or versions are new on both sides."""
        theirs = {name for name, last in both.last.items() if last != now.last.get(name)}
        base = self._store.git.line("merge-base", f"{top}^1", f"{top}^2")
        ours = {entry.ref.partition("@")[0] for entry in self._entries(now.head, base)}
        for name in sorted(meeting.recipes.keys() | (theirs & ours)):
            content = meeting.recipes.get(name, self._store.content(top, recipe_path(name)))
            if content is not None and name in both.last:
                yield name, content

    def _entries(self, tip: str, without: str) -> list[Entry]:
        return known.read_entries(self._store.git, without, tip)

    def _check_names(self, coming: Mapping[str, str], going: Mapping[str, str]) -> None:
        """Refuse two histories that give one name to two commits."""
        twice = sorted(coming.keys() & going.keys())
        if not twice:
            return
        if all(coming[ref] == going[ref] for ref in twice):
            raise LedgerError(
                "ledger-unrelated",
                f"{self.path} and the other copy hold the same versions in two histories:"
                " one was rewritten, or shared without its kept proofs",
                hint="reconcile with a clone (git clone), or with a copy that was shared with its proofs",
            )
        raise LedgerError(
            "ledger-same-label",
            f"{', '.join(twice[:5])}: both copies gave out this name, to different versions",
            hint="both had one label (git config driftline.copy): save one side's texts under new names",
        )

    def _check_no_hand_edits(self, now: Known, base: str, there: str) -> None:
        edited = []
        for change in moved_between(self._store, base, there):
            present = self._store.files.read(change.path)
            content = self._store.content(now.head, change.path) if present is not None else None
            if present is not None and present != content and not self._store.is_ours(change.path, present):
                edited.append(change.path)
        if edited:
            raise LedgerError(
                "unsaved-edit",
                f"{', '.join(edited[:5])}: changed by the other copy, and edited by hand here but not saved",
                hint="driftline save them first; then reconcile again",
            )


def _with(result: Reconciled, *, pushed: bool = False, reason: str = "") -> Reconciled:
    return Reconciled(result.merged, result.received, result.sent, result.choices, pushed, reason)
