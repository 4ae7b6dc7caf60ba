"""Ask what looks wrong with readings, against the trial's chart and the other sheets.

Which readings may be set against one another is settled here: those of the same finish, either all settled or
all early. What looks wrong then is for ``science.findings.mix_ups``.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from laydown.kernel.errors import LaydownError
from laydown.records.look import Look
from laydown.science.findings.mix_ups import ExpectedChart, MixUp, suspect_mix_ups
from laydown.science.findings.reduction import Reduced, reduce_readings
from laydown.science.readings import read_measurements
from laydown.science.readings.target import read_target
from laydown.trials.clocks import reading_age
from laydown.trials.facts import TrialFacts
from laydown.trials.measured import Doubt, Reading
from laydown.usecases.measuring.answers import answer_text
from laydown.usecases.measuring.form_questions import FormPages, form_pages, view_through_forms
from laydown.usecases.measuring.placing import unmeasured_sheets

# Enough to tell one medium from another; more would only make the bench wait.
MOST_SIBLINGS = 5
MOST_OF_OTHERS = 2
MOST_SHEETS_OFFERED = 8


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """A reading and the tables of its file."""

    reading: Reading
    tables: tuple[Reduced, ...]


def find_doubts(look: Look, facts: TrialFacts, new: Sequence[Seen]) -> tuple[tuple[Doubt, ...], ...]:
    """The questions each of some new readings raises, before any of them is kept."""
    chart, forms = chart_of(look, facts), form_pages(look, facts)
    tables = {one.reading.id: one.tables for one in new}
    every = _kinds(facts, [*(one.reading for one in new), *reversed(facts.readings)])
    asked = []
    for one in new:
        beside = []
        for reading in _beside(facts, one, every):
            if reading.id not in tables:
                tables[reading.id] = tables_of(look, reading)
            beside.append(Seen(reading, tables[reading.id]))
        asked.append(_doubts(facts, one, _suspected(facts, one, beside, chart, forms)))
    return tuple(asked)


def doubts_about(
    look: Look, facts: TrialFacts, reading: Reading, *, chart: ExpectedChart | None = None
) -> tuple[Doubt, ...]:
    """The questions a kept reading raises on the sheet it names; what was answered stays answered.

    ``chart`` stands in for the trial's own.
    """
    one = Seen(reading, tables_of(look, reading))
    settled = tuple(doubt for doubt in reading.doubts if doubt.answer)
    kinds = {doubt.kind for doubt in settled}
    asked = _doubts(facts, one, mix_ups_of(look, facts, one, chart=chart))
    return (*settled, *(doubt for doubt in asked if doubt.kind not in kinds))


def mix_ups_of(
    look: Look, facts: TrialFacts, one: Seen, *, chart: ExpectedChart | None = None
) -> tuple[MixUp, ...]:
    """What is suspected of a kept reading now, against the chart and the readings kept beside it."""
    beside = [
        Seen(reading, tables_of(look, reading))
        for reading in _beside(facts, one, _kinds(facts, reversed(facts.readings)))
    ]
    forms = form_pages(look, facts) if chart is None else FormPages((), frozenset())
    return _suspected(facts, one, beside, chart or chart_of(look, facts), forms)


def tables_of(look: Look, reading: Reading, *, check_rows: bool = False) -> tuple[Reduced, ...]:
    """The tables of a kept reading, mended where they were; none where its file cannot be used any more."""
    try:
        content = look.read_file(reading.mended_sha256 or reading.file_sha256)
        found = read_measurements(content, file=reading.file_name).tables
        return tuple(reduce_readings(table, check_rows=check_rows) for table in found)
    except LaydownError:
        return ()


def chart_of(look: Look, facts: TrialFacts) -> ExpectedChart | None:
    """The trial's chart, where it is known and its file can be read."""
    if not facts.trial.chart_sha256:
        return None
    name = facts.trial.chart_name or "the chart of this trial"
    try:
        return expected_chart(look.read_file(facts.trial.chart_sha256), name=name)
    except LaydownError:
        return None


def expected_chart(content: bytes, *, name: str) -> ExpectedChart:
    """The chart a file names; UnreadableFile where it names none."""
    target = read_target(content, file=name)
    assert target.device is not None
    return ExpectedChart(name, target.channels, target.device, target.positions)


def _suspected(
    facts: TrialFacts,
    one: Seen,
    beside: Sequence[Seen],
    chart: ExpectedChart | None,
    forms: FormPages,
) -> tuple[MixUp, ...]:
    """What is suspected of any table of a file, each kind once; a form that knows it goes before a chart."""
    medium, siblings, others = _by_medium(facts, one, beside)
    found: dict[str, MixUp] = {}
    for table in one.tables:
        seen, against = table, chart
        view = view_through_forms(table, forms, other_chart=chart is not None)
        if view is not None:
            seen, against = view.table, view.chart
            for item in view.asked:
                found.setdefault(item.kind, item)
        for item in suspect_mix_ups(seen, medium=medium, chart=against, siblings=siblings, others=others):
            found.setdefault(item.kind, item)
    return tuple(found.values())


def _by_medium(
    facts: TrialFacts, one: Seen, beside: Sequence[Seen]
) -> tuple[str, list[Reduced], Mapping[str, list[Reduced]]]:
    """The reading's own candidate, tables of that one's other sheets, and of other candidates by name."""
    siblings: list[Reduced] = []
    others: dict[str, list[Reduced]] = defaultdict(list)
    if one.reading.sheet_id is None:
        return "", siblings, others
    own = facts.sheet(one.reading.sheet_id)
    for item in beside:
        assert item.reading.sheet_id is not None
        sheet = facts.sheet(item.reading.sheet_id)
        if sheet.candidate_id != own.candidate_id:
            others[facts.candidate(sheet.candidate_id).name] += item.tables
        elif sheet.id != own.id:
            siblings += item.tables
    return facts.candidate(own.candidate_id).name, siblings, others


Kind = tuple[str, bool]


def _kinds(facts: TrialFacts, readings: Iterable[Reading]) -> list[tuple[Reading, Kind]]:
    """Readings that are not set aside, with the finish they were taken in and whether they were early."""
    kinds = [(one, _kind(facts, one)) for one in readings if one.set_aside_at is None]
    return [(one, kind) for one, kind in kinds if kind is not None]


def _beside(facts: TrialFacts, one: Seen, readings: Iterable[tuple[Reading, Kind]]) -> Iterator[Reading]:
    """Of some readings those that one may be set against: a few of each candidate, in the order given."""
    wanted = _kind(facts, one.reading)
    if wanted is None:
        return
    conditions = {table.measurement for table in one.tables}
    own = _candidate(facts, one.reading)
    taken: dict[str, int] = defaultdict(int)
    for reading, kind in readings:
        if reading.id == one.reading.id or kind != wanted:
            continue
        if not conditions & {word.split(",")[0] for word in reading.conditions}:
            continue
        candidate = _candidate(facts, reading)
        if taken[candidate] < (MOST_SIBLINGS if candidate == own else MOST_OF_OTHERS):
            taken[candidate] += 1
            yield reading


def _kind(facts: TrialFacts, reading: Reading) -> Kind | None:
    """The finish a reading was taken in, and whether it was early; None where it has no printed sheet."""
    age = reading_age(facts, reading)
    return (age.finish, age.early) if age else None


def _candidate(facts: TrialFacts, reading: Reading) -> str:
    return facts.sheet(reading.sheet_id).candidate_id if reading.sheet_id else ""


def _doubts(facts: TrialFacts, one: Seen, found: Sequence[MixUp]) -> tuple[Doubt, ...]:
    return tuple(
        Doubt(kind=item.kind, words=item.sentence, question=item.question, answers=_answers(facts, one, item))
        for item in found
    )


def _answers(facts: TrialFacts, one: Seen, found: MixUp) -> tuple[str, ...]:
    """The answers that may be given; for a sheet of another medium one for each sheet it may be."""
    told: list[str] = []
    for answer in found.answers:
        if answer.act != "move":
            told.append(answer_text(answer.act, answer.words))
            continue
        told += [
            answer_text("move", f"{answer.words}, sheet {code}", code=code)
            for code in _sheets_of(facts, one, found.belongs_to or "")
        ]
    return tuple(told)


def _sheets_of(facts: TrialFacts, one: Seen, name: str) -> list[str]:
    """Codes of the printed sheets of a candidate, those not measured yet first."""
    candidate = next((item for item in facts.candidates if item.name == name), None)
    if candidate is None:
        return []
    printed = {event.sheet_id for event in facts.events if event.kind == "printed"}
    free = {sheet.id for sheet in unmeasured_sheets(facts)}
    sheets = [sheet for sheet in facts.sheets_of(candidate.id) if sheet.id in printed]
    sheets.sort(key=lambda sheet: sheet.id not in free)
    return [sheet.code for sheet in sheets if sheet.id != one.reading.sheet_id][:MOST_SHEETS_OFFERED]
