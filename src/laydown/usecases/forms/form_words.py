"""What a form is called in the journal."""

from __future__ import annotations

from laydown.trials.test_form import TestForm


def form_words(form: TestForm) -> str:
    """Such as "the form F7K2: pages D1, D2, P1 with 812 patches"."""
    names = ", ".join(page.name for page in form.pages)
    count = sum(page.patches for page in form.pages)
    pages = f"page{'' if len(form.pages) == 1 else 's'} {names}"
    return f"the form {form.code}: {pages} with {count} patch{'' if count == 1 else 'es'}"
