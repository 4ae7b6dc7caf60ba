"""The demo trial: complete, invented, the same on every call, with the numbers of the demo on files."""

from __future__ import annotations

import hashlib
import re
import zlib
from collections import Counter
from collections.abc import Iterator
from datetime import timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from laydown.kernel.errors import Contradiction
from laydown.records.engine import sqlite_url
from laydown.records.ledger import Records
from laydown.records.look import Look
from laydown.records.opening import open_records
from laydown.records.tables import TABLES
from laydown.records.trial_facts import load_facts
from laydown.science.faults.packaged import packaged_faults
from laydown.trials.checklist import checklist
from laydown.trials.clocks import reading_age
from laydown.trials.facts import TrialFacts
from laydown.trials.fairness import unfair_differences
from laydown.trials.remarks import Attachment
from laydown.trials.retracing import Retrace
from laydown.trials.route import is_usable, route_of
from laydown.trials.stock import Certificate
from laydown.trials.studio import Studio
from laydown.usecases.bench.drift_of_sheet import drift_of_sheet
from laydown.usecases.compare_media import CompareOptions, compare_media
from laydown.usecases.comparison import Comparison, Finding
from laydown.usecases.demo_trial import DEMO_FOLDER, HOUSE, demo_media, write_demo_trial
from laydown.usecases.measuring.trial_comparison import trial_request
from laydown.usecases.stock.roll_left import rolls_left
from laydown.usecases.trial.draw_sheets import drawn_as_planned
from laydown.usecases.trial.remove_trial import remove_trial
from laydown.usecases.trial.seed_demo import DEMO_TRIAL_ID, seed_demo
from laydown.usecases.undo import undo
from laydown.web.demo import demo_request
from ticking_clock import Clock


@pytest.fixture(scope="module")
def seeded(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Records]:
    """The demo in records that only this module looks at."""
    folder = tmp_path_factory.mktemp("demo")
    opened = open_records(sqlite_url(folder / "records.sqlite"), str(folder / "files"), clock=Clock())
    seed_demo(opened, who="Ada")
    yield opened
    opened.close()


@pytest.fixture(scope="module")
def facts(seeded: Records) -> TrialFacts:
    with seeded.look() as look:
        return load_facts(look, DEMO_TRIAL_ID)


def test_it_is_one_entry_that_can_be_undone(any_records: Records) -> None:
    act = seed_demo(any_records, who="Ada")
    assert (act.thing.id, act.thing.invented) == (DEMO_TRIAL_ID, True)
    with any_records.look() as look:
        (entry,) = look.entries()
        kept = {noun: look.count(noun) for noun in TABLES}
        assert look.find(Studio) == ()  # settings stay as they are
    assert (entry.who, entry.action, entry.words) == ("Ada", "opened", "the demo trial")
    assert sum(kept.values()) == len(entry.changes)
    undo(any_records, act.entry_id, who="Ada")
    with any_records.look() as look:
        assert all(look.count(noun) == 0 for noun in TABLES)
    seed_demo(any_records, who="Ada")
    with any_records.look() as look:
        assert {noun: look.count(noun) for noun in TABLES} == kept


def test_opening_it_again_changes_nothing_and_brings_it_back(records: Records) -> None:
    first = seed_demo(records, who="Ada").thing
    again = seed_demo(records, who="Joris")
    assert (again.thing, again.entry_id) == (first, "")
    remove_trial(records, first.id, who="Ada")
    assert seed_demo(records, who="Ada").thing == first
    with records.look() as look:
        assert len(look.entries()) == 3


def test_it_is_the_same_on_every_call(seeded: Records, records: Records) -> None:
    seed_demo(records, who="Ada")

    def everything(look: Look) -> dict[str, tuple[Any, ...]]:
        return {noun.__name__: look.find(noun) for noun in TABLES}

    with seeded.look() as one, records.look() as other:
        assert everything(one) == everything(other)


def test_a_clock_before_its_days_is_refused_in_a_sentence(records: Records, clock: Clock) -> None:
    clock.now -= timedelta(days=365)
    with pytest.raises(Contradiction, match="in the future"):
        seed_demo(records, who="Ada")


def test_everything_with_a_name_says_that_it_is_invented(seeded: Records, facts: TrialFacts) -> None:
    with seeded.look() as look:
        named = [
            getattr(thing, "name", "") or getattr(thing, "title", "")
            for noun in TABLES
            for thing in look.find(noun)
            if noun.__name__ in ("Supplier", "Medium", "Printer", "Certificate", "Trial", "Retrace")
        ]
        notes = [note.words for note in look.find(next(n for n in TABLES if n.__name__ == "Note"))]
    assert len(named) > 10
    assert all("(invented)" in name for name in named), named
    assert all(candidate.words.startswith("Invented") for candidate in facts.candidates)
    assert any("Everything in this trial is invented" in note for note in notes)


def test_it_stands_where_a_trial_stands_before_its_last_reading(facts: TrialFacts, seeded: Records) -> None:
    route = route_of(facts, now=seeded.now())
    assert [route.station(name).status for name in ("brief", "plan", "print", "settle")] == ["done"] * 4
    measure = route.station("measure")
    assert (measure.status, measure.done, measure.total) == ("under way", 17, 20)
    assert drawn_as_planned(facts)
    assert len({sheet.day for sheet in facts.sheets if sheet.place}) == 3


def test_what_goes_wrong_in_trials_went_wrong_in_it(facts: TrialFacts, seeded: Records) -> None:
    (spoiled,) = (event for event in facts.events if event.kind == "spoiled")
    bad = facts.sheet(spoiled.sheet_id)
    assert (bad.use, bad.place) == ("test", 0)
    assert "takes its place" in spoiled.words
    assert re.search(r"Replaced by (\w+)\.", bad.words)
    (change,) = facts.brief_changes
    assert (change.field, change.before, change.after) == ("stop_date", "2026-02-20", "2026-02-27")
    unfair = {one.id: one for one in unfair_differences(facts)}
    assert dict(unfair["profile origin"].values)["supplier"] == ("Gullwing White",)
    assert "ink load" in unfair
    early = [one for one in facts.readings if (age := reading_age(facts, one)) is not None and age.early]
    assert len(early) == 5
    assert not any(is_usable(facts, reading_id=one.id) for one in early)
    with seeded.look() as look:
        (certificate,) = look.find(Certificate)
        gaps = [name for name in ("ink", "coating", "glazing", "end_point") if not getattr(certificate, name)]
        left = rolls_left(look, facts.rolls)
    assert len(gaps) == 4
    assert all(one.amount is not None and one.amount > 0 for one in left.values())


def test_every_print_has_a_room_a_sitting_and_a_use(facts: TrialFacts, seeded: Records) -> None:
    printed = {event.sheet_id: event for event in facts.events if event.kind == "printed"}
    for sheet_id, event in printed.items():
        sheet = facts.sheet(sheet_id)
        assert event.room_rh is not None
        assert sheet.run_id is not None
        run = facts.run(sheet.run_id)
        assert run.ended_at is not None
        assert run.begun_at < event.at < run.ended_at
    runs = sorted(facts.runs, key=lambda run: run.begun_at)
    assert all(a.ended_at and a.ended_at <= b.begun_at for a, b in pairwise(runs))
    for run in facts.runs:
        candidate = facts.candidate(run.candidate_id)
        steps = checklist(facts, candidate, printer=facts.printer_of(candidate),
                          medium=facts.medium_of(candidate), for_chart=True)  # fmt: skip
        assert [tick.step for tick in run.ticks] == [step.id for step in steps]


def test_one_sheet_is_followed_until_it_is_at_rest(facts: TrialFacts, seeded: Records) -> None:
    most = Counter(one.sheet_id for one in facts.readings if one.conditions == ("M1",)).most_common(1)[0][0]
    assert most is not None
    with seeded.look() as look:
        drift = drift_of_sheet(look, facts, facts.sheet(most), condition="M1")
    assert drift.left_out == ()
    hours = [item.hours for item in drift.readings]
    assert hours == pytest.approx([0.5, 1.5, 4.0, 9.0, 24.1])
    assert drift.curve.hours[-1] == pytest.approx(24.1)


def test_the_retrace_speaks_of_faults_that_are_known(seeded: Records) -> None:
    model = packaged_faults()
    with seeded.look() as look:
        (retrace,) = look.find(Retrace)
    assert {one.symptom for one in retrace.symptoms} <= set(model.symptoms)
    assert {one.check for one in retrace.answers} <= set(model.checks)
    assert {one.cause for one in retrace.tried} <= set(model.causes)
    assert (retrace.outcome, retrace.tried[0].helped) == ("solved", True)


def test_its_pictures_are_pictures(seeded: Records) -> None:
    with seeded.look() as look:
        attached = look.find(Attachment)
        contents = {one.kind: look.read_file(one.sha256) for one in attached}
    assert set(contents) == {"chart", "photograph"}
    for content in contents.values():
        assert content.startswith(b"\x89PNG\r\n\x1a\n")  # ISO/IEC 15948, 5.2
        start = content.index(b"IDAT") + 4
        length = int.from_bytes(content[start - 8 : start - 4], "big")
        width, height = (int.from_bytes(content[place : place + 4], "big") for place in (16, 20))
        # One filter byte and three bytes for each point of a line (ISO/IEC 15948, 7.2 and 9.2).
        assert len(zlib.decompress(content[start : start + length])) == height * (1 + 3 * width)


def test_only_dates_of_the_files_differ_from_the_demo_on_files(seeded: Records, tmp_path: Path) -> None:
    folder = write_demo_trial(tmp_path / DEMO_FOLDER)
    dated = re.compile(rb"20\d\d-\d\d-\d\dT\d\d:\d\d:\d\dZ")

    def undated(content: bytes) -> str:
        return hashlib.sha256(dated.sub(b"", content)).hexdigest()

    on_files = Counter(undated(path.read_bytes()) for path in folder.rglob("sheet*"))
    with seeded.look() as look:
        facts = load_facts(look, DEMO_TRIAL_ID)
        usable = [one for one in facts.readings if is_usable(facts, reading_id=one.id)]
        kept = Counter(undated(look.read_file(one.file_sha256)) for one in usable)
    assert kept == on_files
    assert sum(kept.values()) == 30  # 13 sheets in two files each, 4 in one


def compared(files: Any, options: CompareOptions) -> Comparison:
    return compare_media(files, options=options, runner=None, progress=lambda _: None)


def told(finding: Finding) -> tuple[object, ...]:
    """To nine digits: sheets are in another order, and sums of floats end differently."""
    numbers = (finding.value, finding.low, finding.high)
    return finding.id, finding.condition, finding.n, *(f"{number:.9g}" for number in numbers)


def test_the_comparison_gives_the_numbers_of_the_demo_on_files(seeded: Records, tmp_path: Path) -> None:
    (tmp_path / "demo").mkdir()
    files, options = demo_request(tmp_path)
    with seeded.look() as look:
        request = trial_request(look, load_facts(look, DEMO_TRIAL_ID), by="medium")
        ours = compared(request.files, request.options)
    theirs = compared(files, options)
    assert {one.name for one in ours.candidates} == {demo.name for demo in demo_media()}
    for candidate in theirs.candidates:
        mine = ours.candidate(candidate.name)
        assert [told(f) for f in mine.findings] == [told(f) for f in candidate.findings]

    def calls(said: Comparison) -> dict[tuple[str, str, str], tuple[str, str]]:
        against_house = [one if one.against == HOUSE else one.turned() for one in said.differences
                         if HOUSE in (one.candidate, one.against)]  # fmt: skip
        return {
            (one.finding, one.condition, one.candidate): (one.call, f"{one.difference:.9g}")
            for one in against_house
        }

    assert calls(ours) == calls(theirs)
    assert ours.invented
