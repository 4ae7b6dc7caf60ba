"""The page on the rules names every figure the rules use, with its value and what it rests on."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from laydown.kernel.constants import Constant
from laydown.trials import (
    checklist,
    clocks,
    contradictions,
    fairness,
    material,
    out_of_turn,
    planning_times,
    print_order,
    recipes,
    resting,
    room,
)

PAGE = (Path(__file__).resolve().parents[2] / "docs/methods/trial-rules.md").read_text(encoding="utf-8")
MODULES = (
    checklist,
    clocks,
    contradictions,
    fairness,
    material,
    out_of_turn,
    planning_times,
    print_order,
    recipes,
    resting,
    room,
)
FIGURES = {
    name: value for module in MODULES for name, value in vars(module).items() if isinstance(value, Constant)
}


def _row(name: str) -> str:
    (row,) = [line for line in PAGE.splitlines() if line.startswith("|") and f"`{name}`" in line]
    return row


@pytest.mark.parametrize("name", sorted(FIGURES))
def test_every_figure_stands_on_the_page_with_its_value(name: str) -> None:
    assert re.search(rf"(?<![\d.]){FIGURES[name].value:g}(?![\d.]\d)", _row(name)), _row(name)


@pytest.mark.parametrize("name", sorted(FIGURES))
def test_lore_is_called_lore_and_ours_ours(name: str) -> None:
    """``computed`` stands in the code for what was chosen here."""
    ours = FIGURES[name].certainty == "computed" or "our own choice" in FIGURES[name].source
    assert ("our own" in _row(name)) == ours
    assert ("common practice" in _row(name)) == (not ours)


def test_the_page_names_no_figure_that_is_gone() -> None:
    named = set(re.findall(r"`([A-Z][A-Z_]{3,})`", PAGE)) - {print_order.CODE_LETTERS}
    assert named == set(FIGURES)


def test_the_codes_are_as_the_page_says() -> None:
    assert f"`{print_order.CODE_LETTERS}`" in PAGE
    assert f"`{print_order.CODE_DIGITS}`" in PAGE
