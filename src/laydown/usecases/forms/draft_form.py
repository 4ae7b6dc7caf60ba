"""What a form would be, before anything is kept: its pages, its patches, and what they will tell."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from laydown.kernel.errors import BadSetting
from laydown.science.findings.form_design import SCANNER_DOUBT, across_area, hull_doubts, reading_noise
from laydown.science.findings.form_precision import FormPrecision, foretell_precision
from laydown.science.forms.compose_form import ComposedForm
from laydown.science.forms.form_wish import FormWish
from laydown.science.forms.page import Box
from laydown.science.forms.page_head import PageUse
from laydown.science.forms.patch_layout import PatchLayout
from laydown.science.forms.patch_set import Role
from laydown.usecases.forms.composed import composed

ROUNDS = 12  # simulated sheets of each model medium: the deviation foretold is then known within about 20 %


@dataclass(frozen=True, slots=True)
class PageDraft:
    """One page: its size, what is on it by kind, and how it is printed."""

    name: str
    use: PageUse
    width_mm: float
    length_mm: float
    patches: int
    marks: int
    kinds: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class FormDraft:
    """A form as it would be made. ``alike`` counts neighbours that a strip reader may not tell apart;
    ``doubts`` are sentences that belong beside what is foretold.

    ``precision`` is None where it cannot be foretold, and ``precision_missing`` says why.
    """

    wish: FormWish
    pages: tuple[PageDraft, ...]
    roles: Mapping[Role, int]
    rows: int
    columns: int
    alike: int
    left_out: tuple[str, ...]
    doubts: tuple[str, ...]
    precision: FormPrecision | None
    precision_missing: str


def draft_form(wish: FormWish, *, sheets: int) -> FormDraft:
    """What would be made of a wish, and what it would tell from so many sheets of each medium.

    Raises
    ------
    BadSetting
        No form can be made of it.
    """
    form = composed(wish)
    precision, missing = _precision(wish, sheets)
    return FormDraft(
        wish=wish,
        pages=page_drafts(form),
        roles=form.patches.counts(),
        rows=form.layout.fit.rows,
        columns=form.layout.fit.columns * form.layout.fit.grids,
        alike=form.layout.alike,
        left_out=form.left_out,
        doubts=_doubts(wish, precision),
        precision=precision,
        precision_missing=missing,
    )


def page_drafts(form: ComposedForm) -> tuple[PageDraft, ...]:
    """What is on each page of a form."""
    made = []
    for one in form.pages:
        kinds: dict[str, int] = {}
        for element in one.page.elements:
            kinds[element.kind] = kinds.get(element.kind, 0) + 1
        made.append(
            PageDraft(
                name=one.page.name,
                use=one.use,
                width_mm=one.page.width_mm,
                length_mm=one.page.height_mm,
                patches=kinds.get("patch", 0),
                marks=kinds.get("mark", 0),
                kinds=kinds,
            )
        )
    return tuple(made)


@lru_cache(maxsize=16)
def _precision(wish: FormWish, sheets: int) -> tuple[FormPrecision | None, str]:
    layout = composed(wish).layout
    try:
        found = foretell_precision(
            layout.patches,
            rng=np.random.default_rng(wish.seed),
            noise=reading_noise(wish.reader.kind),
            sheets=sheets,
            rounds=ROUNDS,
            across=across_area(layout, _area(layout)),
            ink_limit=wish.ink_limit,
        )
    except BadSetting as none:
        return None, str(none)
    return found, ""


def _area(layout: PatchLayout) -> Box:
    boxes = [place.box for place in layout.places]
    return Box(
        min(one.left_mm for one in boxes),
        min(one.top_mm for one in boxes),
        max(one.right_mm for one in boxes),
        max(one.bottom_mm for one in boxes),
    )


def _doubts(wish: FormWish, precision: FormPrecision | None) -> tuple[str, ...]:
    scanned = (SCANNER_DOUBT,) if wish.reader.kind == "scanner" else ()
    return scanned + (hull_doubts(precision) if precision else ())
