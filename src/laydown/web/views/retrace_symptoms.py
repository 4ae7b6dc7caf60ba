"""The page on which symptoms are marked by their pictures."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from markupsafe import Markup

from laydown.records.look import Look
from laydown.report.moments import moment_words
from laydown.report.symptom_drawings import symptom_drawing
from laydown.science.faults import MOST_PRESENT, FaultModel, Mark, Symptom
from laydown.trials.sheets import Sheet, SheetEvent
from laydown.trials.trial import Candidate
from laydown.usecases.retracing.own_faults import faults_in_use
from laydown.web.views.retraces import studio_of

MARKS: tuple[tuple[Mark, str], ...] = (
    ("present", "There"),
    ("absent", "Not there"),
    ("not looked at", "Not looked at"),
)
_LATEST = 40


@dataclass(frozen=True, slots=True)
class SymptomCard:
    """One symptom with its picture and how it is marked; ``searched`` is what a search looks in."""

    id: str
    name: str
    sentence: str
    drawing: Markup
    mark: Mark
    searched: str


@dataclass(frozen=True, slots=True)
class SymptomFamily:
    """Symptoms of one family that are shown."""

    name: str
    anchor: str
    cards: tuple[SymptomCard, ...]


@dataclass(frozen=True, slots=True)
class SymptomsView:
    """The page. ``carried`` are marks of symptoms the filter hides: they go along and are not lost."""

    retrace_id: str
    action: str
    title: str
    words: str
    sheet_id: str
    sheet: str
    sheets: tuple[tuple[str, str], ...]
    families: tuple[SymptomFamily, ...]
    every_family: tuple[str, ...]
    family: str
    find: str
    shown: int
    total: int
    carried: tuple[tuple[str, str, str], ...]
    most: int
    seen: int
    problem: str
    marks: tuple[tuple[Mark, str], ...] = MARKS


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What a form or an address asks of the page."""

    marks: Mapping[str, Mark]
    find: str = ""
    family: str = ""
    title: str = ""
    words: str = ""
    sheet_id: str = ""


def symptoms_view(
    look: Look, asked: Asked, *, retrace_id: str = "", seen: int = 0, problem: str = ""
) -> SymptomsView:
    """The page for a new retrace, or for the marks of one that is there."""
    model = faults_in_use(look).model
    shown = [one for one in model.symptoms.values() if _is_shown(one, asked)]
    ids = {one.id for one in shown}
    sheets = () if retrace_id or asked.sheet_id else _latest_sheets(look)
    return SymptomsView(
        retrace_id=retrace_id,
        action=f"/retraces/{retrace_id}/symptoms" if retrace_id else "/retraces/new",
        title=asked.title,
        words=asked.words,
        sheet_id=asked.sheet_id,
        sheet=_sheet_words(look, asked.sheet_id),
        sheets=sheets,
        families=_families(shown, asked.marks),
        every_family=tuple(dict.fromkeys(one.family for one in model.symptoms.values())),
        family=asked.family,
        find=asked.find,
        shown=len(shown),
        total=len(model.symptoms),
        carried=_carried(model, asked.marks, ids),
        most=int(MOST_PRESENT.value),
        seen=seen,
        problem=problem,
    )


def _is_shown(symptom: Symptom, asked: Asked) -> bool:
    words = asked.find.casefold().split()
    in_family = not asked.family or symptom.family == asked.family
    return in_family and all(word in _searched(symptom) for word in words)


def _searched(symptom: Symptom) -> str:
    return f"{symptom.name} {symptom.sentence} {symptom.family}".casefold()


def _families(shown: list[Symptom], marks: Mapping[str, Mark]) -> tuple[SymptomFamily, ...]:
    grouped: dict[str, list[SymptomCard]] = {}
    for one in shown:
        card = SymptomCard(
            id=one.id,
            name=one.name,
            sentence=one.sentence,
            drawing=drawing_of(one),
            mark=marks.get(one.id, "not looked at"),
            searched=_searched(one),
        )
        grouped.setdefault(one.family, []).append(card)
    return tuple(
        SymptomFamily(name, f"family-{number}", tuple(cards))
        for number, (name, cards) in enumerate(grouped.items(), start=1)
    )


def drawing_of(symptom: Symptom) -> Markup:
    """The picture of a symptom; drawn by this program, so that it holds nothing but shapes."""
    return Markup(symptom_drawing(symptom.drawing))


def _carried(
    model: FaultModel, marks: Mapping[str, Mark], shown: set[str]
) -> tuple[tuple[str, str, str], ...]:
    return tuple(
        (symptom, mark, model.symptoms[symptom].name)
        for symptom, mark in marks.items()
        if mark != "not looked at" and symptom not in shown and symptom in model.symptoms
    )


def _sheet_words(look: Look, sheet_id: str) -> str:
    sheet = look.seek(Sheet, sheet_id or None)
    if sheet is None:
        return ""
    return f"sheet {sheet.code} of {look.get(Candidate, sheet.candidate_id).name}"


def _latest_sheets(look: Look) -> tuple[tuple[str, str], ...]:
    """The sheets printed last, in any trial."""
    events = look.find(SheetEvent, kind="printed", order=("-at", "id"), limit=_LATEST)
    sheets = {one.id: one for one in look.find_any(Sheet, "id", {event.sheet_id for event in events})}
    names = {
        one.id: one.name
        for one in look.find_any(Candidate, "id", {sheet.candidate_id for sheet in sheets.values()})
    }
    zone = studio_of(look).time_zone
    return tuple(
        (
            sheet.id,
            f"{sheet.code}, {names[sheet.candidate_id]}, printed {moment_words(event.at, time_zone=zone)}",
        )
        for event in events
        if (sheet := sheets.get(event.sheet_id)) is not None
    )
