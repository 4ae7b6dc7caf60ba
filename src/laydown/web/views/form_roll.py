"""What the page of a form on the roll shows: what goes, what is left, each load drawn to scale, papers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from urllib.parse import urlencode

from starlette.datastructures import FormData, QueryParams

from laydown.kernel.errors import BadSetting, LaydownError
from laydown.report.label_sheets import LABEL_SHEETS, SOURCE
from laydown.report.lengths import MM_PER_METRE, length_words, parse_length, run_words
from laydown.report.nesting_drawing import both_units, nesting_svg
from laydown.report.sticker_paper import Sticker
from laydown.science.forms.bare_edges import GAP_MM
from laydown.trials.facts import TrialFacts
from laydown.trials.stock import RollUse
from laydown.trials.studio import Units
from laydown.trials.test_form import TestForm
from laydown.trials.trial import Candidate
from laydown.usecases.forms.lay_on_roll import form_in_use, lay_on_roll, what_is_missing
from laydown.usecases.forms.roll_layout import Lack, LackOf, LaidPiece, RollLayout, RollLoad
from laydown.usecases.forms.roll_loads import LayOptions, LayWay
from laydown.web.forms import Form
from laydown.web.views.stock_words import roll_words
from laydown.web.views.trial_frame import TrialFrame, trial_frame

WAY_WORDS: dict[LayWay, str] = {
    "as drawn": "in the order drawn, load by load",
    "to save length": "sorted within each load, to save length",
    "in one load": "all in one load, to save leads and tails",
}
LEAVE_OUT = {
    "spares": "spares",
    "scraps": "strips, fading and handling pieces",
    "setting": "setting sheet and chart",
}


@dataclass(frozen=True, slots=True)
class RollChoice:
    """What was asked for, as typed."""

    candidate_id: str = ""
    form: str = ""
    way: str = "as drawn"
    gap: str = ""
    without: tuple[str, ...] = ()
    rest: bool = False

    @property
    def fields(self) -> tuple[tuple[str, str], ...]:
        """The same as fields of a form, those that say something."""
        told = [("candidate", self.candidate_id), ("form", self.form), ("way", self.way), ("gap", self.gap)]
        told += [("without", one) for one in self.without]
        told += [("rest", "yes")] if self.rest else []
        return tuple((name, value) for name, value in told if value)

    def options(self, units: Units) -> LayOptions:
        """The options it means.

        Raises
        ------
        BadSetting
            The way is none there is, or the gap is no length.
        """
        way = next((one for one in WAY_WORDS if one == self.way), None)
        if way is None:
            raise BadSetting(f'nothing is laid out "{self.way}".', todo=f"Choose {', '.join(WAY_WORDS)}.")
        return LayOptions(
            way=way,
            gap_mm=parse_length(self.gap, units=units, what="The gap between pieces"),
            without_spares="spares" in self.without,
            without_scraps="scraps" in self.without,
            without_setting="setting" in self.without,
            only_unprinted=self.rest,
        )


def choice_sent(sent: QueryParams) -> RollChoice:
    """What an address asks for."""
    form = Form(FormData([(name, value) for name, value in sent.multi_items()]))
    return RollChoice(
        candidate_id=form.text("candidate"),
        form=form.text("form"),
        way=form.text("way") or "as drawn",
        gap=form.text("gap"),
        without=tuple(one for one in LEAVE_OUT if one in form.many("without")),
        rest=form.flag("rest"),
    )


@dataclass(frozen=True, slots=True)
class Asked:
    """Whose roll and which form an address means, and what is missing before anything can be laid out."""

    candidate: Candidate | None
    form: TestForm | None
    lacks: tuple[Lack, ...]


def asked_for(facts: TrialFacts, choice: RollChoice) -> Asked:
    """The candidate and form that are named, else the first with a roll and the newest in use."""
    there = [one for one in facts.candidates if one.withdrawn_at is None]
    usual = next((one for one in there if one.roll_id), there[0] if there else None)
    candidate = next((one for one in facts.candidates if one.id == choice.candidate_id), usual)
    form = next((one for one in facts.forms if one.code == choice.form), form_in_use(facts))
    lacks = what_is_missing(facts, candidate, form) if candidate is not None else ()
    return Asked(candidate, form, lacks)


@dataclass(frozen=True, slots=True)
class Option:
    """One thing to choose."""

    value: str
    words: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class Missing:
    """What is missing, and where to put it right; ``href`` is "" where this person may not."""

    words: str
    todo: str
    href: str
    link: str


@dataclass(frozen=True, slots=True)
class PieceLine:
    """One piece in a table."""

    row: str
    words: str
    what: str
    size: str
    code: str


@dataclass(frozen=True, slots=True)
class LoadView:
    """One load: in words, drawn, and piece by piece. ``drawing`` is SVG made here, its text escaped."""

    title: str
    words: str
    drawing: str
    pieces: tuple[PieceLine, ...]


@dataclass(frozen=True, slots=True)
class LaidView:
    """A layout as it is shown."""

    facts: tuple[tuple[str, str], ...]
    warnings: tuple[str, ...]
    reckoned: tuple[str, ...]
    loads: tuple[LoadView, ...]
    key: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class FormRollView:
    """The page. ``laid`` is None where something is missing or refused."""

    frame: TrialFrame
    candidates: tuple[Option, ...]
    forms: tuple[Option, ...]
    ways: tuple[Option, ...]
    without: tuple[Option, ...]
    rest: bool
    gap: str
    usual_gap: str
    kept: tuple[tuple[str, str], ...]
    query: str
    labels: tuple[Option, ...]
    labels_source: str
    missing: tuple[Missing, ...]
    laid: LaidView | None
    refusal: str = ""


def form_roll_view(
    facts: TrialFacts, choice: RollChoice, *, uses: Sequence[RollUse], owner: bool, now: datetime
) -> FormRollView:
    """What the page shows for what was asked."""
    asked = asked_for(facts, choice)
    units = facts.studio.units
    laid, refusal = None, ""
    if asked.candidate is not None and asked.form is not None and not asked.lacks:
        try:
            options = choice.options(units)
            laid = laid_view(
                facts, lay_on_roll(facts, asked.candidate, asked.form, uses=uses, options=options)
            )
        except LaydownError as error:
            refusal = str(error)[:1].upper() + str(error)[1:]
    told = replace(
        choice,
        candidate_id=asked.candidate.id if asked.candidate else "",
        form=asked.form.code if asked.form else "",
    )
    paper = {"a4": "A4", "us-letter": "US Letter"}[facts.studio.paper]
    first = next(one.name for one in LABEL_SHEETS if one.paper == paper)
    return FormRollView(
        frame=trial_frame(facts, now=now, here="plan"),
        candidates=_candidates(facts, told.candidate_id),
        forms=tuple(Option(one.code, f"form {one.code}", one.code == told.form) for one in facts.forms),
        ways=tuple(Option(way, words, way == told.way) for way, words in WAY_WORDS.items()),
        without=tuple(Option(name, words, name in told.without) for name, words in LEAVE_OUT.items()),
        rest=told.rest,
        gap=told.gap,
        usual_gap=length_words(GAP_MM.value, units=units),
        kept=told.fields,
        query=urlencode(told.fields),
        labels=tuple(Option(one.name, one.words, one.name == first) for one in LABEL_SHEETS),
        labels_source=SOURCE,
        missing=_missing(facts, asked, owner=owner),
        laid=laid,
        refusal=refusal,
    )


def _candidates(facts: TrialFacts, chosen: str) -> tuple[Option, ...]:
    return tuple(
        Option(one.id, one.name, one.id == chosen)
        for one in facts.candidates
        if one.withdrawn_at is None or one.id == chosen
    )


_WHERE: dict[LackOf, tuple[str, str]] = {
    "form": ("form", "Test form"),
    "order": ("plan/order", "Sheets and order"),
    "roll": ("candidates", "Candidates"),
    "size": ("candidates", "Candidates"),
}


def _missing(facts: TrialFacts, asked: Asked, *, owner: bool) -> tuple[Missing, ...]:
    home = f"/trials/{facts.trial.id}"
    if asked.candidate is None:
        told = "No candidate is named yet.", "Name them with their rolls or boxes."
        return (Missing(*told, f"{home}/candidates", "Candidates"),)
    found = []
    for lack in asked.lacks:
        part, link = _WHERE[lack.of]
        href = f"{home}/{part}"
        if lack.of == "size" and owner:
            href, link = f"/stock/rolls/{asked.candidate.roll_id}", "Its roll or box"
        found.append(Missing(lack.words, lack.todo, href, link))
    return tuple(found)


def laid_view(facts: TrialFacts, layout: RollLayout) -> LaidView:
    """A layout in words and drawings."""
    key = {one.piece.sheet: one.blind for one in layout.pieces if one.blind}
    return LaidView(
        facts=tuple(_facts(facts, layout)),
        warnings=layout.warnings,
        reckoned=layout.reckoned,
        loads=tuple(_load(load) for load in layout.loads),
        key=tuple(sorted(key.items())),
    )


def stickers_of(layout: RollLayout) -> tuple[Sticker, ...]:
    """A sticker for each piece that has its place, in the order in which they are cut apart."""
    return tuple(
        Sticker(
            code=one.piece.code,
            name=one.piece.words,
            lines=(_what(one, layout.form), size_words(one), f"{load.title.lower()}, row {one.row}"),
            blind=one.blind,
        )
        for load in layout.loads
        for one in load.pieces
        if one.row
    )


def summary_of(facts: TrialFacts, layout: RollLayout) -> str:
    """The layout in a sentence for the top of its papers."""
    roll = next(one for one in facts.rolls if one.id == layout.roll_id)
    told = roll_words(roll, units=facts.studio.units)
    return f"Form {layout.form} on {told}: {layout.repeats_placed} of {layout.repeats_wanted} prints."


def both_runs(mm: float) -> str:
    """A long length in metres and in feet, a short one in mm and inches."""
    if mm < MM_PER_METRE:
        return both_units(mm)
    return f"{run_words(mm, units='metric')} · {run_words(mm, units='inch')}"


def size_words(one: LaidPiece) -> str:
    """Width and length in both units."""
    wide, long = one.piece.width_mm, one.piece.length_mm
    metric = (
        f"{length_words(wide, units='metric').removesuffix(' mm')} x {length_words(long, units='metric')}"
    )
    inch = f"{length_words(wide, units='inch').removesuffix(' in')} x {length_words(long, units='inch')}"
    return f"{metric} · {inch}"


def _facts(facts: TrialFacts, layout: RollLayout) -> list[tuple[str, str]]:
    roll = next(one for one in facts.rolls if one.id == layout.roll_id)
    told = [("On", roll_words(roll, units=facts.studio.units))]
    if layout.shared_with:
        told.append(("Laid out with", ", ".join(layout.shared_with) + ", on the same"))
    told.append(("Can be printed", f"{both_units(layout.printable_mm)} of {both_units(layout.medium_mm)}"))
    told.append(("Test prints", f"{layout.repeats_placed} of {layout.repeats_wanted} have their place"))
    if layout.used_mm is not None:
        goes = f"{both_runs(layout.used_mm)} in {_count(len(layout.loads), 'load')}, leads and tails included"
        told.append(("Goes", goes))
        left = "not stated" if layout.left_mm is None else both_runs(layout.left_mm)
    else:
        told.append(("Goes", f"{_count(layout.sheets_used, 'sheet')} in {_count(len(layout.loads), 'load')}"))
        left = "not stated" if layout.left_sheets is None else _count(layout.left_sheets, "sheet")
    told.append(("Left over", left))
    if layout.more_repeats is not None:
        more = _count(layout.more_repeats, "more repeat") if layout.more_repeats else "no further repeat"
        told.append(("Would hold", f"{more}, with all pages, in a further load"))
    return told


def _load(load: RollLoad) -> LoadView:
    nesting = load.nesting
    count = _count(len(nesting.pieces), "piece")
    words = f"{count} in {_count(len(nesting.rows), 'row')}"
    if nesting.used_mm is not None:
        words += f"; {both_runs(nesting.used_mm)} go, lead and tail included"
    elif nesting.sheets_used:
        words += f" on {_count(nesting.sheets_used, 'sheet')}"
    if load.printer:
        words += f"; on {load.printer}"
    return LoadView(
        title=load.title,
        words=f"{words}.",
        drawing=nesting_svg(nesting, codes=load.codes) if nesting.pieces else "",
        pieces=tuple(
            PieceLine(
                row=str(one.row) if one.row else "no place",
                words=one.piece.words,
                what="spare" if one.piece.use == "spare" else one.piece.kind,
                size=size_words(one),
                code=one.piece.code,
            )
            for one in load.pieces
        ),
    )


def _what(one: LaidPiece, form: str) -> str:
    spare = ", spare" if one.piece.use == "spare" else ""
    if one.piece.kind == "page":
        return f"form {form}, page {one.piece.page}, sheet {one.piece.sheet}{spare}"
    return f"form {form}, {one.piece.kind}, same medium as {one.piece.sheet}"


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"
