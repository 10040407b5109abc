"""The index of frames: found again, thrown away, damaged, locked, of another form."""

from __future__ import annotations

import sqlite3
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from batch.shoot import write_shoot
from driftline.batch import look_over
from driftline.batch.index import FORM, Index, Row, open_index, user_cache
from driftline.ledger import Ledger


def row(path: str, **fields: object) -> Row:
    """A row of the index."""
    return Row(path.encode(), 10, 20, 30, None, None, "{}", None, None)._replace(**fields)  # type: ignore[arg-type]


@pytest.fixture
def database() -> Path:
    """Where the index of no ledger is."""
    return user_cache() / "frames.sqlite"


def test_rows_come_back(database: Path) -> None:
    """What was kept is there in the next session; a later row takes the place of an earlier one."""
    with open_index(None) as index:
        index.keep([row("/a/x.dng"), row("/a/y.dng", quick="q")])
        index.keep([row("/a/x.dng", full="f")], [b"/a/y.dng"])
    with open_index(None) as index:
        assert list(index.below(b"/a")) == [row("/a/x.dng", full="f", sight=None)]
        assert index.sights_below(b"/a") == [(b"/a/x.dng", "{}")]
    assert database.is_file()


def test_a_row_read_without_its_sight_leaves_it(database: Path) -> None:
    """What is kept of such a row later changes everything else."""
    with open_index(None) as index:
        index.keep([row("/a/x.dng", sight="[1]")])
        index.keep(each._replace(full="f", taken="2031-03-09") for each in index.below(b"/a"))
        assert list(index.below(b"/a/x.dng")) == [row("/a/x.dng", sight=None, full="f", taken="2031-03-09")]
        assert index.sights_below(b"/a/x.dng") == [(b"/a/x.dng", "[1]")]
    assert database.is_file()


def test_below_means_below() -> None:
    """A folder whose name only begins alike is another one; a file is itself; a name need not be text."""
    paths = [b"/a/x.dng", b"/a/b/y.dng", b"/ab/z.dng", b"/a.dng", b"/a/\xff.dng"]
    with open_index(None) as index:
        index.keep([row("")._replace(path=path) for path in paths])
        assert {each.path for each in index.below(b"/a")} == {b"/a/x.dng", b"/a/b/y.dng", b"/a/\xff.dng"}
        assert [each.path for each in index.below(b"/ab/z.dng")] == [b"/ab/z.dng"]
        assert len(list(index.below(b"/"))) == 5


def test_a_file_is_found_by_what_it_is() -> None:
    """By inode and size, under whatever name."""
    with open_index(None) as index:
        index.keep([row("/a/x.dng", inode=7, size=70), row("/a/y.dng", inode=7, size=71)])
        assert [each.path for each in index.of_inode(7, 71)] == [b"/a/y.dng"]


def test_a_digest_holds_for_its_source_alone() -> None:
    """What was made of one source is not given for another, and the last one is kept."""
    with open_index(None) as index:
        index.remember("record", "a", "of a")
        assert (index.recall("record", "a"), index.recall("record", "b")) == ("of a", None)
        index.remember("record", "b", "of b")
    with open_index(None) as index:
        assert (index.recall("record", "a"), index.recall("record", "b")) == (None, "of b")


def test_it_belongs_to_the_ledger_and_to_no_commit(tmp_path: Path) -> None:
    """With a ledger it lies inside .git: no status, no commit and no clone shows it."""
    write_shoot(tmp_path / "shoot", 1)
    ledger = Ledger.create(tmp_path / "looks", {"dusk": "[curve]\nslope = 1.1\n"})
    look_over([tmp_path / "shoot"], ledger)
    found = [path.relative_to(ledger.path) for path in ledger.path.rglob("frames.sqlite*")]
    assert found == [Path(".git/driftline/frames.sqlite")]


def damage(path: Path) -> None:
    """No database at all."""
    path.write_bytes(b"something else " * 400)


def cut(path: Path) -> None:
    """The first half of one."""
    content = path.read_bytes()
    path.write_bytes(content[: len(content) // 2])


def overwrite_pages(path: Path) -> None:
    """The right beginning, and nothing behind it."""
    content = path.read_bytes()
    path.write_bytes(content[:100] + bytes(len(content) - 100))


def another_form(path: Path) -> None:
    """A form of a later or earlier driftline."""
    with sqlite3.connect(path) as database:
        database.execute("DROP TABLE frames")
        database.execute("CREATE TABLE frames (place TEXT)")
        database.execute(f"PRAGMA user_version = {FORM + 1}")
    database.close()


def other_columns(path: Path) -> None:
    """The number of this form on other columns."""
    with sqlite3.connect(path) as database:
        database.execute("DROP TABLE frames")
        database.execute("CREATE TABLE frames (place TEXT)")
    database.close()


def odd_rows(path: Path) -> None:
    """Values that make no sense."""
    with sqlite3.connect(path) as database:
        database.execute("UPDATE frames SET sight = '[1, 2]', quick = 'x', full = 'y'")
        database.execute("UPDATE digested SET content = '{}'")
    database.close()


def empty(path: Path) -> None:
    """A file of no length, as a full disk leaves it."""
    path.write_bytes(b"")


@pytest.mark.parametrize(
    "change", [damage, cut, overwrite_pages, another_form, other_columns, odd_rows, empty, Path.unlink]
)
def test_whatever_is_wrong_with_it_is_no_error(
    tmp_path: Path, database: Path, change: Callable[[Path], None]
) -> None:
    """The shoot is told the same, at once and the next time."""
    write_shoot(tmp_path / "shoot", 3)
    told = [one.json() for one in look_over([tmp_path / "shoot"], None).frames]
    change(database)
    for _ in range(2):
        assert [one.json() for one in look_over([tmp_path / "shoot"], None).frames] == told


@pytest.mark.parametrize("change", [damage, another_form, other_columns])
def test_a_useless_one_is_made_anew(tmp_path: Path, database: Path, change: Callable[[Path], None]) -> None:
    """And is used from then on."""
    write_shoot(tmp_path / "shoot", 2)
    look_over([tmp_path / "shoot"], None)
    change(database)
    look_over([tmp_path / "shoot"], None)
    with open_index(None) as index:
        assert len(list(index.below(str(tmp_path / "shoot").encode()))) == 2


def test_a_locked_one_is_done_without(
    tmp_path: Path, database: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another program holds it for longer than we wait: nothing is kept, everything is told, it stays."""
    monkeypatch.setattr("driftline.batch.index._WAIT_S", 0.05)
    write_shoot(tmp_path / "shoot", 2)
    look_over([tmp_path / "shoot"], None)
    other = sqlite3.connect(database, isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    assert len(look_over([tmp_path / "shoot"], None).frames) == 2
    other.execute("COMMIT")
    other.close()
    with open_index(None) as index:
        assert len(list(index.below(str(tmp_path / "shoot").encode()))) == 2


def test_no_place_for_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file where its folder should be: done without."""
    (tmp_path / "taken").write_text("a file")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "taken"))
    write_shoot(tmp_path / "shoot", 1)
    assert len(look_over([tmp_path / "shoot"], None).frames) == 1


def test_a_python_without_sqlite(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Some are built so; the shoot is told all the same."""
    monkeypatch.setitem(sys.modules, "sqlite3", None)
    write_shoot(tmp_path / "shoot", 1)
    assert len(look_over([tmp_path / "shoot"], None).frames) == 1


def test_without_a_database_nothing_is_known() -> None:
    """And nothing that is kept is an error."""
    index = Index(None)
    index.keep([row("/a/x.dng")])
    assert (list(index.below(b"/a")), index.holds_any()) == ([], False)
