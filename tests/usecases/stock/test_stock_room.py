"""The stock room: things booked in, corrected, taken away, used up; what is left is counted, never stored."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from laydown.kernel.errors import BadSetting, ChangedMeanwhile, RefusedInput, UnknownRecord
from laydown.records.ledger import Records
from laydown.records.stock_query import list_stock, named_alike
from laydown.records.text_match import words_of
from laydown.trials.stock import Certificate, Lot, Medium, Roll, RollUse, Supplier
from laydown.trials.studio import Printer, PrinterEvent, Studio
from laydown.trials.trial import Candidate, Trial
from laydown.usecases.stock.amend import amend
from laydown.usecases.stock.book_in import book_in
from laydown.usecases.stock.book_in_delivery import book_in_delivery
from laydown.usecases.stock.roll_left import rolls_left
from laydown.usecases.stock.set_studio import set_studio
from laydown.usecases.stock.take_away import take_away
from laydown.usecases.stock.use_roll import COUNTED, count_roll, use_roll
from laydown.usecases.trial.attach_file import attach_file
from laydown.usecases.trial.keep_note import keep_note
from laydown.usecases.undo import undo

WHO = "Ada"


def shelved(records: Records, **roll: Any) -> tuple[Medium, Lot, Roll]:
    """A medium, a lot of it and a roll of that."""
    medium = book_in(records, Medium(id="", name="Fenland Rag", weight_gsm=310.0), who=WHO).thing
    lot = book_in(records, Lot(id="", medium_id=medium.id, code="FR-1"), who=WHO).thing
    told: dict[str, Any] = {"form": "roll", "code": "1", "length_mm": 6096.0, "width_mm": 431.8} | roll
    return medium, lot, book_in(records, Roll(id="", lot_id=lot.id, **told), who=WHO).thing


def left_of(records: Records, roll_id: str) -> float | None:
    with records.look() as look:
        return rolls_left(look, (look.get(Roll, roll_id),))[roll_id].amount


def test_what_is_booked_in_is_tidied_and_named_in_the_journal(any_records: Records) -> None:
    act = book_in(any_records, Supplier(id="", name="  Creek \n Papers ", words=" two\nlines "), who=WHO)
    assert (act.thing.name, act.thing.words) == ("Creek Papers", "two\nlines")
    _, _, roll = shelved(any_records)
    with any_records.look() as look:
        assert look.get(Supplier, act.thing.id) == act.thing
        newest = look.entries(limit=1)[0]
    assert (newest.who, newest.action, newest.words) == (
        WHO,
        "booked in",
        "roll 1 of lot FR-1 of Fenland Rag",
    )
    assert roll.id


def test_an_id_that_is_given_is_kept(records: Records) -> None:
    assert book_in(records, Supplier(id="ours-7", name="Creek"), who=WHO).thing.id == "ours-7"


IMPOSSIBLE = [
    (Medium(id="", name=" "), "has no name"),
    (Medium(id="", name="FENLAND RAG"), "already"),
    (Medium(id="", name="x" * 300), "longer than"),
    (Medium(id="", name="Heavy", weight_gsm=90_000.0), "weight of 90000"),
    (Medium(id="", name="Thick", caliper_um=1.0), "thickness of 1"),
    (Supplier(id="", name=""), "has no name"),
    (Certificate(id="", title=""), "no title"),
    (Certificate(id="", title="T", tested=date(2031, 1, 1)), "still to come"),
    (Printer(id="", name="P", head_gaps=("wide", "Wide")), "two head gaps"),
]


@pytest.mark.parametrize(("thing", "why"), IMPOSSIBLE, ids=[why for _, why in IMPOSSIBLE])
def test_what_should_not_be_is_refused_with_the_reason(records: Records, thing: Any, why: str) -> None:
    shelved(records)
    with pytest.raises(BadSetting, match=why):
        book_in(records, thing, who=WHO)


BAD_ROLLS: list[tuple[dict[str, Any], str]] = [
    ({"code": "1"}, "already"),
    ({"sheets": 5}, "only a box"),
    ({"length_mm": -1.0}, "length of -1 mm"),
    ({"price": 10.0}, "no currency"),
    ({"price": -1.0, "currency": "EUR"}, "below nothing"),
    ({"received": date(2026, 2, 5), "opened": date(2026, 2, 4)}, "before it was received"),
    ({"received": date(2026, 3, 9)}, "still to come"),
]


@pytest.mark.parametrize(("told", "why"), BAD_ROLLS, ids=[why for _, why in BAD_ROLLS])
def test_a_roll_that_cannot_be_is_refused(records: Records, told: dict[str, Any], why: str) -> None:
    _, lot, _ = shelved(records)
    with pytest.raises(BadSetting, match=why):
        book_in(records, Roll(id="", lot_id=lot.id, form="roll", **told), who=WHO)


def test_the_same_lot_number_of_two_media_is_two_lots(records: Records) -> None:
    shelved(records)
    other = book_in(records, Medium(id="", name="Tidemill"), who=WHO).thing
    assert book_in(records, Lot(id="", medium_id=other.id, code="FR-1"), who=WHO).thing.code == "FR-1"


def test_names_are_alike_whatever_their_case_on_both_databases(any_records: Records) -> None:
    book_in(any_records, Supplier(id="", name="Überseehaus Ñandú"), who=WHO)
    with any_records.look() as look:
        assert named_alike(look, Supplier, "name", "ÜBERSEEHAUS ñandÚ")
        assert not named_alike(look, Supplier, "name", "ÜBERSEEHAUS ñandÚ 2")
        assert not named_alike(look, Supplier, "name", "berseehaus Ñandú")
    with pytest.raises(BadSetting, match="already"):
        book_in(any_records, Supplier(id="", name="überseehaus ñandú"), who=WHO)


def test_correcting_keeps_what_it_belongs_to(records: Records) -> None:
    medium, lot, roll = shelved(records)
    other = book_in(records, Medium(id="", name="Tidemill"), who=WHO).thing
    with pytest.raises(BadSetting, match="stays with what it belongs to"):
        amend(records, replace(lot, medium_id=other.id), who=WHO)
    with records.look() as look:
        seen = look.revision(Roll, roll.id)
    amend(records, replace(roll, opened=date(2026, 3, 1)), who=WHO, seen=seen)
    with pytest.raises(ChangedMeanwhile):
        amend(records, replace(roll, code="7"), who="Joris", seen=seen)
    assert amend(records, replace(medium, name="Fenland Rag"), who=WHO).thing == medium


def test_what_is_still_named_cannot_be_taken_away(any_records: Records) -> None:
    medium, lot, roll = shelved(any_records)
    with pytest.raises(RefusedInput, match="the medium Fenland Rag is still named by 1 lot") as refused:
        take_away(any_records, Medium, medium.id, who=WHO)
    assert "Take that away first" in str(refused.value)
    with any_records.work("put", who=WHO) as work:
        work.add(Trial(id="t", name="T", begun=date(2026, 1, 1)))
        for number in (1, 2):
            work.add(Candidate(id=f"c{number}", trial_id="t", medium_id=medium.id, name=f"C{number}",
                               lot_id=lot.id, roll_id=roll.id))  # fmt: skip
    with pytest.raises(RefusedInput, match=r"roll 1 of lot FR-1 .* 2 candidates of trials"):
        take_away(any_records, Roll, roll.id, who=WHO)
    with any_records.look() as look:
        assert look.seek(Roll, roll.id) == roll


def test_what_is_only_about_a_thing_goes_with_it_and_comes_back(any_records: Records) -> None:
    _, _, roll = shelved(any_records)
    use_roll(any_records, roll.id, length_mm=500.0, who=WHO)
    note = keep_note(any_records, roll.id, "Telescoped.", who=WHO).thing
    attach_file(any_records, [b"\x89PNG\r\n\x1a\n picture"], about=roll.id, name="label.png", who=WHO)
    act = take_away(any_records, Roll, roll.id, who=WHO)
    with any_records.look() as look:
        assert look.count(RollUse, roll_id=roll.id) == 0
        assert look.entry(act.entry_id).words.endswith("with 1 attached file and 1 note and 1 use")
    undo(any_records, act.entry_id, who=WHO)
    assert left_of(any_records, roll.id) == 5596.0
    with any_records.look() as look:
        assert look.get(type(note), note.id) == note


def test_a_printers_history_goes_with_it(records: Records) -> None:
    printer = book_in(records, Printer(id="", name="Plover"), who=WHO).thing
    at = datetime(2026, 3, 1, tzinfo=UTC)
    event = book_in(records, PrinterEvent(id="", printer_id=printer.id, at=at, kind="ink"), who=WHO).thing
    with pytest.raises(BadSetting, match="future"):
        amend(records, replace(event, at=at + timedelta(days=30)), who=WHO)
    undo(records, take_away(records, Printer, printer.id, who=WHO).entry_id, who=WHO)
    with records.look() as look:
        assert look.find(PrinterEvent) == (event,)


def test_what_is_left_is_what_was_there_less_what_was_taken(any_records: Records) -> None:
    _, lot, roll = shelved(any_records)
    box = book_in(any_records, Roll(id="", lot_id=lot.id, form="sheets", code="B", sheets=25), who=WHO).thing
    bare = book_in(any_records, Roll(id="", lot_id=lot.id, form="roll", code="?"), who=WHO).thing
    use_roll(any_records, roll.id, length_mm=2400.5, who=WHO)
    use_roll(any_records, box.id, sheets=7, who=WHO)
    use_roll(any_records, bare.id, length_mm=900.0, who=WHO)
    assert left_of(any_records, roll.id) == pytest.approx(3695.5)
    assert left_of(any_records, box.id) == 18
    assert left_of(any_records, bare.id) is None  # nobody said what it held


@pytest.mark.parametrize(
    ("told", "why"),
    [
        ({"length_mm": 7000.0}, "7.00 m is more than the 6.10 m that should be left"),
        ({"length_mm": 0.0}, "nothing was taken"),
        ({"sheets": 3}, "from a roll a length is taken"),
        ({}, "nothing was taken"),
    ],
)
def test_a_use_that_cannot_be_is_refused(records: Records, told: dict[str, Any], why: str) -> None:
    _, _, roll = shelved(records)
    with pytest.raises(BadSetting, match=why):
        use_roll(records, roll.id, who=WHO, **told)


def test_counting_corrects_and_overwrites_nothing(any_records: Records) -> None:
    _, _, roll = shelved(any_records)
    use_roll(any_records, roll.id, length_mm=1000.0, who=WHO)
    act = count_roll(any_records, roll.id, length_mm=5200.0, who=WHO, words="lead was shorter")
    assert act.thing.length_mm == pytest.approx(-104.0)  # more was there than the uses said
    assert act.thing.words == f"{COUNTED}: lead was shorter"
    assert left_of(any_records, roll.id) == pytest.approx(5200.0)
    count_roll(any_records, roll.id, length_mm=0.0, who=WHO)
    assert left_of(any_records, roll.id) == pytest.approx(0.0)
    undo(any_records, act.entry_id, who=WHO)
    assert left_of(any_records, roll.id) == pytest.approx(
        -104.0
    )  # then less than nothing is left, and it shows


def test_counting_needs_something_to_count_from(records: Records) -> None:
    _, lot, roll = shelved(records)
    bare = book_in(records, Roll(id="", lot_id=lot.id, form="roll", code="2"), who=WHO).thing
    with pytest.raises(BadSetting, match="not stated what it held"):
        count_roll(records, bare.id, length_mm=100.0, who=WHO)
    with pytest.raises(BadSetting, match="nothing to correct"):
        count_roll(records, roll.id, length_mm=6096.0, who=WHO)
    with pytest.raises(BadSetting, match="what was found is missing"):
        count_roll(records, roll.id, who=WHO)


def test_a_delivery_is_one_act_from_supplier_to_rolls(any_records: Records) -> None:
    piece = Roll(id="", lot_id="", form="roll", length_mm=15_240.0)
    act = book_in_delivery(
        any_records,
        Medium(id="", name="Gullwing White"),
        supplier_name="Creek Papers",
        lot_code="GW-1",
        piece=piece,
        pieces=3,
        received=date(2026, 3, 1),
        who=WHO,
    )
    assert [roll.code for roll in act.thing] == ["1", "2", "3"]
    with any_records.look() as look:
        (medium,), (supplier,) = look.find(Medium), look.find(Supplier)
        assert medium.supplier_id == supplier.id
        assert look.entry(act.entry_id).words == "3 rolls of lot GW-1 of Gullwing White"
    again = book_in_delivery(any_records, medium, lot_code="gw-1", piece=piece, who=WHO)
    assert [roll.code for roll in again.thing] == ["4"]
    assert again.thing[0].lot_id == act.thing[0].lot_id
    undo(any_records, again.entry_id, who=WHO)
    undo(any_records, act.entry_id, who=WHO)
    with any_records.look() as look:
        assert look.find(Medium) == look.find(Supplier) == look.find(Lot) == look.find(Roll) == ()


def test_a_delivery_that_is_wrong_keeps_nothing(records: Records) -> None:
    piece = Roll(id="", lot_id="", form="roll", received=None)
    for told, why in (
        ({"medium": Medium(id="", name="New"), "lot_code": " "}, "no code"),
        ({"medium": Medium(id="", name=""), "lot_code": "1"}, "no name"),
        ({"medium": Medium(id="", name="New"), "lot_code": "1", "pieces": 0}, "0 rolls"),
        ({"medium": Medium(id="", name="New"), "lot_code": "1", "received": date(2027, 1, 1)}, "to come"),
    ):
        with pytest.raises(BadSetting, match=why):
            book_in_delivery(records, piece=piece, who=WHO, **told)  # type: ignore[arg-type]  # each is complete
    with pytest.raises(UnknownRecord):
        book_in_delivery(records, Medium(id="gone", name=""), lot_code="1", piece=piece, who=WHO)
    with records.look() as look:
        assert look.find(Medium) == look.find(Lot) == look.entries() == ()


def test_the_studio_is_set_and_undone(any_records: Records) -> None:
    act = set_studio(any_records, Studio(id="x", name=" Saltmarsh ", time_zone="Europe/Paris"), who=WHO)
    assert (act.thing.id, act.thing.name) == ("studio", "Saltmarsh")
    set_studio(any_records, replace(act.thing, units="inch"), who=WHO)
    with any_records.look() as look:
        assert look.get(Studio, "studio").units == "inch"
    for bad, why in (
        ({"time_zone": "Mars/Olympus"}, "no time zone"),
        ({"cure_hours": 0.0}, "0 hours to cure"),
        ({"dry_hours": 9000.0}, "9000 hours to dry"),
    ):
        with pytest.raises(BadSetting, match=why):
            set_studio(any_records, replace(act.thing, **bad), who=WHO)  # type: ignore[arg-type]  # a field each


def test_a_trial_that_is_closed_is_not_watched(records: Records) -> None:
    with records.work("put", who=WHO) as work:
        work.add(Trial(id="t", name="Spring", begun=date(2026, 1, 1), closed_at=work.now))
    with pytest.raises(BadSetting, match="“Spring” is not running"):
        set_studio(records, Studio(id="studio", watched_trial_id="t"), who=WHO)


def test_lists_are_searched_alike_on_both_databases(any_records: Records) -> None:
    for name in ("Ärmel 100%", "ärmel_b", "Zebra", "alpha"):
        medium = book_in(any_records, Medium(id="", name=name), who=WHO).thing
        book_in(any_records, Lot(id="", medium_id=medium.id, code=f"L-{name[0]}"), who=WHO)

    def found(noun: type[Any], query: str, *, limit: int = 10, offset: int = 0) -> list[str]:
        with any_records.look() as look:
            things = list_stock(look, noun, words=words_of(query), limit=limit, offset=offset)
            return [thing.name if noun is Medium else thing.code for thing in things]

    assert sorted(found(Medium, "ÄRMEL")) == ["Ärmel 100%", "ärmel_b"]
    assert found(Medium, "100%") == ["Ärmel 100%"]
    assert found(Medium, "_b") == ["ärmel_b"]  # not any letter before a b
    assert found(Medium, "\\") == []
    assert found(Lot, "zebra l-") == ["L-Z"]
    assert len(found(Medium, "", limit=3)) == 3
    assert found(Medium, "", limit=3) + found(Medium, "", limit=3, offset=3) == found(Medium, "")
    assert len(found(Medium, "ärmel", limit=1, offset=1)) == 1
