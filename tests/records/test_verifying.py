"""Verify finds whatever was altered behind the program's back, and calls sound what is sound."""

from __future__ import annotations

import os
import re
import tracemalloc
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from a_studio import CHART, FORM_FILES, WHO
from sqlalchemy import text

from laydown.records import verifying
from laydown.records.backup import back_up
from laydown.records.checking_files import discard
from laydown.records.file_references import files_in
from laydown.records.ledger import Records
from laydown.records.verifying import Verification, verify
from laydown.trials.people import Account
from laydown.trials.recipe import Recipe
from laydown.trials.remarks import Attachment
from laydown.trials.stock import Supplier
from laydown.trials.trial import Candidate, Trial
from ticking_clock import Clock


def tamper(records: Records, *statements: str) -> None:
    """Alter the database as somebody would who has its password and takes the guards away first."""
    with records.engine.connect() as connection:
        if connection.dialect.name == "sqlite":
            guards = connection.execute(
                text("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
            ).all()
            connection.commit()
            own = connection.connection.driver_connection
            assert own is not None
            own.execute("PRAGMA foreign_keys = OFF")
            for name, _ in guards:
                connection.execute(text(f"DROP TRIGGER {name}"))
            for statement in statements:
                connection.execute(text(statement))
            for _, sql in guards:
                connection.execute(text(sql))
        else:
            connection.execute(text("SET session_replication_role = replica"))  # no triggers, no references
            for statement in statements:
                connection.execute(text(statement))
        connection.commit()
        connection.detach()


def told(found: Verification) -> str:
    return "\n".join(f"{trouble.where}: {trouble.what}" for trouble in found.troubles)


def test_a_studio_is_sound(any_studio: Records) -> None:
    found = verify(any_studio)
    assert found.sound, told(found)
    assert (found.entries, found.trials, found.files) == (7, 1, 10)
    assert found.rows == 35
    assert found.notes == ()
    kept = b"".join((b"mended", b"a photograph", b"a label", *FORM_FILES))
    assert found.bytes == 2 * (len(CHART) + 1) + len(kept)
    assert len(found.last_digest) == 64


def test_nothing_is_sound(any_records: Records) -> None:
    found = verify(any_records)
    assert found.sound
    assert (found.entries, found.rows, found.files) == (0, 0, 0)


@pytest.mark.parametrize(
    ("statement", "where", "what"),
    [
        ("UPDATE suppliers SET name = 'Moor Mill'", "Supplier su1", "its row is not what the journal says"),
        ("UPDATE sheets SET day = 2 WHERE id = 's-c0-2'", "Sheet s-c0-2", "its row is not what the journal"),
        ("UPDATE notes SET revision = 1", "Note n1", "names entry 1 as its last change; it was 7"),
        ("UPDATE printers SET head_gaps = '[7]'", "Printer p1", "its row cannot be read: .*head_gaps"),
        ("UPDATE sheets SET use = 'fun'", "Sheet s-c0-1", "its row cannot be read: .*use"),
        ("DELETE FROM notes", "Note n1", "the journal has it, its table has not"),
        ("DELETE FROM attachments WHERE id = 'a3'", "Attachment a3", "the journal has it, its table has not"),
        ("DELETE FROM retraces", "Retrace re1", "the journal has it, its table has not"),
        (
            "INSERT INTO suppliers SELECT 'su0', name, contact, words, 1 FROM suppliers",
            "Supplier su0",
            "its table has it, the journal has not",
        ),
        (
            "INSERT INTO suppliers SELECT 'su2', name, contact, words, 1 FROM suppliers",
            "Supplier su2",
            "its table has it, the journal has not",
        ),
        (
            "DELETE FROM lots",
            "the database",
            "rows of rolls that refer by lot_id to lots that are not there: 1",
        ),
        ("UPDATE journal SET who = 'Nobody' WHERE seq = 3", "journal entry 3", "is not what was written"),
        (
            "UPDATE journal SET words = 'x', digest = digest WHERE seq = 7",
            "journal entry 7",
            "is not what was written",
        ),
        ("DELETE FROM journal WHERE seq = 4", "journal entry 5", "entries missing before it: 1"),
        ("DELETE FROM journal WHERE seq = 7", "Note n1", "its row is not what the journal says"),
        (
            "UPDATE journal SET changes = replace(changes, 'Fine at noon', 'Fine at dusk') WHERE seq = 6",
            "journal entry 7, Note n1",
            "does not begin where the entries before it end",
        ),
        (
            "UPDATE journal SET changes = replace(changes, '\"Note\"', '\"Noise\"') WHERE seq = 6",
            "journal entry 6, Noise n1",
            "it cannot be read",
        ),
        (
            "UPDATE journal_subjects SET record_id = 'other' WHERE record_id = 'n1' AND seq = 7",
            "journal entry 7",
            "filed under other things",
        ),
        ("DELETE FROM journal_subjects WHERE seq = 2", "journal entry 2", "filed under other things"),
        (
            "UPDATE kept_files SET size = size + 1 WHERE size = 12",
            "file ",
            "it has 12 bytes, and had 13 when it was put away",
        ),
        ("DELETE FROM kept_files WHERE size = 12", "file ", "Attachment a1 refers to it, and it is not kept"),
        ("DELETE FROM kept_files WHERE size = 6", "file ", "Reading rd2 refers to it, and it is not kept"),
        ("DELETE FROM kept_files WHERE size = 11", "file ", "TestForm f1 refers to it, and it is not kept"),
        ("UPDATE test_forms SET pages = '[]'", "TestForm f1", "its row is not what the journal says"),
        ("UPDATE test_forms SET wish = '{}'", "TestForm f1", "its row cannot be read: .*wish"),
    ],
)
def test_whatever_was_altered_is_found(any_studio: Records, statement: str, where: str, what: str) -> None:
    tamper(any_studio, statement)
    found = verify(any_studio)
    assert not found.sound
    assert re.search(f"^{where}.*: .*{what}", told(found), flags=re.MULTILINE), told(found)


def test_the_guards_of_the_journal_must_be_in_place(any_studio: Records) -> None:
    sqlite = any_studio.engine.dialect.name == "sqlite"
    with any_studio.writing() as connection:
        drop = "DROP TRIGGER journal_no_update" if sqlite else "ALTER TABLE journal DISABLE TRIGGER ALL"
        connection.execute(text(drop))
    assert "triggers that keep it from being altered" in told(verify(any_studio))


def test_a_trial_that_contradicts_itself_is_found(any_studio: Records) -> None:
    """Written by something that did not ask; journal and tables agree with each other."""
    careless = Records(any_studio.engine, any_studio.vault, clock=any_studio.clock)
    with careless.work("names", who=WHO) as work:
        work.change(replace(work.get(Candidate, "c2-bare"), name="Rag"))
    told_of = {(trouble.where, trouble.what) for trouble in verify(any_studio).troubles}
    assert told_of == {("trial Spring trial", 'two candidates are called "Rag".')}


@pytest.mark.parametrize("harm", ["missing", "altered", "shorter"])
def test_a_kept_file_that_suffered_is_found(studio: Records, tmp_path: Path, harm: str) -> None:
    sha256 = next(one for one in studio.vault.all() if studio.vault.size(one) == len(CHART) + 1)
    path = tmp_path / "files" / sha256[:2] / sha256
    if harm == "missing":
        path.unlink()
    else:
        content = path.read_bytes()
        path.write_bytes(content[:-1] if harm == "shorter" else content[:-1] + b"~")
    (trouble,) = verify(studio).troubles
    assert trouble.where == f"file {sha256}"
    assert ("missing" if harm == "missing" else "bytes have changed") in trouble.what


def test_a_database_file_that_suffered_is_found(studio: Records, tmp_path: Path) -> None:
    path = tmp_path / "records.sqlite"
    with studio.engine.connect() as connection:
        root = connection.execute(
            text("SELECT rootpage FROM sqlite_master WHERE name = 'ix_sheets_trial_id'")
        ).scalar_one()
        size = connection.execute(text("PRAGMA page_size")).scalar_one()
        connection.rollback()
        connection.execute(text("PRAGMA wal_checkpoint(TRUNCATE)"))
    studio.engine.dispose()
    content = bytearray(path.read_bytes())
    content[root * size - 40 : root * size] = bytes(40)  # the end of the index's page: its first entries
    path.write_bytes(content)
    found = verify(studio)
    assert any(trouble.where == "the database's file" for trouble in found.troubles), told(found)


def make_old(path: Path, clock: Clock, *, hours: float) -> None:
    then = (clock.now - timedelta(hours=hours)).timestamp()
    os.utime(path, (then, then))


def test_left_overs_are_told_and_tidied_only_when_old_and_asked_for(
    studio: Records, tmp_path: Path, clock: Clock
) -> None:
    strays = [studio.vault.keep(content) for content in (b"old", b"young")]
    halves = [tmp_path / "files/incoming" / name for name in ("a" * 24, "b" * 24)]
    for half in halves:
        half.write_bytes(b"half")
    places = [tmp_path / "files" / stray[:2] / stray for stray in strays]
    for path, hours in ((places[0], 25), (places[1], 23), (halves[0], 25), (halves[1], 23)):
        make_old(path, clock, hours=hours)
    for path in (tmp_path / "files").rglob("*"):
        if path.is_file() and path not in (*places, *halves):
            make_old(path, clock, hours=1000)  # what is referred to may be as old as it likes
    (tmp_path / "files" / "notes.txt").write_text("buy milk")
    found = verify(studio)
    assert found.sound
    assert found.notes == (
        "files that nothing refers to: 2 (0.0 MB); laydown verify --tidy deletes them.",
        "files younger than a day that nothing refers to yet: 2; left alone.",
        "notes.txt lies among the kept files and was not put there by Laydown: left alone.",
    )
    assert (places[0].exists(), halves[0].exists()) == (True, True)
    tidied = verify(studio, tidy=True)
    assert (tidied.tidied, tidied.sound) == (2, True)
    assert not places[0].exists()
    assert not halves[0].exists()
    assert places[1].exists()
    assert halves[1].exists()
    assert (tmp_path / "files" / "notes.txt").exists()
    assert verify(studio).files == found.files


def test_what_somebody_began_to_refer_to_meanwhile_is_not_tidied_away(records: Records, clock: Clock) -> None:
    """Between the look that found it stray and the turn in which it would be deleted."""
    with records.work("attaches", who=WHO) as work:
        sha256 = work.keep_file(b"a chart")
    assert records.vault.folder is not None
    make_old(records.vault.folder / sha256[:2] / sha256, clock, hours=1000)
    assert discard(records, [sha256], now=clock.now) == 0
    assert list(records.vault.all()) == [sha256]


def test_a_file_of_something_taken_away_is_no_stray(studio: Records, tmp_path: Path, clock: Clock) -> None:
    """The journal still holds it; an undo brings it back with its file."""
    clock.advance(days=400)
    found = verify(studio, tidy=True)
    assert (found.tidied, found.notes, found.sound) == (0, (), True)
    # not even where the list of kept files has lost it
    tamper(studio, "DELETE FROM kept_files")
    assert verify(studio, tidy=True).tidied == 0
    assert len(list(studio.vault.all())) == 10


def test_a_checksum_without_its_file_is_no_trouble(studio: Records) -> None:
    with studio.work("notes the recipe", who=WHO, trial_id="t1") as work:
        candidate = work.get(Candidate, "c0")
        work.change(replace(candidate, recipe=Recipe(file_sha256="a" * 64, profile_sha256="b" * 64)))
    found = verify(studio)
    assert found.sound
    assert found.notes == ("checksums stated without the file being handed in: 2.",)


def test_a_file_that_was_handed_in_is_missed_though_its_checksum_was_stated_since(records: Records) -> None:
    with records.work("attaches", who=WHO) as work:
        trial = work.add(Trial(id="t", name="Spring", begun=work.now.date()))
        sha256 = work.keep_file(b"a chart")
        work.add(
            Attachment(
                id="a", trial_id=trial.id, about=trial.id, kind="other", name="c.txt", size=7, sha256=sha256,
                at=work.now,
            )
        )  # fmt: skip
    with records.work("names its chart", who=WHO) as work:
        work.change(replace(trial, chart_sha256=sha256))
    tamper(records, "DELETE FROM kept_files")
    assert any("Attachment a refers to it" in one.what for one in verify(records).troubles)


def test_many_troubles_are_counted_not_listed(records: Records, monkeypatch: pytest.MonkeyPatch) -> None:
    with records.work("books in", who=WHO) as work:
        for number in range(9):
            work.add(Supplier(id=f"s{number}", name="x"))
    tamper(records, "UPDATE suppliers SET name = 'y'")
    monkeypatch.setattr(verifying, "MOST_LISTED", 4)
    found = verify(records)
    assert len(found.troubles) == 5
    assert found.troubles[-1].what == "more of this sort: 5."


def test_accounts_are_in_the_journal_and_passwords_are_not(any_records: Records) -> None:
    with any_records.work("lets in", who=WHO) as work:
        work.add(Account(id="a1", name="asa", role="bench", made_at=work.now))
    with any_records.look() as look:
        assert "argon2" not in str(look.entries())
    assert verify(any_records).sound


def test_files_are_found_wherever_they_are_named() -> None:
    plain = {
        "sha256": "a",
        "chart_sha256": "",
        "recipe": {"file_sha256": "b"},
        "list": [{"sha256": "c"}],
        "seal": "d",
    }
    assert list(files_in(plain)) == ["a", "b", "c"]


def test_it_says_what_it_looks_at(records: Records) -> None:
    told_of: list[str] = []
    say: Callable[[str], None] = told_of.append
    verify(records, progress=say)
    assert told_of == ["the database", "the journal", "the tables", "the trials", "the files"]


def test_memory_stays_flat(records: Records, tmp_path: Path) -> None:
    """Twice as much in the records takes no more memory to verify or to back up."""

    def grow(start: int) -> None:
        for number in range(start, start + 150):
            with records.work("books in", who=WHO) as work:
                for part in range(4):
                    work.add(Supplier(id=f"s{number}-{part}", name="x", words="long words " * 900))

    def peak(act: Callable[[], object]) -> int:
        tracemalloc.start()
        act()
        most = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        return most

    def both() -> tuple[int, int]:
        backup = tmp_path / f"{records.new_id()}.zip"
        return peak(lambda: verify(records)), peak(lambda: back_up(records, backup))

    grow(0)
    both()  # what is made once and kept
    once = both()
    grow(150)
    twice = both()
    assert twice[0] < 1.2 * once[0]
    assert twice[1] < 1.2 * once[1]
