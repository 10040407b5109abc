"""Corrections and likenesses: small texts that are versioned beside the recipes, each under its own name."""

from __future__ import annotations

from driftline.ledger.commits import read_objects
from driftline.ledger.known import Known
from driftline.ledger.message import compose
from driftline.ledger.names import check_name
from driftline.ledger.opened import OpenLedger, put, refuse_unsaved_edit
from driftline.ledger.proofs import check_fingerprint

MAX_TEXT_BYTES = 1024 * 1024


class KeptTexts(OpenLedger):
    """``corrections/ab/FINGERPRINT.toml`` and ``likenesses/CAMERA-SETTING.toml``, as texts."""

    def correction(self, fingerprint: str) -> str | None:
        """The text of a frame's correction as it stands in its working file, None if there is none."""
        return self._text(_correction_path(fingerprint))

    def keep_correction(self, fingerprint: str, text: str | None, *, note: str = "") -> bool:
        """Keep a frame's correction (None: the frame needs none any more); False if nothing changed."""
        path = _correction_path(fingerprint)
        title = f"correction of frame {fingerprint[:12]}{' taken back' if text is None else ''}"
        return self._keep(path, text, title, [("Kind", "correction"), ("Frame", fingerprint)], note)

    def likeness(self, name: str) -> str | None:
        """The text of a likeness, None if there is none of that name."""
        return self._text(_likeness_path(name))

    def likenesses(self) -> list[str]:
        """The names of all likenesses."""
        return self._store.files.stems("likenesses", ".toml")

    def likeness_texts(self, name: str) -> list[str]:
        """Every text that a likeness ever had here, newest first: prints name the one they were made with."""
        path, git = _likeness_path(name), self._store.git
        commits = git.run("rev-list", "--end-of-options", self._store.head(), "--", path).decode().split()
        found = read_objects(git, [f"{commit}:{path}" for commit in commits]) if commits else []
        texts = (each.content.decode("utf-8", "surrogateescape") for each in found if each is not None)
        return list(dict.fromkeys(texts))

    def keep_likeness(self, name: str, text: str, *, note: str = "") -> bool:
        """Keep a likeness, named after camera and setting; False if nothing changed."""
        trailers = [("Kind", "likeness"), ("Likeness", name)]
        return self._keep(_likeness_path(name), text, f"likeness {name} learned", trailers, note)

    def _text(self, path: str) -> str | None:
        content = self._store.files.read(path, limit=MAX_TEXT_BYTES)
        return None if content is None else content.decode("utf-8", "surrogateescape")

    def _keep(
        self, path: str, text: str | None, title: str, trailers: list[tuple[str, str]], note: str
    ) -> bool:
        content = None if text is None else text.encode("utf-8", "surrogateescape")

        def attempt(now: Known) -> bool:
            before = self._store.content(now.head, path)
            if before == content:
                return False
            last = "" if before is None else self._store.blob_id(before)
            refuse_unsaved_edit(self._store, path, content, last)
            put(self._store, now, {path: content}, compose(title, [], note, trailers))
            return True

        return self._writing(attempt)


def _correction_path(fingerprint: str) -> str:
    return f"corrections/{check_fingerprint(fingerprint)[:2]}/{fingerprint}.toml"


def _likeness_path(name: str) -> str:
    return f"likenesses/{check_name(name)}.toml"
