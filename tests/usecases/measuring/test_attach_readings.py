"""Taking files in: each to its sheet, the unreadable told of, nothing twice, nothing half."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest

from laydown.kernel.errors import RefusedInput
from laydown.records.ledger import Records
from laydown.trials.sheets import Sheet, SheetEvent
from laydown.usecases.measuring.attach_readings import attach_readings
from laydown.usecases.measuring.parsed_file import HandedIn
from laydown.usecases.undo import undo

Scans = Callable[..., list[HandedIn]]


def csv(name: str, *lines: str) -> HandedIn:
    return HandedIn(name, "\n".join(("id,R,G,B,L,a,b", *lines, "")).encode())


PLAIN = ("1,255,255,255,95,0,1", "2,0,0,0,16,0,0", "3,255,0,0,48,66,45")


def test_files_find_their_sheets_by_name(bench, scans: Scans) -> None:
    taken = attach_readings(bench.records, "spring", scans(), who="Ada")
    assert taken.thing.not_taken == ()
    assert {
        code: len(bench.readings(code)) for code in ("K2", "K3", "K4", "H5", "H6", "H7")
    } == dict.fromkeys(("K2", "K3", "K4", "H5", "H6", "H7"), 2)
    first, second = sorted(bench.readings("K2"), key=lambda one: one.conditions)
    assert (first.conditions, second.conditions) == (("M1",), ("M2",))
    assert first.instrument == "bench spectrophotometer (invented)"
    assert first.patches > 500
    # The file says 2026-01-13T10:17:00Z, the day after it was printed.
    assert first.measured_at == datetime(2026, 1, 13, 10, 17, tzinfo=UTC)
    assert first.words == ""
    with bench.records.look() as look:
        assert look.read_file(first.file_sha256) == scans()[0].content
        entry = look.entry(taken.entry_id)
    assert (entry.who, entry.action) == ("Ada", "received")
    assert entry.words == "12 readings: K2 (2), K3 (2), K4 (2), H5 (2), H6 (2), H7 (2)"


def test_one_undo_takes_the_whole_drop_back(bench, scans: Scans) -> None:
    taken = attach_readings(bench.records, "spring", scans(sheets=1), who="Ada")
    undo(bench.records, taken.entry_id, who="Ada")
    assert bench.facts.readings == ()
    again = attach_readings(bench.records, "spring", scans(sheets=1), who="Ada")
    assert len(again.thing.readings) == 4


def test_an_unreadable_file_holds_nobody_up(bench, scans: Scans) -> None:
    damaged = csv("K3.csv", "1,255,255,255,95,0,1", "2,0,0,0,oops,0,0", "3,255,0,0,48,66,45")
    drop = [
        HandedIn("K2.pdf", b"%PDF-1.7"),
        *scans(("M1",), 1),
        HandedIn("notes.txt", b"Dear Bob,\n"),
        damaged,
    ]
    taken = attach_readings(bench.records, "spring", drop, who="Ada").thing
    assert [one.file_name for one in taken.readings][:2] == ["scan K2-M1.txt", "scan H5-M1.txt"]
    assert [one.name for one in taken.not_taken if not one.known][:2] == ["K2.pdf", "notes.txt"]
    assert "a PDF document" in taken.not_taken[0].why
    assert "Use a CGATS, CxF or CSV export" in taken.not_taken[1].why
    assert len(taken.readings) + len(taken.not_taken) == len(drop)


def test_nothing_taken_makes_no_entry(bench) -> None:
    taken = attach_readings(bench.records, "spring", [HandedIn("K2.txt", b"")], who="Ada")
    assert taken.entry_id == ""
    assert "the file is empty" in taken.thing.not_taken[0].why
    with bench.records.look() as look:
        assert look.entries(limit=1)[0].who == "the test"


def test_the_same_file_is_noticed(bench, scans: Scans) -> None:
    one = scans(("M1",), 1)[0]
    twice = [one, HandedIn("copy of K2.txt", one.content)]
    first = attach_readings(bench.records, "spring", twice, who="Ada").thing
    assert [item.name for item in first.not_taken] == ["copy of K2.txt"]
    again = attach_readings(bench.records, "spring", [HandedIn("other.txt", one.content)], who="Ada")
    assert again.entry_id == ""
    assert again.thing.not_taken[0].known
    assert "here already, as scan K2-M1.txt, a reading of sheet K2" in again.thing.not_taken[0].why


def test_what_cannot_be_told_waits_without_a_sheet(bench, scans: Scans) -> None:
    drop = [
        csv("scan 1.csv", *PLAIN),
        csv("K2 and K3.csv", *PLAIN, "4,0,0,255,30,20,-60"),
        csv("K22.csv", *PLAIN, "5,9,9,9,18,0,0"),
    ]
    taken = attach_readings(bench.records, "spring", drop, who="Ada").thing
    assert [one.sheet_id for one in taken.readings] == [None, None, None]


@pytest.mark.parametrize(
    "name", ["k2.csv", "K2-M1.csv", "scan_K2_M2.csv", "day 2/K2/export.csv", "x (K2).csv", "K2.K2.csv"]
)
def test_a_code_is_found_wherever_it_stands_alone(bench, name: str) -> None:
    taken = attach_readings(bench.records, "spring", [csv(name, *PLAIN)], who="Ada").thing
    assert [one.sheet_id for one in taken.readings] == ["s-K2"]


def test_in_print_order_goes_by_the_time_of_reading(bench, scans: Scans) -> None:
    files = scans()
    named = [HandedIn(f"export {len(files) - n}.txt", one.content) for n, one in enumerate(files[:4])]
    # Read K2-M1 10:17, K2-M2 10:23, K3-M1 10:29 the day after, K3-M2: four files, each a sheet of its own.
    attach_readings(bench.records, "spring", named, who="Ada", how="in print order")
    at = {one.sheet_id: one.measured_at for one in bench.facts.readings}
    assert list(at) != []
    assert sorted(at, key=lambda one: at[one]) == ["s-K2", "s-K3", "s-K4", "s-H5"]


def test_in_print_order_keeps_conditions_of_one_name_together(bench) -> None:
    drop = [
        csv("e10-M1.csv", *PLAIN),
        csv("e9-M2.csv", *PLAIN, "4,0,0,255,30,20,-60"),
        csv("e9-M1.csv", *PLAIN, "4,0,0,255,30,20,-61"),
    ]
    attach_readings(bench.records, "spring", drop, who="Ada", how="in print order")
    assert {one.file_name: one.sheet_id for one in bench.facts.readings} == {
        "e9-M1.csv": "s-K2",
        "e9-M2.csv": "s-K2",
        "e10-M1.csv": "s-K3",
    }


def test_a_sheet_may_be_chosen(bench) -> None:
    taken = attach_readings(
        bench.records, "spring", [csv("K2.csv", *PLAIN)], who="Ada", sheet_id="s-H7"
    ).thing
    assert taken.readings[0].sheet_id == "s-H7"


def test_several_conditions_in_one_file_are_one_reading(bench, demo_files: dict[str, bytes]) -> None:
    drop = [HandedIn("K2.cxf", demo_files["Tidemill Cotton/sheet1.cxf"])]
    taken = attach_readings(bench.records, "spring", drop, who="Ada").thing
    assert [one.conditions for one in taken.readings] == [("M1", "M2")]


def test_a_sheet_that_is_not_printed_lets_its_file_wait(bench) -> None:
    bench.keep(Sheet(id="s-L5", trial_id="spring", candidate_id="c-rag", code="L5", place=9))
    taken = attach_readings(bench.records, "spring", [csv("L5.csv", *PLAIN)], who="Ada").thing
    assert taken.readings[0].sheet_id is None
    assert taken.readings[0].words == "waits: sheet L5 is not printed yet."


def test_a_time_that_cannot_be_right_is_put_aside(bench, clock) -> None:
    early = HandedIn("K2.txt", b"CREATED: 2026-01-11T10:00:00Z\nid,R,G,B,L,a,b\n" + "\n".join(PLAIN).encode())
    late = HandedIn("K3.txt", b"CREATED: 2027-01-11T10:00:00Z\nid,R,G,B,L,a,b\n" + "\n".join(PLAIN).encode())
    taken = attach_readings(bench.records, "spring", [early, late], who="Ada").thing
    assert [one.measured_at for one in taken.readings] == [None, None]
    assert "the sheet was not printed then" in taken.readings[0].words
    assert "in the future" in taken.readings[1].words


def test_a_time_without_a_zone_is_the_studios(bench) -> None:
    """London is an hour ahead of UTC in June."""
    bench.keep(
        Sheet(id="s-L5", trial_id="spring", candidate_id="c-rag", code="L5", use="spare"),
    )
    bench.happened("L5", "printed", datetime(2025, 6, 1, tzinfo=UTC))
    file = HandedIn("L5.txt", b"CREATED: 2025-06-03T10:00:00\nid,R,G,B,L,a,b\n" + "\n".join(PLAIN).encode())
    taken = attach_readings(bench.records, "spring", [file], who="Ada").thing
    assert taken.readings[0].measured_at == datetime(2025, 6, 3, 9, tzinfo=UTC)


def test_a_stated_age_stands_in_for_a_time(bench) -> None:
    file = HandedIn("K2.txt", b"PRINT_AGE_HOURS: 26\nid,R,G,B,L,a,b\n" + "\n".join(PLAIN).encode())
    reading = attach_readings(bench.records, "spring", [file], who="Ada").thing.readings[0]
    assert reading.measured_at == datetime(2026, 1, 13, 11, 31, tzinfo=UTC)
    assert "its file says" in reading.words


def test_a_finish_the_records_do_not_know_is_said(bench) -> None:
    file = HandedIn("K2.txt", b"FINISH: coated\nid,R,G,B,L,a,b\n" + "\n".join(PLAIN).encode())
    reading = attach_readings(bench.records, "spring", [file], who="Ada").thing.readings[0]
    assert reading.words.startswith("its file says coated, but sheet K2 was uncoated then")


def test_a_told_time_serves_files_that_state_none(bench, scans: Scans) -> None:
    told = datetime(2026, 1, 20, 12, tzinfo=UTC)
    drop = [csv("K3.csv", *PLAIN), scans(("M1",), 1)[0]]
    readings = attach_readings(bench.records, "spring", drop, who="Ada", measured_at=told).thing.readings
    assert [one.measured_at for one in readings] == [told, datetime(2026, 1, 13, 10, 17, tzinfo=UTC)]


def test_a_closed_trial_takes_nothing_in(bench, clock) -> None:
    from dataclasses import replace

    with bench.records.work("closed", who="Ada") as work:
        work.change(replace(bench.facts.trial, closed_at=work.now))
    with pytest.raises(RefusedInput, match="closed"):
        attach_readings(bench.records, "spring", [csv("K2.csv", *PLAIN)], who="Ada")


def test_on_any_database(any_records: Records, demo_files: dict[str, bytes]) -> None:
    from datetime import date

    from laydown.trials.stock import Medium
    from laydown.trials.trial import Candidate, Trial

    with any_records.work("set up", who="the test") as work:
        work.add(Medium(id="m", name="Rag"))
        work.add(Trial(id="t", name="T", begun=date(2026, 1, 1)))
        work.add(Candidate(id="c", trial_id="t", medium_id="m", name="Rag"))
        work.add(Sheet(id="s", trial_id="t", candidate_id="c", code="K2", use="spare"))
        work.add(
            SheetEvent(id="e", trial_id="t", sheet_id="s", at=work.now - timedelta(days=60), kind="printed")
        )
    content = demo_files["Samphire Gloss/sheet1-M1.txt"]
    taken = attach_readings(any_records, "t", [HandedIn("K2.txt", content)], who="Ada")
    assert taken.thing.readings[0].sheet_id == "s"
    again = attach_readings(any_records, "t", [HandedIn("K2.txt", content)], who="Ada")
    assert again.thing.not_taken[0].known
