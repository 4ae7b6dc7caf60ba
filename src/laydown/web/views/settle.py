"""The settling station of a trial: coats to put on, clocks, hours with their reasons, early readings."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from laydown.records.look import Look
from laydown.report.moments import moment_short, zone_words
from laydown.trials.checklist import DAMPEST_RH, DRIEST_RH
from laydown.trials.clocks import HUMID_RH, reading_age, sheet_clocks
from laydown.trials.facts import TrialFacts
from laydown.trials.measured import Reading
from laydown.trials.recipe import Coat
from laydown.trials.trial import Candidate
from laydown.usecases.bench.board import BoardLine, trial_lines
from laydown.usecases.bench.coat_sheets import SPRAYING
from laydown.usecases.bench.settle_hours import hours_said
from laydown.web.room_climate import degree_sign
from laydown.web.views.sheet_lines import SheetLine, hours_words, sheet_line
from laydown.web.views.trial_frame import TrialFrame, trial_frame

# Two figures that look as if they contradicted each other, wherever either shows.
HUMID_WORDS = (
    f"A room of {DRIEST_RH.value:g} to {DAMPEST_RH.value:g} % relative humidity is good to print in. "
    f"Above {HUMID_RH.value:g} % a print takes longer to settle, so its sheets wait twice as long (both "
    "common practice, no source)."
)


@dataclass(frozen=True, slots=True)
class CoatChoice:
    """A sheet that may be ticked as coated; ``wait`` says when it will have cured, "" when it has."""

    id: str
    code: str
    candidate: str
    wait: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class CoatForm:
    """The form of a coating. ``values`` is what stands in its fields."""

    sheets: tuple[CoatChoice, ...]
    values: Mapping[str, str]
    caution: str
    degrees: str
    any_early: bool


@dataclass(frozen=True, slots=True)
class TypedHours:
    """What stood in the form of a candidate's hours when it was refused."""

    candidate_id: str
    cure: str
    dry: str
    why: str


@dataclass(frozen=True, slots=True)
class TypedEarly:
    """What stood in the form of early readings when it was refused: ``what`` is "use" or "leave"."""

    what: str
    ticked: frozenset[str]
    why: str


NOTHING_TICKED = TypedEarly("", frozenset(), "")


@dataclass(frozen=True, slots=True)
class HoursLine:
    """How long a candidate's sheets cure and dry, and why: a sentence each for sheets that differ in it.

    ``cure``, ``dry`` and ``why`` stand in its form, which is ``open`` where it was refused.
    """

    id: str
    name: str
    coated: bool
    words: tuple[str, ...]
    own: bool
    said: str
    cure: str
    dry: str
    why: str
    open: bool
    seen: int


@dataclass(frozen=True, slots=True)
class EarlyLine:
    """A reading taken before its sheet had settled: left out, or used all the same."""

    id: str
    file_name: str
    code: str
    href: str
    why: str
    used: bool
    said: str
    seen: int


@dataclass(frozen=True, slots=True)
class EarlyForm:
    """Early readings, those left out and those used, each with one form and one reason for all."""

    left_out: tuple[EarlyLine, ...]
    used: tuple[EarlyLine, ...]
    told: TypedEarly


@dataclass(frozen=True, slots=True)
class SettleView:
    """The station. ``problem`` is why a form was refused, "" where none was."""

    frame: TrialFrame
    problem: str
    trial_id: str
    printed: int
    due: tuple[SheetLine, ...]
    running: tuple[SheetLine, ...]
    over: tuple[SheetLine, ...]
    coat: CoatForm
    hours: tuple[HoursLine, ...]
    humid: str
    zone: str
    early: EarlyForm


def settle_view(
    look: Look,
    facts: TrialFacts,
    *,
    now: datetime,
    problem: str = "",
    typed: Mapping[str, str] | None = None,
    chosen: Sequence[str] = (),
    hours_told: TypedHours | None = None,
    early_told: TypedEarly = NOTHING_TICKED,
) -> SettleView:
    """The station of a trial; ``typed`` and what follows are what a refused form held."""
    lines = trial_lines(facts, now=now)
    return SettleView(
        frame=trial_frame(facts, now=now, here="settle"),
        problem=problem,
        trial_id=facts.trial.id,
        printed=len(lines),
        due=tuple(sheet_line(one, now=now) for one in lines if one.since is not None),
        running=tuple(sheet_line(one, now=now) for one in lines if one.waits_for == "clock"),
        over=tuple(sheet_line(one, now=now) for one in lines if one.waits_for == "nothing"),
        coat=_coat_form(facts, lines, now=now, typed=typed, chosen=chosen),
        hours=tuple(
            _hours(look, facts, one, told=hours_told, now=now)
            for one in facts.candidates
            if one.withdrawn_at is None
        ),
        humid=HUMID_WORDS,
        zone=zone_words(facts.studio.time_zone, now=now),
        early=early_form(look, facts, facts.readings, told=early_told, now=now),
    )


def early_form(
    look: Look,
    facts: TrialFacts,
    readings: Sequence[Reading],
    *,
    told: TypedEarly = NOTHING_TICKED,
    now: datetime,
) -> EarlyForm:
    """The readings that were taken too early, used or not."""
    lines = tuple(_early(look, facts, readings, now=now))
    return EarlyForm(
        tuple(one for one in lines if not one.used), tuple(one for one in lines if one.used), told
    )


def _early(
    look: Look, facts: TrialFacts, readings: Sequence[Reading], *, now: datetime
) -> Iterator[EarlyLine]:
    for reading in readings:
        age = reading_age(facts, reading)
        if age is None or not age.early or reading.set_aside_at is not None or reading.sheet_id is None:
            continue
        sheet = facts.sheet(reading.sheet_id)
        said = ""
        if reading.early_used_at is not None:
            at = moment_short(reading.early_used_at, time_zone=facts.studio.time_zone, now=now)
            said = f"Used all the same since {at}, said {reading.early_used_by}: {reading.early_used_why}"
        yield EarlyLine(
            id=reading.id,
            file_name=reading.file_name,
            code=sheet.code,
            href=f"/trials/{facts.trial.id}/sheets/{sheet.id}",
            why=age.why,
            used=reading.early_used_at is not None,
            said=said,
            seen=look.revision(Reading, reading.id),
        )


def _coat_form(
    facts: TrialFacts,
    lines: Sequence[BoardLine],
    *,
    now: datetime,
    typed: Mapping[str, str] | None,
    chosen: Sequence[str],
) -> CoatForm:
    bare = [one for one in lines if one.candidate.finish == "coated" and one.clocks.coated_at is None]
    choices = []
    for line in bare:
        cured_at = line.clocks.cured_at
        waits = cured_at is not None and now < cured_at
        choices.append(
            CoatChoice(
                line.sheet.id,
                line.sheet.code,
                line.candidate.name,
                f"cures until {moment_short(cured_at, time_zone=line.time_zone, now=now)}"
                if waits and cured_at
                else "",
                line.sheet.id in chosen,
            )
        )
    return CoatForm(
        sheets=tuple(choices),
        values=typed
        or coat_fields(_last_coat(facts)) | {"at": "", "warmth": "", "humidity": "", "early_why": ""},
        caution=SPRAYING,
        degrees=degree_sign(facts.studio.units),
        any_early=any(one.wait for one in choices),
    )


def _last_coat(facts: TrialFacts) -> Coat:
    """What was put on last, else what is planned, else nothing; every coating has its own weight."""
    done = [event.coat for event in facts.events if event.kind == "coated" and event.coat is not None]
    planned = [one.coat for one in facts.candidates if one.coat is not None and one.withdrawn_at is None]
    return (done or planned or [Coat()])[-1] if done else (planned or [Coat()])[0]


def coat_fields(coat: Coat) -> dict[str, str]:
    """A coat as the fields of its form."""
    return {
        "product": coat.product,
        "batch": coat.batch,
        "dilution": coat.dilution,
        "tool": coat.tool,
        "coats": "" if coat.coats is None else str(coat.coats),
        "wet": "",
        "flow": "",
        "words": "",
    }


def _hours(
    look: Look, facts: TrialFacts, candidate: Candidate, *, told: TypedHours | None, now: datetime
) -> HoursLine:
    said = hours_said(look, candidate)
    own = candidate.cure_hours is not None or candidate.dry_hours is not None
    told = told if told is not None and told.candidate_id == candidate.id else None
    why = ""
    if said is not None:
        at = moment_short(said.at, time_zone=facts.studio.time_zone, now=now)
        why = f"{said.words} ({said.by}, {at})"
    return HoursLine(
        id=candidate.id,
        name=candidate.name,
        coated=candidate.finish == "coated",
        words=_hours_of_sheets(facts, candidate, now=now),
        own=own,
        said=why or ("No reason was given." if own else ""),
        cure=told.cure if told else _number(candidate.cure_hours),
        dry=told.dry if told else _number(candidate.dry_hours),
        why=told.why if told else "",
        open=told is not None,
        seen=look.revision(Candidate, candidate.id),
    )


def _hours_of_sheets(facts: TrialFacts, candidate: Candidate, *, now: datetime) -> tuple[str, ...]:
    """The hours of a candidate's sheets; where they differ between sheets, each with the sheets it is for."""
    sheets = [sheet for sheet in facts.sheets_of(candidate.id) if not facts.events_of(sheet.id, "spoiled")]
    printed = [sheet for sheet in sheets if facts.events_of(sheet.id, "printed")]
    codes: dict[str, list[str]] = {}
    for sheet in printed or sheets[:1]:
        words = hours_words(sheet_clocks(facts, sheet, now=now), finish=candidate.finish)
        codes.setdefault(words, []).append(sheet.code)
    if len(codes) < 2:
        return tuple(codes) or ("No sheets yet.",)
    return tuple(f"{', '.join(held)}: {words}" for words, held in codes.items())


def _number(hours: float | None) -> str:
    return "" if hours is None else f"{hours:g}"
