from __future__ import annotations

import shutil
import sqlite3
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from nest.domain.room import Unit
from nest.errors import StockError
from nest.store import opening
from nest.store.ledger import Ledger
from nest.store.opening import connect, create, file_system, migrate, network_warning
from nest.store.schema import APPLICATION_ID, MIGRATIONS, Migration
from tests.store.shop import balances_of, fresh, stocked

MOUNTS = """\
/dev/vda1 / ext4 rw 0 0
files:/vol /shares/plates nfs4 rw 0 0
/dev/vdb1 /shares/plates/local xfs rw 0 0
//box/c /shares/with\\040blank cifs rw 0 0
"""


def error(path: Path) -> str:
    with pytest.raises(StockError) as caught:
        Ledger(path, busy_ms=50)
    assert caught.value.exit_code == 4
    text = str(caught.value)
    assert text.startswith(str(path))
    assert "\n" not in text
    return text


def test_a_missing_ledger_is_said_to_be_missing_and_is_not_made(tmp_path: Path) -> None:
    assert "no such ledger" in error(tmp_path / "none.db")
    assert list(tmp_path.iterdir()) == []


def test_what_is_no_ledger_is_refused_and_left_as_it_was(tmp_path: Path) -> None:
    (tmp_path / "folder").mkdir()
    assert "got a folder" in error(tmp_path / "folder")
    for name, content, words in (
        ("empty.db", b"", "an empty file"),
        ("text.db", b"id,material\n1,QF170\n" * 20, "another program's file"),
        ("short.db", b"SQLite format 3\0", "another program's file"),
    ):
        (tmp_path / name).write_bytes(content)
        assert words in error(tmp_path / name)
        assert (tmp_path / name).read_bytes() == content


def test_a_database_of_another_program_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "other.db"
    other = sqlite3.connect(path)
    other.execute("CREATE TABLE booking (id INTEGER)")
    other.close()
    before = path.read_bytes()
    assert "another program's database" in error(path)
    assert path.read_bytes() == before


def test_a_ledger_of_a_newer_nest_is_refused_and_not_changed(tmp_path: Path) -> None:
    path = stocked(tmp_path)
    newer = sqlite3.connect(path)
    newer.execute(f"PRAGMA user_version = {len(MIGRATIONS) + 1}")
    newer.close()
    before = path.read_bytes()
    assert f"newer nest (schema {len(MIGRATIONS) + 1}" in error(path)
    assert path.read_bytes() == before


@pytest.mark.parametrize("where", ["pages", "end"])
def test_a_damaged_ledger_is_refused(where: str, tmp_path: Path) -> None:
    path = stocked(tmp_path)
    data = bytearray(path.read_bytes())
    if where == "pages":
        for at in range(4096, len(data), 4096):
            data[at : at + 200] = b"\xa5" * 200
    else:
        data = data[: len(data) // 2]
    path.write_bytes(data)
    assert "damaged" in error(path)
    assert path.read_bytes() == bytes(data)


def test_a_ledger_that_another_program_writes_is_waited_for_and_then_said_to_be_in_use(tmp_path: Path) -> None:
    path = stocked(tmp_path)
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    assert "in use by another program" in error(path)
    other.execute("ROLLBACK")
    other.close()
    with Ledger(path) as ledger:
        assert ledger.revision() == 1


def test_a_lock_taken_between_opening_and_writing_is_one_clear_error(tmp_path: Path) -> None:
    path = stocked(tmp_path)
    other = sqlite3.connect(path, isolation_level=None)
    with Ledger(path, busy_ms=50) as ledger:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(StockError, match="in use by another program"), ledger.atomic():
            raise AssertionError("the block runs only with the lock")
        other.execute("ROLLBACK")
        with ledger.atomic():
            pass
    other.close()


READ_ONLY = """
import os, sys
from datetime import date
from pathlib import Path
from nest.errors import StockError
from nest.store import actions
from nest.store.ledger import Ledger
if os.getuid() == 0:
    # rights do not bind root: become nobody
    os.setgroups([])
    os.setgid(65534)
    os.setuid(65534)
with Ledger(Path(sys.argv[1])) as ledger:
    print(ledger.stock().lots[0].on_hand)
    try:
        actions.scrap(ledger, "L-0001", 1, "", date(2027, 3, 1))
    except StockError as fault:
        print(fault.exit_code, fault)
"""


@pytest.mark.parametrize("what", ["file", "folder"])
def test_a_ledger_that_may_only_be_read_is_read_and_not_written(what: str, request: pytest.FixtureRequest) -> None:
    # the test's own folder is closed to others
    top = Path(tempfile.mkdtemp())
    request.addfinalizer(lambda: shutil.rmtree(top))
    top.chmod(0o755)
    folder = top / "share"
    folder.mkdir()
    path = stocked(folder)
    before = path.read_bytes()
    path.chmod(0o444 if what == "file" else 0o666)
    folder.chmod(0o555 if what == "folder" else 0o755)
    ran = subprocess.run([sys.executable, "-c", READ_ONLY, str(path)], capture_output=True, text=True, check=False)
    folder.chmod(0o755)
    assert ran.stdout.startswith("10\n4 "), ran.stderr
    assert "nothing has been changed" in ran.stdout
    assert path.read_bytes() == before
    assert [p.name for p in folder.iterdir()] == ["store.db"]


def test_the_journal_is_one_that_leaves_a_single_file(tmp_path: Path) -> None:
    path = stocked(tmp_path)
    other = sqlite3.connect(path)
    other.execute("PRAGMA journal_mode = WAL")
    other.close()
    connection = connect(path)
    assert connection.execute("PRAGMA journal_mode").fetchone()[0] == "delete"
    assert connection.execute("PRAGMA synchronous").fetchone()[0] == 3
    assert connection.execute("PRAGMA foreign_keys").fetchone()[0] == 1
    connection.close()
    assert [p.name for p in tmp_path.iterdir()] == ["store.db"]


def test_a_new_ledger_never_takes_the_place_of_a_file(tmp_path: Path) -> None:
    (tmp_path / "store.db").write_text("mine")
    with pytest.raises(StockError, match="exists already"):
        create(tmp_path / "store.db", Unit.MM, "EUR")
    assert (tmp_path / "store.db").read_text() == "mine"
    assert [p.name for p in tmp_path.iterdir()] == ["store.db"]


def test_a_new_ledger_whose_filling_fails_is_not_there(tmp_path: Path) -> None:
    def fail(_: Path) -> None:
        raise StockError("no")

    with pytest.raises(StockError, match="no"):
        create(tmp_path / "store.db", Unit.MM, "EUR", fail)
    assert list(tmp_path.iterdir()) == []


def test_a_new_ledger_in_a_folder_that_is_not_there_is_one_clear_error(tmp_path: Path) -> None:
    with pytest.raises(StockError, match="cannot be opened"):
        create(tmp_path / "none" / "store.db", Unit.MM, "EUR")


MORE = (*MIGRATIONS, Migration(name="second thoughts", statements=("CREATE TABLE more (id INTEGER) STRICT",)))


def test_an_older_ledger_is_brought_up_to_date_with_a_backup_of_it_beside(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = stocked(tmp_path)
    before = balances_of(path)
    monkeypatch.setattr(opening, "MIGRATIONS", MORE)
    with Ledger(path) as ledger:
        assert ledger.rows("PRAGMA user_version") == [(len(MORE),)]
        assert ledger.rows("SELECT count(*) FROM more") == [(0,)]
    assert balances_of(path) == before
    monkeypatch.setattr(opening, "MIGRATIONS", MIGRATIONS)
    assert balances_of(tmp_path / "store.db.before-second-thoughts.bak") == before


def test_a_migration_that_fails_leaves_the_ledger_as_it_was(tmp_path: Path) -> None:
    path = stocked(tmp_path)
    broken = (*MIGRATIONS, Migration(name="broken", statements=("CREATE TABLE more (id INTEGER)", "CREATE nonsense")))
    before = balances_of(path)
    connection = connect(path)
    with pytest.raises(StockError, match="nonsense"):
        migrate(path, connection, broken)
    assert connection.execute("SELECT name FROM sqlite_schema WHERE name = 'more'").fetchall() == []
    connection.close()
    assert balances_of(path) == before


def test_a_backup_is_whole_and_overwrites_nothing(tmp_path: Path) -> None:
    path = stocked(tmp_path)
    with Ledger(path) as ledger:
        ledger.backup(tmp_path / "copy.db")
        with pytest.raises(StockError, match="exists already"):
            ledger.backup(tmp_path / "copy.db")
    assert balances_of(tmp_path / "copy.db") == balances_of(path)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["copy.db", "store.db"]


def test_a_copied_file_is_the_ledger_too(tmp_path: Path) -> None:
    path = stocked(tmp_path)
    shutil.copy(path, tmp_path / "copy.db")
    assert balances_of(tmp_path / "copy.db") == {"L-0001": 10, "F-0001": 1}


def test_the_file_says_whose_it_is(tmp_path: Path) -> None:
    head = fresh(tmp_path).read_bytes()[:72]
    assert int.from_bytes(head[68:72], "big") == APPLICATION_ID
    assert int.from_bytes(head[60:64], "big") == len(MIGRATIONS)


@pytest.mark.parametrize(
    ("place", "kind"),
    [("/data/store.db", "ext4"), ("/shares/plates/store.db", "nfs4"), ("/shares/plates/local/store.db", "xfs"),
     ("/shares/platesmore/store.db", "ext4"), ("/shares/with blank/store.db", "cifs")],
)  # fmt: skip
def test_the_file_system_is_that_of_the_innermost_mount(place: str, kind: str, tmp_path: Path) -> None:
    mounts = tmp_path / "mounts"
    mounts.write_text(MOUNTS)
    path = type(tmp_path)(place)
    assert file_system(path, mounts) == kind
    warning = network_warning(path, mounts)
    assert (warning is None) == (kind in ("ext4", "xfs"))
    assert warning is None or kind in warning


def test_without_a_table_of_mounts_nothing_is_said(tmp_path: Path) -> None:
    assert network_warning(tmp_path / "store.db", tmp_path / "none") is None
