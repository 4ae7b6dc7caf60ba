"""What goes into a support file, field by field: nothing is copied whole, so that nothing slips in."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from laydown.records.look import Look
from laydown.trials.facts import TrialFacts
from laydown.trials.recipe import Coat, Recipe
from laydown.trials.remarks import Note
from laydown.trials.retracing import Retrace
from laydown.trials.sheets import BenchRun, Sheet
from laydown.trials.stock import Lot, Medium, Roll, Supplier
from laydown.trials.studio import Printer, PrinterEvent
from laydown.usecases.retracing.rank_causes import Ranked
from laydown.usecases.retracing.support_forms import SupportForm, support_forms

MOST_CAUSES = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class SupportSample:
    """The medium as its label and its supplier name it."""

    medium: str
    supplier: str
    kind: str
    surface: str
    base: str
    weight_gsm: float | None
    caliper_um: float | None
    barrier: bool | None
    lot: str
    roll: str
    form: str
    width_mm: float | None
    received: date | None
    opened: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SupportHappened:
    """Something that happened to a sheet or a printer."""

    at: datetime
    kind: str
    room_c: float | None = None
    room_rh: float | None = None
    coat: Coat | None = None
    words: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SupportPrinter:
    """The printer, and what happened to it before the print."""

    name: str
    serial: str
    ink_set: str
    black_inks: str
    firmware: str
    events: tuple[SupportHappened, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SupportStep:
    """A step of the checklist that was ticked or skipped."""

    step: str
    at: datetime
    value: str
    skipped: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SupportGloss:
    """What a gloss meter showed on a sheet: where, at which angle (degrees), the repeats in gloss units."""

    at: datetime
    place: str
    angle: int
    values: tuple[float, ...]
    direction: str
    instrument: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SupportSheet:
    """One sheet of this medium: how it was set, what happened to it, when. ``retraced`` marks the bad one."""

    code: str
    retraced: bool
    arm: str
    finish: str
    use: str
    settings: Recipe
    room_c: float | None
    room_rh: float | None
    steps: tuple[SupportStep, ...]
    happened: tuple[SupportHappened, ...]
    gloss: tuple[SupportGloss, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SupportMark:
    """A symptom that was looked for."""

    symptom: str
    sentence: str
    there: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SupportAnswer:
    """A check that was made."""

    question: str
    answer: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SupportEvidence:
    """Something known from records and readings."""

    found: str
    why: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SupportCause:
    """A cause with its chance and what speaks for and against it; all of it our judgement."""

    name: str
    chance: float
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SupportTried:
    """A fix that was tried."""

    against: str
    what: str
    helped: bool | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SupportContent:
    """Everything in words and numbers; files lie beside it. ``trial`` is "" unless its name may be told."""

    title: str
    trial: str
    invented: bool
    begun_at: datetime
    outcome: str
    words: str
    sample: SupportSample | None
    printer: SupportPrinter | None
    planned: Recipe | None
    sheets: tuple[SupportSheet, ...]
    forms: tuple[SupportForm, ...]
    seen: tuple[SupportMark, ...]
    evidence: tuple[SupportEvidence, ...]
    not_known: tuple[str, ...]
    causes: tuple[SupportCause, ...]
    numbers_from: str
    checked: tuple[SupportAnswer, ...]
    tried: tuple[SupportTried, ...]
    notes: tuple[str, ...]
    questions: tuple[str, ...]


def support_content(
    look: Look, retrace: Retrace, ranked: Ranked, facts: TrialFacts | None, *, keep_trial_name: bool
) -> SupportContent:
    """What a support file says; names of others are still in it and are taken out afterwards."""
    model = ranked.faults.model
    sheet = facts.sheet(retrace.sheet_id) if facts and retrace.sheet_id else None
    arm = facts.candidate(sheet.candidate_id) if facts and sheet else None
    sample = _sample(look, facts, sheet) if facts and sheet else None
    printer = _printer(look, facts, sheet) if facts and sheet else None
    causes = tuple(
        SupportCause(
            name=one.cause.name,
            chance=round(one.probability, 3),
            reasons=tuple(f"{reason.words}: {reason.strength}" for reason in one.reasons),
        )
        for one in ranked.ranking.causes[:MOST_CAUSES]
    )
    return SupportContent(
        title=retrace.title,
        trial=facts.trial.name if facts and keep_trial_name else "",
        invented=bool(facts and facts.trial.invented),
        begun_at=retrace.begun_at,
        outcome=retrace.outcome,
        words=retrace.words,
        sample=sample,
        printer=printer,
        planned=arm.recipe if arm else None,
        sheets=_sheets(facts, sheet) if facts and sheet else (),
        forms=support_forms(facts) if facts and sheet else (),
        seen=tuple(
            SupportMark(symptom=known.name, sentence=known.sentence, there=one.seen == "present")
            for one in retrace.symptoms
            if (known := model.symptoms.get(one.symptom)) is not None
        ),
        evidence=tuple(
            SupportEvidence(found=one.words, why=one.why, source=one.source) for one in ranked.evidence
        ),
        not_known=ranked.known.unknown,
        causes=causes,
        numbers_from=ranked.ranking.numbers_from,
        checked=tuple(
            SupportAnswer(question=done.question, answer=one.answer, words=one.words)
            for one in retrace.answers
            if (done := model.checks.get(one.check)) is not None
        ),
        tried=tuple(
            SupportTried(
                against=model.causes[one.cause].name if one.cause in model.causes else one.cause,
                what=one.words,
                helped=one.helped,
            )
            for one in retrace.tried
        ),
        notes=tuple(note.words for note in look.find(Note, about=retrace.id, order=("at", "id"))),
        questions=questions_for(sample, printer, causes),
    )


def questions_for(
    sample: SupportSample | None, printer: SupportPrinter | None, causes: tuple[SupportCause, ...]
) -> tuple[str, ...]:
    """What to ask a supplier; the words are ours."""
    what = f"{sample.medium}, lot {sample.lot or 'not stated'}" if sample else "this medium"
    on = f"a {printer.name} with {printer.ink_set or 'its inks'}" if printer else "our printer"
    first = causes[0].name if causes else ""
    second = causes[1].name if len(causes) > 1 else ""
    return (
        f"Have others told you of the like with {what}, and does the lot differ from others?",
        f"Which media setting, black ink, head gap and most ink do you recommend for it on {on}?",
        f"We look at “{first}” first. Do you agree, and what would tell it from “{second}”?",
        "How long should it rest before printing, and cure before it is coated, read or glazed?",
        "What else do you need from us, a piece of the print or of the bare medium?",
    )


def own_arms(facts: TrialFacts, sheet: Sheet) -> frozenset[str]:
    """The arms of a trial that are of the same medium as a sheet."""
    medium_id = facts.candidate(sheet.candidate_id).medium_id
    return frozenset(one.id for one in facts.candidates if one.medium_id == medium_id)


def _sample(look: Look, facts: TrialFacts, sheet: Sheet) -> SupportSample:
    arm = facts.candidate(sheet.candidate_id)
    medium: Medium = facts.medium_of(arm)
    roll = look.seek(Roll, sheet.roll_id or arm.roll_id)
    lot = look.seek(Lot, roll.lot_id if roll else arm.lot_id)
    supplier = look.seek(Supplier, medium.supplier_id)
    return SupportSample(
        medium=medium.name,
        supplier=supplier.name if supplier else "",
        kind=medium.kind,
        surface=medium.surface,
        base=medium.base,
        weight_gsm=medium.weight_gsm,
        caliper_um=medium.caliper_um,
        barrier=medium.barrier,
        lot=lot.code if lot else "",
        roll=roll.code if roll else "",
        form=roll.form if roll else "",
        width_mm=roll.width_mm if roll else None,
        received=(roll.received if roll else None) or (lot.received if lot else None),
        opened=roll.opened if roll else None,
    )


def _printer(look: Look, facts: TrialFacts, sheet: Sheet) -> SupportPrinter | None:
    run = _run(facts, sheet)
    used = run.printer_id if run else facts.candidate(sheet.candidate_id).printer_id
    printer = look.seek(Printer, used)
    if printer is None:
        return None
    printed = next((event.at for event in facts.events_of(sheet.id, "printed")), None)
    events = look.find(PrinterEvent, printer_id=printer.id, order=("at", "id"))
    return SupportPrinter(
        name=printer.name,
        serial=printer.serial,
        ink_set=printer.ink_set,
        black_inks=printer.black_inks,
        firmware=printer.firmware,
        events=tuple(
            SupportHappened(at=one.at, kind=one.kind, words=one.words)
            for one in events
            if printed is None or one.at <= printed
        ),
    )


def _sheets(facts: TrialFacts, retraced: Sheet) -> tuple[SupportSheet, ...]:
    """The bad print first, then its siblings that were printed."""
    arms = own_arms(facts, retraced)
    printed = [
        sheet
        for sheet in facts.sheets
        if sheet.candidate_id in arms and (sheet.id == retraced.id or facts.events_of(sheet.id, "printed"))
    ]
    printed.sort(key=lambda sheet: sheet.id != retraced.id)
    return tuple(_sheet(facts, sheet, retraced=sheet.id == retraced.id) for sheet in printed)


def _sheet(facts: TrialFacts, sheet: Sheet, *, retraced: bool) -> SupportSheet:
    arm, run = facts.candidate(sheet.candidate_id), _run(facts, sheet)
    return SupportSheet(
        code=sheet.code,
        retraced=retraced,
        arm=arm.name,
        finish=arm.finish,
        use=sheet.use,
        settings=run.recipe if run else arm.recipe,
        room_c=run.room_c if run else None,
        room_rh=run.room_rh if run else None,
        steps=tuple(
            SupportStep(step=tick.step, at=tick.at, value=tick.value, skipped=tick.skipped)
            for tick in (run.ticks if run and retraced else ())
        ),
        happened=tuple(
            SupportHappened(
                at=event.at,
                kind=event.kind,
                room_c=event.room_c,
                room_rh=event.room_rh,
                coat=event.coat,
                words=event.words,
            )
            for event in facts.events_of(sheet.id)
        ),
        gloss=tuple(
            SupportGloss(
                at=one.measured_at or one.received_at,
                place=one.place,
                angle=one.angle,
                values=one.values,
                direction=one.direction,
                instrument=one.instrument,
            )
            for one in facts.gloss_of(sheet.id)
            if one.set_aside_at is None
        ),
    )


def _run(facts: TrialFacts, sheet: Sheet) -> BenchRun | None:
    return next((run for run in facts.runs if run.id == sheet.run_id), None)
