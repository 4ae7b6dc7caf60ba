"""A form that is kept is drawn again from its wish: what a wish makes must not change with the version.

Where a digest changes, every form that was kept with the version before is refused when it is drawn. Change
one only with a reason in the CHANGELOG, before the first release or with a way to draw the older forms.
"""

from __future__ import annotations

from hashlib import sha256

import pytest

from laydown.science.forms.form_wish import FormWish
from laydown.science.forms.geometry import to_json
from laydown.science.forms.patch_set import CMYK
from laydown.science.forms.reader import FLATBED_SCANNER, SPOT_READER
from laydown.usecases.forms.composed import composed, geometry_of

WISHES = {
    "usual": FormWish(code="F7K2"),
    "inks": FormWish(code="C4", channels=CMYK, ink_limit=2.8, patches=200, reader=SPOT_READER, scenes=()),
    "sheets": FormWish(code="S9", width_mm=210.0, length_mm=297.0, patches=150, reader=FLATBED_SCANNER),
}
DIGESTS = {
    "usual": "eed9dd5536ea27a2539bc408c89ec88e",
    "inks": "3657f79752dcffd1b54b62055710ece3",
    "sheets": "e55a88e8993fb458c89c0489c8d420a1",
}


@pytest.mark.parametrize("name", WISHES)
def test_a_wish_makes_what_it_always_made(name: str):
    form = composed(WISHES[name])
    told = "".join(to_json(geometry_of(form, one)) for one in form.pages)
    assert sha256(told.encode()).hexdigest()[:32] == DIGESTS[name]
