"""The store: what is written stays, whole or not at all, and can be brought back."""

import sqlite3
import zipfile

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Column, Integer, insert, select, text

from chape.errors import InputError, OutputError
from chape.shop import folder as folders
from chape.shop.customers import forget, note_of, write_note
from chape.shop.folder import backup, bring_up, new_shop, restore
from chape.shop.migrate import migrations
from chape.shop.orders import Wanted, list_orders
from chape.shop.rows import export_files
from chape.shop.store import REVISION, open_shop
from chape.shop.tables import METADATA, ORDERS, STOCK
from small_shop import NOW, TEXT, enter, order_line, small_shop


@pytest.fixture
def shop(tmp_path):
    made = small_shop(tmp_path / "shop")
    yield made
    made.close()


def _drift(connection):
    context = MigrationContext.configure(connection, opts={"compare_type": True})
    return compare_metadata(context, METADATA)


def test_migrations_make_the_tables_that_the_code_expects(shop):
    assert shop.read(_drift) == []


def test_a_drift_would_be_seen(shop):
    STOCK.append_column(Column("drift", Integer))
    try:
        assert shop.read(_drift)
    finally:
        STOCK._columns.remove(STOCK.c.drift)
    assert shop.read(_drift) == []


def test_the_newest_migration_is_the_one_the_store_asks_for():
    assert ScriptDirectory.from_config(migrations()).get_current_head() == REVISION


def test_what_fails_half_way_leaves_nothing(shop):
    def half(connection):
        connection.execute(text("INSERT INTO counters VALUES ('x', 1)"))
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        shop.change(half)
    assert shop.read(lambda c: c.execute(text("SELECT count(*) FROM counters")).scalar()) == 0


def test_the_database_itself_refuses_what_cannot_be(shop):
    enter(shop, order_line())
    with pytest.raises(OutputError, match="CHECK"):
        shop.change(lambda c: c.execute(text("UPDATE orders SET state = 'lost'")))
    with pytest.raises(OutputError, match="FOREIGN KEY"):
        shop.change(lambda c: c.execute(text("UPDATE pieces SET batch_id = 77")))


def test_a_second_shop_in_one_folder_is_refused(shop):
    with pytest.raises(OutputError, match="already"):
        new_shop(shop.folder)


@pytest.mark.parametrize(
    ("database", "words"),
    [
        ("oracle-of-nobody://x/y", "no database can be reached"),
        ("postgresql+no_such_driver://h/y", "no database can be reached"),
        ("sqlite://///", "file|database"),
    ],
)
def test_a_database_that_cannot_be(tmp_path, database, words):
    text_ = TEXT.replace("[shop]", f'[shop]\ndatabase = "{database}"')
    with pytest.raises((InputError, OutputError), match=words):
        small_shop(tmp_path / "shop", text_)
    assert not (tmp_path / "shop/shop.toml").exists()


def test_a_missing_and_a_damaged_database_are_named(shop):
    path = shop.folder / "shop.db"
    shop.close()
    path.write_bytes(b"this is no database at all, but it is long enough to be read" * 20)
    with pytest.raises(InputError, match="damaged"):
        open_shop(shop.folder)
    path.unlink()
    with pytest.raises(InputError, match="not there"):
        open_shop(shop.folder)
    assert not path.exists()


def test_another_version_of_the_tables_is_refused_with_the_way_out(shop):
    shop.change(lambda c: c.execute(text("UPDATE alembic_version SET version_num = '9999'")))
    with pytest.raises(InputError, match="newer"):
        open_shop(shop.folder)
    with pytest.raises(InputError, match="newer"):
        bring_up(shop.folder)


def test_a_backup_brings_everything_back(shop, tmp_path):
    enter(shop, order_line(quantity=3, marks='ÄÖ, "x"', hold=27.5), order_line(model="slim"))
    shop.change(lambda c: write_note(c, "c1", "Somewhere 1\nAnytown", NOW))
    target = tmp_path / "kept.zip"
    backup(shop, target)
    again = restore(target, tmp_path / "again")
    for look in (export_files, lambda c: list_orders(c, Wanted())):
        assert again.read(look) == shop.read(look)
    fresh = enter(again, order_line())
    assert fresh[0].reference == "2026-0003"
    again.close()
    with pytest.raises(OutputError, match="already"):
        backup(shop, target)
    with pytest.raises(OutputError, match="already"):
        restore(target, shop.folder)


def test_a_backup_of_an_older_version_comes_up_to_date(tmp_path, monkeypatch):
    """The tables of the first migration, filled and kept, are brought through all later ones."""
    monkeypatch.setattr("chape.shop.migrate.REVISION", "0001")
    old = new_shop(tmp_path / "old", TEXT)
    monkeypatch.undo()
    values = {
        "reference": "2025-0001", "customer": "c", "model": "camp", "hand": "right",
        "sheet": "s", "colour": "black", "marks": "", "due": NOW.date(), "quantity": 1,
        "placed": NOW.date(), "note": "", "state": "open", "entered": NOW,
    }  # fmt: skip
    old.change(lambda c: c.execute(insert(ORDERS).values(values)))
    backup(old, tmp_path / "old.zip")
    fresh = restore(tmp_path / "old.zip", tmp_path / "fresh")
    assert fresh.read(_drift) == []
    assert fresh.read(lambda c: c.execute(select(ORDERS.c.reference)).scalars().all()) == [
        "2025-0001"
    ]
    fresh.close()
    kept = bring_up(old.folder)
    assert (kept is not None) == (REVISION != "0001")
    assert open_shop(old.folder).read(_drift) == []
    old.close()


@pytest.mark.parametrize("damage", ["empty", "text", "changed", "short"])
def test_a_damaged_backup_is_refused_and_leaves_nothing(shop, tmp_path, damage):
    enter(shop, order_line())
    target = tmp_path / "kept.zip"
    backup(shop, target)
    if damage in ("empty", "text"):
        target.write_bytes(b"" if damage == "empty" else b"no zip")
    else:
        with zipfile.ZipFile(target) as archive:
            files = {name: archive.read(name) for name in archive.namelist()}
        name = "tables/orders.jsonl"
        files[name] = files[name].replace(b"black", b"white") if damage == "changed" else b""
        with zipfile.ZipFile(target, "w") as archive:
            for entry, content in files.items():
                archive.writestr(entry, content)
    with pytest.raises(InputError, match="no whole backup"):
        restore(target, tmp_path / "again")
    assert not (tmp_path / "again/shop.toml").exists()


def test_a_folder_that_cannot_be_written_is_named(shop, tmp_path):
    with pytest.raises(OutputError, match="cannot be written"):
        backup(shop, tmp_path / "no-such-folder/kept.zip")
    (tmp_path / "file").write_text("x")
    with pytest.raises(OutputError, match="cannot be written"):
        new_shop(tmp_path / "file/shop")


def test_a_forgotten_note_is_nowhere_in_the_files(shop):
    shop.change(lambda c: write_note(c, "c1", "Xylophone Lane 7", NOW))
    shop.change(lambda c: write_note(c, "c2", "Another Road 8", NOW))
    forget(shop, "c1")
    shop.close()
    content = b"".join(path.read_bytes() for path in shop.folder.iterdir())
    assert b"Xylophone" not in content
    assert b"Another Road" in content
    assert shop.read(lambda c: note_of(c, "c1")) is None
    with pytest.raises(InputError, match="no shipping note"):
        forget(shop, "c1")


def test_a_commit_is_on_the_disk_before_it_is_acknowledged(shop):
    """What SQLite says of itself: WAL, and a sync with every commit (2 is FULL)."""
    assert shop.read(lambda c: c.execute(text("PRAGMA journal_mode")).scalar()) == "wal"
    assert shop.read(lambda c: c.execute(text("PRAGMA synchronous")).scalar()) == 2
    assert shop.read(lambda c: c.execute(text("PRAGMA foreign_keys")).scalar()) == 1


def test_a_reader_does_not_wait_for_a_writer(shop):
    enter(shop, order_line())

    def writing(connection):
        connection.execute(text("UPDATE orders SET note = 'half done'"))
        other = sqlite3.connect(shop.folder / "shop.db", timeout=0)
        seen = other.execute("SELECT note FROM orders").fetchall()
        other.close()
        return seen

    assert shop.change(writing) == [("",)]


def test_restore_can_move_a_shop(shop, tmp_path):
    enter(shop, order_line())
    backup(shop, tmp_path / "kept.zip")
    moved = restore(tmp_path / "kept.zip", tmp_path / "moved", "elsewhere.db")
    assert (tmp_path / "moved/elsewhere.db").is_file()
    assert moved.file.shop.name == "Test shop"
    moved.close()
    assert folders._with_database(b'[shop]\nname = "x"\n', "a").count(b"database") == 1
