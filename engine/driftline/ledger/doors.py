"""The ledger's door: is this a ledger, is it in a state to work on, may its settings be trusted."""

from __future__ import annotations

import getpass
import os
import re
import socket
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from driftline.errors import LedgerError
from driftline.ledger.allowed import is_allowed
from driftline.ledger.names import is_label, suggested_name
from driftline.ledger.plumbing import Plumbing

_UNFINISHED = {
    "MERGE_HEAD": "merge",
    "rebase-merge": "rebase",
    "rebase-apply": "rebase",
    "CHERRY_PICK_HEAD": "cherry-pick",
    "REVERT_HEAD": "revert",
}
_PARTS = (
    "HEAD", "config", "driftline", "index", "info", "logs", "logs/HEAD", "logs/refs", "logs/refs/heads",
    "objects", "objects/info", "objects/pack", "packed-refs", "refs", "refs/heads", "refs/remotes",
)  # fmt: skip
_BRANCH = re.compile(r"ref: (refs/heads/[^\s~^:?*\[\\]+)\s*")


class Configuration(NamedTuple):
    """What the repository's configuration says, as far as a ledger uses it.

    ``copy`` is the label of this copy: empty for the one that ran ``init``, None if it has none yet.
    """

    copy: str | None
    object_format: str


def looks_like_ledger(folder: Path) -> bool:
    """Whether a folder has the outline of a ledger (nothing in it is trusted yet).

    A recipes/ folder alone is not enough: other repositories may have one.
    """
    worked_on = (folder / ".git" / "driftline").is_dir()
    files = (folder / "recipes").is_dir() or (folder / ".gitattributes").exists()
    return (folder / ".git").exists() and (worked_on or ((folder / "settings.toml").exists() and files))


def check_outline(folder: Path) -> None:
    """Refuse what is no ledger, or one of a form that is not worked on.

    Raises
    ------
    LedgerError
        ``ledger-not-found``, ``ledger-bare``, ``ledger-linked``.
    """
    if not folder.is_dir():
        raise LedgerError(
            "ledger-not-found",
            f"{folder}: no such folder",
            hint=f"driftline init {folder} makes a ledger there",
        )
    git = folder / ".git"
    if not git.exists() and (folder / "HEAD").is_file() and (folder / "objects").is_dir():
        raise LedgerError(
            "ledger-bare",
            f"{folder}: a bare repository: good as a backup, but it has no files to work on",
            hint=f"git clone {folder} NEW-FOLDER, and use that; or driftline reconcile {folder}",
        )
    if not looks_like_ledger(folder):
        raise LedgerError(
            "ledger-not-found",
            f"{folder}: not a ledger (no .git with settings.toml and recipes/ beside it)",
            hint="driftline init DIR makes a ledger; --ledger PATH names another one",
        )
    if git.is_symlink() or not git.is_dir():
        raise LedgerError(
            "ledger-linked",
            f"{git}: not a folder of its own; a ledger does not share its repository with another one",
            hint=f"git clone {folder} NEW-FOLDER, and use that",
        )
    for part in _elsewhere(git):
        raise LedgerError(
            "ledger-linked",
            f"{part}: leads out of the ledger; links are not followed",
            hint=f"git clone --no-local {folder} NEW-FOLDER, and use that",
        )


def _elsewhere(git: Path) -> Iterator[Path]:
    """The parts of a repository that are kept, or would be written, somewhere else."""
    if (git / "commondir").exists():
        yield git / "commondir"
    for part in _PARTS:
        if (git / part).is_symlink():
            yield git / part
    for folder in ("objects", "refs/heads", "logs/refs/heads"):
        if (git / folder).is_dir():
            with os.scandir(git / folder) as entries:
                yield from [Path(entry) for entry in entries if entry.is_symlink()]


def current_branch(folder: Path) -> str:
    """The full name of the branch that saves go to.

    Raises
    ------
    LedgerError
        ``ledger-detached`` when no branch is checked out, ``ledger-broken`` when HEAD cannot be read.
    """
    try:
        text = (folder / ".git" / "HEAD").read_text(encoding="utf-8", errors="replace")
    except OSError as error:
        raise LedgerError(
            "ledger-broken", f"{folder}/.git/HEAD: {error.strerror}", hint="restore it from a backup"
        ) from error
    match = _BRANCH.fullmatch(text)
    if match is None:
        raise LedgerError(
            "ledger-detached",
            f"{folder}: no branch is checked out (detached HEAD), so a save would belong to none",
            hint=f"git -C '{folder}' switch main",
        )
    return match[1]


def check_finished(folder: Path) -> None:
    """Refuse to write while a merge, rebase or the like of plain git is half done."""
    for mark, what in _UNFINISHED.items():
        if (folder / ".git" / mark).exists():
            raise LedgerError(
                "ledger-unfinished",
                f"{folder}: a git {what} is under way here",
                hint=f"finish it (git -C '{folder}' status says how) or give it up: git {what} --abort",
            )


def read_configuration(git: Plumbing) -> Configuration:
    """Read the repository's own configuration; refuse one that could start programs.

    It may have come from someone else, so it is held against an allow-list. The user's and the machine's
    are trusted, and not read here.

    Raises
    ------
    LedgerError
        ``ledger-foreign-settings``, ``bad-label``.
    """
    values = check_settings(git, git.folder / ".git")
    copy = values.get("driftline.copy")
    if copy and not is_label(copy):
        raise LedgerError(
            "bad-label",
            f"{git.folder}/.git/config, driftline.copy: {copy!r}; only lower-case letters, digits, hyphens",
            hint=f"git -C '{git.folder}' config driftline.copy {suggested_name(copy)[:20]}",
        )
    return Configuration(copy, values.get("extensions.objectformat", "sha1"))


def check_settings(git: Plumbing, repository: Path) -> dict[str, str]:
    """The settings in a repository's own configuration file, each held against the allow-list."""
    config = str(repository / "config")
    listed = git.run("-C", "/", "config", "--file", config, "--no-includes", "--list", "-z")
    values: dict[str, str] = {}
    for entry in listed.decode(errors="replace").split("\0"):
        key, _, value = entry.partition("\n")
        if key:
            _check_setting(repository, key, value)
            values[key] = value
    return values


def _check_setting(repository: Path, key: str, value: str) -> None:
    if not is_allowed(key):
        raise LedgerError(
            "ledger-foreign-settings",
            f"{repository}/config: {key}: not a setting a ledger needs, and it may start a program",
            hint=f"git clone --no-local '{repository.parent if repository.name == '.git' else repository}'"
            " NEW-FOLDER leaves such settings behind;"
            f" or git config --file '{repository}/config' --unset-all {key}",
        )
    if key.endswith("url"):
        check_address(value)


def check_address(address: str) -> str:
    """Give back the address of a remote, or refuse one that could start a program.

    Raises
    ------
    LedgerError
        ``bad-remote``.
    """
    transport, found, _ = address.partition("::")
    helper = found and re.fullmatch(r"[A-Za-z0-9+.-]*", transport)
    if helper or not address.strip() or address.startswith("-") or re.search(r"[\0\r\n]|://-", address):
        raise LedgerError(
            "bad-remote",
            f"{address!r}: not an address that is followed (it could start a program)",
            hint="a folder, or an ssh:// or https:// address",
        )
    return address


def read_author(git: Plumbing) -> dict[str, str]:
    """Who saves: git's user.name and user.email, or else the login name at this host."""
    listed = git.attempt("config", "--null", "--get-regexp", "^user[.](name|email)$").out
    values = dict(entry.partition("\n")[::2] for entry in listed.decode(errors="replace").split("\0"))
    try:
        login = getpass.getuser()
    except (KeyError, OSError):
        login = "photographer"
    name = values.get("user.name", "").strip() or login
    email = values.get("user.email", "").strip() or f"{login}@{socket.gethostname() or 'localhost'}"
    return {
        "GIT_AUTHOR_NAME": name,
        "GIT_AUTHOR_EMAIL": email,
        "GIT_COMMITTER_NAME": name,
        "GIT_COMMITTER_EMAIL": email,
    }
