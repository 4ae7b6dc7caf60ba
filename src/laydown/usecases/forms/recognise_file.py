"""Find which page of a form a measurement file is of, and write the file anew in the page's own order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.science.findings.form_match import FormMatch, match_reading
from laydown.science.findings.mix_ups import mend
from laydown.science.findings.reduction import reduce_readings
from laydown.science.forms.expected_pages import expected_page
from laydown.science.forms.geometry import PageGeometry
from laydown.science.forms.matched import Matched
from laydown.science.readings import read_measurements
from laydown.science.readings.assembly import take_rows
from laydown.science.readings.types import Readings
from laydown.science.readings.write_cgats import write_cgats


@dataclass(frozen=True, slots=True, eq=False)
class Recognised:
    """A measurement file and what was found of it; its tables are readings of the same patches."""

    tables: tuple[Readings, ...]
    match: FormMatch


def recognise_file(content: bytes, pages: Sequence[PageGeometry], *, name: str) -> Recognised:
    """Say which of some pages a file is of, and in which order it was read; nothing is changed.

    Raises
    ------
    UnreadableFile
        It is no measurement file.
    """
    tables = read_measurements(content, file=name).tables
    expected = [expected_page(page) for page in pages if page.patches]
    return Recognised(tables, match_reading(reduce_readings(tables[0], check_rows=False), expected))


def file_in_page_order(tables: Sequence[Readings], found: Matched, *, words: str) -> bytes:
    """The readings of a file as CGATS, each beside its patch; patches without a reading are left out.

    Ids, places and device values are those of the page; ``words`` say in the file what was done.
    """
    preamble = (("DESCRIPTOR", " ".join(words.replace('"', "'").split())),)
    return b"".join(
        write_cgats(_in_page_order(table, found), preamble=preamble, decimals=6) for table in tables
    )


def _in_page_order(table: Readings, found: Matched) -> Readings:
    page = found.page

    def put(values: Floats | None) -> Floats | None:
        return None if values is None else mend(values, found.source)

    mended = replace(
        table,
        ids=page.names,
        names=page.names,
        lines=np.zeros(len(page), dtype=np.int64),
        channels=page.channels,
        device=page.device,
        positions=page.positions,
        reflectance=put(table.reflectance),
        xyz=put(table.xyz),
        lab=put(table.lab),
        densities={name: mend(values, found.source) for name, values in table.densities.items()},
    )
    return take_rows(mended, np.asarray(found.source >= 0))
