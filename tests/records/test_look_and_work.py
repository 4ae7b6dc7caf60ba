"""Looking and working: what is found in which order, and one entry of the journal or nothing at all."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from a_studio import WHO, fill

from laydown.kernel.errors import (
    AlteredFile,
    CannotKeep,
    ChangedMeanwhile,
    Contradiction,
    RefusedInput,
    UnknownRecord,
)
from laydown.records.ledger import Records
from laydown.records.tables import TABLES
from laydown.records.trial_facts import load_facts
from laydown.records.verifying import verify
from laydown.trials.remarks import Note
from laydown.trials.sheets import Sheet, SheetEvent
from laydown.trials.stock import Lot, Medium, Supplier
from laydown.trials.trial import Candidate, Plan, Trial
from ticking_clock import Clock


def add(records: Records, *things: Supplier | Medium | Trial) -> str:
    with records.work("adds", who=WHO) as work:
        for thing in things:
            work.add(thing)
        return work.entry_id


def undo(records: Records, entry_id: str) -> str:
    with records.work("undoes", who=WHO) as work:
        work.put_back(work.entry(entry_id))
        return work.entry_id


def test_one_of_everything_is_kept(any_records: Records) -> None:
    fill(any_records)
    with any_records.look() as look:
        empty = [noun.__name__ for noun in TABLES if not look.count(noun)]
        candidate = look.get(Candidate, "c1-coated")
    assert empty == []
    assert candidate.coat is not None
    assert (candidate.coat.coats, candidate.twin_id) == (2, "c2-bare")


def test_empty_fields_come_first_whatever_the_database(any_records: Records) -> None:
    add(any_records, *(Supplier(id=f"s{n}", name=name) for n, name in enumerate("bBaÅ")))
    add(
        any_records,
        Medium(id="m1", name="x", supplier_id="s1", weight_gsm=300.0),
        Medium(id="m2", name="x"),
        Medium(id="m3", name="x", supplier_id="s0", weight_gsm=200.0),
        Medium(id="m4", name="x"),
    )
    with any_records.look() as look:
        assert [m.id for m in look.find(Medium, order=("weight_gsm",))] == ["m2", "m4", "m3", "m1"]
        assert [m.id for m in look.find(Medium, order=("-weight_gsm",))] == ["m1", "m3", "m2", "m4"]
        assert [m.id for m in look.find(Medium, order=("-weight_gsm", "-id"))] == ["m1", "m3", "m4", "m2"]
        assert [m.id for m in look.find(Medium, order=("name",), limit=2, offset=1)] == ["m2", "m3"]
        # by the characters' numbers, not by a country's alphabet: B a b Å
        assert [s.id for s in look.find(Supplier, order=("name",))] == ["s1", "s2", "s0", "s3"]
        assert [m.id for m in look.find(Medium, supplier_id=None)] == ["m2", "m4"]
        assert look.count(Medium, supplier_id="s1") == 1


def test_any_of_many_values_in_one_order(any_records: Records) -> None:
    """More values than are asked for in one statement."""
    add(
        any_records, *(Medium(id=f"m{n:04}", name=f"n{n % 7}", weight_gsm=n % 5 or None) for n in range(1200))
    )
    with any_records.look() as look:
        wanted = [f"m{n:04}" for n in range(1200)]
        found = look.find_any(Medium, "id", wanted, order=("-weight_gsm", "name"))
        assert found == look.find(Medium, order=("-weight_gsm", "name"))
        assert look.find_any(Medium, "id", ()) == ()


def test_one_work_is_one_entry(any_records: Records, clock: Clock) -> None:
    before = clock.now
    with any_records.work("books in", who=WHO, words="two suppliers") as work:
        work.add(Supplier(id="s1", name="Fen Mill"))
        work.add(Supplier(id="s2", name="Moor Mill"))
        work.say("at once")
    with any_records.look() as look:
        (entry,) = look.entries()
        assert (entry.seq, entry.who, entry.action) == (1, WHO, "books in")
        assert (entry.words, entry.at) == ("two suppliers at once", before)
        assert [change.id for change in entry.changes] == ["s1", "s2"]
        assert look.entries(record_id="s2") == (entry,)
        assert look.revision(Supplier, "s2") == 1


def test_where_nothing_differs_nothing_is_written(any_records: Records) -> None:
    add(any_records, supplier := Supplier(id="s1", name="Fen Mill"))
    with any_records.work("changes", who=WHO) as work:
        work.change(supplier)
    with any_records.look() as look:
        assert len(look.entries()) == 1


def test_a_work_that_fails_leaves_nothing(any_records: Records) -> None:
    def fail() -> None:
        with any_records.work("books in", who=WHO) as work:
            work.add(Supplier(id="s1", name="Fen Mill"))
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fail()
    with any_records.look() as look:
        assert look.entries() == ()
        assert look.seek(Supplier, "s1") is None
    add(any_records, Supplier(id="s1", name="Fen Mill"))  # and the way is free for the next


def test_who_saw_an_older_state_does_not_overwrite(any_records: Records) -> None:
    add(any_records, supplier := Supplier(id="s1", name="Fen Mill"))
    with any_records.look() as look:
        seen = look.revision(Supplier, "s1")
    with any_records.work("changes", who=WHO) as work:
        work.change(replace(supplier, name="Moor Mill"), seen=seen)
    with pytest.raises(ChangedMeanwhile), any_records.work("changes", who=WHO) as work:
        work.change(replace(supplier, contact="by letter"), seen=seen)
    with any_records.look() as look:
        assert look.get(Supplier, "s1").name == "Moor Mill"


def test_undo_brings_back_and_can_be_undone(any_records: Records) -> None:
    add(
        any_records,
        supplier := Supplier(id="s1", name="Fen Mill"),
        Medium(id="m1", name="Rag", supplier_id="s1"),
    )
    with any_records.work("takes away", who=WHO) as work:
        work.remove(Medium, "m1")
        work.remove(Supplier, "s1")
        taken = work.entry_id
    again = undo(any_records, taken)
    with any_records.look() as look:
        assert look.get(Supplier, "s1") == supplier
        assert look.get(Medium, "m1").supplier_id == "s1"
        assert look.undone_by([taken]) == {taken: again}
    undo(any_records, again)
    with any_records.look() as look:
        assert look.seek(Medium, "m1") is None
    assert verify(any_records).sound


def test_what_was_changed_again_is_not_undone(any_records: Records) -> None:
    first = add(any_records, supplier := Supplier(id="s1", name="Fen Mill"))
    with any_records.work("changes", who=WHO) as work:
        work.change(replace(supplier, name="Moor Mill"))
    with pytest.raises(ChangedMeanwhile, match="this supplier was changed again after that"):
        undo(any_records, first)


def test_an_undo_that_would_tear_something_off_is_refused(any_records: Records) -> None:
    first = add(any_records, Supplier(id="s1", name="Fen Mill"))
    add(any_records, Medium(id="m1", name="Rag", supplier_id="s1"))
    with pytest.raises(RefusedInput, match="something else still refers to this"):
        undo(any_records, first)


@pytest.mark.parametrize(
    ("thing", "told"),
    [
        (Medium(id="m1", name="Rag", supplier_id="nobody"), "something that is not there"),
        (Supplier(id="s1", name="again"), "one of these already"),
        (Plan(id="p2", trial_id="t1"), "one of these already"),
    ],
)
def test_what_the_tables_do_not_allow_is_told_in_a_sentence(
    any_records: Records, thing: Medium | Supplier | Plan, told: str
) -> None:
    add(any_records, Supplier(id="s1", name="Fen Mill"), Trial(id="t1", name="T", begun=date(2026, 3, 2)))
    with any_records.work("plans", who=WHO) as work:
        work.add(Plan(id="p1", trial_id="t1"))
    with pytest.raises(RefusedInput, match=told), any_records.work("adds", who=WHO) as work:
        work.add(thing)
    with any_records.look() as look:
        assert len(look.entries()) == 2


def test_what_is_not_there_is_told_by_its_name(any_records: Records) -> None:
    with any_records.look() as look, pytest.raises(UnknownRecord, match="there is no such sheet event"):
        look.get(SheetEvent, "gone")
    with any_records.look() as look:
        assert look.seek(Lot, None) is None
        with pytest.raises(UnknownRecord, match="no such entry"):
            look.entry("gone")
    with pytest.raises(UnknownRecord), any_records.work("changes", who=WHO) as work:
        work.change(Supplier(id="gone", name="x"))
    with pytest.raises(UnknownRecord), any_records.work("takes away", who=WHO) as work:
        work.remove(Supplier, "gone")


def test_a_trial_may_not_contradict_itself(any_records: Records) -> None:
    fill(any_records)
    with any_records.look() as look:
        entries = len(look.entries())
    # a second printing of a sheet can never be true
    with (
        pytest.raises(Contradiction, match="can be printed only once"),
        any_records.work("prints", who=WHO) as work,
    ):
        work.add(SheetEvent(id="e9", trial_id="t1", sheet_id="s-c0-1", at=work.now, kind="printed"))
    # nor two sheets of one name, even where the change names no trial
    with any_records.look() as look:
        twice = replace(look.get(Sheet, "s-c0-2"), code=look.get(Sheet, "s-c0-1").code)
    with (
        pytest.raises(Contradiction, match="two sheets are called"),
        any_records.work("names", who=WHO) as work,
    ):
        work.change(twice)
    with any_records.look() as look:
        assert len(look.entries()) == entries


def test_what_a_work_has_found_once_is_found_anew_after_it_was_changed(any_records: Records) -> None:
    fill(any_records)
    with any_records.work("notes", who=WHO) as work:
        before = work.find_any(Sheet, "trial_id", ["t1"])
        assert work.find_any(Sheet, "trial_id", ["t1"]) == before
        first, *others = before
        work.change(replace(first, code="renamed"))
        assert {one.code for one in work.find_any(Sheet, "trial_id", ["t1"])} == {
            "renamed",
            *(one.code for one in others),
        }
        spare = work.add(replace(first, id="s-new", code="new", place=0))
        assert spare in work.find_any(Sheet, "trial_id", ["t1"])
        work.remove(Sheet, "s-new")
        assert spare not in work.find_any(Sheet, "trial_id", ["t1"])


def test_a_contradiction_is_found_however_often_the_trial_was_read_before(any_records: Records) -> None:
    fill(any_records)

    def name_twice() -> None:
        with any_records.work("names", who=WHO) as work:
            facts = load_facts(work, "t1")
            work.change(replace(facts.sheets[1], code=facts.sheets[0].code))

    with pytest.raises(Contradiction, match="two sheets are called"):
        name_twice()


def test_work_within_work_is_refused_at_once(any_records: Records) -> None:
    with any_records.work("adds", who=WHO) as work:
        with (
            pytest.raises(RuntimeError, match="one use case is one transaction"),
            any_records.work("x", who=WHO),
        ):
            pass
        work.add(Supplier(id="s1", name="Fen Mill"))
    with any_records.look() as look:
        assert look.count(Supplier) == 1


def test_a_look_sees_one_moment(any_records: Records) -> None:
    with any_records.look() as look:
        assert look.count(Supplier) == 0
        add(any_records, Supplier(id="s1", name="Fen Mill"))
        assert look.count(Supplier) == 0
        assert look.entries() == ()
    with any_records.look() as look:
        assert look.count(Supplier) == 1


def test_nothing_refers_to_a_file_that_is_not_kept(any_records: Records) -> None:
    with any_records.work("hands in", who=WHO) as work:
        sha256 = work.keep_file(b"content")
        work.add(Note(id="n1", trial_id=None, about="x", at=work.now, words="w"))
    with any_records.look() as look:
        assert look.read_file(sha256) == b"content"
    with pytest.raises(CannotKeep, match="no longer there"), any_records.work("hands in", who=WHO) as work:
        work.note_file("0" * 64, 3)
    with pytest.raises(CannotKeep, match="no longer there"), any_records.work("hands in", who=WHO) as work:
        work.note_file(sha256, 3)  # there, and of another size


def test_a_kept_file_is_checked_when_it_is_read(any_records: Records, tmp_path: Path) -> None:
    with any_records.work("hands in", who=WHO) as work:
        sha256 = work.keep_file(b"content")
    (tmp_path / "files" / sha256[:2] / sha256).write_bytes(b"kontent")
    with any_records.look() as look, pytest.raises(AlteredFile):
        look.read_file(sha256)


def test_the_newest_entries_come_first(any_records: Records) -> None:
    ids = [add(any_records, Supplier(id=f"s{n}", name="x")) for n in range(5)]
    with any_records.look() as look:
        assert [entry.id for entry in look.entries()] == ids[::-1]
        assert [entry.id for entry in look.entries(limit=2, offset=1)] == ids[3:1:-1]
        assert [entry.id for entry in look.entries(trial_id="t1")] == []
