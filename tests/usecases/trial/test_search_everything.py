"""Search finds words wherever they stand, alike on both databases, and leads to them."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.records.ledger import Records
from laydown.records.text_match import really_holds, words_of
from laydown.trials.retracing import Retrace
from laydown.trials.sheets import Sheet
from laydown.trials.stock import Certificate, Lot, Medium, Roll, Supplier
from laydown.trials.studio import Printer
from laydown.trials.trial import Candidate, Trial
from laydown.usecases.trial.attach_file import attach_file
from laydown.usecases.trial.keep_note import keep_note
from laydown.usecases.trial.search import PAGE_LENGTH, SHOWN_OF_EACH, search

WHO = "Ada"


@pytest.fixture
def full(any_records: Records) -> Records:
    """One of everything, every one with the word "heron" in it, and two trials with a sheet K7 each."""
    with any_records.work("filled", who=WHO) as work:
        work.add(Supplier(id="su", name="Heron Supply"))
        work.add(Medium(id="m", name="Heron Rag"))
        work.add(Lot(id="l", medium_id="m", code="HERON-1"))
        work.add(Roll(id="r", lot_id="l", form="roll", code="heron roll"))
        work.add(Certificate(id="ce", title="On heron paper"))
        work.add(Printer(id="p", name="Heron 24"))
        for number in (1, 2):
            trial, name = f"t{number}", ("Spring", "Herbst mit Größe")[number - 1]
            work.add(Trial(id=trial, name=name, begun=date(2026, number, 1), question="Is heron better?"))
            work.add(Candidate(id=f"c{number}", trial_id=trial, medium_id="m", name=f"Heron arm {number}"))
            work.add(Sheet(id=f"s{number}", trial_id=trial, candidate_id=f"c{number}", code="K7"))
        work.add(
            Retrace(id="re", trial_id=None, title="Heron bands", begun_at=datetime(2026, 1, 1, tzinfo=UTC))
        )
    keep_note(any_records, "s1", "A heron\nstood by.", who=WHO)
    attach_file(any_records, [b"\xff\xd8\xff\xe0"], about="r", name="heron.jpg", who=WHO)
    return any_records


def kinds(records: Records, query: str) -> dict[str, list[str]]:
    groups = search(records, query, role="owner").groups
    return {group.kind: [one.id for one in group.found] for group in groups}


def test_everything_is_found_whatever_the_case(full: Records) -> None:
    found = kinds(full, "hERon")
    assert {kind: ids for kind, ids in found.items() if kind not in ("note", "attachment")} == {
        "trial": ["t2", "t1"],
        "candidate": ["c2", "c1"],
        "medium": ["m"],
        "lot": ["l"],
        "roll": ["r"],
        "printer": ["p"],
        "supplier": ["su"],
        "certificate": ["ce"],
        "retrace": ["re"],
    }
    assert len(found["note"]) == len(found["attachment"]) == 1
    told = search(full, "heron", role="owner")
    assert {thing.id for thing in told.about.values()} == {"s1", "r"}  # what the note and the file are about


def test_a_sheet_is_found_by_its_code_and_narrowed_by_its_trial(full: Records) -> None:
    assert kinds(full, "k7") == {"sheet": ["s2", "s1"]}
    assert kinds(full, "spring k7") == {"sheet": ["s1"]}
    assert kinds(full, "GRÖẞE k7") == {"sheet": ["s2"]}
    assert kinds(full, "größe K7") == {"sheet": ["s2"]}
    assert "sheet" not in kinds(full, "spring")  # not every sheet of a trial that is so called


@pytest.mark.parametrize("query", ["%", "_", "\\", "'; drop table trials; --", "heron%", "k_", "\x00"])
def test_signs_of_the_database_are_plain_signs_here(full: Records, query: str) -> None:
    assert kinds(full, query) == {}


def test_nothing_finds_nothing(full: Records) -> None:
    assert search(full, "  ", role="owner").groups == ()
    assert search(full, "ü", role="owner").groups == ()
    assert search(full, "ö", role="owner").groups != ()


def test_one_kind_is_paged(records: Records) -> None:
    count = 2 * PAGE_LENGTH + 3
    with records.work("filled", who=WHO) as work:
        for number in range(count):
            work.add(Supplier(id=f"s{number:03}", name=f"Supply {number:03}"))
    some = search(records, "supply", role="owner")
    assert (len(some.groups[0].found), some.groups[0].more) == (SHOWN_OF_EACH, True)
    pages = [
        search(records, "supply", role="owner", kind="supplier", number=number).groups for number in (1, 2, 3)
    ]
    assert [one.id for group in pages for one in group[0].found] == [
        f"s{number:03}" for number in range(count)
    ]
    assert [group[0].more for group in pages] == [True, True, False]


TEXTS = st.text(st.characters(codec="utf-8", exclude_characters="\x00"), max_size=12)


@given(texts=st.lists(TEXTS, max_size=3), word=TEXTS)
@settings(deadline=None)
def test_a_word_is_held_where_case_alone_parts_it(texts: list[str], word: str) -> None:
    words = words_of(word)
    assert really_holds([*texts, f"before {' '.join(words)} after"], words)
    assert really_holds(texts, words) == all(really_holds(texts, [one]) for one in words)
