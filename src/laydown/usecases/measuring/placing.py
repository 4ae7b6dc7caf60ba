"""Which sheet a file was read on: by the sheet's code in its name, by the order of printing, or as told."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from laydown.kernel.errors import UnknownRecord
from laydown.science.findings.pairing import sheet_name
from laydown.trials.clocks import reading_age
from laydown.trials.contradictions import CLOCK_LEEWAY
from laydown.trials.facts import TrialFacts
from laydown.trials.sheets import Sheet
from laydown.usecases.measuring.parsed_file import ParsedFile

How = Literal["by name", "in print order"]


@dataclass(frozen=True, slots=True, eq=False)
class Placed:
    """A file with its sheet and the moment it was measured, either or both unknown, and words about them."""

    file: ParsedFile
    sheet: Sheet | None
    measured_at: datetime | None
    words: str


def place_files(
    facts: TrialFacts,
    files: Sequence[ParsedFile],
    *,
    how: How = "by name",
    sheet_id: str | None = None,
    measured_at: datetime | None = None,
    now: datetime,
) -> tuple[Placed, ...]:
    """Give each file its sheet; one that cannot be told waits without.

    ``sheet_id`` names the sheet of all of them. Otherwise the code in a file's name counts, and with
    ``how`` "in print order" the remaining files go to the printed sheets not measured yet, in the order they
    were read in or of their names; files whose names differ only in a condition go to one sheet.
    ``measured_at`` is for files that state no time.

    Raises
    ------
    UnknownRecord
        There is no sheet of that id in the trial.
    """
    chosen = _chosen(facts, sheet_id) if sheet_id else None
    sheets = [chosen or sheet_in_name(file.name, facts.sheets) for file in files]
    if how == "in print order" and chosen is None:
        sheets = _in_print_order(facts, files, sheets)
    return tuple(
        _placed(facts, file, sheet, told=measured_at, now=now)
        for file, sheet in zip(files, sheets, strict=True)
    )


def _chosen(facts: TrialFacts, sheet_id: str) -> Sheet:
    found = next((one for one in facts.sheets if one.id == sheet_id), None)
    if found is None:
        raise UnknownRecord("there is no such sheet in this trial.", todo="Choose one of its sheets.")
    return found


def sheet_in_name(name: str, sheets: Sequence[Sheet]) -> Sheet | None:
    """The one sheet whose code stands alone in a file's name, or else in its folders' names."""
    *folders, own = name.split("/")
    for part in (own, *reversed(folders)):
        found = [sheet for sheet in sheets if _stands_in(sheet.code, part)]
        if found:
            return found[0] if len(found) == 1 else None
    return None


def unmeasured_sheets(facts: TrialFacts) -> tuple[Sheet, ...]:
    """Printed sheets, in the order of printing, that were not read yet in the finish they have now."""
    spoiled = {event.sheet_id for event in facts.events if event.kind == "spoiled"}
    printed = [event.sheet_id for event in facts.events if event.kind == "printed"]
    waiting = [facts.sheet(one) for one in printed if one not in spoiled]
    return tuple(one for one in waiting if one.use in ("test", "spare") and not _is_measured(facts, one))


def _is_measured(facts: TrialFacts, sheet: Sheet) -> bool:
    finish = "coated" if facts.events_of(sheet.id, "coated") else "uncoated"
    ages = [reading_age(facts, one) for one in facts.readings_of(sheet.id) if one.set_aside_at is None]
    return any(age is not None and age.finish == finish for age in ages)


def usable_moment(
    facts: TrialFacts, sheet: Sheet | None, at: datetime, *, now: datetime, whose: str = "its file states"
) -> tuple[datetime | None, str]:
    """A moment of measuring, or None with the reason where it cannot be right.

    The reason does not tell the time itself, so that one that holds for many readings can be said once.
    """
    said = f"the time that {whose} was not used: "
    if at > now + timedelta(hours=CLOCK_LEEWAY.value):
        return None, said + "it lies in the future."
    printed = next(iter(facts.events_of(sheet.id, "printed")), None) if sheet else None
    if printed is not None and at < printed.at:
        return None, said + "the sheet was not printed then."
    return at, ""


def _stands_in(code: str, text: str) -> bool:
    """Whether a code stands in a name by itself: K7 in "scan_k7-M1", not in "K72" or "MK7"."""
    wanted = rf"(?<![^\W_]){re.escape(code)}(?![^\W_])"
    return re.search(wanted, text, re.IGNORECASE) is not None


def _in_print_order(
    facts: TrialFacts, files: Sequence[ParsedFile], sheets: Sequence[Sheet | None]
) -> list[Sheet | None]:
    """The files without a sheet, in order, to the printed sheets that are not measured yet."""
    taken = {sheet.id for sheet in sheets if sheet is not None}
    free = iter([sheet for sheet in unmeasured_sheets(facts) if sheet.id not in taken])
    loose = [place for place, sheet in enumerate(sheets) if sheet is None]
    timed = all(files[place].measured_at is not None for place in loose)
    loose.sort(key=lambda place: _turn(files[place], timed=timed))
    given: dict[str, Sheet | None] = {}
    placed = list(sheets)
    for place in loose:
        group = sheet_name(f"all/{files[place].name}")
        if group not in given:
            given[group] = next(free, None)
        placed[place] = given[group]
    return placed


def _turn(file: ParsedFile, *, timed: bool) -> tuple[object, ...]:
    """Files in the order of reading, or of their names with numbers taken as numbers."""
    if timed:
        return (file.measured_at,)
    parts = re.split(r"(\d+)", file.name.casefold())
    return tuple((1, int(part), "") if part.isdigit() else (0, 0, part) for part in parts)


def _unlike_finish(facts: TrialFacts, file: ParsedFile, sheet: Sheet | None, at: datetime) -> str:
    """What the file says of the coat, where the sheet's own records say otherwise."""
    if sheet is None or not file.finish:
        return ""
    coated = any(event.at <= at for event in facts.events_of(sheet.id, "coated"))
    known = "coated" if coated else "uncoated"
    if file.finish == known:
        return ""
    return (
        f"its file says {file.finish}, but sheet {sheet.code} was {known} then; it is compared with neither."
    )


def _unread(file: ParsedFile) -> str:
    """How many patches of a file could not be used, and why the first could not."""
    errors = [problem for problem in file.problems if problem.severity == "error"]
    if not errors:
        return ""
    first = errors[0]
    place = ", ".join(part for part in (first.place().removeprefix(file.name).strip(", "),) if part)
    more = f" There are {len(errors) - 1} more." if len(errors) > 1 else ""
    return f"{place}: {first.what}{more}".removeprefix(": ")


def _placed(
    facts: TrialFacts, file: ParsedFile, sheet: Sheet | None, *, told: datetime | None, now: datetime
) -> Placed:
    words = [_unread(file)]
    printed = next(iter(facts.events_of(sheet.id, "printed")), None) if sheet else None
    if sheet is not None and printed is None:
        words.append(f"waits: sheet {sheet.code} is not printed yet.")
        sheet = None
    at: datetime | None = None
    if file.measured_at is not None:
        at, why = usable_moment(facts, sheet, file.measured_at, now=now)
        words.append(why)
    if at is None and file.age_hours is not None and printed is not None:
        at, why = usable_moment(facts, sheet, printed.at + timedelta(hours=file.age_hours), now=now)
        words.append("measured when its file says: so many hours after printing." if at else why)
    if at is None and told is not None:
        at, why = usable_moment(facts, sheet, told, now=now, whose="was given with it")
        words.append(why)
    words.append(_unlike_finish(facts, file, sheet, at or now))
    return Placed(file, sheet, at, " ".join(word for word in words if word))
