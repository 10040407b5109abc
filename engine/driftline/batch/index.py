"""The index of frames: an embedded database of what was read, so that nothing is read twice.

It holds nothing that is not read from the frames themselves, or digested from the ledger's record, so it can
be thrown away at any time; what was printed and set aside is in the ledger. Whatever is wrong with it
(damaged, locked, of another form, on a disk that cannot be written to) costs time and is no error: it is
built anew, or done without.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from itertools import repeat
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, NamedTuple, TypeVar

from driftline.ledger import Ledger

if TYPE_CHECKING:
    import sqlite3

FORM: Final = 3
"""Raised when the tables change, or when more is read of a frame than before."""

_NAME: Final = "frames.sqlite"
_WAIT_S: Final = 5.0
_TABLES: Final = """
    CREATE TABLE IF NOT EXISTS frames (
        path BLOB PRIMARY KEY, size INTEGER NOT NULL, mtime_ns INTEGER NOT NULL, inode INTEGER NOT NULL,
        jpegs TEXT, taken TEXT, sight TEXT, quick TEXT, full TEXT
    ) WITHOUT ROWID;
    CREATE INDEX IF NOT EXISTS by_inode ON frames (inode, size);
    CREATE TABLE IF NOT EXISTS digested (name TEXT PRIMARY KEY, source TEXT NOT NULL, content TEXT NOT NULL);
"""
_COLUMNS: Final = "path, size, mtime_ns, inode, jpegs, taken, sight, quick, full"
_LIGHT: Final = _COLUMNS.replace("sight", "NULL")
_KEEP: Final = f"""
    INSERT INTO frames VALUES ({"?, " * 8}?) ON CONFLICT (path) DO UPDATE SET
        size = excluded.size, mtime_ns = excluded.mtime_ns, inode = excluded.inode, jpegs = excluded.jpegs,
        taken = excluded.taken, quick = excluded.quick, full = excluded.full,
        sight = coalesce(excluded.sight, sight)
"""
_PAGE_BYTES: Final = 16384
"""Rows are a few hundred bytes long, and are read by the thousand."""

T = TypeVar("T")


class Row(NamedTuple):
    """One frame as the index holds it.

    Attributes
    ----------
    path
        Absolute, as the system's bytes.
    size, mtime_ns, inode, jpegs
        What must be the same for the rest to hold: of the file, and of the JPEGs of its stem beside it.
    taken
        When it was taken, ISO 8601; None if unknown.
    sight
        What was read of it, as JSON; None in a row that was read without it.
    quick, full
        Its fingerprints, as far as they were needed.
    """

    path: bytes
    size: int
    mtime_ns: int
    inode: int
    jpegs: str | None
    taken: str | None
    sight: str | None
    quick: str | None
    full: str | None


class Index:
    """An open index; without a database (``None``) it knows nothing and keeps nothing."""

    def __init__(self, database: sqlite3.Connection | None) -> None:
        self._database = database

    def below(self, path: bytes) -> Iterator[Row]:
        """What is known of a file, or of all files in a folder and below it, without the sights."""
        return map(tuple.__new__, repeat(Row), self._below(_LIGHT, path))  # as Row._make, in half the time

    def sights_below(self, path: bytes) -> list[tuple[bytes, str]]:
        """Paths and sights of the same files."""
        return self._below("path, sight", path)

    def _below(self, columns: str, path: bytes) -> list[Any]:
        start = path.rstrip(b"/") + b"/"
        bounds = start, start[:-1] + b"0"  # "0" follows "/"
        alone = self._all(f"SELECT {columns} FROM frames WHERE path = ?", (path,))
        return alone or self._all(f"SELECT {columns} FROM frames WHERE path > ? AND path < ?", bounds)

    def holds_any(self) -> bool:
        """Whether anything is known at all."""
        return bool(self._all("SELECT 1 FROM frames LIMIT 1", ()))

    def of_inode(self, inode: int, size: int) -> list[Row]:
        """Files that were called otherwise when they were read."""
        rows = self._all(f"SELECT {_COLUMNS} FROM frames WHERE inode = ? AND size = ?", (inode, size))
        return list(map(Row._make, rows))

    def keep(self, rows: Iterable[Row], gone: Iterable[bytes] = ()) -> None:
        """Put rows in, in place of older ones, and take others out; all of it or nothing.

        A row that was read without its sight leaves the sight as it is.
        """
        rows, gone = list(rows), list(gone)
        if not rows and not gone:
            return

        def change(database: sqlite3.Connection) -> None:
            with database:
                database.execute("BEGIN IMMEDIATE")
                database.executemany("DELETE FROM frames WHERE path = ?", [(path,) for path in gone])
                database.executemany(_KEEP, rows)

        self._try(change, None)

    def recall(self, name: str, source: str) -> str | None:
        """What was made of a source, if it was made of just this one."""
        rows = self._all("SELECT content FROM digested WHERE name = ? AND source = ?", (name, source))
        return str(rows[0][0]) if rows else None

    def remember(self, name: str, source: str, content: str) -> None:
        """Keep what was made of a source, in place of what was made of an earlier one."""

        def change(database: sqlite3.Connection) -> None:
            database.execute("INSERT OR REPLACE INTO digested VALUES (?, ?, ?)", (name, source, content))

        self._try(change, None)

    def _all(self, question: str, values: tuple[Any, ...]) -> list[Any]:
        return self._try(lambda database: database.execute(question, values).fetchall(), [])

    def _try(self, action: Callable[[sqlite3.Connection], T], otherwise: T) -> T:
        """Do something with the database; what goes wrong ends its use for this time."""
        if self._database is None:
            return otherwise
        import sqlite3  # noqa: PLC0415

        try:
            return action(self._database)
        except (sqlite3.Error, OverflowError, UnicodeError):
            with suppress(sqlite3.Error):
                self._database.close()
            self._database = None
            return otherwise


@contextmanager
def open_index(ledger: Ledger | None) -> Iterator[Index]:
    """The index that belongs to a ledger; without one, that of this user."""
    folder = ledger.private if ledger else user_cache()
    database = _database(folder / _NAME)
    index = Index(database)
    try:
        yield index
    finally:
        if database is not None:
            with suppress(Exception):
                database.close()


def user_cache() -> Path:
    """Where this user's programs keep what can be made again (XDG base directories; on macOS Caches)."""
    named = os.environ.get("XDG_CACHE_HOME")
    usual = Path("~/Library/Caches" if sys.platform == "darwin" else "~/.cache").expanduser()
    return (Path(named) if named and os.path.isabs(named) else usual) / "driftline"


def _database(path: Path) -> sqlite3.Connection | None:
    """The database, made anew if it is of no use; None if there can be none."""
    try:
        import sqlite3  # noqa: PLC0415
    except ImportError:  # a Python without it
        return None
    for _ in range(2):
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            database = _opened(path)
        except sqlite3.OperationalError:  # locked, or not for us to write: it may be good for others
            return None
        except (sqlite3.Error, OSError):
            database = None
        if database is not None:
            return database
        with suppress(OSError):
            path.unlink()
            path.with_name(f"{path.name}-journal").unlink()
    return None


def _opened(path: Path) -> sqlite3.Connection | None:
    """The database if it is of this form and sound; None if it should be made anew."""
    import sqlite3  # noqa: PLC0415

    database = sqlite3.connect(path, timeout=_WAIT_S, isolation_level=None)
    try:
        database.execute("PRAGMA synchronous = OFF")  # it can be made again
        (form,) = database.execute("PRAGMA user_version").fetchone()
        (tables,) = database.execute("SELECT count(*) FROM sqlite_master").fetchone()
        if form != FORM and tables:
            database.close()
            return None
        if not tables:
            database.execute(f"PRAGMA page_size = {_PAGE_BYTES}")
            database.executescript(f"BEGIN IMMEDIATE; {_TABLES} PRAGMA user_version = {FORM}; COMMIT;")
        database.execute(f"SELECT {_COLUMNS} FROM frames LIMIT 1").fetchone()
        database.execute("SELECT name, source, content FROM digested LIMIT 1").fetchone()
    except sqlite3.Error as error:
        database.close()
        if "no such" in str(error):  # the right form by its number alone
            return None
        raise
    return database
