"""A mended copy of a measurement file: the same readings in the places they belong to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from laydown.kernel.arrays import Floats, Ints
from laydown.science.findings.mix_ups import mend
from laydown.science.readings.assembly import take_rows
from laydown.science.readings.types import Readings
from laydown.science.readings.write_cgats import write_cgats


def mended_file(tables: Sequence[Readings], mending: Ints, *, words: str) -> bytes:
    """The tables of a file with every reading in its place, as CGATS.

    Ids, device values and places on the chart stay where they are; patches that were never read are left out.
    ``words`` say in the file what was done.
    """
    preamble = (("DESCRIPTOR", " ".join(words.replace('"', "'").split())),)
    return b"".join(write_cgats(_mended(table, mending), preamble=preamble, decimals=6) for table in tables)


def _mended(table: Readings, mending: Ints) -> Readings:
    def put(values: Floats | None) -> Floats | None:
        return None if values is None else mend(values, mending)

    mended = replace(
        table,
        lines=np.zeros(len(table), dtype=np.int64),
        reflectance=put(table.reflectance),
        xyz=put(table.xyz),
        lab=put(table.lab),
        densities={name: mend(values, mending) for name, values in table.densities.items()},
    )
    return take_rows(mended, np.asarray(mending >= 0))
