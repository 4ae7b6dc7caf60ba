"""A small form as it is drawn, for tests of what keeps forms: two device pages and one of pictures."""

from __future__ import annotations

from dataclasses import replace

from laydown.science.forms.form_wish import FormWish, OwnPicture
from laydown.science.forms.geometry import PageGeometry, Placed, to_json
from laydown.science.forms.page import Box
from laydown.trials.test_form import PageUse
from laydown.usecases.forms.keep_form import DrawnForm, DrawnPage

CHANNELS = ("R", "G", "B")
REFERENCE = b"CGATS.17\n of a form, for the tests"
DEVICE = ((1.0, 1.0, 1.0), (0.0, 0.0, 0.0), (1.0, 0.0, 0.0))


def a_drawn_form(code: str = "F7K2", *, pictures: tuple[OwnPicture, ...] = ()) -> DrawnForm:
    """The same for the same code and pictures."""
    wish = FormWish(code=code, width_mm=210.0, scenes=(), parts=(), pictures=pictures)
    patches = [
        Placed("patch", f"A{at}", Box(10.0 * at, 10.0, 10.0 * at + 9.0, 19.0), {"device": device})
        for at, device in enumerate(DEVICE, start=1)
    ]
    shown = [
        Placed("picture", one.name, Box(5.0, 5.0, 25.0, 25.0), {"source": one.sha256}) for one in pictures
    ]
    pages = (
        _page(code, "D1", "device", patches),
        _page(code, "D2", "device", patches[:1]),
        _page(code, "P1", "picture", shown),
    )
    return DrawnForm(
        wish=wish, pages=pages, reference=REFERENCE + code.encode(), left_out=("rings: no room for them.",)
    )


def geometry_of(code: str, name: str, elements: list[Placed]) -> PageGeometry:
    return PageGeometry(code, name, 360.0, 210.0, 297.0, CHANNELS, tuple(elements))


def with_page(drawn: DrawnForm, at: int, /, **changes: object) -> DrawnForm:
    """The form with one page changed."""
    pages = list(drawn.pages)
    pages[at] = replace(pages[at], **changes)  # type: ignore[arg-type]  # each test names a real field
    return replace(drawn, pages=tuple(pages))


def _page(code: str, name: str, use: PageUse, elements: list[Placed]) -> DrawnPage:
    return DrawnPage(
        name=name,
        use=use,
        width_mm=210.0,
        length_mm=297.0,
        patches=sum(one.kind == "patch" for one in elements),
        geometry_json=to_json(geometry_of(code, name, elements)),
    )
