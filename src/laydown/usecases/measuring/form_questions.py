"""Hold a reading against the forms of its trial: which page it is of, and whether it was read in order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from laydown.kernel.errors import LaydownError
from laydown.records.look import Look
from laydown.science.findings.form_match import FormMatch, chart_of_page, match_reading, take_mended
from laydown.science.findings.mix_up_questions import AGAIN, KEEP, Answer, MixUp
from laydown.science.findings.mix_ups import ExpectedChart
from laydown.science.findings.reduction import Reduced
from laydown.science.forms.expected_pages import ExpectedPage, expected_page
from laydown.science.forms.geometry import from_json
from laydown.science.forms.matched import Matched, NotMatched
from laydown.trials.facts import TrialFacts


@dataclass(frozen=True, slots=True, eq=False)
class FormPages:
    """The pages with patches of a trial's forms; ``aside`` are codes of forms not printed from any more."""

    pages: tuple[ExpectedPage, ...]
    aside: frozenset[str]

    @property
    def in_use(self) -> tuple[str, ...]:
        """Codes of the forms that are printed from."""
        return tuple(dict.fromkeys(page.form for page in self.pages if page.form not in self.aside))


@dataclass(frozen=True, slots=True, eq=False)
class FormView:
    """A reading as the forms see it.

    ``table`` is the reading as it would be in the page's own order, ``chart`` what to hold it against then,
    None where no page was found; ``asked`` is what is to be asked before that.
    """

    table: Reduced
    chart: ExpectedChart | None
    asked: tuple[MixUp, ...]
    match: FormMatch


def form_pages(look: Look, facts: TrialFacts) -> FormPages:
    """The pages with patches of all forms of a trial; one whose file is damaged is left out."""
    pages = []
    for form in facts.forms:
        for page in form.pages:
            if not page.patches:
                continue
            try:
                pages.append(expected_page(from_json(look.read_file(page.geometry_sha256).decode())))
            except (LaydownError, UnicodeDecodeError):
                continue  # verifying the records names it
    aside = frozenset(form.code for form in facts.forms if form.set_aside_at is not None)
    return FormPages(tuple(pages), aside)


def view_through_forms(table: Reduced, forms: FormPages, *, other_chart: bool) -> FormView | None:
    """What the forms say of a reading; None where there are none, or it is of another chart that is known.

    ``other_chart`` says that the trial names a chart besides: what is of no form is then held against that.
    """
    if not forms.pages:
        return None
    match = match_reading(table, forms.pages)
    found = match.found
    if isinstance(found, NotMatched):
        if other_chart or not forms.in_use:
            return None
        return FormView(table, None, (_about_form(table, found, forms.in_use),), match)
    asked = []
    if found.page.form in forms.aside:
        asked.append(_about_aside(table, found))
    if not ways_to_take(table, match):
        return FormView(table, chart_of_page(found.page), tuple(asked), match)
    asked.append(_about_order(table, match, found))
    return FormView(take_mended(table, found), chart_of_page(found.page), tuple(asked), match)


def ways_to_take(table: Reduced, match: FormMatch) -> tuple[Answer, ...]:
    """What a reading that was matched may be taken as; empty where it is as its page, patch by patch."""
    if isinstance(match.found, NotMatched) or match.answers:
        return match.answers
    if table.device is not None and np.isfinite(table.device).all():
        return ()
    return (Answer("mend", f"Take the device values of {match.found.page.title}"), KEEP)


def _about_order(table: Reduced, match: FormMatch, found: Matched) -> MixUp:
    return MixUp(
        kind="form_order",
        file=table.file,
        sentence=match.sentence,
        question="How is it to be taken?",
        answers=(*ways_to_take(table, match), AGAIN),
        mending=found.source,
    )


def _about_aside(table: Reduced, found: Matched) -> MixUp:
    return MixUp(
        kind="wrong_form",
        file=table.file,
        sentence=f"It is a reading of form {found.page.form}, which was set aside.",
        question="Was the sheet printed from the form that is in use?",
        answers=(KEEP, AGAIN),
    )


def _about_form(table: Reduced, found: NotMatched, codes: Sequence[str]) -> MixUp:
    named = f"form {codes[0]}" if len(codes) == 1 else f"any of the forms {', '.join(codes)}"
    return MixUp(
        kind="wrong_form",
        file=table.file,
        sentence=f"It is not taken for a reading of {named}: {found.reason}",
        question="Is it the right file?",
        answers=(KEEP, AGAIN),
    )
