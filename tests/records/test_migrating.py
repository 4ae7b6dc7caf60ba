"""Databases of any age are brought up to date, after a backup, or left exactly as they were."""

from __future__ import annotations

import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Barrier

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import inspect, text
from sqlalchemy.exc import DBAPIError

import laydown.records.migrations
from laydown.kernel.errors import CannotKeep, RefusedInput
from laydown.records import chain, migrating
from laydown.records.engine import open_engine, sqlite_url
from laydown.records.ledger import Records
from laydown.records.migrating import broken_references, revision_of
from laydown.records.opening import open_records
from laydown.records.restoring import restore
from laydown.records.schema import NEWEST, metadata
from laydown.trials.stock import Medium, Supplier
from private_postgresql import Server

OWN = Path(laydown.records.migrations.__file__).parent

NEXT = '''"""A test's revision: suppliers get a country, and what was there says so."""
import sqlalchemy as sa
from alembic import op

revision = "{revision}"
down_revision = "{newest}"
branch_labels = None
depends_on = None


def upgrade():
    with op.batch_alter_table("suppliers") as suppliers:
        suppliers.add_column(sa.Column("country", sa.Text(), nullable=True))
    op.execute("UPDATE suppliers SET country = 'not stated'")
    {more}
'''


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgresql)])
def bare_address(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """A database in which nothing was ever made."""
    if request.param == "sqlite":
        yield sqlite_url(tmp_path / "bare.sqlite")
        return
    server: Server = request.getfixturevalue("postgresql_server")
    name = server.new_database()
    yield server.address(name)
    server.drop_database(name)


@pytest.fixture
def a_newer_program(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., None]:
    """From its call on, this program knows one revision more than it really does."""

    def know(more: str = "", revision: str = "0999") -> None:
        folder = tmp_path / "migrations"
        shutil.copytree(OWN, folder, ignore=shutil.ignore_patterns("__pycache__"))
        step = NEXT.format(revision=revision, newest=NEWEST, more=more)
        (folder / "versions/r0999_next.py").write_text(step, encoding="utf-8")
        monkeypatch.setattr(chain, "CHAIN", str(folder))
        monkeypatch.setattr(migrating, "NEWEST", revision)

    return know


def a_supplier(records: Records) -> Supplier:
    with records.work("books in", who="A. Printer") as work:
        supplier = work.add(Supplier(id=records.new_id(), name="Fen Mill"))
        work.add(Medium(id=records.new_id(), name="Fenland Rag", supplier_id=supplier.id))
        return supplier


def differences(records: Records) -> list[object]:
    with records.engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        return list(compare_metadata(context, metadata))


def test_what_the_chain_makes_is_what_the_tables_say(any_records: Records) -> None:
    """If this fails: python tests/records/write_first_revision.py, as long as nothing was released."""
    assert differences(any_records) == []


def test_a_difference_would_be_seen(any_records: Records) -> None:
    with any_records.writing() as connection:
        connection.execute(text("ALTER TABLE suppliers ADD COLUMN odd INTEGER"))
        connection.execute(text("DROP INDEX uq_plans_one"))
    assert len(differences(any_records)) == 2


def test_one_chain_with_one_end() -> None:
    config = Config()
    config.set_main_option("script_location", chain.CHAIN)
    scripts = ScriptDirectory.from_config(config)
    assert scripts.get_heads() == [NEWEST]
    assert len(scripts.get_bases()) == 1
    for script in scripts.walk_revisions():
        assert not script.is_branch_point
        assert not script.is_merge_point


@pytest.mark.parametrize("table", ["journal", "journal_subjects"])
@pytest.mark.parametrize("deed", ["UPDATE {} SET seq = 7", "DELETE FROM {}", "TRUNCATE {} CASCADE"])
def test_the_journal_is_only_ever_added_to(any_records: Records, table: str, deed: str) -> None:
    if "TRUNCATE" in deed and any_records.engine.dialect.name == "sqlite":
        return  # SQLite has no such statement
    a_supplier(any_records)
    with (
        any_records.engine.connect() as connection,
        pytest.raises(DBAPIError, match="the journal is only ever added to"),
    ):
        connection.execute(text(deed.format(table)))
    with any_records.look() as look:
        assert [entry.seq for entry in look.entries()] == [1]


def test_an_old_database_is_backed_up_and_brought_up_to_date(
    any_address: str, tmp_path: Path, a_newer_program: Callable[..., None]
) -> None:
    old = open_records(any_address, str(tmp_path / "files"))
    supplier = a_supplier(old)
    with old.look() as look:
        entries = look.entries()
    old.close()
    a_newer_program()
    new = open_records(any_address, str(tmp_path / "files"))
    with new.look() as look:
        assert revision_of(look.connection) == "0999"
        assert look.entries() == entries
        told = look.connection.execute(text("SELECT id, name, country FROM suppliers")).all()
        assert [tuple(row) for row in told] == [(supplier.id, "Fen Mill", "not stated")]
        assert look.count(Medium, supplier_id=supplier.id) == 1
        assert list(broken_references(look.connection)) == []
    new.close()
    (kept,) = (tmp_path / "backups").iterdir()
    assert kept.name.startswith("before-update-")
    # and what was backed up can be had again, by the old program
    again = open_records(sqlite_url(tmp_path / "again.sqlite"), str(tmp_path / "files"))
    restore(again, kept)
    with again.look() as look:
        assert revision_of(look.connection) == "0999"
        assert look.get(Supplier, supplier.id) == supplier
    again.close()


def test_an_empty_database_needs_no_backup(
    any_address: str, tmp_path: Path, a_newer_program: Callable[..., None]
) -> None:
    a_newer_program()
    open_records(any_address, str(tmp_path / "files")).close()
    assert not (tmp_path / "backups").exists()


def test_a_step_that_fails_leaves_everything_as_it_was(
    any_address: str, tmp_path: Path, a_newer_program: Callable[..., None], monkeypatch: pytest.MonkeyPatch
) -> None:
    old = open_records(any_address, str(tmp_path / "files"))
    supplier = a_supplier(old)
    old.close()
    a_newer_program(more='raise RuntimeError("half-way")')
    with pytest.raises(CannotKeep, match=r"half-way.*they are as they were.*before-update-") as failed:
        open_records(any_address, str(tmp_path / "files"))
    (kept,) = (tmp_path / "backups").iterdir()
    assert str(kept) in str(failed.value)
    monkeypatch.undo()
    still = open_records(any_address, str(tmp_path / "files"))
    with still.look() as look:
        assert revision_of(look.connection) == NEWEST
        assert look.get(Supplier, supplier.id) == supplier
        columns = {column["name"] for column in inspect(look.connection).get_columns("suppliers")}
        assert "country" not in columns
    still.close()


def test_a_step_that_tears_references_is_taken_back(
    any_address: str, tmp_path: Path, a_newer_program: Callable[..., None], monkeypatch: pytest.MonkeyPatch
) -> None:
    old = open_records(any_address, str(tmp_path / "files"))
    supplier = a_supplier(old)
    old.close()
    a_newer_program(more='op.execute("DELETE FROM suppliers")')
    with pytest.raises(CannotKeep, match="they are as they were"):
        open_records(any_address, str(tmp_path / "files"))
    monkeypatch.undo()
    still = open_records(any_address, str(tmp_path / "files"))
    with still.look() as look:
        assert look.get(Supplier, supplier.id) == supplier
    still.close()


def test_where_no_backup_can_be_made_nothing_is_altered(
    any_address: str, tmp_path: Path, a_newer_program: Callable[..., None]
) -> None:
    old = open_records(any_address, str(tmp_path / "files"))
    a_supplier(old)
    old.close()
    (tmp_path / "backups").write_text("a file where the folder should be")
    a_newer_program()
    with pytest.raises(CannotKeep, match="no backup can be put there"):
        open_records(any_address, str(tmp_path / "files"))
    engine = open_engine(any_address)
    with engine.connect() as connection:
        assert revision_of(connection) == NEWEST
    engine.dispose()


def test_records_of_a_newer_program_are_left_alone(any_address: str, tmp_path: Path) -> None:
    records = open_records(any_address, str(tmp_path / "files"))
    with records.writing() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    records.close()
    with pytest.raises(RefusedInput, match=r"written by a newer Laydown \(their form is 9999"):
        open_records(any_address, str(tmp_path / "files"))


def test_a_database_of_something_else_is_left_alone(bare_address: str, tmp_path: Path) -> None:
    engine = open_engine(bare_address)
    with engine.begin() as connection:
        connection.execute(text("CREATE TABLE invoices (number INTEGER)"))
    with pytest.raises(RefusedInput, match="holds tables that are not Laydown's"):
        open_records(bare_address, str(tmp_path / "files"))
    with engine.connect() as connection:
        assert inspect(connection).get_table_names() == ["invoices"]
    engine.dispose()


def test_many_threads_start_at_once(bare_address: str, tmp_path: Path) -> None:
    together = Barrier(8)

    def start(number: int) -> str:
        together.wait()
        records = open_records(bare_address, str(tmp_path / "files"))
        name = a_supplier(records).name
        records.close()
        return name

    with ThreadPoolExecutor(8) as threads:
        assert list(threads.map(start, range(8))) == ["Fen Mill"] * 8
    records = open_records(bare_address, str(tmp_path / "files"))
    with records.look() as look:
        assert [entry.seq for entry in look.entries()] == list(range(8, 0, -1))
    records.close()


STARTER = """
import sys
from laydown.records.opening import open_records
records = open_records(sys.argv[1], sys.argv[2])
with records.look() as look:
    print(len(look.entries()))
records.close()
"""


def test_two_programs_start_at_once(bare_address: str, tmp_path: Path) -> None:
    command = [sys.executable, "-c", STARTER, bare_address, str(tmp_path / "files")]
    both = [
        subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) for _ in range(2)
    ]
    for program in both:
        out, complaint = program.communicate(timeout=60)
        assert (out, complaint, program.returncode) == ("0\n", "", 0)
