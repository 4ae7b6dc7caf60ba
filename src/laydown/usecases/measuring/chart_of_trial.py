"""Say which chart a trial's sheets carry, so that every reading is held against it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TypeAlias

from laydown.kernel.errors import RefusedInput
from laydown.records.ledger import Records
from laydown.records.trial_facts import load_facts
from laydown.records.upload_names import clean_path
from laydown.records.work import Work
from laydown.trials.facts import TrialFacts
from laydown.trials.measured import Doubt, Reading
from laydown.trials.trial import Trial
from laydown.usecases.acted import Acted
from laydown.usecases.bench.open_trial import open_trial
from laydown.usecases.measuring.find_doubts import doubts_about, expected_chart
from laydown.usecases.measuring.parsed_file import HandedIn

Doubts: TypeAlias = tuple[Doubt, ...]


def set_chart(records: Records, trial_id: str, file: HandedIn, *, who: str) -> Acted[Trial]:
    """Take a file as the trial's chart: its reference, or a measurement with device values.

    Readings that are there already are held against it.

    Raises
    ------
    UnreadableFile
        The file cannot be read or names no device values.
    RefusedInput
        The trial is not open.
    """
    name = clean_path(file.name).rpartition("/")[2]
    chart = expected_chart(file.content, name=name)
    with records.look() as look:
        facts = load_facts(look, trial_id)
        asked = {
            one.id: doubts_about(look, facts, one, chart=chart)
            for one in facts.readings
            if one.set_aside_at is None
        }
    with records.work("set", who=who) as work:
        trial = open_trial(work, trial_id)
        work.say(f"the chart: {name}, {len(chart.device)} patches")
        sha256 = work.keep_file(file.content)
        _ask(work, facts, asked)
        return Acted(work.change(replace(trial, chart_name=name, chart_sha256=sha256)), work.entry_id)


def chart_from_reading(records: Records, reading_id: str, *, who: str) -> Acted[Trial]:
    """Take the chart that was read in a reading as the trial's chart.

    Raises
    ------
    UnreadableFile
        The reading's file names no device values.
    RefusedInput
        The trial is not open.
    """
    with records.look() as look:
        reading = look.get(Reading, reading_id)
        content = look.read_file(reading.file_sha256)
    return set_chart(records, reading.trial_id, HandedIn(reading.file_name, content), who=who)


def check_again(records: Records, trial_id: str, *, who: str) -> Acted[int]:
    """Hold every reading against the chart and the others again; how many new questions there are.

    Where nothing changes there is no entry, and ``entry_id`` is "".

    Raises
    ------
    RefusedInput
        The trial is not open, or there is no reading to look at.
    """
    with records.look() as look:
        facts = load_facts(look, trial_id)
        if not facts.readings:
            raise RefusedInput("there are no readings yet.", todo="Add the first ones.")
        asked = {one.id: doubts_about(look, facts, one) for one in facts.readings if one.set_aside_at is None}
    with records.work("checked", who=who) as work:
        open_trial(work, trial_id)
        asked_before = _ask(work, facts, asked)
        new = sum(
            doubt.kind not in {one.kind for one in before} for before, now in asked_before for doubt in now
        )
        work.say(
            f"all readings against the chart and each other: {new} new question{'' if new == 1 else 's'}"
        )
        return Acted(new, work.entry_id if asked_before else "")


def _ask(work: Work, facts: TrialFacts, asked: Mapping[str, Doubts]) -> list[tuple[Doubts, Doubts]]:
    """Note questions on readings, but not over an answer that was given meanwhile; those before and after."""
    changed = []
    for one in facts.readings:
        now = work.seek(Reading, one.id)
        if now is None or now.doubts != one.doubts or asked.get(one.id, now.doubts) == now.doubts:
            continue
        work.change(replace(now, doubts=asked[one.id]))
        changed.append((one.doubts, asked[one.id]))
    return changed
