"""A ledger with very many versions of one recipe, written with git's own fast-import."""

from __future__ import annotations

import json
import math
import subprocess
from collections.abc import Iterator
from pathlib import Path

from driftline.ledger import Ledger
from driftline.ledger.message import compose

UNITS = {"exposure": "EV", "contrast": "log2"}


def text_of(name: str, n: int) -> str:
    """The n-th version: a look that swings less and less."""
    swing = math.exp(-n / 300)
    return (
        f'name = "{name}"\n\n[exposure]\nev = {0.3 + 0.5 * swing * math.cos(n / 3):.3f}\n\n'
        f"[curve]\nslope = {1.1 + 0.2 * swing * math.sin(n / 5):.3f}\n"
    )


def add_versions(ledger: Ledger, name: str, last: int) -> None:
    """Versions 2 to ``last`` on top of the first one, each with a drift on a proof that is not kept."""
    git = ["git", "-C", str(ledger.path)]
    subprocess.run([*git, "fast-import", "--quiet"], input=_stream(name, last), check=True)
    subprocess.run([*git, "reset", "--quiet", "--hard"], check=True)


def _stream(name: str, last: int) -> bytes:
    return b"".join(_commit(name, n) for n in range(2, last + 1))


def _commit(name: str, n: int) -> bytes:
    out = b"".join(_blobs(name, n))
    start = b"from refs/heads/main^0\n" if n == 2 else b""
    when = 1_700_000_000 + n * 3600
    message = _message(name, n).encode()
    return (
        out
        + f"commit refs/heads/main\nmark :{2 * n}\ncommitter A Tester <t@example.org> {when} +0000\n".encode()
        + f"data {len(message)}\n".encode()
        + message
        + b"\n"
        + start
        + f"M 100644 :{2 * n + 1} recipes/{name}.toml\n\n".encode()
    )


def _blobs(name: str, n: int) -> Iterator[bytes]:
    text = text_of(name, n).encode()
    yield f"blob\nmark :{2 * n + 1}\ndata {len(text)}\n".encode() + text + b"\n"


def _message(name: str, n: int) -> str:
    swing = math.exp(-n / 300)
    edits = {"exposure": 0.3 * swing * math.cos(n / 3), "contrast": 0.25 * swing}
    causes = {
        key: {"floor": 0.0, "edit": edit, "total": edit, "judged": edit, "unit": UNITS[key]}
        for key, edit in edits.items()
    }
    trailers = [
        ("Recipe", name),
        ("Version", f"{name}@{n}"),
        ("Kind", "version"),
        ("Derived-from", f"{name}@{n - 1}"),
        ("Proofs", "ab" * 32),
        ("Drift", json.dumps({"verdict": "in keeping", "proofs": 1, "causes": causes})),
    ]
    return compose(f"{name}@{n}", [f"exposure, step {n}"], f"walk {n}", trailers)


def many(folder: Path, name: str, last: int) -> Path:
    """A new ledger with that many versions."""
    ledger = Ledger.create(folder, {name: text_of(name, 1)})
    add_versions(ledger, name, last)
    return ledger.path
