"""What the page of one retrace shows: causes, the next check, fixes, and where all of it comes from."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from laydown.records.look import Look
from laydown.report.moments import moment_words
from laydown.science.faults import COST_WORDS, FaultModel, NextCheck, RankedCause, Reason
from laydown.trials.retracing import Retrace, TriedFix
from laydown.trials.sheets import Sheet
from laydown.trials.trial import Candidate, Trial
from laydown.usecases.retracing.rank_causes import Ranked, rank_causes
from laydown.web.views.notes import NotesView, notes_view
from laydown.web.views.retrace_symptoms import drawing_of
from laydown.web.views.retraces import studio_of

FIRST = 5
MORE = 10
CHECKS = 6
_FOR, _AGAINST = 5, 3
_WORDS = ((0.75, "very likely"), (0.5, "likely"), (0.2, "possible"), (0.05, "less likely"))


@dataclass(frozen=True, slots=True)
class CauseView:
    """One cause with its chance in words, as a number and as a bar (0 to 100)."""

    id: str
    name: str
    explanation: str
    family: str
    words: str
    percent: str
    bar: float
    before: float
    prior: str
    prior_from: str
    speaks_for: tuple[Reason, ...]
    against: tuple[Reason, ...]
    source: str


@dataclass(frozen=True, slots=True)
class FixesView:
    """What to do about a leading cause, first thing first."""

    cause_id: str
    cause: str
    fixes: tuple[str, ...]
    caution: str


@dataclass(frozen=True, slots=True)
class CheckView:
    """A check worth doing: how, what it takes, and what each answer would mean."""

    id: str
    question: str
    how: str
    takes: str
    caution: str
    source: str
    if_yes: str
    if_no: str


@dataclass(frozen=True, slots=True)
class MarkView:
    """A symptom that was looked for."""

    name: str
    drawing: Markup
    there: bool


@dataclass(frozen=True, slots=True)
class AnswerView:
    """A check that was answered."""

    id: str
    question: str
    answer: str
    words: str
    when: str


@dataclass(frozen=True, slots=True)
class KnownView:
    """One thing Laydown added, and why it bears on the causes."""

    words: str
    why: str
    source: str


@dataclass(frozen=True, slots=True)
class TriedView:
    """A fix that was tried."""

    cause_id: str
    cause: str
    words: str
    helped: str
    open: bool
    when: str


@dataclass(frozen=True, slots=True)
class RetraceView:
    """The page of one retrace. ``problem`` is why a form was refused, "" where none was."""

    id: str
    title: str
    outcome: str
    open: bool
    begun: str
    closed: str
    words: str
    trial_id: str
    trial: str
    invented: bool
    sheet_id: str
    sheet: str
    causes: tuple[CauseView, ...]
    more: tuple[CauseView, ...]
    check: CheckView | None
    other_checks: tuple[CheckView, ...]
    exact: bool
    fixes: tuple[FixesView, ...]
    marks: tuple[MarkView, ...]
    answers: tuple[AnswerView, ...]
    known: tuple[KnownView, ...]
    unknown: tuple[str, ...]
    tried: tuple[TriedView, ...]
    still_open: tuple[str, ...]
    numbers_from: str
    cautions: tuple[str, ...]
    problem: str
    notes: NotesView


def retrace_view(look: Look, retrace: Retrace, *, problem: str = "") -> RetraceView:
    """The page of a retrace as it is now."""
    ranked, studio = rank_causes(look, retrace), studio_of(look)
    zone, model, ranking = studio.time_zone, ranked.faults.model, ranked.ranking
    trial = look.seek(Trial, retrace.trial_id)
    sheet = look.seek(Sheet, retrace.sheet_id)
    checks = [_check(one) for one in ranking.next_checks]
    return RetraceView(
        id=retrace.id,
        title=retrace.title,
        outcome=retrace.outcome,
        open=retrace.outcome == "open",
        begun=f"{moment_words(retrace.begun_at, time_zone=zone)}{', ' + retrace.by if retrace.by else ''}",
        closed=moment_words(retrace.closed_at, time_zone=zone) if retrace.closed_at else "",
        words=retrace.words,
        trial_id=trial.id if trial else "",
        trial=trial.name if trial else "",
        invented=bool(trial and trial.invented),
        sheet_id=sheet.id if sheet else "",
        sheet=f"{sheet.code}, {look.get(Candidate, sheet.candidate_id).name}" if sheet else "",
        causes=tuple(_cause(one) for one in ranking.causes[:FIRST]),
        more=tuple(_cause(one) for one in ranking.causes[FIRST : FIRST + MORE]),
        check=checks[0] if checks else None,
        other_checks=tuple(checks[1:CHECKS]),
        exact=ranking.exact_forecast,
        fixes=_fixes(ranked),
        marks=tuple(
            MarkView(symptom.name, drawing_of(symptom), mark.seen == "present")
            for mark in retrace.symptoms
            if (symptom := model.symptoms.get(mark.symptom)) is not None
        ),
        answers=_answers(model, retrace, zone),
        known=tuple(KnownView(one.words, one.why, one.source) for one in ranked.evidence),
        unknown=ranked.known.unknown,
        tried=tuple(_tried(model, one, zone) for one in retrace.tried),
        still_open=ranking.still_open,
        numbers_from=ranking.numbers_from,
        cautions=_cautions(ranked),
        problem=problem,
        notes=notes_view(look, about=retrace.id, back=f"/retraces/{retrace.id}", studio=studio),
    )


def chance_words(chance: float) -> str:
    """A chance in words; they are an order to look in and no measurement."""
    return next((words for least, words in _WORDS if chance >= least), "unlikely")


def percent_words(chance: float) -> str:
    """Such as "62 %"; never quite 0 or 100, since nothing about a print is certain."""
    if chance >= 0.995:
        return "over 99 %"
    return "under 1 %" if chance < 0.01 else f"{chance:.0%}".replace("%", " %")


def takes_words(minutes: float, wait_hours: float) -> str:
    """Such as "3 minutes" or "10 minutes, then 24 hours of waiting"."""
    told = f"{minutes:g} minute{'' if minutes == 1 else 's'} at the bench"
    if wait_hours:
        told += f" and {wait_hours:g} hour{'' if wait_hours == 1 else 's'} of waiting"
    return told


def _cause(one: RankedCause) -> CauseView:
    return CauseView(
        id=one.cause.id,
        name=one.cause.name,
        explanation=one.cause.explanation,
        family=one.cause.family,
        words=chance_words(one.probability),
        percent=percent_words(one.probability),
        bar=round(100.0 * one.probability, 1),
        before=round(100.0 * one.prior, 1),
        prior=percent_words(one.prior),
        prior_from=one.prior_from,
        speaks_for=tuple(reason for reason in one.reasons if reason.ratio > 1.0)[:_FOR],
        against=tuple(reason for reason in one.reasons if reason.ratio < 1.0)[:_AGAINST],
        source=one.cause.source,
    )


def _check(one: NextCheck) -> CheckView:
    check = one.check
    return CheckView(
        id=check.id,
        question=check.question,
        how=check.how,
        takes=f"{takes_words(check.minutes, check.wait_hours)}; {COST_WORDS[check.cost]}",
        caution=check.caution,
        source=check.source,
        if_yes=one.if_yes.words,
        if_no=one.if_no.words,
    )


def _fixes(ranked: Ranked) -> tuple[FixesView, ...]:
    causes = ranked.faults.model.causes
    return tuple(
        FixesView(one, causes[one].name, causes[one].fixes, causes[one].caution)
        for one in ranked.ranking.leading
    )


def _answers(model: FaultModel, retrace: Retrace, zone: str) -> tuple[AnswerView, ...]:
    return tuple(
        AnswerView(
            one.check,
            model.checks[one.check].question if one.check in model.checks else one.check,
            one.answer,
            one.words,
            moment_words(one.at, time_zone=zone),
        )
        for one in retrace.answers
    )


def _tried(model: FaultModel, one: TriedFix, zone: str) -> TriedView:
    helped = {True: "helped", False: "did not help", None: "not known yet"}[one.helped]
    cause = model.causes[one.cause].name if one.cause in model.causes else one.cause
    when = moment_words(one.at, time_zone=zone)
    return TriedView(one.cause, cause, one.words, helped, one.helped is None, when)


def _cautions(ranked: Ranked) -> tuple[str, ...]:
    told = []
    if ranked.faults.trouble:
        why = ranked.faults.trouble
        told.append(f"The studio's own numbers could not be used; those of Laydown stand in: {why}")
    if ranked.passed_over:
        told.append(
            "Passed over, since no list of faults knows them any more: " + ", ".join(ranked.passed_over) + "."
        )
    return tuple(told)
