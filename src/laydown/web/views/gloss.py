"""Gloss of the sheets of a trial: the form, what was read, and what comes of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from laydown.records.look import Look
from laydown.report.gloss_words import GlossResults, gloss_results
from laydown.report.moments import moment_short, zone_words
from laydown.report.wording import number, sheets_words
from laydown.science.medium.gloss import ANGLES, repeats_of
from laydown.trials.facts import TrialFacts
from laydown.trials.measured import GlossReading
from laydown.trials.sheets import Sheet
from laydown.usecases.measuring.gloss_comparison import compare_gloss
from laydown.usecases.measuring.standings import GlossStanding, gloss_standing_of
from laydown.usecases.measuring.type_gloss import MOST_REPEATS, PLACES
from laydown.web.views.reading_lines import MARKS, STATE_WORDS, sentence, sheet_choices
from laydown.web.views.trial_frame import TrialFrame, trial_frame

REPEATS = tuple(f"v{number}" for number in range(1, MOST_REPEATS + 1))
USUAL_ANGLE = 60


@dataclass(frozen=True, slots=True)
class GlossForm:
    """The form. ``sheet`` is set where it is about one sheet; ``values`` holds what stands in its fields.

    ``ask_again`` shows the box that says it is typed as it was read; ``back`` is the page to come back to.
    """

    trial_id: str
    sheet: str
    choices: tuple[tuple[str, str], ...]
    places: tuple[str, ...]
    angles: tuple[tuple[str, str], ...]
    repeats: tuple[str, ...]
    meters: tuple[str, ...]
    values: Mapping[str, str]
    ask_again: bool
    back: str
    zone: str


@dataclass(frozen=True, slots=True)
class GlossLine:
    """One gloss reading; ``early`` is "use", "leave" or "" where it was not read early."""

    id: str
    place: str
    under: str
    values: str
    mean: str
    when: str
    mark: str
    state: str
    why: str
    early: str
    set_aside: bool
    seen: int


@dataclass(frozen=True, slots=True)
class SheetGloss:
    """A sheet with its gloss readings, oldest first."""

    id: str
    code: str
    lines: tuple[GlossLine, ...]


@dataclass(frozen=True, slots=True)
class MediumGloss:
    """A medium with its sheets that were read; ``open`` where one of them is in hand."""

    name: str
    words: str
    open: bool
    sheets: tuple[SheetGloss, ...]


@dataclass(frozen=True, slots=True)
class GlossPart:
    """Gloss on the page of one sheet: the form, "None" where nothing can be typed, and what was read."""

    form: GlossForm | None
    lines: tuple[GlossLine, ...]


@dataclass(frozen=True, slots=True)
class GlossView:
    """The page of the station."""

    frame: TrialFrame
    trial_id: str
    problem: str
    form: GlossForm | None
    media: tuple[MediumGloss, ...]
    results: GlossResults | None
    any_coated: bool


def gloss_view(
    look: Look,
    facts: TrialFacts,
    *,
    now: datetime,
    values: Mapping[str, str],
    problem: str = "",
    ask_again: bool = False,
) -> GlossView:
    """The page; ``values`` is what stands in the fields of the form."""
    chosen = values.get("sheet", "")
    return GlossView(
        frame=trial_frame(facts, now=now, here="measure"),
        trial_id=facts.trial.id,
        problem=problem,
        form=_form(facts, sheet="", values=values, ask_again=ask_again, back=values.get("back", ""), now=now),
        media=tuple(
            _medium(candidate.name, sheets, chosen)
            for candidate in facts.candidates
            if (
                sheets := tuple(
                    SheetGloss(sheet.id, sheet.code, _lines(look, facts, facts.gloss_of(sheet.id), now=now))
                    for sheet in facts.sheets_of(candidate.id)
                    if facts.gloss_of(sheet.id)
                )
            )
        ),
        results=gloss_results(compare_gloss(facts)),
        any_coated=any(one.finish == "coated" for one in facts.candidates),
    )


def _medium(name: str, sheets: tuple[SheetGloss, ...], chosen: str) -> MediumGloss:
    count = sum(len(sheet.lines) for sheet in sheets)
    words = f"{sheets_words(len(sheets))}, {count} reading{'' if count == 1 else 's'}"
    return MediumGloss(name, words, any(sheet.id == chosen for sheet in sheets), sheets)


def gloss_part(look: Look, facts: TrialFacts, sheet: Sheet, *, now: datetime) -> GlossPart:
    """Gloss on the page of a sheet."""
    printed = bool(facts.events_of(sheet.id, "printed")) and not facts.events_of(sheet.id, "spoiled")
    form = (
        _form(facts, sheet=sheet.id, values={}, ask_again=False, back="sheet", now=now) if printed else None
    )
    return GlossPart(form, _lines(look, facts, facts.gloss_of(sheet.id), now=now))


def _form(
    facts: TrialFacts, *, sheet: str, values: Mapping[str, str], ask_again: bool, back: str, now: datetime
) -> GlossForm | None:
    """The form, with angle, meter and way of the last reading at hand; None where nothing can be typed."""
    choices = sheet_choices(facts)
    if not choices or facts.trial.closed_at is not None or facts.trial.removed_at is not None:
        return None
    last = facts.gloss[-1] if facts.gloss else None
    at_hand = {
        "angle": str(last.angle if last else USUAL_ANGLE),
        "meter": last.instrument if last else "",
        "direction": last.direction if last else "",
    }
    return GlossForm(
        trial_id=facts.trial.id,
        sheet=sheet,
        choices=choices,
        places=PLACES,
        angles=tuple(
            (str(angle), f"{angle}°, {source.partition(';')[0]}") for angle, source in ANGLES.items()
        ),
        repeats=REPEATS,
        meters=tuple(dict.fromkeys(one.instrument for one in reversed(facts.gloss) if one.instrument)),
        values={**at_hand, **values},
        ask_again=ask_again,
        back=back,
        zone=zone_words(facts.studio.time_zone, now=now),
    )


def _lines(
    look: Look, facts: TrialFacts, readings: Sequence[GlossReading], *, now: datetime
) -> tuple[GlossLine, ...]:
    return tuple(
        _line(facts, gloss_standing_of(facts, one), now=now, seen=look.revision(GlossReading, one.id))
        for one in readings
    )


def _line(facts: TrialFacts, one: GlossStanding, *, now: datetime, seen: int) -> GlossLine:
    reading = one.reading
    repeats = repeats_of(reading.values)
    at = moment_short(reading.measured_at or reading.received_at, time_zone=facts.studio.time_zone, now=now)
    feed = f"{reading.direction} the feed" if reading.direction else ""
    early = one.age is not None and one.age.early
    return GlossLine(
        id=reading.id,
        place=reading.place,
        under=", ".join(part for part in (f"{reading.angle}°", feed, reading.instrument) if part),
        values=" ".join(f"{value:g}" for value in reading.values),
        mean=f"{number(repeats.mean, 1)} GU" + (f" ± {number(repeats.sd, 1)}" if repeats.n > 1 else ""),
        when=f"{'read' if reading.measured_at else 'typed in'} {at}"
        + (f", {reading.by}" if reading.by else ""),
        mark=MARKS[one.state],
        state=STATE_WORDS[one.state],
        why=sentence(one.words) if one.words else "",
        early="" if not early else "leave" if reading.early_used_at else "use",
        set_aside=reading.set_aside_at is not None,
        seen=seen,
    )
