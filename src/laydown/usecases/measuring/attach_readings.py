"""Take measurement files in: each is read before it is kept, and one that cannot be read holds nobody up."""

from __future__ import annotations

import logging
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from laydown.kernel.errors import LaydownError
from laydown.records.ledger import Records
from laydown.records.trial_facts import load_facts
from laydown.records.work import Work
from laydown.trials.facts import TrialFacts
from laydown.trials.measured import Reading, ReadingSource
from laydown.trials.sheets import Sheet
from laydown.usecases.acted import Acted
from laydown.usecases.bench.open_trial import open_trial
from laydown.usecases.measuring.find_doubts import Seen, find_doubts
from laydown.usecases.measuring.parsed_file import HandedIn, ParsedFile, parse_file
from laydown.usecases.measuring.placing import How, Placed, place_files

_logger = logging.getLogger(__name__)
MOST_NAMED = 6


@dataclass(frozen=True, slots=True)
class NotTaken:
    """A file that was not kept, and why; ``known`` says that it is here already."""

    name: str
    why: str
    known: bool = False


@dataclass(frozen=True, slots=True)
class TakenIn:
    """What became of the files of one drop."""

    readings: tuple[Reading, ...]
    not_taken: tuple[NotTaken, ...]


def content_id(sha256: str) -> str:
    """The id of what is kept of a file that came: the same for the same bytes, so that it is known again."""
    return f"r{sha256[:19]}"


def attach_readings(
    records: Records,
    trial_id: str,
    files: Sequence[HandedIn],
    *,
    who: str,
    source: ReadingSource = "dropped",
    how: How = "by name",
    sheet_id: str | None = None,
    measured_at: datetime | None = None,
) -> Acted[TakenIn]:
    """Keep files as readings of a trial's sheets; one that cannot be read is told of and the others kept.

    Where sheets come from is told in ``placing``. Nothing kept makes no entry, and ``entry_id`` is "".

    Raises
    ------
    RefusedInput
        The trial is closed or in the trash.
    """
    with records.look() as look:
        facts = load_facts(look, trial_id)
        parsed, left = _parse(files, facts)
        placed = place_files(
            facts, parsed, how=how, sheet_id=sheet_id, measured_at=measured_at, now=records.now()
        )
        new = [_reading(one, trial_id, source=source, who=who, now=records.now()) for one in placed]
        seen = [Seen(reading, one.file.tables) for reading, one in zip(new, placed, strict=True)]
        doubts = find_doubts(look, facts, seen)
    with records.work("received", who=who) as work:
        open_trial(work, trial_id)
        readings = []
        for one, reading, asked in zip(placed, new, doubts, strict=True):
            known = _known(work, trial_id, one.file)
            if known is not None:
                left.append(known)
                continue
            work.keep_file(one.file.content)
            # The same file may belong to a second trial, such as one begun anew: the first bears its mark.
            free = reading.id if work.seek(Reading, reading.id) is None else records.new_id()
            readings.append(work.add(replace(reading, id=free, doubts=asked, received_at=work.now)))
        work.say(_words(readings, facts))
        return Acted(TakenIn(tuple(readings), tuple(left)), work.entry_id if readings else "")


def _parse(files: Sequence[HandedIn], facts: TrialFacts) -> tuple[list[ParsedFile], list[NotTaken]]:
    """Read every file; whatever one of them does to the reader, the others must stay usable."""
    parsed: dict[str, ParsedFile] = {}
    left: list[NotTaken] = []
    for handed in files:
        try:
            one = parse_file(handed, time_zone=facts.studio.time_zone)
        except LaydownError as error:
            left.append(NotTaken(handed.name, str(error)))
        except Exception as error:
            _logger.exception("A file could not be read: %s", handed.name)
            why = f"something in it was not foreseen ({type(error).__name__}). Export it again, as text."
            left.append(NotTaken(handed.name, f"{handed.name}: {why}"))
        else:
            if one.sha256 in parsed:
                why = f"{one.name}: this is {parsed[one.sha256].name} once more; it was taken once."
                left.append(NotTaken(one.name, why, known=True))
            else:
                parsed[one.sha256] = one
    return list(parsed.values()), left


def _known(work: Work, trial_id: str, file: ParsedFile) -> NotTaken | None:
    """That a file is here already, whatever its name was then."""
    for reading in work.find(Reading, trial_id=trial_id, file_sha256=file.sha256):
        sheet = work.seek(Sheet, reading.sheet_id)
        where = f"a reading of sheet {sheet.code}" if sheet else "waiting for its sheet"
        aside = ", set aside" if reading.set_aside_at is not None else ""
        why = f"{file.name}: this file is here already, as {reading.file_name}, {where}{aside}."
        return NotTaken(file.name, why, known=True)
    return None


def _reading(placed: Placed, trial_id: str, *, source: ReadingSource, who: str, now: datetime) -> Reading:
    file = placed.file
    return Reading(
        id=content_id(file.sha256),
        trial_id=trial_id,
        sheet_id=placed.sheet.id if placed.sheet else None,
        source=source,
        file_name=file.name,
        file_sha256=file.sha256,
        received_at=now,
        measured_at=placed.measured_at,
        instrument=file.instrument,
        conditions=file.conditions,
        patches=file.patches,
        by=who,
        words=placed.words,
    )


def _words(readings: Sequence[Reading], facts: TrialFacts) -> str:
    """Such as "3 readings: K7, K9 (2)" for the journal."""
    count = "1 reading" if len(readings) == 1 else f"{len(readings)} readings"
    on = Counter(facts.sheet(one.sheet_id).code for one in readings if one.sheet_id)
    named = [f"{code} ({number})" if number > 1 else code for code, number in on.items()]
    more = [f"and {len(named) - MOST_NAMED} more sheets"] if len(named) > MOST_NAMED else []
    waiting = sum(one.sheet_id is None for one in readings)
    parts = [", ".join([*named[:MOST_NAMED], *more]), f"{waiting} without a sheet yet" if waiting else ""]
    told = "; ".join(part for part in parts if part)
    return f"{count}: {told}" if told else count
