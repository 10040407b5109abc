"""The record of prints: which frame was printed with which version, and which frames were set aside.

``prints/YEAR/RUN.jsonl`` has a JSON object a line and only grows; the index of a shoot can be made anew
from it at any time.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from typing import Any, NamedTuple

from driftline.errors import LedgerError
from driftline.ledger.commits import read_objects
from driftline.ledger.known import Known
from driftline.ledger.message import compose, to_json
from driftline.ledger.opened import OpenLedger, put, refuse_unsaved_edit

SET_ASIDE = "set-aside"

_RUN = re.compile(r"[a-z0-9][a-z0-9-]{0,63}")
_PATH = re.compile(r"prints/([0-9]{4})/([a-z0-9][a-z0-9-]{0,63})\.jsonl")


class Record(NamedTuple):
    """One line of the record: the run it belongs to, and what it says."""

    year: int
    run: str
    line: Mapping[str, Any]


class PrintRecord(OpenLedger):
    """The record of prints of a ledger."""

    def record_run(self, year: int, run: str, lines: Iterable[Mapping[str, Any]], *, note: str = "") -> bool:
        """Write down what a run printed, as one commit; lines that are there already are not repeated.

        Parameters
        ----------
        year
            Four digits.
        run
            The name of the run: lower-case letters, digits and hyphens.
        lines
            One mapping a print; anything JSON can hold.
        note
            Goes into the commit.

        Returns
        -------
        bool
            False if there was nothing new.
        """
        new = [f"{to_json(dict(line))}\n".encode() for line in lines]
        title = f"{len(new)} print{'s' if len(new) != 1 else ''} recorded in {year:04}/{run}"
        return self._append(year, run, new, title, note)

    def record_set_aside(
        self, frames: Iterable[str | Mapping[str, Any]], *, aside: bool = True, note: str = ""
    ) -> bool:
        """Write down that frames are not wanted (or, with `aside` False, that they are again).

        Parameters
        ----------
        frames
            Fingerprints; or mappings with one under ``frame`` and what else finds the frame again.
        """
        when = datetime.now().astimezone()
        state = SET_ASIDE if aside else "taken-back"
        told = [{"frame": each} if isinstance(each, str) else dict(each) for each in frames]
        entries = [{**each, "state": state, "when": when.isoformat()} for each in told]
        new = [f"{to_json(entry)}\n".encode() for entry in entries]
        title = f"{len(new)} frame{'s' if len(new) != 1 else ''} {state.replace('-', ' ')}"
        return self._append(when.year, SET_ASIDE, new, title, note)

    def record_state(self) -> str:
        """What stands for the whole record: the same text as long as no line of it changes; '' for none."""
        found = self._store.git.attempt("rev-parse", "--verify", "--quiet", f"{self._store.head()}:prints")
        return found.out.decode("ascii", "replace").strip() if found.status == 0 else ""

    def printed(self) -> Iterator[Record]:
        """All lines of the record, run by run.

        Raises
        ------
        LedgerError
            ``bad-record`` names the file and line that is not a JSON object.
        """
        head = self._store.head()
        listed = self._store.git.run("ls-tree", "-r", "-z", "--name-only", head, "--", "prints/").decode()
        paths = [path for path in listed.split("\0") if _PATH.fullmatch(path)]
        for path, found in zip(
            paths, read_objects(self._store.git, [f"{head}:{path}" for path in paths]), strict=True
        ):
            year, run = _PATH.fullmatch(path).groups()  # type: ignore[union-attr]
            for number, text in enumerate((found.content if found else b"").splitlines(), start=1):
                yield Record(int(year), run, _parsed(text, f"{self.path / path}, line {number}"))

    def _append(self, year: int, run: str, new: list[bytes], title: str, note: str) -> bool:
        if not _RUN.fullmatch(run) or not 1000 <= year <= 9999:
            raise LedgerError(
                "bad-run",
                f"{year}/{run}: a run has a year of four digits, and lower-case letters, digits and hyphens",
                hint="for example 2031/0412-harbour",
            )
        path = f"prints/{year}/{run}.jsonl"

        def attempt(now: Known) -> bool:
            before = self._store.content(now.head, path) or b""
            there = set(before.splitlines(keepends=True))
            fresh = [line for line in dict.fromkeys(new) if line not in there]
            if not fresh:
                return False
            content = before + b"".join(fresh)
            refuse_unsaved_edit(self._store, path, content, self._store.blob_id(before))
            trailers = [("Kind", "run"), ("Run", f"{year}/{run}")]
            put(self._store, now, {path: content}, compose(title, [], note, trailers))
            return True

        return self._writing(attempt)


def _parsed(text: bytes, place: str) -> Mapping[str, Any]:
    try:
        line = json.loads(text)
    except ValueError:
        line = None
    if not isinstance(line, dict):
        raise LedgerError(
            "bad-record", f"{place}: not a JSON object", hint="git log says who changed it, and when"
        )
    return line
