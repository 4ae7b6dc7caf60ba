"""The test forms of a trial, and one of them: its pages, how they are printed, and its files."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from laydown.records.look import Look
from laydown.report.moments import moment_words
from laydown.science.forms.identity import INSTRUCTIONS
from laydown.science.forms.page_head import ANY_SHEET
from laydown.trials.facts import TrialFacts
from laydown.trials.test_form import FormPage, TestForm
from laydown.usecases.forms.draw_page import DrawOptions
from laydown.usecases.forms.form_archive import page_file_name
from laydown.web.form_fields import KIND_WORDS
from laydown.web.views.form_design import QUESTION_WORDS, page_size
from laydown.web.views.notes import NotesView, notes_view
from laydown.web.views.trial_frame import TrialFrame, trial_frame


@dataclass(frozen=True, slots=True)
class PageCard:
    """One page of a form that was made; ``wide`` and ``high`` keep its place until the preview arrives."""

    name: str
    use: str
    size: str
    patches: int
    instruction: str
    href: str
    wide: int
    high: int


@dataclass(frozen=True, slots=True)
class FormCard:
    """One form in a list. ``aside`` is the reason where it is set aside."""

    id: str
    code: str
    told: str
    made: str
    words: str
    href: str
    aside: str
    pages: tuple[PageCard, ...]


@dataclass(frozen=True, slots=True)
class FormLine:
    """One form in a sentence: "F7K2, 2 pages", and where it is shown."""

    told: str
    href: str


@dataclass(frozen=True, slots=True)
class FileToPrint:
    """A page as a file: what it is called, where it is drawn, and how it is printed."""

    name: str
    href: str
    instruction: str


@dataclass(frozen=True, slots=True)
class FormToPrint:
    """A form in use at the printer; its files carry the code of the sheet whose turn it is."""

    code: str
    href: str
    files: tuple[FileToPrint, ...]


@dataclass(frozen=True, slots=True)
class FormsView:
    """The forms of a trial."""

    frame: TrialFrame
    trial_id: str
    in_use: tuple[FormCard, ...]
    aside: tuple[FormCard, ...]


@dataclass(frozen=True, slots=True)
class SheetChoice:
    """A sheet that a page may be drawn for."""

    code: str
    words: str


@dataclass(frozen=True, slots=True)
class OneFormView:
    """One form. ``printed`` is whether any sheet of its trial is: then it stays; ``sheet`` is asked for."""

    frame: TrialFrame
    trial_id: str
    form: FormCard
    resolution: str
    inks: str
    reader: str
    question: str
    made_with: str
    left_out: tuple[str, ...]
    sheets: tuple[SheetChoice, ...]
    sheet: str
    has_pictures: bool
    length_marks: bool
    wear_bar: bool
    pdf: bool
    printed: bool
    revision: int
    notes: NotesView
    refusal: str


def form_lines(facts: TrialFacts) -> tuple[FormLine, ...]:
    """The forms in use, in a few words each; for pages that point to them."""
    return tuple(
        FormLine(f"{form.code}, {_pages(form)}", form_address(form))
        for form in facts.forms
        if form.set_aside_at is None
    )


def forms_to_print(facts: TrialFacts, sheet: str) -> tuple[FormToPrint, ...]:
    """The forms in use with the files of one sheet; of any sheet where none is named."""
    options = DrawOptions(sheet=sheet or ANY_SHEET)
    return tuple(
        FormToPrint(
            form.code,
            f"{form_address(form)}?sheet={options.sheet}",
            tuple(
                FileToPrint(
                    page_file_name(form, page.name, options),
                    f"{form_address(form)}/pages/{page.name}/file?sheet={options.sheet}",
                    INSTRUCTIONS[page.use],
                )
                for page in form.pages
            ),
        )
        for form in facts.forms
        if form.set_aside_at is None
    )


def form_address(form: TestForm) -> str:
    """Where a form is shown."""
    return f"/trials/{form.trial_id}/form/{form.id}"


def forms_view(facts: TrialFacts, *, now: datetime) -> FormsView:
    """The forms of a trial, the newest first."""
    cards = [(form, form_card(facts, form)) for form in reversed(facts.forms)]
    return FormsView(
        frame=trial_frame(facts, now=now, here="plan"),
        trial_id=facts.trial.id,
        in_use=tuple(card for form, card in cards if form.set_aside_at is None),
        aside=tuple(card for form, card in cards if form.set_aside_at is not None),
    )


def form_card(facts: TrialFacts, form: TestForm) -> FormCard:
    """One form in a list."""
    when = moment_words(form.made_at, time_zone=facts.studio.time_zone)
    since = moment_words(form.set_aside_at, time_zone=facts.studio.time_zone)
    return FormCard(
        id=form.id,
        code=form.code,
        told=f"{_pages(form)}, {sum(page.patches for page in form.pages)} patches",
        made=f"{when}, {form.by}" if form.by else when,
        words=form.words,
        href=form_address(form),
        aside=f"Set aside {since}: {form.set_aside_why}" if form.set_aside_at else "",
        pages=tuple(_page(facts, form, page) for page in form.pages),
    )


def one_form_view(
    look: Look, facts: TrialFacts, form: TestForm, *, now: datetime, sheet: str = "", refusal: str = ""
) -> OneFormView:
    """The page of one form; ``sheet`` is the code of a sheet its files are drawn for."""
    wish = form.wish
    return OneFormView(
        frame=trial_frame(facts, now=now, here="plan"),
        trial_id=facts.trial.id,
        form=form_card(facts, form),
        resolution=f"{wish.ppi} ppi",
        inks=" ".join(wish.channels),
        reader=KIND_WORDS[wish.reader.kind],
        question=QUESTION_WORDS[wish.question],
        made_with=form.made_with,
        left_out=form.left_out,
        sheets=tuple(
            SheetChoice(one.code, f"{one.code}, {facts.candidate(one.candidate_id).name}")
            for one in sorted(facts.sheets, key=lambda one: (not one.place, one.place, one.code))
        ),
        sheet=sheet if any(one.code == sheet for one in facts.sheets) else ANY_SHEET,
        has_pictures=any(page.use == "picture" for page in form.pages),
        length_marks="length marks" in wish.parts,
        wear_bar="wear bar" in wish.parts,
        pdf=wish.channels in {("R", "G", "B"), ("C", "M", "Y", "K")},
        printed=any(event.kind == "printed" for event in facts.events),
        revision=look.revision(TestForm, form.id),
        notes=notes_view(look, about=form.id, back=form_address(form), studio=facts.studio),
        refusal=refusal,
    )


def _page(facts: TrialFacts, form: TestForm, page: FormPage) -> PageCard:
    return PageCard(
        name=page.name,
        use=page.use,
        size=page_size(page.width_mm, page.length_mm, facts.studio.units),
        patches=page.patches,
        instruction=INSTRUCTIONS[page.use],
        href=f"{form_address(form)}/pages/{page.name}",
        wide=round(page.width_mm),
        high=round(page.length_mm),
    )


def _pages(form: TestForm) -> str:
    return "1 page" if len(form.pages) == 1 else f"{len(form.pages)} pages"
