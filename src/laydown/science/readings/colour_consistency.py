"""Whether a file's own Lab or XYZ agrees with its spectra, and what it agrees with instead."""

from __future__ import annotations

from typing import Final

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.kernel.constants import Constant
from laydown.kernel.errors import LaydownError
from laydown.kernel.problems import Problem
from laydown.science.readings.types import Readings

AGREEMENT: Final = Constant(
    1.0,
    "dE76, median over patches",
    "two ways of computing Lab from one spectrum differ by a few tenths; another observer by several",
    "common practice, no source",
)
_MOST_ROWS: Final = 256
_OTHERS: Final = (("D50", "10"), ("D65", "2"), ("D65", "10"), ("A", "2"), ("C", "2"))


def check_colour(readings: Readings) -> list[Problem]:
    """Compare the Lab or XYZ of a table with what its spectra give under D50 and 2 degrees.

    Parameters
    ----------
    readings : one table, scaled.

    Returns
    -------
    A warning where they differ by more than ``AGREEMENT``, saying which illuminant and observer fit better;
    nothing where the table lacks either, or its spectra are too short to compute colour from.

    Notes
    -----
    At most 256 rows spread over the table are compared, so the cost is a few milliseconds. Results elsewhere
    are computed from the spectra, so a disagreement is a question about the file, not about them.

    Checked against
    ---------------
    Lab planted at three pairs of illuminant and observer (``test_row_checks.py``).
    """
    if readings.reflectance is None or readings.wavelengths_nm is None:
        return []
    rows = np.unique(np.linspace(0, len(readings) - 1, _MOST_ROWS).astype(np.int64))
    spectra, wavelengths = readings.reflectance[rows], readings.wavelengths_nm
    for name, given in (("Lab", readings.lab), ("XYZ", readings.xyz)):
        if given is None:
            continue
        usual = _distance(name, given[rows], spectra, wavelengths, "D50", "2")
        # Whole numbers may be off by half a unit on each of three axes.
        rounding = 0.5 * np.sqrt(3.0) if (given[rows] == np.round(given[rows])).all() else 0.0
        if not usual > AGREEMENT.value + rounding:
            continue
        fits = {other: _distance(name, given[rows], spectra, wavelengths, *other) for other in _OTHERS}
        best = min(fits, key=lambda other: fits[other] if np.isfinite(fits[other]) else np.inf)
        what = f"the {name} values differ from the spectra by {usual:.1f} dE76 (median) at D50 and 2 degrees"
        if fits[best] < 0.5 * usual:
            what += f"; they fit {best[0]} and {best[1]} degrees better ({fits[best]:.1f})"
        place = f" in table {readings.table}" if readings.table else ""
        todo = "Colours are computed from the spectra; check how the file was exported."
        return [Problem("warning", f"{what}{place}.", todo=todo, file=readings.file)]
    return []


def _distance(
    name: str, given: Floats, spectra: Floats, wavelengths: Floats, illuminant: str, observer: str
) -> float:
    """Median dE76 between given and computed colours; NaN where they cannot be computed."""
    from laydown.science.colour import lab_from_reflectance, lab_from_xyz, white_point

    try:
        computed = lab_from_reflectance(
            spectra, wavelengths_nm=wavelengths, illuminant=illuminant, observer=observer
        )
        lab = given if name == "Lab" else lab_from_xyz(given, white=white_point(illuminant, observer))
    except LaydownError:
        return float("nan")
    away = np.linalg.norm(computed - lab, axis=-1)
    return float(np.median(away[np.isfinite(away)])) if np.isfinite(away).any() else float("nan")
