"""Write the reference file of a form: which device values its patches have, for the measuring program."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from laydown.kernel.errors import BadSetting
from laydown.science.forms.expected_pages import expected_page
from laydown.science.forms.geometry import PageGeometry
from laydown.science.readings.types import Readings
from laydown.science.readings.write_cgats import write_cgats


def write_reference(pages: Sequence[PageGeometry]) -> bytes:
    """The patches of one or more pages of a form as CGATS text (ISO 28178), in reading order.

    SAMPLE_ID numbers them, SAMPLE_LOC is the place printed beside them (row letters and column), SAMPLE_NAME
    what each is for. RGB is out of 255, inks in percent. Give one page for a file to read that page with, or
    all.

    Raises
    ------
    BadSetting
        The pages are of several forms or channels, or have no patches.
    """
    if len({(page.form, page.channels) for page in pages}) != 1:
        raise BadSetting(
            "a reference file is of one form in one set of channels.", todo="Give pages of one form."
        )
    patches = [one for page in pages for one in page.patches]
    if not patches:
        raise BadSetting("these pages have no patches.", todo="Give the pages that are to be measured.")
    positions = np.zeros((0, 2), dtype=np.int64)
    for page in pages:
        below = np.array([positions[:, 0].max(initial=0), 0])
        positions = np.concatenate([positions, expected_page(page).positions + below])
    count = len(patches)
    readings = Readings(
        file="",
        ids=tuple(str(number) for number in range(1, count + 1)),
        names=tuple(str(one.facts.get("patch", "")) for one in patches),
        lines=np.zeros(count, dtype=np.int64),
        channels=pages[0].channels,
        device=np.array([one.device for one in patches], dtype=np.float64),
        positions=positions,
    )
    title = f"Form {pages[0].form}, {'page' if len(pages) == 1 else 'pages'} "
    title += ", ".join(page.page for page in pages)
    return write_cgats(
        readings,
        preamble=[("ORIGINATOR", "Laydown"), ("DESCRIPTOR", title)],
        places=[one.name for one in patches],
    )
