"""Matches a reading to the form it was printed from, by what any print of the form should look like."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from laydown.kernel.arrays import Floats, Ints
from laydown.science.colour import xyz_from_lab
from laydown.science.findings.mix_up_questions import Answer, MixUp, about_order, mend
from laydown.science.findings.mix_ups import ExpectedChart
from laydown.science.findings.reading_order import BY_ANY_PRINT, any_print, find_order, fitted_to
from laydown.science.findings.reduction import Reduced
from laydown.science.forms.expected_pages import ExpectedPage
from laydown.science.forms.matched import Matched, NotMatched
from laydown.science.forms.matching import match_pages

_LEAST_XYZ = 0.01  # of Y = 100: density 4, darker than any print


@dataclass(frozen=True, slots=True, eq=False)
class FormMatch:
    """What was found about a reading: its page and order, and a slip of single rows on top of it.

    ``slip`` is a question about the reading as mended by ``found.source``; its own mending comes after that.
    """

    found: Matched | NotMatched
    slip: MixUp | None = None

    @property
    def sentence(self) -> str:
        """What was found, and what mending it would change."""
        if isinstance(self.found, NotMatched):
            return f"The file was not matched: {self.found.reason} {self.found.todo}"
        return f"{self.found.words} {self.found.changes}"

    @property
    def answers(self) -> tuple[Answer, ...]:
        """What the user may choose; empty where there is nothing to choose."""
        if isinstance(self.found, NotMatched) or not self.found.needs_consent:
            return ()
        return (
            Answer("mend", f"Take it mended: {_lower(self.found.changes)}"),
            Answer("keep", "Take it as it is: the order and the device values of the file stay."),
        )


def match_reading(reading: Reduced, pages: Sequence[ExpectedPage], *, stated: bool = False) -> FormMatch:
    """Find the page of a form that a reading is of, in which order it was read, and rows that slipped.

    For a reading that is filed under no page yet, or says nothing of its patches. Whether it is of the right
    medium is for ``mix_ups``, which needs other sheets.

    Parameters
    ----------
    reading : Reduced
        In the order of its file; its Lab is used, else its densities.
    pages : sequence of ExpectedPage
        Pages that may have been read; ``values`` are put in here.
    stated : bool
        The user says that it is one of these pages.

    Returns
    -------
    FormMatch

    Notes
    -----
    Expected colours are those of ``any_print``, for RGB, CMYK and black alone; other inks are matched by
    device values. Densities are held against -log10 of the expected X, Y and Z, visual density against -L*.
    Slips of single rows that are left once the page is in order are looked for by ``find_order``.

    Checked against
    ---------------
    Simulated and measured sheets read in every order, in the tests.
    """
    values, columns = _values(reading)
    known = [replace(page, values=_expected(page, columns)) for page in pages]
    found = match_pages(
        known,
        channels=reading.channels,
        device=reading.device,
        values=values,
        positions=reading.positions,
        stated=stated,
    )
    if isinstance(found, NotMatched) or columns != "lab" or found.page.values is None:
        return FormMatch(found)
    return FormMatch(found, _slip(reading, found))


def take_mended(reading: Reduced, found: Matched) -> Reduced:
    """A reading in the order of its page, with the device values that were printed.

    Only with the user's consent where ``found.needs_consent``; the reading itself stays as it was.

    Parameters
    ----------
    reading : Reduced
        In the order of its file.
    found : Matched
        From ``match_reading`` about this reading.

    Returns
    -------
    Reduced
        One row for each place of the page: its name, position and device values; NaN, and line 0, where no
        reading is of it. Doubts about rows go with their rows; those left out take theirs along.

    Checked against
    ---------------
    Sheets read in every order, which come out as if read in order, in the tests.
    """
    place = {int(row): int(at) for at, row in enumerate(found.source) if row >= 0}
    return replace(
        reading,
        ids=found.page.names,
        lines=np.where(found.source >= 0, np.asarray(reading.lines)[found.source], 0),
        positions=found.page.positions,
        channels=found.page.channels,
        device=found.page.device,
        lab=mend(reading.lab, found.source),
        visual=mend(reading.visual, found.source),
        status_t=mend(reading.status_t, found.source),
        suspects=tuple(replace(one, row=place[one.row]) for one in reading.suspects if one.row in place),
    )


def chart_of_page(page: ExpectedPage) -> ExpectedChart:
    """A page as the chart that ``suspect_mix_ups`` holds readings against.

    Parameters
    ----------
    page : ExpectedPage

    Returns
    -------
    ExpectedChart

    Checked against
    ---------------
    A reading of the page, about which nothing is asked.
    """
    return ExpectedChart(page.title, page.channels, page.device, page.positions)


def _values(reading: Reduced) -> tuple[Floats | None, str]:
    """What the reading measured, and against which columns it is held."""
    if np.isfinite(reading.lab).any():
        return reading.lab, "lab"
    if np.isfinite(reading.status_t).any():
        return reading.status_t, "densities"
    if np.isfinite(reading.visual).any():
        return reading.visual[:, None], "visual"
    return None, ""


def _expected(page: ExpectedPage, columns: str) -> Floats | None:
    lab = any_print(page.device, channels=page.channels)
    if lab is None or columns == "lab":
        return lab
    if columns == "densities":
        return np.asarray(-np.log10(np.maximum(xyz_from_lab(lab), _LEAST_XYZ)))
    return -lab[:, :1] if columns == "visual" else None


def _slip(reading: Reduced, found: Matched) -> MixUp | None:
    """A row that slipped though the page as a whole is in order."""
    lab, expected = mend(reading.lab, found.source), found.page.values
    assert expected is not None
    order = find_order(
        lab,
        fitted_to(lab, expected),
        rows=_lines(found.page.positions, 0),
        columns=_lines(found.page.positions, 1),
        closeness=BY_ANY_PRINT,
    )
    base = "what a print of such device values looks like"
    return None if order is None else about_order(reading.file, order, base=base)


def _lines(positions: Ints, axis: int) -> tuple[Ints, ...]:
    """Places of each row (axis 0) or column, in order along it."""
    lines = []
    for number in np.unique(positions[:, axis]):
        line = np.flatnonzero(positions[:, axis] == number)
        lines.append(line[np.argsort(positions[line, 1 - axis], kind="stable")])
    return tuple(lines)


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]
