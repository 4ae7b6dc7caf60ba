"""The published tables that ship with Laydown, read once, when first asked for.

This is the only place in the science that reads a file: the tables are part of the program, like a
constant, and not an input.
"""

from __future__ import annotations

from functools import cache
from importlib.resources import files

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.kernel.errors import BadSetting

ILLUMINANTS_AND_OBSERVERS = (("D50", "2"), ("D50", "10"), ("D65", "2"), ("D65", "10"), ("C", "2"), ("A", "2"))


@cache
def tristimulus_weights(illuminant: str, observer: str) -> Floats:
    """Weights for one illuminant and observer, 360-780 nm in steps of 10 nm: (43, 4) of nm, X, Y, Z.

    Parameters
    ----------
    illuminant
        ``"D50"``, ``"D65"``, ``"C"`` or ``"A"``.
    observer
        ``"2"`` or ``"10"``, in degrees. Not every pair is supplied: see ``ILLUMINANTS_AND_OBSERVERS``.

    Returns
    -------
    Floats
        Read-only (43, 4); Y of the perfect diffuser is 100.

    Raises
    ------
    BadSetting
        For a pair that has no table.

    Checked against
    ---------------
    colour-science 0.4.7 ``tristimulus_weighting_factors_ASTME2022``, recomputed in the test.
    """
    if (illuminant, observer) not in ILLUMINANTS_AND_OBSERVERS:
        known = ", ".join(f"{i} / {o} degrees" for i, o in ILLUMINANTS_AND_OBSERVERS)
        raise BadSetting(
            f"There are no colour weights for illuminant {illuminant} with the {observer} degree observer.",
            todo=f"Use one of: {known}.",
        )
    _, rows = _read(f"weights_{illuminant.lower()}_{observer}.csv")
    return rows


@cache
def density_products() -> dict[str, Floats]:
    """Spectral products of every density filter, peak 1, at 340-770 nm in steps of 10 nm.

    Returns
    -------
    dict of str to Floats
        ``"wavelength_nm"`` and one read-only array per filter, such as ``"status_t_red"`` or ``"visual"``;
        0 where the table has no entry.

    Checked against
    ---------------
    colormath 3.0.0, but for the one product it has wrong; see the method page.
    """
    names, rows = _read("density_products_log10.csv")
    peak_log10 = 5.0
    products = np.where(np.isnan(rows[:, 1:]), 0.0, 10.0 ** (rows[:, 1:] - peak_log10))
    products.setflags(write=False)
    return {names[0]: rows[:, 0], **{name: products[:, i] for i, name in enumerate(names[1:])}}


def _read(name: str) -> tuple[tuple[str, ...], Floats]:
    """Column names and read-only rows of a packaged table; an empty cell is NaN."""
    text = files("laydown.science.colour").joinpath("data", name).read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if line and not line.startswith("#")]
    rows = np.array([[float(cell) if cell else np.nan for cell in line.split(",")] for line in lines[1:]])
    rows.setflags(write=False)
    return tuple(lines[0].split(",")), rows
