"""A backup holds everything, any database takes it back, and a damaged one changes nothing."""

from __future__ import annotations

import io
import json
import os
import shutil
import stat
import threading
import zipfile
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from a_studio import CHART, WHO, fill
from sqlalchemy import select

from laydown.kernel.errors import AlteredFile, CannotKeep, RefusedInput, UnreadableFile
from laydown.records import restoring
from laydown.records.backup import FORMAT, back_up, name_for, write_backup
from laydown.records.engine import sqlite_url
from laydown.records.file_vault import FileVault
from laydown.records.ledger import Records
from laydown.records.opening import open_records
from laydown.records.restoring import restore
from laydown.records.schema import TRANSIENT, metadata
from laydown.records.sealed_zip import SealedZip, open_sealed_zip, write_sealed_zip
from laydown.records.sign_in_tables import failed_attempts, passwords, sittings
from laydown.records.verifying import verify
from laydown.trials.stock import Supplier
from laydown.trials.trial import Trial
from private_postgresql import Server
from ticking_clock import Clock

Change = Callable[[dict[str, bytes], dict[str, Any]], None]  # of the members, and of what the manifest says
Rewriter = Callable[[Change], Path]
KINDS = ["sqlite", pytest.param("postgresql", marks=pytest.mark.postgresql)]


@pytest.fixture
def other_sqlite(empty_sqlite: Path, tmp_path: Path, clock: Clock) -> Iterator[Records]:
    """Empty records elsewhere, with files of their own."""
    shutil.copy(empty_sqlite, tmp_path / "other.sqlite")
    opened = open_records(sqlite_url(tmp_path / "other.sqlite"), str(tmp_path / "other files"), clock=clock)
    yield opened
    opened.close()


@pytest.fixture
def other_postgresql(
    postgresql_server: Server, empty_postgresql: str, tmp_path: Path, clock: Clock
) -> Iterator[Records]:
    """The same on PostgreSQL."""
    name = postgresql_server.new_database(template=empty_postgresql)
    opened = open_records(postgresql_server.address(name), str(tmp_path / "other files"), clock=clock)
    yield opened
    opened.close()
    postgresql_server.drop_database(name)


@pytest.fixture(params=KINDS)
def other_records(request: pytest.FixtureRequest) -> Records:
    """Empty records elsewhere, once on each kind of database."""
    opened: Records = request.getfixturevalue(f"other_{request.param}")
    return opened


def everything(records: Records) -> dict[str, list[tuple[Any, ...]]]:
    """Every row of every table that lasts."""
    with records.look() as look:
        return {
            name: [tuple(row) for row in look.connection.execute(select(table).order_by(*table.primary_key))]
            for name, table in metadata.tables.items()
            if name not in TRANSIENT
        }


def test_everything_comes_back_on_any_database(
    any_records: Records, other_records: Records, tmp_path: Path
) -> None:
    fill(any_records)
    made = back_up(any_records, tmp_path / "b.zip")
    assert (made.entries, made.files, made.lost) == (7, 10, ())
    before = everything(any_records)
    assert made.rows == sum(map(len, before.values()))
    done = restore(other_records, tmp_path / "b.zip")
    assert everything(other_records) == before
    assert (done.rows, done.files, done.before) == (made.rows, 10, None)
    found = verify(other_records)
    assert found.sound, found.troubles
    assert (found.last_digest, found.files) == (made.last_digest, 10)
    # and work goes on where it was left
    with other_records.work("goes on", who=WHO) as work:
        work.add(Supplier(id="s9", name="Moor Mill"))
        assert work.seq == made.entries + 1
    assert verify(other_records).sound


def test_there_and_back_makes_the_same_backup(
    any_records: Records, other_records: Records, tmp_path: Path, clock: Clock
) -> None:
    fill(any_records)
    clock.tick *= 0
    back_up(any_records, tmp_path / "a.zip")
    restore(other_records, tmp_path / "a.zip")
    back_up(other_records, tmp_path / "b.zip")
    assert (tmp_path / "a.zip").read_bytes() == (tmp_path / "b.zip").read_bytes()


def test_sign_ins_end_and_passwords_stay(
    any_records: Records, other_records: Records, tmp_path: Path
) -> None:
    now = datetime(2026, 3, 2, tzinfo=UTC)
    with any_records.writing() as connection:
        connection.execute(passwords.insert().values(account_id="a", hash="$argon2$…", changed_at=now))
        connection.execute(failed_attempts.insert(), [{"key": "k", "at": now}] * 3)
        times = dict.fromkeys(("begun_at", "seen_at", "idle_ends_at", "ends_at"), now)
        connection.execute(sittings.insert().values(token="t", id="i", name="n", role="bench", **times))
    back_up(any_records, tmp_path / "b.zip")
    restore(other_records, tmp_path / "b.zip")
    with other_records.writing() as connection:
        assert connection.execute(select(passwords.c.hash)).scalars().all() == ["$argon2$…"]
        assert connection.execute(select(sittings)).all() == []
        connection.execute(failed_attempts.insert(), [{"key": "k", "at": now}])  # its numbers begin anew


@pytest.mark.skipif(os.name != "posix", reason="LEFT OUT: files have no such permissions here")
def test_a_backup_is_its_owners_alone(records: Records, tmp_path: Path) -> None:
    before = os.umask(0o022)
    try:
        made = back_up(records, tmp_path / "a.zip")
    finally:
        os.umask(before)
    assert stat.S_IMODE(made.path.stat().st_mode) == 0o600


def test_a_backup_is_of_one_moment(any_records: Records, tmp_path: Path) -> None:
    """While others go on working: the journal and the tables in it agree."""
    fill(any_records)
    stop = threading.Event()
    worked: list[int] = []

    def go_on() -> None:
        while not stop.is_set():
            with any_records.work("books in", who=WHO) as work:
                work.add(Supplier(id=any_records.new_id(), name="x"))
                worked.append(work.seq)

    worker = threading.Thread(target=go_on)
    worker.start()
    try:
        made = [back_up(any_records, tmp_path / f"{n}.zip") for n in range(4)]
    finally:
        stop.set()
        worker.join()
    assert worked
    for one in made:
        with (
            one.path.open("rb") as file,
            open_sealed_zip(file, file="b", wanted=FORMAT) as box,
        ):
            assert box.about["entries"] == box.about["rows"]["journal"] == one.entries
            suppliers = box.read("tables/suppliers.jsonl").splitlines()
            assert len(suppliers) == 1 + one.entries - 7
    assert made[-1].entries > made[0].entries


def test_what_somebody_keeps_while_files_are_put_back_is_not_overwritten(
    records: Records, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A restore into an empty data folder, where somebody began to work before it came to the records."""
    source = back_up(records, tmp_path / "a.zip").path
    real = restoring._take_files

    def meanwhile(vault: FileVault, box: SealedZip) -> int:
        with records.work("books in", who=WHO) as work:
            work.add(Supplier(id="s", name="Reedbed Paper (invented)"))
        return real(vault, box)

    monkeypatch.setattr(restoring, "_take_files", meanwhile)
    with pytest.raises(RefusedInput, match="there are records here already"):
        restore(records, source)
    with records.look() as look:
        assert [one.id for one in look.find(Supplier)] == ["s"]


def test_records_that_are_there_are_not_overwritten(
    any_records: Records, other_records: Records, tmp_path: Path
) -> None:
    fill(any_records)
    back_up(any_records, tmp_path / "b.zip")
    with other_records.work("books in", who=WHO) as work:
        work.add(Supplier(id="s9", name="Moor Mill"))
    before = everything(other_records)
    with pytest.raises(RefusedInput, match=r"records here already.*--replace"):
        restore(other_records, tmp_path / "b.zip")
    assert everything(other_records) == before
    done = restore(other_records, tmp_path / "b.zip", replacing=tmp_path / "aside.zip")
    assert everything(other_records) == everything(any_records)
    assert done.before is not None
    assert done.before.entries == 1
    restore(other_records, tmp_path / "aside.zip", replacing=tmp_path / "aside 2.zip")
    assert everything(other_records) == before


def test_where_the_present_cannot_be_set_aside_nothing_is_replaced(
    any_records: Records, tmp_path: Path
) -> None:
    fill(any_records)
    back_up(any_records, tmp_path / "b.zip")
    before = everything(any_records)
    with pytest.raises(RefusedInput, match="a file of that name already"):
        restore(any_records, tmp_path / "b.zip", replacing=tmp_path / "b.zip")
    assert everything(any_records) == before


@pytest.fixture
def a_backup(studio: Records, tmp_path: Path) -> Path:
    return back_up(studio, tmp_path / "b.zip").path


def test_a_damaged_backup_names_what_is_damaged_and_changes_nothing(
    a_backup: Path, other_sqlite: Records, rng: np.random.Generator
) -> None:
    sound = a_backup.read_bytes()
    with zipfile.ZipFile(a_backup) as archive:
        starts = {info.filename: info.header_offset for info in archive.infolist()}
        sizes = {info.filename: info.compress_size for info in archive.infolist()}
    for name in ("tables/journal.jsonl", "tables/sheets.jsonl", f"files/{_largest(sizes)}", "manifest.json"):
        altered = bytearray(sound)
        # 80 bytes into the member, behind its name: among its packed content
        altered[starts[name] + 30 + len(name) + 60] ^= 0xFF
        a_backup.write_bytes(altered)
        with pytest.raises(AlteredFile, match=name):
            restore(other_sqlite, a_backup)
    for place in rng.integers(0, len(sound), 40):
        altered = bytearray(sound)
        altered[place] ^= 1 << int(rng.integers(8))
        a_backup.write_bytes(altered)
        with pytest.raises((AlteredFile, UnreadableFile)):
            restore(other_sqlite, a_backup)
    for length in (0, 10, len(sound) // 2, len(sound) - 1):
        a_backup.write_bytes(sound[:length])
        with pytest.raises((AlteredFile, UnreadableFile)):
            restore(other_sqlite, a_backup)
    assert not any(everything(other_sqlite).values())
    a_backup.write_bytes(sound)
    assert restore(other_sqlite, a_backup).rows


def _largest(sizes: dict[str, int]) -> str:
    files = {name: size for name, size in sizes.items() if name.startswith("files/")}
    return max(files, key=lambda name: files[name]).removeprefix("files/")


@pytest.fixture
def rewritten(a_backup: Path) -> Rewriter:
    """A backup whose content was altered by somebody who sealed it again."""

    def rewrite(change: Change) -> Path:
        with a_backup.open("rb") as file, open_sealed_zip(file, file="b", wanted=FORMAT) as box:
            members = {name: box.read(name) for name in box.names()}
            about = dict(box.about)
        change(members, about)
        target = io.BytesIO()
        write_sealed_zip(target, members.items(), about=about)
        a_backup.write_bytes(target.getvalue())
        return a_backup

    return rewrite


def _newer(members: dict[str, bytes], about: dict[str, Any]) -> None:
    about.update(revision="9999", made_by="Laydown 99")


def _newer_form(members: dict[str, bytes], about: dict[str, Any]) -> None:
    about["version"] = 2


def _no_table(members: dict[str, bytes], about: dict[str, Any]) -> None:
    del members["tables/sheets.jsonl"]


def _odd_table(members: dict[str, bytes], about: dict[str, Any]) -> None:
    members["tables/invoices.jsonl"] = b""


def _odd_column(members: dict[str, bytes], about: dict[str, Any]) -> None:
    row = json.loads(members["tables/printers.jsonl"]) | {"colour": "red"}
    members["tables/printers.jsonl"] = json.dumps(row).encode()


def _no_json(members: dict[str, bytes], about: dict[str, Any]) -> None:
    members["tables/printers.jsonl"] += b"nonsense\n"


def _odd_day(members: dict[str, bytes], about: dict[str, Any]) -> None:
    members["tables/trials.jsonl"] = members["tables/trials.jsonl"].replace(b"2026-03-02", b"2026-13-02")


def _no_parent(members: dict[str, bytes], about: dict[str, Any]) -> None:
    members["tables/suppliers.jsonl"] = b""


def _odd_file(members: dict[str, bytes], about: dict[str, Any]) -> None:
    members["files/" + "0" * 64] = b"not what its name says"


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (_newer, r"made by a newer program \(Laydown 99\)"),
        (_newer_form, "made by a newer program"),
        (_no_table, r"tables/sheets\.jsonl does not belong"),
        (_odd_table, r"tables/invoices\.jsonl does not belong"),
        (_odd_column, r"b\.zip, printers, line 1: this is no row of that table \(other columns"),
        (_no_json, r"b\.zip, printers, line 2: this is no row of that table"),
        (_odd_day, r"b\.zip, trials, line 1: this is no row"),
        (_no_parent, "to suppliers that are not there: 1"),
        (_odd_file, "files/0000.* is not the file its name says"),
    ],
)
def test_a_backup_that_makes_no_sense_changes_nothing(
    other_sqlite: Records, rewritten: Rewriter, change: Change, told: str
) -> None:
    _refused_and_unchanged(other_sqlite, rewritten(change), told)


@pytest.mark.postgresql
def test_what_is_half_taken_back_is_undone_on_postgresql_too(
    other_postgresql: Records, rewritten: Rewriter
) -> None:
    _refused_and_unchanged(other_postgresql, rewritten(_no_parent), "to suppliers that are not there: 1")


def _refused_and_unchanged(records: Records, backup: Path, told: str) -> None:
    with records.work("books in", who=WHO) as work:
        work.add(Supplier(id="s9", name="Moor Mill"))
    before = everything(records)
    with pytest.raises(RefusedInput, match=told):
        restore(records, backup, replacing=backup.parent / "aside.zip")
    assert everything(records) == before
    assert verify(records).sound


def test_what_is_no_backup_is_refused(records: Records, tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("buy milk")
    with pytest.raises(UnreadableFile):
        restore(records, tmp_path / "notes.txt")
    with pytest.raises(UnreadableFile, match="cannot be opened"):
        restore(records, tmp_path / "gone.zip")
    with (tmp_path / "trial.zip").open("xb+") as file:
        write_sealed_zip(file, [("a", b"b")], about={"format": "laydown trial"})
    with pytest.raises(UnreadableFile, match="not a laydown backup"):
        restore(records, tmp_path / "trial.zip")


def test_one_damaged_file_does_not_keep_the_rest_from_being_saved(
    records: Records, other_sqlite: Records, tmp_path: Path
) -> None:
    fill(records)
    damaged = next(one for one in records.vault.all() if records.vault.size(one) == len(CHART) + 1)
    (tmp_path / "files" / damaged[:2] / damaged).write_bytes(b"rot")
    made = back_up(records, tmp_path / "b.zip")
    assert [lost.sha256 for lost in made.lost] == [damaged]
    assert made.files == 9
    done = restore(other_sqlite, tmp_path / "b.zip")
    assert done.lost == (damaged,)
    (trouble,) = verify(other_sqlite).troubles
    assert damaged in trouble.where
    assert "missing" in trouble.what


def test_a_backup_without_files_wants_them_beside_it(
    records: Records, other_sqlite: Records, tmp_path: Path
) -> None:
    """As one is made before an update: the files stay where they are."""
    fill(records)
    with records.look() as look:
        write_backup(look.connection, records.vault, tmp_path / "b.zip", now=records.now(), with_files=False)
    with pytest.raises(UnreadableFile, match="holds records only"):
        restore(other_sqlite, tmp_path / "b.zip")
    for sha256 in records.vault.all():
        other_sqlite.vault.keep(records.vault.read(sha256))
    restore(other_sqlite, tmp_path / "b.zip")
    assert verify(other_sqlite).sound


def test_where_it_is_put(records: Records, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    fill(records)
    (tmp_path / "usb").mkdir()
    in_folder = back_up(records, tmp_path / "usb")
    assert in_folder.path.parent == tmp_path / "usb"
    assert in_folder.path.name.startswith("laydown-2026-03-02-")
    assert back_up(records, tmp_path / "new folder" / "b.zip").path.is_file()
    with pytest.raises(RefusedInput, match="a file of that name already"):
        back_up(records, tmp_path / "new folder" / "b.zip")
    (tmp_path / "file").write_text("x")
    with pytest.raises(CannotKeep, match="no backup can be put there"):
        back_up(records, tmp_path / "file" / "b.zip")
    names = [name_for(datetime(2026, 3, 2, hour, tzinfo=UTC)) for hour in (8, 9, 17)]
    assert names == sorted(names)


def test_a_backup_that_cannot_be_finished_leaves_nothing(
    records: Records, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fill(records)
    (tmp_path / "usb").mkdir()

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("laydown.records.backup.os.fsync", full)
    with pytest.raises(CannotKeep, match=r"backup cannot be written \(No space left on device\)"):
        back_up(records, tmp_path / "usb")
    assert list((tmp_path / "usb").iterdir()) == []


def test_a_trial_in_a_backup_can_be_read_without_this_program(a_backup: Path) -> None:
    """Plain ZIP, plain JSON lines, files under the SHA-256 of what they hold."""
    with zipfile.ZipFile(a_backup) as archive:
        (trial,) = map(json.loads, archive.read("tables/trials.jsonl").splitlines())
        assert trial["name"] == "Spring trial"
        assert set(trial) == {"revision", *Trial.__dataclass_fields__}
        (reading, _) = map(json.loads, archive.read("tables/readings.jsonl").splitlines())
        assert archive.read(f"files/{reading['file_sha256']}") == CHART + b"1"
