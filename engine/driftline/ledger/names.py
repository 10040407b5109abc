"""What recipes, copies and versions are called, and how a reference to a version is read."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterable
from difflib import get_close_matches
from pathlib import PurePosixPath
from typing import NamedTuple

from driftline.errors import LedgerError

MAX_NAME = 64
MAX_LABEL = 32

_NAME = re.compile(rf"[a-z0-9](?:[a-z0-9-]{{0,{MAX_NAME - 1}}})", re.ASCII)
_LABEL = re.compile(rf"[a-z0-9](?:[a-z0-9-]{{0,{MAX_LABEL - 1}}})", re.ASCII)
_NUMBER = re.compile(r"[1-9][0-9]{0,8}", re.ASCII)
_DEVICES = frozenset(
    ["con", "prn", "aux", "nul", *(f"com{n}" for n in range(10)), *(f"lpt{n}" for n in range(10))]
)


class Ref(NamedTuple):
    """The name of one version: ``tram-fog@7``, or ``tram-fog@8.laptop`` when born on a labelled copy."""

    recipe: str
    number: int
    copy: str = ""

    def __str__(self) -> str:
        return f"{self.recipe}@{self.number}.{self.copy}" if self.copy else f"{self.recipe}@{self.number}"


def check_name(name: str) -> str:
    """Give back a recipe's name, or say why it is none.

    Lower-case letters, digits and hyphens, at most 64, not beginning with a hyphen; names that some file
    systems keep for devices (``con``, ``lpt1``, ...) are not allowed, so a ledger works on any disk.

    Raises
    ------
    LedgerError
        ``bad-name``.

    Examples
    --------
    >>> check_name("tram-fog")
    'tram-fog'
    """
    if not _NAME.fullmatch(name):
        raise LedgerError(
            "bad-name",
            f"recipe name {name!r}: lower-case letters, digits and hyphens only, 1 to {MAX_NAME} of them,"
            " not beginning with a hyphen",
            hint=_instead_of(name),
        )
    if name in _DEVICES:
        raise LedgerError(
            "bad-name",
            f"recipe name {name!r}: some file systems keep this name for a device",
            hint=f"another name, for example {name}-look",
        )
    return name


def _instead_of(text: str) -> str:
    """A hint on what to write instead of a name that is none: a recipe file has to be saved under one."""
    if not text.endswith(".toml"):
        return f"a name such as {suggested_name(text)}"
    name = suggested_name(PurePosixPath(text).stem)
    return f"the name {name}; driftline save {name} --from {shlex.quote(text)} makes a recipe of a file"


def suggested_name(text: str) -> str:
    """The nearest allowed name to any text: ``"Tram Fog!"`` gives ``"tram-fog"``."""
    name = re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")[:MAX_NAME].strip("-")
    return name if name and name not in _DEVICES else "my-look"


def is_label(text: str) -> bool:
    """Whether a text can be the label of a copy."""
    return _LABEL.fullmatch(text) is not None


def parse_ref(text: str) -> Ref:
    """Read ``NAME@NUMBER`` or ``NAME@NUMBER.COPY``.

    Raises
    ------
    LedgerError
        ``bad-ref`` when the text is not of that form, ``bad-name`` when its name is none.

    Examples
    --------
    >>> parse_ref("tram-fog@8.laptop")
    Ref(recipe='tram-fog', number=8, copy='laptop')
    """
    name, at, version = text.partition("@")
    number, dot, copy = version.partition(".")
    if not at or not _NUMBER.fullmatch(number) or (dot and not is_label(copy)):
        raise LedgerError(
            "bad-ref",
            f"{text!r} is not the name of a version; expected NAME@NUMBER, as in tram-fog@7",
            hint="driftline history lists the versions there are",
        )
    return Ref(check_name(name), int(number), copy)


def nearest(name: str, names: Iterable[str]) -> str:
    """A hint that offers the nearest of the names there are."""
    known = sorted(set(names))
    close = get_close_matches(name, known, n=3, cutoff=0.5)
    if close:
        return "did you mean " + " or ".join(close)
    return "there are: " + ", ".join(known[:12]) if known else "driftline save NAME --from FILE"
