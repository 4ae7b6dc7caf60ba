"""What can never be true of a trial's forms: each planted lie is found, and sound forms have none."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from a_small_trial import MONDAY, a_trial, after

from laydown.science.forms.form_wish import FormWish
from laydown.trials.contradictions import contradictions
from laydown.trials.form_contradictions import form_contradictions
from laydown.trials.test_form import FormPage, TestForm

PAGE = FormPage(
    name="D1", use="device", width_mm=432.0, length_mm=600.0, patches=400, geometry_sha256="1" * 64
)
FORM = TestForm(
    id="f",
    trial_id="t",
    code="F7K2",
    wish=FormWish(code="F7K2", width_mm=432.0),
    pages=(PAGE, replace(PAGE, name="P1", use="picture", patches=0)),
    reference_sha256="2" * 64,
    made_at=MONDAY,
    made_with="0.1.0",
)
OTHER = replace(FORM, id="g", code="K3MM", wish=FormWish(code="K3MM", width_mm=432.0))


def _paged(**changes: object) -> tuple[TestForm, ...]:
    return (replace(FORM, pages=(replace(PAGE, **changes),)),)  # type: ignore[arg-type]  # real fields


LIES: dict[str, tuple[Callable[[], tuple[TestForm, ...]], str]] = {
    "one code twice": (lambda: (FORM, replace(FORM, id="g")), "two forms of this trial have the code F7K2"),
    "set aside, still one code": (
        lambda: (FORM, replace(FORM, id="g", set_aside_at=after(1), set_aside_why="smudged")),
        "have the code F7K2",
    ),
    "another code on the print": (
        lambda: (replace(FORM, wish=OTHER.wish),),
        "drawn with the code K3MM on it",
    ),
    "no page": (lambda: (replace(FORM, pages=()),), "has no page"),
    "no reference": (lambda: (replace(FORM, reference_sha256=""),), "no list of its patches"),
    "aside without a reason": (lambda: (replace(FORM, set_aside_at=after(1)),), "without a reason"),
    "aside for a blank": (
        lambda: (replace(FORM, set_aside_at=after(1), set_aside_why=" "),),
        "without a reason",
    ),
    "reason without aside": (lambda: (replace(FORM, set_aside_why="old"),), "has a reason"),
    "two pages of one name": (
        lambda: (replace(FORM, pages=(PAGE, replace(PAGE, name="d1"))),),
        "two pages of form F7K2 are called",
    ),
    "page without a name": (lambda: _paged(name=" "), "has no name"),
    "page without geometry": (lambda: _paged(geometry_sha256=""), "page D1 of form F7K2 has no geometry"),
    "page of no width": (lambda: _paged(width_mm=0.0), "cannot be 0 mm wide"),
    "page of no length": (lambda: _paged(length_mm=-1.0), "cannot be -1 mm long"),
    "page wider than the form": (lambda: _paged(width_mm=432.2), "is 432.2 mm wide, and the form 432 mm"),
    "page longer than asked for": (
        lambda: (replace(FORM, wish=replace(FORM.wish, length_mm=599.0)),),
        "is 600 mm long, and the form 599 mm",
    ),
    "patches below nothing": (lambda: _paged(patches=-1), "cannot have -1 patches"),
}


def test_sound_forms_contradict_nothing() -> None:
    aside = replace(OTHER, set_aside_at=after(1), set_aside_why="smudged")
    assert contradictions(replace(a_trial(), forms=(FORM, aside)), now=MONDAY) == ()


def test_a_page_may_end_on_the_next_whole_pixel() -> None:
    """At 300 ppi, the coarsest there is, a pixel is 25.4 / 300 = 0.085 mm."""
    assert list(form_contradictions(_paged(width_mm=432.085))) == []


@pytest.mark.parametrize("lie", LIES)
def test_every_planted_lie_about_forms_is_found(lie: str) -> None:
    forms, told = LIES[lie]
    found = contradictions(replace(a_trial(), forms=forms()), now=MONDAY)
    assert any(told in sentence for sentence in found), found
    assert all(sentence.endswith(".") and "None" not in sentence for sentence in found)
