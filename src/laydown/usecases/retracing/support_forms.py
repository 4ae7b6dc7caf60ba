"""What a support file says of the forms that a trial is printed from."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from laydown.trials.facts import TrialFacts
from laydown.trials.test_form import TestForm


@dataclass(frozen=True, slots=True, kw_only=True)
class SupportFormPage:
    """One page: "device" is printed without colour management, "picture" through the medium's profile."""

    name: str
    use: str
    width_mm: float
    length_mm: float
    patches: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SupportForm:
    """A form by the code that is printed on it; the studio's own pictures are left out."""

    code: str
    made_at: datetime
    channels: tuple[str, ...]
    ppi: int
    in_use: bool
    pages: tuple[SupportFormPage, ...]


def support_forms(facts: TrialFacts) -> tuple[SupportForm, ...]:
    """The forms of a trial, oldest first, those set aside too: the bad print may be of one of them."""
    return tuple(_told(form) for form in facts.forms)


def form_sentence(form: SupportForm) -> str:
    """Such as "F7K2 (R/G/B, 360 ppi): D1 device 432 x 600 mm, 400 patches"."""
    pages = "; ".join(
        f"{page.name} {page.use} {page.width_mm:g} x {page.length_mm:g} mm"
        + (f", {page.patches} patches" if page.patches else "")
        for page in form.pages
    )
    aside = "" if form.in_use else ", set aside since"
    return f"{form.code} ({'/'.join(form.channels)}, {form.ppi} ppi{aside}): {pages}"


def _told(form: TestForm) -> SupportForm:
    return SupportForm(
        code=form.code,
        made_at=form.made_at,
        channels=form.wish.channels,
        ppi=form.wish.ppi,
        in_use=form.set_aside_at is None,
        pages=tuple(
            SupportFormPage(
                name=page.name,
                use=page.use,
                width_mm=page.width_mm,
                length_mm=page.length_mm,
                patches=page.patches,
            )
            for page in form.pages
        ),
    )
