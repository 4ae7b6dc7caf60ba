"""Reading a printed sheet: the instrument's own scatter, and the mistakes made with a strip reader."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Floats, Ints
from laydown.kernel.errors import BadSetting
from laydown.science.prints.inks import INVENTED_INKS, InkSet
from laydown.science.prints.media import Medium
from laydown.science.prints.reflectance import WAVELENGTHS_NM, reflectance
from laydown.science.prints.sheet import Noise, SheetState, scatter


@dataclass(frozen=True, slots=True)
class Misreads:
    """Mistakes made while reading a chart, by row index (0-based) in the list of patches.

    ``swapped``: pairs that took each other's place. ``wrong``: patches where the instrument slipped on to
    the one listed after it (the last: before it) for half of the reading. ``skipped_row``: a row of the
    chart that was left out, so that every later row is filed one row too early and the last is read twice.
    """

    swapped: tuple[tuple[int, int], ...] = ()
    wrong: tuple[int, ...] = ()
    skipped_row: int | None = None


def read_sheet(
    device_rgb: Floats,
    *,
    medium: Medium,
    sheet_state: SheetState,
    noise: Noise,
    rng: np.random.Generator,
    ink_set: InkSet = INVENTED_INKS,
    condition: str = "M1",
    backing: str = "white",
    wavelengths_nm: Floats = WAVELENGTHS_NM,
    across: Floats | None = None,
) -> Floats:
    """Read one sheet under one measuring condition.

    Readings of one sheet under several conditions share its ``sheet_state``, and with it the scatter of its
    patches; only the reading's own scatter is new. Take ``print_sheet`` once per sheet, this once per file.

    Parameters
    ----------
    device_rgb : array (n, 3), 0-1, 1 = full light
    medium, ink_set, condition, backing, wavelengths_nm, across
        As for ``reflectance``.
    sheet_state : SheetState
        From ``print_sheet``.
    noise : Noise
        ``patch``, ``reading`` and ``dark`` are used here.
    rng : numpy Generator
        For the reading's own scatter.

    Returns
    -------
    array (n, w), reflectance.

    Raises
    ------
    BadSetting
        The sheet was printed with another number of patches.

    Checked against
    ---------------
    Scatter of two real matte prints; the truth where all scatter is zero.
    """
    nm = np.asarray(wavelengths_nm, dtype=np.float64)
    read = reflectance(
        device_rgb,
        medium=medium,
        ink_set=ink_set,
        condition=condition,
        backing=backing,
        wavelengths_nm=nm,
        sheet_state=sheet_state,
        across=across,
    )
    if sheet_state.patch is not None:
        if sheet_state.patch.shape[0] != read.shape[0]:
            raise BadSetting(
                f"the sheet was printed with {sheet_state.patch.shape[0]} patches, not {read.shape[0]}.",
                todo="Read it with the chart it was printed with.",
            )
        size = noise.patch * medium.texture
        read = scatter(read, sheet_state.patch, size=size, dark=noise.dark, wavelengths_nm=nm)
    own = rng.standard_normal((read.shape[0], 3))
    return scatter(read, own, size=noise.reading, dark=noise.dark, wavelengths_nm=nm)


def misread(reflectance: Floats, *, misreads: Misreads, rows: Ints | None = None) -> Floats:
    """Readings as they would have been filed with the stated mistakes.

    Parameters
    ----------
    reflectance : array (n, w)
    misreads : Misreads
    rows : array (n,) or None
        Row of each patch on the chart; needed for a skipped row. Patches are in reading order.

    Returns
    -------
    array (n, w), a changed copy.

    Raises
    ------
    BadSetting
        A row was skipped that the chart does not have, or rows were not given.

    Checked against
    ---------------
    Only what is named changes, by hand on a small chart.
    """
    filed = np.array(reflectance, dtype=np.float64)
    for first, second in misreads.swapped:
        filed[[first, second]] = filed[[second, first]]
    for index in misreads.wrong:
        other = index + 1 if index + 1 < len(filed) else index - 1
        filed[index] = 0.5 * (filed[index] + filed[other])
    if misreads.skipped_row is not None:
        if rows is None or not np.any(np.asarray(rows) == misreads.skipped_row):
            raise BadSetting(
                f"row {misreads.skipped_row} was to be skipped, but the chart has no such row.",
                todo="Give the row of each patch, counted from 0.",
            )
        filed = filed[_rows_filed_early(np.asarray(rows), misreads.skipped_row)]
    return filed


def _rows_filed_early(rows: Ints, skipped: int) -> Ints:
    """Which patch was really read for each patch, when one row was left out."""
    source = np.arange(rows.size)
    last = int(rows.max())
    for row in range(skipped, last):
        here = np.flatnonzero(rows == row)
        below = np.flatnonzero(rows == row + 1)
        shared = min(here.size, below.size)
        source[here[:shared]] = below[:shared]
    return source
