"""Making a ledger: complete, or not there at all."""

from __future__ import annotations

import os
import shutil
from collections.abc import Mapping
from pathlib import Path

from driftline.errors import LedgerError
from driftline.ledger import known, saving
from driftline.ledger.doors import looks_like_ledger
from driftline.ledger.files import PRIVATE, os_error, sync_folder
from driftline.ledger.known import Known
from driftline.ledger.message import compose
from driftline.ledger.names import check_name
from driftline.ledger.plumbing import Plumbing
from driftline.ledger.store import Store
from driftline.ledger.versions import Version

ATTRIBUTES = (
    "# Recipes are kept byte for byte: no conversion of line ends, no filters.\n* -text -filter -ident\n"
)


def create(folder: Path, recipes: Mapping[str, str], settings_text: str | None) -> None:
    """Build a ledger beside `folder`, then move it there in one step."""
    for name in recipes:
        check_name(name)
    _check_free(folder)
    building = folder.parent / f".{folder.name}-new-{os.getpid()}-{os.urandom(3).hex()}"
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        building.mkdir()
        try:
            _build(building, recipes, settings_text)
            building.rename(folder)
            sync_folder(folder.parent)
        except BaseException:
            shutil.rmtree(building, ignore_errors=True)
            raise
    except OSError as error:
        raise os_error(error, folder) from error


def _check_free(folder: Path) -> None:
    if looks_like_ledger(folder):
        raise LedgerError(
            "ledger-exists",
            f"{folder}: there is a ledger already",
            hint=f"driftline history --ledger {folder}",
        )
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise LedgerError(
            "folder-not-empty",
            f"{folder}: there is something else there; a ledger needs a folder of its own",
            hint=f"driftline init {folder / 'looks'}",
        )


def _build(folder: Path, recipes: Mapping[str, str], settings_text: str | None) -> None:
    from driftline.ledger.settings import PATH, default_settings_text, parse_settings  # noqa: PLC0415

    settings_text = settings_text or default_settings_text()
    parse_settings(settings_text, source=PATH)
    git = Plumbing(folder)
    git.run("init", "--quiet", "--template=", "--initial-branch=main", "--object-format=sha1")
    git.run("config", "--local", "driftline.copy", "")
    (folder / "recipes").mkdir()
    store = Store(folder)
    store.files.make_folder(PRIVATE)
    first = {".gitattributes": ATTRIBUTES.encode(), PATH: settings_text.encode()}
    head, _ = store.commit("", first, compose("a new ledger", [], "", [("Kind", "init")]))
    now = Known(head)
    known.store(store.files, now)
    for name, text in recipes.items():
        draft = saving.Draft(name, text.encode(), "", "version", ())
        saving.save(store, now, draft, _no_version)


def _no_version(ref: str) -> Version:
    raise AssertionError(f"{ref}: the first versions of a new ledger have no parents")
