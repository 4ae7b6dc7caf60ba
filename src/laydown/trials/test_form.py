"""The form that every candidate of a trial is printed from, as it was designed and as it was drawn."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from laydown.science.forms.form_wish import FormWish

PageUse = Literal["device", "picture"]


@dataclass(frozen=True, slots=True, kw_only=True)
class FormPage:
    """One page of a form: ``name`` such as D1 is printed on it and is in its code.

    A "device" page is printed without colour management, a "picture" page through the profile of the medium.
    ``geometry_sha256`` names the kept file that says where everything on it lies, in mm.
    """

    name: str
    use: PageUse
    width_mm: float
    length_mm: float
    patches: int
    geometry_sha256: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TestForm:
    """A form of a trial. It never changes once it is made: what is printed from it must be the same for ever.

    ``reference_sha256`` names the kept list of its patches (CGATS), ``made_with`` the version that drew it.
    ``left_out`` says what was asked for and found no room. A form that was printed from and is not used any
    more is set aside, with the reason, and still recognised when a reading of it comes in.
    """

    __test__ = False  # a noun of the trade, no test of ours

    id: str
    trial_id: str
    code: str
    wish: FormWish
    pages: tuple[FormPage, ...]
    reference_sha256: str
    left_out: tuple[str, ...] = ()
    made_at: datetime
    made_with: str
    by: str = ""
    words: str = ""
    set_aside_at: datetime | None = None
    set_aside_why: str = ""
