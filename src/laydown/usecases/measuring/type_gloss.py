"""Keep what a gloss meter showed at one place of a sheet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from statistics import median

from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting, RefusedInput
from laydown.records.ledger import Records
from laydown.records.trial_facts import load_facts
from laydown.science.medium.gloss import ANGLES, HIGHEST
from laydown.trials.clocks import reading_age
from laydown.trials.facts import TrialFacts
from laydown.trials.measured import GlossDirection, GlossReading
from laydown.trials.sheets import Sheet
from laydown.usecases.acted import Acted
from laydown.usecases.bench.open_trial import open_trial
from laydown.usecases.measuring.placing import usable_moment

PAPER_WHITE, BLACK, MID_GREY = "paper white", "black", "mid grey"
PLACES = (PAPER_WHITE, BLACK, MID_GREY)
MOST_REPEATS = 6
LONGEST_PLACE = 60
SHINIEST_PRINT = Constant(100.0, "GU", "few prints pass black glass", "common practice, no source")
STRAY = Constant(0.5, "of the median of repeats", "our own judgement", "common practice, no source")
STRAY_LEAST = Constant(2.0, "GU", "our own judgement", "common practice, no source")


@dataclass(frozen=True, slots=True, kw_only=True)
class TypedGloss:
    """What was typed: the place and angle, repeats in gloss units, how the meter lay, which meter, when."""

    place: str
    angle: int
    values: tuple[float, ...]
    direction: GlossDirection = ""
    instrument: str = ""
    measured_at: datetime | None = None


def type_gloss(
    records: Records,
    sheet_id: str,
    typed: TypedGloss,
    *,
    who: str,
    confirmed: bool = False,
    early_why: str = "",
) -> Acted[GlossReading]:
    """Keep what a gloss meter showed; before the sheet has settled it is marked and kept out of comparisons.

    ``early_why`` is the reason for which such an early one is used all the same; "" keeps it out.

    Raises
    ------
    BadSetting
        Something typed cannot be; or looks mistyped and is not ``confirmed``.
    RefusedInput
        The sheet is not printed yet, the time cannot be right, or the trial is not open.
    """
    refuse_impossible(typed)
    doubts = tuple(doubtful(typed))
    if doubts and not confirmed:
        raise BadSetting(
            f"please look again. {' '.join(doubts)}",
            todo="Correct it, or say that it is typed as it was read.",
        )
    with records.work("read the gloss of", who=who) as work:
        sheet = work.get(Sheet, sheet_id)
        open_trial(work, sheet.trial_id)
        facts = load_facts(work, sheet.trial_id)
        _refuse_time(facts, sheet, typed.measured_at, now=work.now)
        reading = GlossReading(
            id=records.new_id(),
            trial_id=sheet.trial_id,
            sheet_id=sheet.id,
            place=place_of(typed.place),
            angle=typed.angle,
            values=typed.values,
            direction=typed.direction,
            instrument=" ".join(typed.instrument.split()),
            received_at=work.now,
            measured_at=typed.measured_at,
            by=who,
        )
        age = reading_age(facts, reading)
        if early_why.strip() and age is not None and age.early:
            reading = let_in_early(reading, why=early_why, who=who, now=work.now)
        work.say(f"sheet {sheet.code}: {gloss_words(reading)}")
        return Acted(work.add(reading), work.entry_id)


def let_in_early(reading: GlossReading, *, why: str, who: str, now: datetime) -> GlossReading:
    """The reading, used though the sheet had not settled; dated, with the reason."""
    return replace(reading, early_used_at=now, early_used_by=who, early_used_why=why.strip())


def place_of(words: str) -> str:
    """A place as it is kept: in small letters, so that one place has one spelling."""
    return " ".join(words.split()).lower()


def gloss_words(reading: GlossReading) -> str:
    """Such as "paper white, 60°, 2.9 3.1 3.0 GU" for the journal and where a reading is named."""
    feed = f" {reading.direction} the feed" if reading.direction else ""
    values = " ".join(f"{value:g}" for value in reading.values)
    return f"{reading.place}, {reading.angle}°{feed}, {values} GU"


def refuse_impossible(typed: TypedGloss) -> None:
    """Refuse what cannot be: no place, no such angle, no value, too many, or one no meter shows.

    Raises
    ------
    BadSetting
        Names what is wrong and what to do.
    """
    place = place_of(typed.place)
    if not place:
        raise BadSetting("where on the sheet was it read?", todo="Choose a place, or name one.")
    if len(place) > LONGEST_PLACE:
        raise BadSetting("the place is too long.", todo=f"Name it in at most {LONGEST_PLACE} letters.")
    if typed.angle not in ANGLES:
        known = ", ".join(f"{angle}° ({source})" for angle, source in ANGLES.items())
        raise BadSetting(f"gloss is not read at {typed.angle}°.", todo=f"The angles are {known}.")
    if not typed.values:
        raise BadSetting("no value was typed.", todo="Type what the meter showed, once for each repeat.")
    if len(typed.values) > MOST_REPEATS:
        raise BadSetting(
            f"{len(typed.values)} repeats are too many.", todo=f"Keep at most {MOST_REPEATS} at one place."
        )
    highest = float(HIGHEST)
    for value in typed.values:
        if not 0.0 <= value <= highest:
            raise BadSetting(
                f"{value:g} GU cannot be: a meter shows 0 to {highest:g}.",
                todo="Correct it; a print shows 0 to about 100.",
            )


def doubtful(typed: TypedGloss) -> Iterator[str]:
    """What looks mistyped though it may be so; to be confirmed."""
    shiny = [value for value in typed.values if value > float(SHINIEST_PRINT)]
    if shiny:
        yield f"{shiny[0]:g} GU is shinier than black glass; few prints are."
    yield from _strays(typed.values)


def _strays(values: Sequence[float]) -> Iterator[str]:
    """Repeats at one place that lie far from the others, as where a digit slipped."""
    middle = median(values)
    reach = max(float(STRAY_LEAST), float(STRAY) * middle)
    for value in values if len(values) > 2 else ():
        if abs(value - middle) > reach:
            yield f"{value:g} GU lies far from the other repeats ({middle:g} in the middle)."
    if len(values) == 2 and abs(values[0] - values[1]) > reach:
        yield f"{values[0]:g} and {values[1]:g} GU lie far apart for repeats at one place."


def _refuse_time(facts: TrialFacts, sheet: Sheet, at: datetime | None, *, now: datetime) -> None:
    if not facts.events_of(sheet.id, "printed"):
        raise RefusedInput(
            f"sheet {sheet.code} is not printed yet.", todo="Note when it was printed, or choose another."
        )
    if at is not None and usable_moment(facts, sheet, at, now=now)[0] is None:
        raise RefusedInput(
            f"sheet {sheet.code} cannot have been read then: the time lies in the future, or before it was "
            "printed.",
            todo="Correct the time.",
        )
