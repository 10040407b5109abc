"""A copy of a ledger to give away, with or without the kept proofs."""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Iterator
from pathlib import Path

from driftline.errors import LedgerError
from driftline.ledger.doors import current_branch
from driftline.ledger.files import os_error
from driftline.ledger.plumbing import Plumbing
from driftline.ledger.store import Store

_OF_A_PROOF = re.compile(rb'[MD] (?:[0-7]+ [0-9a-f]+ )?"?proofs/[0-9a-f]{64}/')


def share(store: Store, target: Path, *, proofs: bool) -> Path:
    """Make a bare repository at `target` that holds the ledger's history; complete, or not there at all."""
    if target.exists():
        raise LedgerError("folder-not-empty", f"{target}: there is something already", hint="another folder")
    store.configuration()
    building = target.parent / f".{target.name}-new-{os.getpid()}-{os.urandom(3).hex()}"
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        try:
            _build(store, building, proofs=proofs)
            building.rename(target)
        except BaseException:
            shutil.rmtree(building, ignore_errors=True)
            raise
    except OSError as error:
        raise os_error(error, target) from error
    return target


def _build(store: Store, building: Path, *, proofs: bool) -> None:
    branch, head = current_branch(store.root), store.head()
    short = branch.removeprefix("refs/heads/")
    hashes = f"--object-format={store.configuration().object_format}"
    store.git.run(
        "init", "--quiet", "--bare", "--template=", f"--initial-branch={short}", hashes, "--", str(building)
    )
    copy, itself = Plumbing(building), {"GIT_DIR": str(building)}
    if proofs:
        words = ["--quiet", "--no-tags", "--no-write-fetch-head", "--", str(store.root)]
        copy.run("fetch", *words, f"{head}:{branch}", environment=itself)
        return
    (building / "objects" / "info").mkdir(exist_ok=True)
    lent = building / "objects" / "info" / "alternates"
    lent.write_text(f"{store.root / '.git' / 'objects'}\n", encoding="utf-8")
    stream = store.git.run("fast-export", "--no-data", "--reencode=no", "--signed-tags=strip", branch)
    copy.run("fast-import", "--quiet", "--force", stdin=b"".join(_without_proofs(stream)), environment=itself)
    copy.run("repack", "-a", "-d", "-q", environment=itself)
    lent.unlink()


def _without_proofs(stream: bytes) -> Iterator[bytes]:
    """A fast-export stream without the files of kept proofs (git-fast-import(1) for its grammar)."""
    place = 0
    while place < len(stream):
        end = stream.index(b"\n", place) + 1
        line = stream[place:end]
        if line.startswith(b"data "):
            end += int(line[5:])
        elif _OF_A_PROOF.match(line):
            place = end
            continue
        yield stream[place:end]
        place = end
