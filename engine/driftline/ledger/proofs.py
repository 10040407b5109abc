"""Kept proofs: frames to judge looks by, stored small in the ledger, and which recipe is judged by which."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from types import MappingProxyType

from driftline.errors import LedgerError
from driftline.ledger.commits import read_objects
from driftline.ledger.known import Known
from driftline.ledger.message import compose
from driftline.ledger.names import check_name
from driftline.ledger.opened import OpenLedger, put, refuse_unsaved_edit
from driftline.ledger.trees import parse_tree

MAX_PROOF_BYTES = 64 * 1024 * 1024

_FINGERPRINT = re.compile(r"[0-9a-f]{64}")
_FILE = re.compile(r"[a-z0-9][a-z0-9._-]{0,63}")


def check_fingerprint(text: str) -> str:
    """Give back a full fingerprint (SHA-256 in hexadecimal), or say why it is none."""
    if not _FINGERPRINT.fullmatch(text):
        raise LedgerError(
            "bad-fingerprint",
            f"{text!r}: a fingerprint has 64 digits 0-9 a-f",
            hint="frame.fingerprint() gives it",
        )
    return text


def _list_path(recipe: str) -> str:
    return f"proofs/of/{recipe}.toml"


class ProofShelf(OpenLedger):
    """The kept proofs of a ledger.

    ``proofs/FINGERPRINT/`` holds the files of one, ``proofs/of/NAME.toml`` lists those of a recipe.
    """

    def keep_proof(self, fingerprint: str, files: Mapping[str, bytes], *, name: str = "") -> bool:
        """Keep a proof: its files, as one commit.

        Parameters
        ----------
        fingerprint
            Of the frame, SHA-256 in hexadecimal.
        files
            Contents by file name (lower case, no folders).
        name
            What the photographer calls the frame; only for the commit's message.

        Returns
        -------
        bool
            False if just these files were kept already.
        """
        folder = f"proofs/{check_fingerprint(fingerprint)}"
        _check_files(files)

        def attempt(now: Known) -> bool:
            before = self._kept(now.head, fingerprint)
            if before == dict(files):
                return False
            changed: dict[str, bytes | None] = {f"{folder}/{gone}": None for gone in before}
            changed |= {f"{folder}/{file}": content for file, content in files.items()}
            title = f"proof {name or fingerprint[:12]} kept"
            trailers = [("Kind", "proof"), ("Proof", fingerprint)]
            trailers = [("Kind", "proof"), ("Proof", fingerprint)]
            put(self._store, now, changed, compose(title, [], "", trailers))
            return True

        return self._writing(attempt)

    def read_proof(self, fingerprint: str) -> Mapping[str, bytes]:
        """The files of a kept proof.

        Raises
        ------
        LedgerError
            ``no-such-proof``.
        """
        files = self._kept(self._store.head(), check_fingerprint(fingerprint))
        if not files:
            raise LedgerError(
                "no-such-proof",
                f"{fingerprint[:12]}: not among the kept proofs of this ledger",
                hint="driftline proof RECIPE FRAME keeps it",
            )
        return MappingProxyType(files)

    def kept_proofs(self) -> list[str]:
        """Fingerprints of all kept proofs."""
        names = self._tree(f"{self._store.head()}:proofs")
        return sorted(name for name in names if _FINGERPRINT.fullmatch(name))

    def proofs(self, recipe: str) -> tuple[str, ...]:
        """Fingerprints of the proofs that a recipe is judged by, in the order they were chosen.

        Raises
        ------
        LedgerError
            ``bad-proof-list`` when the list was edited by hand into something else.
        """
        path = _list_path(check_name(recipe))
        content = self._store.files.read(path, limit=1024 * 1024)
        if content is None:
            return ()
        try:
            listed = tomllib.loads(content.decode()).get("proofs", [])
            return tuple(check_fingerprint(entry) for entry in listed)
        except (ValueError, TypeError, LedgerError) as error:
            raise LedgerError(
                "bad-proof-list",
                f'{self.path / path}: {error}; expected proofs = ["FINGERPRINT", ...]',
                hint=f"driftline proof {recipe} FRAME... writes it anew",
            ) from error

    def set_proofs(self, recipe: str, fingerprints: Sequence[str]) -> bool:
        """Choose the proofs of a recipe; False if these are chosen already.

        Raises
        ------
        LedgerError
            ``no-such-recipe``, ``recipe-not-saved``, ``bad-fingerprint``.
        """
        path = _list_path(check_name(recipe))
        chosen = list(dict.fromkeys(check_fingerprint(fingerprint) for fingerprint in fingerprints))
        lines = "".join(f'    "{fingerprint}",\n' for fingerprint in chosen)
        content = f"# Every version of {recipe} is measured on these proofs.\nproofs = [\n{lines}]\n"

        def attempt(now: Known) -> bool:
            if recipe not in now.last:
                raise self._history.no_version_of(recipe)
            before = self._store.content(now.head, path)
            if before == content.encode():
                return False
            refuse_unsaved_edit(
                self._store, path, content.encode(), self._store.blob_id(before) if before else ""
            )
            title = f"{recipe}: {len(chosen)} proof{'s' if len(chosen) != 1 else ''} chosen"
            trailers = [("Kind", "proofs"), ("Proofs", " ".join(chosen))]
            put(self._store, now, {path: content.encode()}, compose(title, [], "", trailers))
            return True

        return self._writing(attempt)

    def _kept(self, head: str, fingerprint: str) -> dict[str, bytes]:
        folder = f"{head}:proofs/{fingerprint}"
        names = list(self._tree(folder))
        objects = read_objects(self._store.git, [f"{folder}/{name}" for name in names])
        return {
            name: found.content
            for name, found in zip(names, objects, strict=True)
            if found is not None and found.kind == "blob"
        }

    def _tree(self, name: str) -> list[str]:
        (found,) = read_objects(self._store.git, [name])
        if found is None or found.kind != "tree":
            return []
        return [entry.decode("utf-8", "replace") for entry in parse_tree(found.content, len(found.id) // 2)]


def _check_files(files: Mapping[str, bytes]) -> None:
    for name in files:
        if not _FILE.fullmatch(name):
            raise LedgerError("bad-file-name", f"{name!r}: lower-case letters, digits, . _ - only", hint="")
    size = sum(len(content) for content in files.values())
    if not files or size > MAX_PROOF_BYTES:
        raise LedgerError(
            "bad-proof",
            f"{len(files)} files of {size} bytes; a proof has some, of at most {MAX_PROOF_BYTES} together",
            hint="a proof is kept small: about 1000 pixels long",
        )
