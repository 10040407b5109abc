"""Another copy of a ledger, reached through git: a bare repository on a disk, or any git remote."""

from __future__ import annotations

import os
import re
from pathlib import Path
from typing import NamedTuple

from driftline.errors import LedgerError
from driftline.ledger.doors import check_address, check_settings
from driftline.ledger.plumbing import SETTINGS, Outcome, Plumbing

_NETWORK = re.compile(r"(https?|ssh|git|git\+ssh|ssh\+git)://", re.IGNORECASE)
_SCP_LIKE = re.compile(r"[^/:]+:(?!//)")


class Sent(NamedTuple):
    """Whether our commits were taken by the other copy; if not, why, and whether it had moved meanwhile."""

    done: bool
    reason: str
    moved: bool


class Remote:
    """Another copy.

    Parameters
    ----------
    git
        Of our own ledger.
    given
        The name of a remote that git knows, a folder, or an address.

    Raises
    ------
    LedgerError
        ``bad-remote`` for what could start a program, ``remote-not-found``.
    """

    def __init__(self, git: Plumbing, given: str) -> None:
        self._git = git
        self.address = self._resolved(given)

    def _resolved(self, given: str) -> str:
        check_address(given)
        named = self._git.attempt("config", "--get", f"remote.{given}.url")
        known = named.status == 0
        address = check_address(named.out.decode().strip()) if known else given
        path = self._folder(address, self._git.folder if known else Path())
        if path is None:
            return address
        if not path.is_dir():
            raise LedgerError(
                "remote-not-found",
                f"{path}: no such folder",
                hint=f"plug the disk in; or make a backup there first: git clone --bare LEDGER '{path}'",
            )
        check_settings(self._git, path / ".git" if (path / ".git").is_dir() else path)
        return str(path)

    def _folder(self, address: str, beside: Path = Path()) -> Path | None:
        """The folder that an address means (seen from `beside`), None for one across a network."""
        if address.lower().startswith("file://"):
            return Path(address[7:])
        if _NETWORK.match(address) or (_SCP_LIKE.match(address) and not Path(address).exists()):
            return None
        return Path(os.path.realpath(beside / Path(address).expanduser()))

    def _program(self, name: str) -> list[str]:
        """The option that starts git at the other end; on this machine so that no program of its own runs."""
        if self._folder(self.address) is None:
            return []
        settings = " ".join(f"-c {setting}" for setting in SETTINGS)
        return [f"--{name}=git {settings} {name}"]

    def tip(self, branch: str) -> str | None:
        """The commit that the other copy's branch stands on, None if that copy is empty.

        Raises
        ------
        LedgerError
            ``remote-not-found`` when it cannot be reached or has other branches only.
        """
        outcome = self._git.attempt("ls-remote", "--heads", *self._program("upload-pack"), "--", self.address)
        if outcome.status != 0:
            raise self._unreachable(outcome)
        heads = dict(line.split("\t")[::-1] for line in outcome.out.decode().splitlines())
        if heads and branch not in heads:
            raise LedgerError(
                "remote-not-found",
                f"{self.address}: has no branch {branch.removeprefix('refs/heads/')}, only"
                f" {', '.join(name.removeprefix('refs/heads/') for name in heads)}",
                hint="is this a copy of this ledger?",
            )
        return heads.get(branch)

    def fetch(self, branch: str) -> None:
        """Bring the other copy's commits here; nothing refers to them yet."""
        quiet = ["--quiet", "--no-tags", "--no-write-fetch-head", "--no-auto-maintenance"]
        outcome = self._git.attempt(
            "fetch", *quiet, "--recurse-submodules=no",
            *self._program("upload-pack"), "--", self.address, branch,
        )  # fmt: skip
        if outcome.status != 0:
            raise self._unreachable(outcome)

    def send(self, commit: str, branch: str) -> Sent:
        """Move the other copy's branch to our commit, if that only adds to it."""
        outcome = self._git.attempt(
            "push", "--quiet", "--no-verify", "--recurse-submodules=no", "--porcelain",
            *self._program("receive-pack"), "--", self.address, f"{commit}:{branch}",
        )  # fmt: skip
        if outcome.status == 0:
            return Sent(True, "", False)
        said = outcome.out.decode(errors="replace") + outcome.error
        if "branch is currently checked out" in said:
            return Sent(False, "it has working files of its own: run driftline reconcile there", False)
        moved = any(
            sign in said for sign in ("non-fast-forward", "fetch first", "stale info", "failed to update ref")
        )
        lines = [line for line in said.splitlines() if line.strip() and not line.startswith(("To ", "Done"))]
        return Sent(False, lines[0].strip() if lines else f"exit status {outcome.status}", moved)

    def _unreachable(self, outcome: Outcome) -> LedgerError:
        if "dubious ownership" in outcome.error:
            return self._git.complaint(["fetch"], outcome)
        lines = [line for line in outcome.error.splitlines() if line.strip()]
        return LedgerError(
            "remote-not-found",
            f"{self.address}: cannot be read: {lines[0] if lines else f'exit status {outcome.status}'}",
            hint="check the address, the network, and that you may read it (git ls-remote ADDRESS)",
        )
