"""Runs git: plumbing commands only, with nothing of the caller's surroundings and no foreign programs."""

from __future__ import annotations

import os
import re
import subprocess
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, NamedTuple

from driftline.errors import LedgerError

if TYPE_CHECKING:
    from git.cmd import Git

SETTINGS = (
    "core.fsync=all",
    "core.fsyncMethod=fsync",
    "core.hooksPath=/dev/null",
    "core.fsmonitor=false",
    "core.attributesFile=/dev/null",
    "core.logAllRefUpdates=true",
    "core.quotePath=false",
    "protocol.ext.allow=never",
    "safe.bareRepository=explicit",
    "transfer.fsckObjects=true",
    "log.showSignature=false",
    "i18n.commitEncoding=UTF-8",
    "i18n.logOutputEncoding=UTF-8",
    "color.ui=false",
    "gc.auto=0",
    "maintenance.auto=false",
)
"""Given to every call, above any configuration file. Durable: git 2.39 syncs neither commits nor
references by default."""


_READING = frozenset(
    ["cat-file", "config", "diff-tree", "ls-files", "ls-tree", "merge-base", "rev-list", "rev-parse"]
)


class Outcome(NamedTuple):
    """What one call of git gave back."""

    status: int
    out: bytes
    error: str


class Plumbing:
    """git, for one folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._git: Git | None = None

    def run(self, *words: str, stdin: bytes = b"", environment: Mapping[str, str] | None = None) -> bytes:
        """Run one git command and give its output.

        Raises
        ------
        LedgerError
            What git complained about, by its meaning: ``ledger-disk-full``, ``ledger-read-only``,
            ``ledger-not-ours`` or ``ledger-broken``.
        """
        outcome = self.attempt(*words, stdin=stdin, environment=environment)
        if outcome.status != 0:
            raise self.complaint(words, outcome)
        return outcome.out

    def line(self, *words: str, stdin: bytes = b"", environment: Mapping[str, str] | None = None) -> str:
        """Run one git command that answers with a single line."""
        return self.run(*words, stdin=stdin, environment=environment).decode().strip()

    def attempt(
        self, *words: str, stdin: bytes = b"", environment: Mapping[str, str] | None = None
    ) -> Outcome:
        """Run one git command that may well fail."""
        started = self.start(*words, environment=environment)
        out, error = started.communicate(stdin)
        return Outcome(started.returncode, out, error.decode(errors="replace"))

    def start(self, *words: str, environment: Mapping[str, str] | None = None) -> subprocess.Popen[bytes]:
        """Start one git command and leave its pipes to the caller."""
        settings = [word for setting in SETTINGS for word in ("-c", setting)]
        command = ["git", "--no-replace-objects", "--no-optional-locks", *settings, *words]
        ours = {"GIT_CEILING_DIRECTORIES": str(self.folder.parent), "GIT_TERMINAL_PROMPT": "0"}
        ours |= environment or {}
        verb = words[2] if words[0] == "-C" else words[0]
        return self._spawn(command, ours) if verb in _READING else self._execute(command, ours)

    def _spawn(self, command: list[str], ours: Mapping[str, str]) -> subprocess.Popen[bytes]:
        """Reading needs no more than this, and is done before gitpython would be imported."""
        kept = {name: value for name, value in os.environ.items() if not name.startswith("GIT_")}
        try:
            return subprocess.Popen(
                command,
                cwd=self.folder,
                env={**kept, "LANGUAGE": "C", "LC_ALL": "C", **ours},
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.PIPE,
            )
        except FileNotFoundError as error:
            raise _git_missing() from error

    def _execute(self, command: list[str], ours: dict[str, str]) -> subprocess.Popen[bytes]:
        started = self._runner().execute(
            [*_forgetting(ours), *command], istream=subprocess.PIPE, as_process=True, env=ours
        )
        # gitpython kills a process when its wrapper is collected; ours are waited for by the caller
        process, started.proc = started.proc, None
        assert process is not None
        return process

    @contextmanager
    def started(
        self, *words: str, environment: Mapping[str, str] | None = None
    ) -> Iterator[subprocess.Popen[bytes]]:
        """One git command that is talked to while it runs.

        Raises
        ------
        LedgerError
            At the end, when git failed.
        """
        process = self.start(*words, environment=environment)
        try:
            yield process
        except (BrokenPipeError, ValueError):
            pass  # git has gone; it says why
        finally:
            out, error = process.communicate()
        if process.returncode != 0:
            raise self.complaint(words, Outcome(process.returncode, out, error.decode(errors="replace")))

    def _runner(self) -> Git:
        if self._git is None:
            try:
                from git.cmd import Git  # noqa: PLC0415  (65 ms: only where git is really run)
            except ImportError as error:
                raise _git_missing() from error
            self._git = Git(self.folder)
        return self._git

    def complaint(self, words: Sequence[str], outcome: Outcome) -> LedgerError:
        """The LedgerError for a failed call."""
        error, folder = outcome.error, self.folder
        said = next((line for line in error.splitlines() if line.strip()), f"exit status {outcome.status}")
        if "dubious ownership" in error:
            owned = _named(error, folder)
            return LedgerError(
                "ledger-not-ours",
                f"{owned}: belongs to another user (usual on a USB disk), so git will not use it",
                hint=f"if you trust it: git config --global --add safe.directory '{owned}'",
            )
        if any(sign in error for sign in ("No space left", "quota exceeded", "File too large")):
            return LedgerError(
                "ledger-disk-full",
                f"{folder}: no space left on the disk; nothing was changed",
                hint="make room on that disk, then run the same command again",
            )
        if any(
            sign in error
            for sign in ("Permission denied", "Read-only file system", "insufficient permission")
        ):
            return LedgerError(
                "ledger-read-only",
                f"{folder}: this user may not write here; nothing was changed",
                hint="check owner and permissions of the ledger's folder, or clone it: git clone OLD NEW",
            )
        return LedgerError(
            "ledger-broken",
            f"{folder}: git {words[0]} failed: {said}",
            hint=f"git -C '{folder}' fsck --strict says what is damaged; a backup is a clone",
        )


def _git_missing() -> LedgerError:
    return LedgerError("git-missing", "git was not found on this machine", hint="install git 2.38 or later")


def _named(error: str, folder: Path) -> str:
    """The folder that git names in its complaint about ownership."""
    found = re.search(r"in repository at '([^']+)'", error)
    return found[1] if found else str(folder)


def _forgetting(ours: Mapping[str, str]) -> list[str]:
    """The words before ``git`` that drop the caller's GIT_* variables (GIT_DIR would beat the folder)."""
    foreign = [name for name in os.environ if name.startswith("GIT_") and name not in ours]
    return ["env", *(word for name in foreign for word in ("-u", name))] if foreign else []


class Object(NamedTuple):
    """One object of git."""

    id: str
    kind: str
    content: bytes


class ObjectReader:
    """Reads any number of objects through one git process; use as a context manager."""

    def __init__(self, git: Plumbing) -> None:
        self._git = git
        self._process = git.start("cat-file", "--batch")

    def __enter__(self) -> ObjectReader:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._process.communicate()

    def get(self, name: str) -> Object | None:
        """The object of that name (an id, a reference, ``COMMIT:path``), None if there is none."""
        pipe_in, pipe_out = self._process.stdin, self._process.stdout
        assert pipe_in is not None
        assert pipe_out is not None
        try:
            pipe_in.write(name.encode() + b"\n")
            pipe_in.flush()
        except BrokenPipeError:
            pass
        header = pipe_out.readline().decode(errors="replace").split()
        if not header:
            out, error = self._process.communicate()
            said = Outcome(self._process.returncode, out, error.decode(errors="replace"))
            raise self._git.complaint(["cat-file"], said)
        if len(header) != 3 or not header[2].isdigit():
            return None
        content = pipe_out.read(int(header[2]))
        pipe_out.read(1)
        return Object(header[0], header[1], content)
