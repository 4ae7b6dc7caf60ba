"""A patch that contradicts its neighbours is left out where others show its colour, and only there."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from laydown.science.findings.doubts import settle_doubts
from laydown.science.findings.reduction import Reduced, Suspect
from laydown.science.prints import SheetState

Maker = Callable[..., Reduced]
Printer = Callable[..., SheetState]


def _doubted(item: Reduced, *rows: int) -> Reduced:
    return replace(item, suspects=tuple(Suspect(row, f"row {row} is odd.") for row in rows))


def _rows(item: Reduced) -> tuple[int, int]:
    """A colour the chart holds once, and one it repeats (white)."""
    assert item.device is not None
    _, first, counts = np.unique(item.device, axis=0, return_index=True, return_counts=True)
    return int(first[counts == 1][5]), int(np.flatnonzero(np.all(item.device == 1.0, axis=1))[0])


def test_a_repeated_colour_is_left_out_on_its_own_sheet(reduced: Maker, printed: Printer) -> None:
    item = reduced("s1.txt", printed(1))
    _, white = _rows(item)
    (settled,), (problem,) = settle_doubts([_doubted(item, white)])
    assert np.isnan(settled.lab[white]).all()
    assert np.isnan(settled.visual[white])
    assert np.isfinite(item.lab[white]).all(), "the input was changed"
    assert problem.severity == "error"
    assert "on the sheet are in order" in problem.todo
    assert (problem.file, problem.line, problem.patch) == ("s1.txt", 10 + white, f"P{white}")


def test_a_colour_the_sheet_holds_once_is_left_out_where_another_sheet_shows_it(
    reduced: Maker, printed: Printer
) -> None:
    items = [reduced(f"s{n}.txt", printed(n)) for n in (1, 2)]
    once, _ = _rows(items[0])
    settled, (problem,) = settle_doubts([_doubted(items[0], once), items[1]])
    assert np.isnan(settled[0].lab[once]).all()
    assert np.isfinite(settled[1].lab[once]).all()
    assert "1 other reading(s) of this colour on this medium" in problem.todo


def test_the_only_reading_of_a_colour_is_used_with_a_warning(reduced: Maker, printed: Printer) -> None:
    item = reduced("s1.txt", printed(1))
    once, _ = _rows(item)
    (settled,), (problem,) = settle_doubts([_doubted(item, once)])
    assert np.isfinite(settled.lab).all()
    assert problem.severity == "warning"
    assert "Used as it stands" in problem.todo


def test_what_every_sheet_prints_oddly_is_the_medium_and_stays(reduced: Maker, printed: Printer) -> None:
    items = [reduced(f"s{n}.txt", printed(n)) for n in (1, 2, 3)]
    once, _ = _rows(items[0])
    settled, problems = settle_doubts([_doubted(item, once) for item in items])
    assert all(np.isfinite(item.lab).all() for item in settled)
    assert {problem.severity for problem in problems} == {"warning"}


def test_another_condition_is_no_witness(reduced: Maker, printed: Printer) -> None:
    lit, dark = reduced("s1-M1.txt", printed(1)), reduced("s1-M2.txt", printed(1), condition="M2")
    once, _ = _rows(lit)
    (settled, _), (problem,) = settle_doubts([_doubted(lit, once), dark])
    assert np.isfinite(settled.lab).all()
    assert problem.severity == "warning"
