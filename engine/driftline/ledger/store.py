"""The write steps: how one commit gets into the ledger, whatever happens meanwhile.

The holder of the exclusive lock goes through five numbered steps, of which the second is the commit point:

1. the objects (blobs, trees, commit), synced to disk; nothing refers to them yet
2. the branch, by compare-and-swap: **from here on the version is saved**
3. the working files, by atomic replace, unless they hold an unsaved hand edit
4. their entries in git's index, if nobody else holds the index
5. a note, inside .git, of the blobs just written out

A crash after 1 leaves the ledger as it was, with unused objects that git clears away in time. A crash
after 2, 3 or 4 leaves the version saved and files, index or note behind; :meth:`Store.refresh`, run by
the next command, does the steps that are missing. Nothing has to be repaired by hand.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from enum import Enum
from pathlib import Path
from typing import NamedTuple

from driftline.errors import LedgerError
from driftline.ledger.doors import (
    Configuration,
    check_finished,
    check_outline,
    current_branch,
    read_author,
    read_configuration,
)
from driftline.ledger.files import PRIVATE, WorkingFolder, sync_folder, sync_object
from driftline.ledger.indexing import set_entries
from driftline.ledger.lock import clear_dead, exclusive
from driftline.ledger.plumbing import ObjectReader, Plumbing
from driftline.ledger.trees import write_trees

StepHook = Callable[[int], None]
"""Called with the number of each write step when it is done; tests stop there."""


class BranchMovedError(Exception):
    """Someone else (plain git) moved the branch between our look at it and our write; try again."""


class Outgoing(NamedTuple):
    """A file to be written out: its new content and blob (None: taken out), and the blob it had before."""

    path: str
    content: bytes | None
    blob: str | None
    before: str | None


class Written(Enum):
    """What became of a working file."""

    YES = "it is what the commit says"
    EDITED = "it holds a hand edit, and keeps it"
    NOT_YET = "it could not be written"


class Committed(NamedTuple):
    """A new commit, and whether files, index and notes are all up to it."""

    id: str
    complete: bool


def no_hook(step: int) -> None:
    """Do nothing after a write step."""


class Store:
    """The repository of one ledger: what it holds, and the only way to put something in."""

    def __init__(self, root: Path, *, wait_s: float = 60.0, after_step: StepHook = no_hook) -> None:
        self.root = root
        self.git = Plumbing(root)
        self.files = WorkingFolder(root)
        self._wait_s = wait_s
        self._after_step = after_step
        self._author: Mapping[str, str] | None = None
        self._configuration: tuple[tuple[int, ...], Configuration] | None = None

    def configuration(self) -> Configuration:
        """The checked configuration; read again when its file changed."""
        status = os.stat(self.root / ".git" / "config")
        state = (status.st_ino, status.st_mtime_ns, status.st_size)
        if self._configuration is None or self._configuration[0] != state:
            self._configuration = (state, read_configuration(self.git))
        return self._configuration[1]

    def author(self) -> Mapping[str, str]:
        """Who saves, as git's environment names it."""
        if self._author is None:
            self._author = read_author(self.git)
        return self._author

    def set_copy_label(self, label: str) -> None:
        """Keep the label of this copy in its own configuration."""
        self.git.run("config", "--local", "driftline.copy", label)
        self._configuration = None

    @contextmanager
    def locked(self, *, wait_s: float | None = None) -> Iterator[None]:
        """Hold the ledger for writing.

        Raises
        ------
        LedgerError
            ``ledger-busy``, ``ledger-read-only``, ``ledger-unfinished``, ``ledger-detached``, ...
        """
        check_outline(self.root)
        self.configuration()
        check_finished(self.root)
        self.files.make_folder(PRIVATE)
        with exclusive(self.root / PRIVATE / "lock", wait_s=self._wait_s if wait_s is None else wait_s):
            self._clear_dead_locks()
            yield

    def _clear_dead_locks(self) -> None:
        git = self.root / ".git"
        clear_dead([git / f"{current_branch(self.root)}.lock", git / "HEAD.lock"])

    def loose_head(self) -> str | None:
        """The commit that the branch stands on if that can be seen without running git."""
        try:
            return (self.root / ".git" / current_branch(self.root)).read_text(encoding="ascii").strip()
        except (OSError, ValueError):
            return None

    def head(self) -> str:
        """The commit that the branch stands on.

        Raises
        ------
        LedgerError
            ``ledger-empty`` when the branch has no commit yet.
        """
        self.configuration()
        branch = current_branch(self.root)
        outcome = self.git.attempt(
            "rev-parse", "--verify", "--quiet", "--end-of-options", f"{branch}^{{commit}}"
        )
        if outcome.status == 0:
            return outcome.out.decode().strip()
        if outcome.error.strip():
            raise self.git.complaint(["rev-parse"], outcome)
        raise LedgerError(
            "ledger-empty",
            f"{self.root}: the branch {branch.removeprefix('refs/heads/')} has no commit yet",
            hint="driftline init NEW-FOLDER makes a ledger with its starter recipes",
        )

    def blob_id(self, content: bytes) -> str:
        """The id that git gives a file of that content."""
        digest = hashlib.new(self.configuration().object_format)
        digest.update(b"blob %d\0" % len(content))
        digest.update(content)
        return digest.hexdigest()

    def content(self, commit: str, path: str) -> bytes | None:
        """The content of a file as of a commit, None if it was not there."""
        with ObjectReader(self.git) as reader:
            found = reader.get(f"{commit}:{path}")
        return found.content if found is not None and found.kind == "blob" else None

    def commit(
        self, base: str, files: Mapping[str, bytes | None], message: str, *, others: tuple[str, ...] = ()
    ) -> Committed:
        """Put files into the ledger as one commit on top of `base`; None takes a file out.

        To be called with the lock held, see :meth:`locked`.

        Parameters
        ----------
        base
            The commit the branch is expected to stand on; empty for the first commit.
        files
            Contents by path.
        message
            The commit's message.
        others
            Further git parents (a merge).

        Raises
        ------
        BranchMovedError
            The branch no longer stands on `base`; nothing was changed.
        LedgerError
            The disk is full or read-only; nothing was changed.
        """
        blobs = self.write_blobs(files)
        tree, before = write_trees(self.git, base, blobs)
        commit = self.write_commit(tree, [parent for parent in (base, *others) if parent], message)
        self.advance(base, commit, message.partition("\n")[0])
        out = [Outgoing(path, content, blobs[path], before.get(path)) for path, content in files.items()]
        return Committed(commit, self.write_out(out))

    def write_blobs(self, files: Mapping[str, bytes | None]) -> dict[str, str | None]:
        """Step 1, contents: write them as objects and give their ids."""
        return {
            path: None if content is None else self._write_blob(content) for path, content in files.items()
        }

    def _write_blob(self, content: bytes) -> str:
        blob = self.git.line("hash-object", "-w", "--no-filters", "--stdin", stdin=content)
        sync_object(self.root, blob)
        return blob

    def write_commit(self, tree: str, parents: list[str], message: str) -> str:
        """Step 1, commit: write it as an object that nothing refers to yet."""
        words = [word for parent in parents for word in ("-p", parent)]
        author = self.author()
        commit = self.git.line("commit-tree", tree, *words, stdin=message.encode(), environment=author)
        sync_object(self.root, commit)
        return commit

    def advance(self, base: str, commit: str, subject: str) -> None:
        """Step 2, the commit point: the branch goes from `base` to `commit`, or nothing happens."""
        self._after_step(1)
        branch = current_branch(self.root)
        outcome = self.git.attempt(
            "update-ref", "-m", f"driftline: {subject}", branch, commit, base or "0" * len(commit),
            environment=self.author(),
        )  # fmt: skip
        if outcome.status != 0:
            if "but expected" in outcome.error or ".lock" in outcome.error or self.head() != base:
                self._clear_dead_locks()
                raise BranchMovedError
            raise self.git.complaint(["update-ref"], outcome)
        sync_folder((self.root / ".git" / branch).parent)
        self._after_step(2)

    def write_out(self, files: Sequence[Outgoing]) -> bool:
        """Steps 3 to 5; False if something is left to do for the next command."""
        written = {file.path: self.write_file(file) for file in files}
        self._after_step(3)
        indexed = set_entries(self.git, self.root, {file.path: file.blob for file in files})
        self._after_step(4)
        for file in files:
            if written[file.path] is Written.YES:
                self.note(file.path, file.blob)
        self._after_step(5)
        return indexed and Written.NOT_YET not in written.values()

    def write_file(self, file: Outgoing) -> Written:
        """Step 3 for one file, unless it holds an unsaved hand edit."""
        try:
            present = self.files.read(file.path)
            if present == file.content:
                return Written.YES
            if present is not None and not self.is_ours(file.path, present, file.before):
                return Written.EDITED
            if file.content is None:
                self.files.remove(file.path)
            else:
                self.files.write(file.path, file.content)
        except LedgerError:
            return Written.NOT_YET
        return Written.YES

    def merged_lines(self, base: bytes, here: bytes, there: bytes) -> bytes | None:
        """Three texts brought together line by line, None where lines clash."""
        names = []
        for name, content in (("here", here), ("base", base), ("there", there)):
            names.append(f"{PRIVATE}/meet-{name}")
            self.files.write(names[-1], content, durable=False)
        paths = [str(self.root / name) for name in names]
        outcome = self.git.attempt("merge-file", "--stdout", "--quiet", *paths)
        for name in names:
            self.files.remove(name)
        return outcome.out if outcome.status == 0 else None

    def is_ours(self, path: str, content: bytes, *known: str | None) -> bool:
        """Whether a working file holds what we wrote out last (or one of the `known` blobs)."""
        blob = self.blob_id(content)
        return blob in known or blob == self.noted(path)

    def noted(self, path: str) -> str | None:
        """The blob that was last written out to a working file by this copy."""
        try:
            content = self.files.read(f"{PRIVATE}/written/{path}", limit=128)
        except LedgerError:
            return None
        return content.decode("ascii", "replace").strip() if content else None

    def note(self, path: str, blob: str | None) -> None:
        """Step 5: remember what was written out, so that a later hand edit can be told from it."""
        try:
            if blob is None:
                self.files.remove(f"{PRIVATE}/written/{path}")
            elif blob != self.noted(path):
                self.files.write(f"{PRIVATE}/written/{path}", f"{blob}\n".encode(), durable=False)
        except LedgerError:
            pass
