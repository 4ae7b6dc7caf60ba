"""Pages of a form as a measurement file is held against them: device values, places, rough colours."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Bools, Floats, Ints
from laydown.kernel.errors import BadSetting
from laydown.science.forms.geometry import PageGeometry


@dataclass(frozen=True, slots=True, eq=False)
class ExpectedPage:
    """A page as it was printed: n places in reading order.

    ``device`` (n, k) 0 to 1; ``positions`` (n, 2) row and column; ``names`` of the places. ``values`` (n, d)
    are what its patches should roughly look like, in whatever rises and falls with what is measured, or None.
    ``on_strip`` (n,) are places of the control strip, None where there are none.
    """

    form: str
    page: str
    channels: tuple[str, ...]
    device: Floats
    positions: Ints
    names: tuple[str, ...]
    values: Floats | None = None
    on_strip: Bools | None = None

    def __len__(self) -> int:
        return len(self.names)

    @property
    def title(self) -> str:
        """How it is called in a sentence."""
        return f"{'pages' if ' and ' in self.page else 'page'} {self.page} of form {self.form}"

    @property
    def beyond_strip(self) -> Bools:
        """Which places (n,) are not of the control strip, which every form has."""
        return np.ones(len(self), dtype=np.bool_) if self.on_strip is None else ~self.on_strip


def expected_page(geometry: PageGeometry, *, values: Floats | None = None) -> ExpectedPage:
    """A page as its geometry file describes it.

    Parameters
    ----------
    geometry : PageGeometry
    values : (n, d) what its patches should roughly look like, in reading order

    Returns
    -------
    ExpectedPage

    Raises
    ------
    BadSetting
        if a patch has no device values, no row or no column.

    Checked against
    ---------------
    Pages that were laid out.
    """
    device, positions = [], []
    for one in geometry.patches:
        row, column = one.facts.get("row"), one.facts.get("column")
        if one.device is None or not isinstance(row, int) or not isinstance(column, int):
            raise BadSetting(
                f"patch {one.name} of page {geometry.page} has no device values, or no row and column.",
                todo="Make the geometry file again from the form.",
            )
        device.append(one.device)
        positions.append((row, column))
    return ExpectedPage(
        form=geometry.form,
        page=geometry.page,
        channels=geometry.channels,
        device=np.array(device, dtype=np.float64).reshape(len(device), len(geometry.channels)),
        positions=np.array(positions, dtype=np.int64).reshape(-1, 2),
        names=tuple(one.name for one in geometry.patches),
        values=values,
        on_strip=np.array([one.facts.get("role") == "control" for one in geometry.patches], dtype=np.bool_),
    )


@dataclass(frozen=True, slots=True, eq=False)
class Candidate:
    """A page, or all pages of a form as one; ``places`` (n,) tell any place from all others there are.

    ``sheet`` (n,) is the number of the page each place is on.
    """

    page: ExpectedPage
    places: Ints
    sheet: Ints


def candidates(pages: Sequence[ExpectedPage]) -> tuple[Candidate, ...]:
    """Every page, and after them every form of several pages as one, for files that hold more than one page.

    Parameters
    ----------
    pages : what may have been read

    Returns
    -------
    tuple of Candidate

    Checked against
    ---------------
    Forms of one, two and three pages.
    """
    first = np.cumsum([0, *(len(page) for page in pages)])
    every = [
        Candidate(page, np.arange(start, start + len(page)), np.full(len(page), number))
        for number, (page, start) in enumerate(zip(pages, first, strict=False))
    ]
    for form, channels in dict.fromkeys((page.form, page.channels) for page in pages):
        own = [one for one in every[: len(pages)] if (one.page.form, one.page.channels) == (form, channels)]
        if len(own) > 1:
            every.append(_as_one(own))
    return tuple(every)


def _as_one(own: Sequence[Candidate]) -> Candidate:
    """Pages of one form, one below the other."""
    pages = [one.page for one in own]
    above = np.cumsum([0, *(int(page.positions[:, 0].max(initial=0)) + 1 for page in pages)])
    known = [page.values for page in pages if page.values is not None]
    whole = ExpectedPage(
        form=pages[0].form,
        page=f"{', '.join(page.page for page in pages[:-1])} and {pages[-1].page}",
        channels=pages[0].channels,
        device=np.concatenate([page.device for page in pages]),
        positions=np.concatenate(
            [page.positions + np.array([rows, 0]) for page, rows in zip(pages, above, strict=False)]
        ),
        names=tuple(name for page in pages for name in page.names),
        values=np.concatenate(known) if len(known) == len(pages) else None,
        on_strip=~np.concatenate([page.beyond_strip for page in pages]),
    )
    return Candidate(
        whole, np.concatenate([one.places for one in own]), np.concatenate([one.sheet for one in own])
    )
