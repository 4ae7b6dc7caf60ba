"""What a form would be, in sentences a printer understands."""

from __future__ import annotations

from laydown.report.lengths import length_words
from laydown.report.wording import number, sheets_words
from laydown.science.findings.form_precision import FormPrecision, Told
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
    count = sum(draft.roles.values())
    roles = ", ".join(f"{n} {ROLE_WORDS[role]}" for role, n in draft.roles.items())
    told = [
        *(page_words(page, units=units) for page in draft.pages),
        f"{count} patches: {roles}.",
        *(f"Not on it: {said}" for said in draft.left_out),
    ]
    if draft.alike:
        told.append(
            f"{draft.alike} neighbouring patches may look alike to a reader without spacers: give it "
            "spacers, or try another seed."
        )
    foretold = precision_words(draft.precision) if draft.precision else (draft.precision_missing,)
    return (*told, *foretold)


def page_words(page: PageDraft, *, units: Units) -> str:
    """A page in a sentence."""
    size = f"{length_words(page.width_mm, units=units)} x {length_words(page.length_mm, units=units)}"
    what = f"{page.patches} patches" if page.patches else f"{page.kinds.get('picture', 0)} pictures"
    if page.use == "device" and not page.patches:
        what = "no patches"
    way = "without colour management" if page.use == "device" else "through the profile of the medium"
    return f"Page {page.name}: {size}, {what}, {page.marks} marks; printed {way}."


def precision_words(precision: FormPrecision) -> tuple[str, ...]:
    """What the patches will tell: of each finding the error of the medium that is told worst."""
    media = len({one.medium for one in precision.foretold})
    told = [f"{NAMES[name]}: {_error_words(precision, name)}." for name in NAMES if precision.of(name)]
    forecast = (
        f"Foretold for {sheets_words(precision.sheets)} of each medium from {precision.rounds} simulated "
        f"sheets of each of {media} invented media ({precision.condition}). The error is that of the medium told "
        "worst, scatter and what the patches miss together: a forecast for choosing a form, no measurement."
    )
    return (*told, forecast)


NAMES: dict[Told, str] = {
    "gamut_volume": "Gamut volume",
    "dmax_visual": "Dmax (visual density)",
    "black_l": "Darkest patch",
    "neutral_l": "Tone of the greys",
    "grey_balance": "Grey balance",
    "tone_reversal": "Tone reversal",
}
_DECIMALS: dict[Told, int] = {"dmax_visual": 3}


def _error_words(precision: FormPrecision, name: Told) -> str:
    if name == "gamut_volume":
        error = max(one.error / one.truth for one in precision.of(name))
        upper = ", as an upper bound (hull)" if precision.gamut_from == "hull" else ""
        return f"within {number(100.0 * error, 1)} % of the truth{upper}"
    error = precision.largest_error(name)
    return f"within {number(error, _DECIMALS.get(name, 2))} {precision.of(name)[0].unit}"
