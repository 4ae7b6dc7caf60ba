"""What a form would be, in sentences a printer understands."""

from __future__ import annotations

from collections.abc import Mapping

from laydown.report.foretold_words import CAUTION, foretold_basis, foretold_lines
from laydown.report.lengths import length_words
from laydown.science.findings.form_precision import FormPrecision
from laydown.science.forms.patch_set import Role
from laydown.trials.studio import Units
from laydown.usecases.forms.draft_form import FormDraft, PageDraft

ROLE_WORDS: dict[Role, str] = {
    "control": "control strip, the same on every form",
    "own": "your own colours",
    "surface": "on the surface of what the printer can print",
    "neutral": "greys, finer near black and white",
    "near black": "near black, to find the darkest",
    "primary": "steps of primaries and secondaries",
    "anchor": "repeats spread over the page",
}


def draft_words(draft: FormDraft, *, units: Units = "metric") -> tuple[str, ...]:
    """A draft, sentence by sentence."""
    told = [
        *(page_words(page, units=units) for page in draft.pages),
        role_words(draft.roles),
        *(f"Not on it: {said}" for said in draft.left_out),
    ]
    if draft.alike:
        told.append(
            f"{draft.alike} neighbouring patches may look alike to a reader without spacers: give it "
            "spacers, or try another seed."
        )
    foretold = precision_words(draft.precision) if draft.precision else (draft.precision_missing,)
    return (*told, *foretold, *draft.doubts)


def role_words(roles: Mapping[Role, int]) -> str:
    """How many patches there are, and of which kind."""
    said = ", ".join(f"{n} {ROLE_WORDS[role]}" for role, n in roles.items())
    return f"{sum(roles.values())} patches: {said}."


def page_words(page: PageDraft, *, units: Units) -> str:
    """A page in a sentence."""
    size = f"{length_words(page.width_mm, units=units)} x {length_words(page.length_mm, units=units)}"
    what = f"{page.patches} patches" if page.patches else f"{page.kinds.get('picture', 0)} pictures"
    if page.use == "device" and not page.patches:
        what = "no patches"
    way = "without colour management" if page.use == "device" else "through the profile of the medium"
    return f"Page {page.name}: {size}, {what}, {page.marks} marks; printed {way}."


def precision_words(precision: FormPrecision) -> tuple[str, ...]:
    """What the patches will tell, and what that forecast rests on."""
    lines = (
        f"{line.label} ({line.means}): within {line.one} for a medium, {line.two} between two."
        for line in foretold_lines(precision)
    )
    return (*lines, foretold_basis(precision, patches=False), CAUTION)
