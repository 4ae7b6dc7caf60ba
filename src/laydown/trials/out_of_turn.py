"""Printed on another day than drawn for, or before others: what the drawn order was to prevent, in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo

from laydown.kernel.constants import Constant
from laydown.trials.facts import TrialFacts
from laydown.trials.sheets import Sheet

DAY_TURNS = Constant(
    4.0, "h", "chosen here: what is printed on past midnight belongs to the evening before", "computed"
)


DAYS_APART = (
    "Days are kept apart so that what drifts from day to day falls on all media alike. Better wait for the "
    "next day; if it is printed now, that is noted."
)
TURNS_KEPT = (
    "The order was drawn so that what drifts during a day falls on all media alike. If it is printed now, "
    "that is noted."
)


@dataclass(frozen=True, slots=True)
class Departure:
    """How a printing departs from the drawn order: ``told`` is kept with it; ``ahead`` and ``why`` warn."""

    told: str
    ahead: str
    why: str


def departures(
    facts: TrialFacts, sheet: Sheet, *, at: datetime, zone: tzinfo | None
) -> tuple[Departure, ...]:
    """What would be lost if a sheet were printed at that moment; nothing where the order is kept.

    A day of the order is the date on which its first sheet was printed, later than that of the day before.
    A day keeps the drift between days (weather, ink, a cleaned head) off the differences between media only
    as long as its sheets are printed together and apart from those of other days. Only what had happened by
    then counts, so that the answer for a sheet noted late is the one it would have got at the printer.
    Each printer has a turn of its own; sheets of the same candidate may change places.

    ``zone`` is where the studio's clock hangs; None is this computer's own. Sheets beside the order depart
    from nothing.
    """
    if sheet.use != "test" or not sheet.place:
        return ()
    printed = {
        event.sheet_id: printing_date(event.at, zone)
        for event in facts.events
        if event.kind == "printed" and event.at <= at and event.sheet_id != sheet.id
    }
    ordered = _in_order(facts, sheet, printed, at)
    found = (
        _of_day(sheet, ordered, printed, printing_date(at, zone)),
        _of_turn(facts, sheet, ordered, printed),
    )
    return tuple(one for one in found if one is not None)


def departure_words(found: Sequence[Departure]) -> str:
    """What is kept with a printing that departs from the order; "" where none does."""
    return " ".join(one.told for one in found)


def printing_date(at: datetime, zone: tzinfo | None) -> date:
    """The date a printing belongs to: that on the studio's wall, but the evening's until four at night."""
    wall = at.astimezone(zone).replace(tzinfo=None)
    return (wall - timedelta(hours=DAY_TURNS.value)).date()


def _in_order(facts: TrialFacts, sheet: Sheet, printed: dict[str, date], at: datetime) -> tuple[Sheet, ...]:
    """The other sheets of the order that were printed by then, or still waited."""
    spoiled = {event.sheet_id for event in facts.events if event.kind == "spoiled" and event.at <= at}
    gone = {one.id for one in facts.candidates if one.withdrawn_at is not None}
    return tuple(
        one
        for one in facts.sheets
        if one.use == "test" and one.place and one.id != sheet.id
        if one.id in printed or (one.id not in spoiled and one.candidate_id not in gone)
    )


def _of_day(
    sheet: Sheet, ordered: Sequence[Sheet], printed: dict[str, date], today: date
) -> Departure | None:
    begun = dict(_days_begun(ordered, printed))
    drawn, named = f"Drawn for day {sheet.day}", _named(today)
    before = max((one.day for one in ordered if one.day < sheet.day), default=None)
    if before is not None and before not in begun:
        return Departure(
            f"{drawn}, printed before day {before} was.",
            f"{drawn}; day {before} is not printed yet.",
            DAYS_APART,
        )
    if before is not None and today <= begun[before]:
        return Departure(
            f"{drawn}, printed on {named}, the day of day {before}.",
            f"{drawn}; {named} is the day of day {before}.",
            DAYS_APART,
        )
    own = begun.get(sheet.day, today)
    if today == own:
        return None
    return Departure(
        f"{drawn}, which was begun on {_named(own)}; printed on {named}.",
        f"{drawn}, which was begun on {_named(own)}.",
        "What is different today falls on these sheets alone. Print them all the same; it is noted.",
    )


def _days_begun(ordered: Sequence[Sheet], printed: dict[str, date]) -> Iterator[tuple[int, date]]:
    """Each day of the order that was begun, with its date; what was printed too early begins no day."""
    last = date.min
    for day in sorted({one.day for one in ordered}):
        sheets = [one for one in ordered if one.day == day]
        dates = [printed[one.id] for one in sheets if one.id in printed]
        own = [one for one in dates if one > last]
        if not own and len(dates) < len(sheets):
            return
        last = min(own, default=last)
        yield day, last


def _of_turn(
    facts: TrialFacts, sheet: Sheet, ordered: Sequence[Sheet], printed: dict[str, date]
) -> Departure | None:
    """Sheets of other candidates, of the same day and printer, that come first and still wait."""
    printer = facts.candidate(sheet.candidate_id).printer_id
    passed = [
        one
        for one in ordered
        if one.id not in printed and one.day == sheet.day and one.place < sheet.place
        if one.candidate_id != sheet.candidate_id
        if facts.candidate(one.candidate_id).printer_id == printer
    ]
    if not passed:
        return None
    first = f"{passed[0].code} on {facts.candidate(passed[0].candidate_id).name}"
    more = f" and {len(passed) - 1} more come" if len(passed) > 1 else " comes"
    told = f"Out of turn: {first}{more} before it."
    return Departure(told, told, TURNS_KEPT)


def _named(day: date) -> str:
    return f"{day.day} {day:%B}"
