"""Forms put together from their wishes, kept for a while since pages are asked for one after the other."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from laydown.kernel.errors import UnknownRecord
from laydown.science.forms.compose_form import ComposedForm, ComposedPage, compose_form
from laydown.science.forms.form_wish import FormWish
from laydown.science.forms.geometry import PageGeometry, page_geometry


@lru_cache(maxsize=8)
def composed(wish: FormWish) -> ComposedForm:
    """The form of a wish; where each patch lies is drawn from the wish's own seed.

    Raises
    ------
    BadSetting
        No form can be made of it.
    """
    return compose_form(wish, rng=np.random.default_rng(wish.seed))


def page_of(form: ComposedForm, name: str) -> ComposedPage:
    """One page of a form by its name, such as D1.

    Raises
    ------
    UnknownRecord
        It has no such page.
    """
    for one in form.pages:
        if one.page.name == name:
            return one
    known = ", ".join(one.page.name for one in form.pages)
    raise UnknownRecord(f"form {form.wish.code} has no page {name}.", todo=f"Its pages are {known}.")


def geometry_of(form: ComposedForm, one: ComposedPage) -> PageGeometry:
    """Where everything on a page will lie once it is drawn at the printer's own resolution."""
    return page_geometry(one.page, form=form.wish.code, ppi=form.wish.ppi)
