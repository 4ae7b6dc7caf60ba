"""What can never be true of the forms of a trial."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from laydown.kernel.constants import Constant
from laydown.trials.test_form import FormPage, TestForm

PIXEL_MM = Constant(0.1, "mm", "chosen here: pages end on whole pixels, at 300 ppi or finer", "computed")


def form_contradictions(forms: Sequence[TestForm]) -> Iterator[str]:
    """Sentences about what contradicts itself in a trial's forms."""
    codes = Counter(form.code.casefold() for form in forms)
    for form in forms:
        if codes[form.code.casefold()] > 1:
            yield f"two forms of this trial have the code {form.code}."
        yield from _of_form(form)


def _of_form(form: TestForm) -> Iterator[str]:
    called = f"form {form.code}"
    if form.code != form.wish.code:
        yield f"{called} was drawn with the code {form.wish.code} on it."
    if not form.pages:
        yield f"{called} has no page."
    if not form.reference_sha256:
        yield f"{called} has no list of its patches."
    if form.set_aside_at is not None and not form.set_aside_why.strip():
        yield f"{called} is set aside without a reason."
    if form.set_aside_at is None and form.set_aside_why:
        yield f"{called} has a reason for being set aside and is not."
    names = Counter(page.name.casefold() for page in form.pages)
    for page in form.pages:
        if names[page.name.casefold()] > 1:
            yield f"two pages of {called} are called {page.name}."
        yield from _of_page(form, page)


def _of_page(form: TestForm, page: FormPage) -> Iterator[str]:
    called = f"page {page.name} of form {form.code}"
    if not page.name.strip():
        yield f"a page of form {form.code} has no name."
    if not page.geometry_sha256:
        yield f"{called} has no geometry file."
    for size_mm, wanted_mm, what in (
        (page.width_mm, form.wish.width_mm, "wide"),
        (page.length_mm, form.wish.length_mm, "long"),
    ):
        if size_mm <= 0.0:
            yield f"{called} cannot be {size_mm:g} mm {what}."
        elif wanted_mm is not None and size_mm > wanted_mm + PIXEL_MM.value:
            yield f"{called} is {size_mm:g} mm {what}, and the form {wanted_mm:g} mm."
    if page.patches < 0:
        yield f"{called} cannot have {page.patches} patches."
