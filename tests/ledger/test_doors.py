"""What a ledger refuses at its door, and that nothing of a received one ever runs."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from driftline.errors import LedgerError
from driftline.ledger import Ledger
from driftline.ledger.doors import check_address

PlainGit = Callable[..., str]


def refusal(act: Callable[[], object]) -> LedgerError:
    """The error that a call ends in."""
    with pytest.raises(LedgerError) as caught:
        act()
    assert caught.value.hint
    return caught.value


def change(ledger: Ledger, number: float = 1.0) -> object:
    """Save something new."""
    return ledger.save("tram-fog", f"exposure.ev = {number}\n")


@pytest.fixture
def trap(tmp_path: Path) -> tuple[str, Path]:
    """A program, and the file that is there once it has run."""
    sprung = tmp_path / "sprung"
    program = tmp_path / "trap.sh"
    program.write_text(f"#!/bin/sh\necho \"$0 $*\" >> '{sprung}'\ncat\n")
    program.chmod(0o755)
    return str(program), sprung


@pytest.mark.parametrize(
    "key",
    [
        "core.fsmonitor", "core.hooksPath", "core.sshCommand", "core.gitProxy", "core.askPass", "core.pager",
        "core.editor", "core.worktree", "core.attributesFile", "core.alternateRefsCommand",
        "filter.look.clean", "filter.look.process", "diff.external", "diff.look.textconv",
        "merge.look.driver", "gpg.program", "gpg.ssh.program", "include.path", "includeIf.gitdir:/.path",
        "alias.log", "credential.helper", "remote.origin.uploadpack", "remote.origin.receivepack",
        "remote.origin.vcs", "url.x.insteadOf", "uploadpack.packObjectsHook",
        "gc.recentObjectsHook", "protocol.ext.allow",
        "extensions.worktreeConfig", "extensions.partialClone", "log.showSignature", "http.proxy",
        "driftline.program",
    ],
)  # fmt: skip
def test_settings_that_could_start_a_program_are_refused(
    ledger: Ledger, git: PlainGit, trap: tuple[str, Path], key: str
) -> None:
    """Only settings of an allow-list may stand in the repository's own configuration; nothing runs."""
    program, sprung = trap
    git("config", key, "true" if key.startswith("extensions.") else program)
    sprung.unlink(missing_ok=True)
    for act in (lambda: Ledger.open(ledger.path).versions(), lambda: change(Ledger.open(ledger.path))):
        error = refusal(act)
        assert error.code == "ledger-foreign-settings"
        assert key.lower() in str(error).lower()
        assert "git clone" in error.hint
    assert not sprung.exists()


@pytest.mark.parametrize(
    "settings",
    [
        {"user.name": "x", "user.email": "x@example.org"},
        {
            "remote.origin.url": "/mnt/disk/looks.git",
            "remote.origin.fetch": "+refs/heads/*:refs/remotes/origin/*",
        },
        {"branch.main.remote": "origin", "branch.main.merge": "refs/heads/main", "driftline.copy": "laptop"},
        {"gc.auto": "0", "core.autocrlf": "false", "pull.rebase": "true"},
    ],
)
def test_ordinary_settings_are_fine(ledger: Ledger, git: PlainGit, settings: dict[str, str]) -> None:
    """What a clone or a photographer usually has there does not get in the way."""
    for key, value in settings.items():
        git("config", key, value)
    assert Ledger.open(ledger.path).save("tram-fog", "exposure.ev = 1.0\n").saved


def test_no_hook_ever_runs(ledger: Ledger, git: PlainGit, trap: tuple[str, Path]) -> None:
    """Hooks of every kind lie ready; saving, forking, restoring and reading run none of them."""
    program, sprung = trap
    names = ["pre-commit", "post-commit", "commit-msg", "reference-transaction", "post-index-change"]
    names += ["pre-auto-gc", "post-checkout", "post-rewrite", "fsmonitor-watchman", "post-merge", "pre-push"]
    hooks = ledger.path / ".git/hooks"
    hooks.mkdir()
    for name in names:
        shutil.copy(program, hooks / name)
    change(ledger)
    ledger.fork("tram-fog@1", "other")
    ledger.restore("tram-fog@1")
    ledger.versions()
    assert not sprung.exists()


def test_no_filter_ever_runs(ledger: Ledger, git: PlainGit, trap: tuple[str, Path]) -> None:
    """Even with a filter in the user's own configuration, texts are kept byte for byte."""
    program, sprung = trap
    git("config", "--global", "filter.look.clean", f"{program} clean")
    git("config", "--global", "filter.look.smudge", f"{program} smudge")
    (ledger.path / ".git/info").mkdir(exist_ok=True)
    (ledger.path / ".git/info/attributes").write_text("* filter=look ident text\n")
    ledger.save("tram-fog", "# $Id$\r\nexposure.ev = 1.0\r\n")
    assert ledger.text("tram-fog@2") == "# $Id$\r\nexposure.ev = 1.0\r\n"
    assert not sprung.exists()


def test_variables_of_git_lead_nowhere_else(
    ledger: Ledger, git: PlainGit, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, trap: tuple[str, Path]
) -> None:
    """GIT_DIR and its kin, which beat `git -C`, are dropped."""
    other = Ledger.create(tmp_path / "other", {"other": "exposure.ev = 1.0\n"})
    elsewhere = str(other.path / ".git")
    for name, value in {
        "GIT_DIR": elsewhere, "GIT_WORK_TREE": str(other.path), "GIT_INDEX_FILE": f"{elsewhere}/index",
        "GIT_OBJECT_DIRECTORY": f"{elsewhere}/objects", "GIT_NAMESPACE": "x", "GIT_CONFIG_COUNT": "1",
        "GIT_CONFIG_KEY_0": "core.fsmonitor", "GIT_CONFIG_VALUE_0": trap[0], "GIT_AUTHOR_NAME": "Nobody",
        "GIT_COMMITTER_DATE": "2001-01-01T00:00:00Z", "GIT_TRACE": "1", "GIT_EXTERNAL_DIFF": trap[0],
        "GIT_SOMETHING_NEW": "x",
    }.items():  # fmt: skip
        monkeypatch.setenv(name, value)
    saved = Ledger.open(ledger.path).save("tram-fog", "exposure.ev = 1.0\n")
    assert Ledger.open(ledger.path).versions()[0].when > "2002"
    for name in [name for name in os.environ if name.startswith("GIT_")]:
        monkeypatch.delenv(name)
    assert git("rev-parse", "HEAD").strip() == saved.commit
    assert git("log", "-1", "--format=%an").strip() == "A Tester"
    assert len(other.versions()) == 1
    assert git("status", "--porcelain") == ""
    assert not trap[1].exists()


@pytest.mark.parametrize(
    ("address", "fine"),
    [
        ("/mnt/disk/looks.git", True), ("../looks.git", True), ("ssh://host/looks.git", True),
        ("host:looks.git", True), ("https://example.org/looks.git", True), ("file:///mnt/x", True),
        ("ext::sh -c touch% /tmp/x", False), ("fd::17", False), ("--upload-pack=x", False), ("-x", False),
        ("", False), ("a\nb", False), ("transport::x", False), ("ssh://-oProxyCommand=x/y", False),
        ("-oProxyCommand=x:y", False),
    ],
)  # fmt: skip
def test_addresses_of_remotes(address: str, fine: bool) -> None:
    """Folders and network addresses are followed; whatever could start a program is not."""
    if fine:
        assert check_address(address) == address
    else:
        assert refusal(lambda: check_address(address)).code == "bad-remote"


def test_a_merge_half_done_is_said(ledger: Ledger, git: PlainGit) -> None:
    """While plain git is in the middle of something, nothing is saved; reading works."""
    git("switch", "--quiet", "-c", "side")
    change(ledger, 1)
    git("switch", "--quiet", "main")
    change(ledger, 2)
    subprocess.run(["git", "-C", str(ledger.path), "merge", "side"], capture_output=True, check=False)
    error = refusal(lambda: change(ledger, 3))
    assert error.code == "ledger-unfinished"
    assert "merge" in error.hint
    assert ledger.versions("tram-fog")
    git("merge", "--abort")
    assert change(ledger, 3)


def test_a_detached_head_is_said(ledger: Ledger, git: PlainGit) -> None:
    """Without a branch there is nowhere to save to."""
    git("checkout", "--quiet", "--detach")
    error = refusal(lambda: change(ledger))
    assert error.code == "ledger-detached"
    assert "switch main" in error.hint


def test_a_bare_repository_is_a_backup(ledger: Ledger, git: PlainGit, tmp_path: Path) -> None:
    """The error says what it is good for and how to work with it."""
    git("clone", "--quiet", "--bare", str(ledger.path), str(tmp_path / "backup.git"))
    error = refusal(lambda: Ledger.open(tmp_path / "backup.git"))
    assert error.code == "ledger-bare"
    assert "git clone" in error.hint


def test_a_linked_worktree_is_refused(ledger: Ledger, git: PlainGit, tmp_path: Path) -> None:
    """A folder that shares its repository with another one is no ledger of its own."""
    git("worktree", "add", "--quiet", str(tmp_path / "linked"))
    assert refusal(lambda: Ledger.open(tmp_path / "linked")).code == "ledger-linked"


def test_other_folders_are_no_ledgers(tmp_path: Path) -> None:
    """An empty folder, a missing one, and a repository of something else that happens to have recipes/."""
    (tmp_path / "empty").mkdir()
    assert refusal(lambda: Ledger.open(tmp_path / "empty")).code == "ledger-not-found"
    assert refusal(lambda: Ledger.open(tmp_path / "missing")).code == "ledger-not-found"
    subprocess.run(["git", "init", "--quiet", str(tmp_path / "code")], check=True)
    (tmp_path / "code/recipes").mkdir()
    assert refusal(lambda: Ledger.open(tmp_path / "code")).code == "ledger-not-found"


def test_an_empty_branch_is_said(tmp_path: Path) -> None:
    """A repository without a commit, with a recipes folder, is no ledger yet."""
    subprocess.run(["git", "init", "--quiet", str(tmp_path / "new")], check=True)
    (tmp_path / "new/recipes").mkdir()
    (tmp_path / "new/settings.toml").write_text("format = 1\n")
    assert refusal(lambda: Ledger.open(tmp_path / "new").versions()).code == "ledger-empty"


def test_without_an_author_a_save_works(ledger: Ledger, git: PlainGit, tmp_path: Path) -> None:
    """The login name at this host stands in, and git needs no configuration first."""
    (tmp_path / "home/.gitconfig").unlink()
    change(ledger)
    name, _, email = git("log", "-1", "--format=%an|%ae").strip().partition("|")
    assert name
    assert "@" in email


@pytest.mark.parametrize("part", ["recipes/tram-fog.toml", "settings.toml", "recipes"])
def test_links_in_the_folder_are_not_followed(ledger: Ledger, tmp_path: Path, part: str) -> None:
    """A file or folder replaced by a link is refused, and what it points to stays as it was."""
    outside = tmp_path / "outside"
    (ledger.path / part).rename(outside)
    (ledger.path / part).symlink_to(outside)
    before = outside.read_bytes() if outside.is_file() else sorted(p.read_bytes() for p in outside.iterdir())
    act = ledger.settings if part == "settings.toml" else lambda: change(ledger)
    assert refusal(act).code == "ledger-link"
    after = outside.read_bytes() if outside.is_file() else sorted(p.read_bytes() for p in outside.iterdir())
    assert after == before


@pytest.mark.parametrize(
    "part", ["objects", "objects/ab", "refs/heads", "driftline", "index", "refs/heads/main"]
)
def test_links_in_the_repository_are_not_followed(ledger: Ledger, tmp_path: Path, part: str) -> None:
    """A repository that would be written through a link is refused, for reading and writing."""
    ledger.versions()
    inside, outside = ledger.path / ".git" / part, tmp_path / "outside"
    if inside.exists():
        inside.rename(outside)
    else:
        outside.mkdir()
    inside.symlink_to(outside)
    assert refusal(lambda: Ledger.open(ledger.path)).code == "ledger-linked"
    assert refusal(lambda: change(ledger)).code == "ledger-linked"


def test_a_pipe_in_place_of_a_recipe_does_not_hang(ledger: Ledger, fog: Path) -> None:
    """Only regular files are read."""
    fog.unlink()
    os.mkfifo(fog)
    assert refusal(lambda: ledger.save("tram-fog")).code == "ledger-link"


@pytest.mark.skipif(os.geteuid() != 0, reason="only root can act as another user")
def test_anothers_ledger_is_explained(ledger: Ledger, tmp_path: Path) -> None:
    """git's 'dubious ownership' becomes an error that says what to do about a USB disk."""
    for path in [ledger.path, *ledger.path.rglob("*")]:
        os.chown(path, 65534, 65534)
    error = refusal(lambda: Ledger.open(ledger.path).versions())
    assert error.code == "ledger-not-ours"
    assert "safe.directory" in error.hint


READ_ONLY = 'mount --bind "$1" "$1" && mount -o remount,bind,ro "$1" && shift && exec "$@"'
TRY_BOTH = """
import sys
from driftline.errors import LedgerError
from driftline.ledger import Ledger
print(len(Ledger.open(sys.argv[1]).versions()))
try:
    Ledger.open(sys.argv[1]).save("tram-fog", "exposure.ev = 1.0")
except LedgerError as error:
    print(error.code)
"""


def test_a_read_only_ledger_can_be_read(ledger: Ledger, git: PlainGit) -> None:
    """On a disk that cannot be written, history works, and a save says that it may not write."""
    words = ["unshare", "--user", "--map-root-user", "--mount", "sh", "-c", READ_ONLY, "sh", str(ledger.path)]
    try:
        subprocess.run([*words, "true"], check=True, capture_output=True)
    except (FileNotFoundError, subprocess.CalledProcessError):
        pytest.skip("this machine lets no one but root mount a folder read-only")
    done = subprocess.run(
        [*words, sys.executable, "-c", TRY_BOTH, str(ledger.path)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.stdout.split() == ["2", "ledger-read-only"], done.stderr
    assert git("status", "--porcelain") == ""


def test_unrelated_changes_do_not_matter(ledger: Ledger, git: PlainGit) -> None:
    """Files of the photographer's own, staged or not, are neither saved nor disturbed by a save."""
    (ledger.path / "notes.txt").write_text("mine")
    (ledger.path / "staged.txt").write_text("mine too")
    git("add", "staged.txt")
    change(ledger)
    assert git("status", "--porcelain").splitlines() == ["A  staged.txt", "?? notes.txt"]
    git("commit", "--quiet", "-m", "by hand")
    assert git("show", "HEAD:recipes/tram-fog.toml") == "exposure.ev = 1.0\n"
    assert [v.version for v in Ledger.open(ledger.path).versions("tram-fog")] == [2, 1]
    assert change(ledger, 2)
