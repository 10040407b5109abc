"""The folder that pages are written to: what is already there is not made again.

    index.html, page.css, page.js     the front page, and what all pages share
    compare.html, compare.js          any two versions
    data/NAME.js                      the numbers of a look, for what a page shows when asked
    looks/NAME.html                   one look through time
    looks/NAME/LABEL.html             one version; carries a stamp of all that it was made from
    looks/NAME/NAME.LABEL.toml        its recipe file, as it was saved
    pictures/KEY.jpg, KEY.svg         named by what made them, so each is made once
    .driftline-pages                  says that the folder is ours

Every file is written to a part file first and put in place whole. A folder that holds something else is
refused. All of it can be made again from the ledger.
"""

from __future__ import annotations

import hashlib
import html
import os
import re
import secrets
from collections.abc import Callable
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

from driftline.errors import DriftlineError, UsageError
from driftline.pages.story import Map, Marks, Picture

LARGEST_EDGE = 960
_MARK = ".driftline-pages"
_MARK_TEXT = "This folder is made by driftline and can be made again from the ledger.\n"
_HEAD = re.compile(
    r'<svg [^>]* width="(?P<width>\d+)" height="(?P<height>\d+)"><title>(?P<words>[^<]*)</title>'
)
_PLAIN = re.compile(r"[a-z0-9][a-z0-9.-]{0,80}")


@dataclass(frozen=True)
class Shown:
    """A picture as a page shows it: where it lies below the folder and its size, or why it is not there."""

    address: str = ""
    width: int = 3
    height: int = 2
    alt: str = ""
    reason: str = ""


class PageFolder:
    """One folder of pages."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self._sizes: dict[str, Shown] = {}

    def take(self) -> None:
        """Make the folder ours.

        Raises
        ------
        UsageError
            ``page-folder-taken`` if it is a file or holds something that is not ours;
            ``page-folder-unwritable`` with the system's own words.
        """
        taken = self.root.exists() and not (self.root / _MARK).exists()
        if taken and (not self.root.is_dir() or any(self.root.iterdir())):
            raise UsageError(
                "page-folder-taken",
                f"{self.root}: holds something that is not pages of a ledger; it was left alone",
                hint="an empty or new folder for --out",
            )
        try:
            (self.root / "pictures").mkdir(parents=True, exist_ok=True)
            self.write(_MARK, _MARK_TEXT)
        except OSError as error:
            raise UsageError(
                "page-folder-unwritable",
                f"{self.root}: {error.strerror or error}",
                hint="a folder that can be written to",
            ) from error

    def write(self, name: str, text: str) -> None:
        """Write a file of the folder, whole or not at all; nothing happens when it says the same already."""
        path, content = self.root / name, text.encode("utf-8")
        if not (path.is_file() and path.read_bytes() == content):
            _write_whole(path, content)

    def has(self, name: str, stamp: str) -> bool:
        """Whether a page is there that was made from just this."""
        try:
            with (self.root / name).open("rb") as file:
                return stamp.encode() in file.read(400)
        except OSError:
            return False

    def show(self, picture: Picture | None, reason: str = "no picture was kept") -> Shown:
        """Have a picture in the folder, made now if it is not there yet; a broken one costs only itself."""
        if picture is None:
            return Shown(reason=reason)
        name = f"pictures/{hashlib.sha256(picture.key.encode()).hexdigest()[:32]}.jpg"
        if name not in self._sizes:
            self._sizes[name] = self._have(name, picture)
        found = self._sizes[name]
        return Shown(found.address, found.width, found.height, picture.alt, found.reason)

    def map(self, found: Map, draw: Callable[[Marks], str]) -> Shown:
        """Have a difference map in the folder, drawn now if it is not there yet; its title is its words."""
        name = f"pictures/{hashlib.sha256(found.key.encode()).hexdigest()[:32]}.svg"
        try:
            if not (self.root / name).is_file():
                _write_whole(self.root / name, draw(found.load()).encode())
            text = (self.root / name).read_text(encoding="utf-8")
        except DriftlineError as error:
            return Shown(reason=error.message)
        head = _HEAD.match(text)
        if head is None:
            return Shown(reason="the map cannot be shown: its file was changed")
        return Shown(name, int(head["width"]), int(head["height"]), html.unescape(head["words"]))

    def _have(self, name: str, picture: Picture) -> Shown:
        from PIL import Image  # noqa: PLC0415  a page of words needs no pictures

        path = self.root / name
        try:
            if not path.is_file():
                _write_whole(path, _small_and_bare(picture.load()))
            with Image.open(path) as image:
                return Shown(name, *image.size)
        except DriftlineError as error:
            return Shown(reason=error.message)
        except (OSError, ValueError, Image.DecompressionBombError) as error:
            return Shown(reason=f"the picture cannot be shown: {error}")


def page_name(text: str) -> str:
    """A file name for a recipe's or version's name: itself if it is plain, else with a digest for the rest.

    Examples
    --------
    >>> page_name("tram-fog"), page_name("8.laptop")
    ('tram-fog', '8.laptop')
    >>> page_name("../<b>").startswith("b-")
    True
    """
    if _PLAIN.fullmatch(text):
        return text
    plain = re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")[:40]
    return f"{plain or 'name'}-{hashlib.sha256(text.encode('utf-8', 'replace')).hexdigest()[:10]}"


def _small_and_bare(content: bytes) -> bytes:
    """A picture as a page needs it: upright, no larger than :data:`LARGEST_EDGE`, sRGB or with its profile.

    Whatever else the file carried (place, serial numbers, maker's notes) is left behind.
    """
    from PIL import Image, ImageOps  # noqa: PLC0415

    with Image.open(BytesIO(content)) as image:
        profile = image.info.get("icc_profile") if image.mode == "RGB" else None
        upright = ImageOps.exif_transpose(image).convert("RGB")
    upright.thumbnail((LARGEST_EDGE, LARGEST_EDGE), Image.Resampling.LANCZOS)
    out = BytesIO()
    upright.save(out, "JPEG", quality=88, optimize=True, icc_profile=profile)
    return out.getvalue()


def _write_whole(path: Path, content: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(f".part-{os.getpid()}-{secrets.token_hex(4)}")
    try:
        part.write_bytes(content)
        os.replace(part, path)
    finally:
        part.unlink(missing_ok=True)
