"""Gloss of the media of a trial in words: one table for each place and angle."""

from __future__ import annotations

from dataclasses import dataclass

from laydown.report.wording import (
    call_mark,
    call_word,
    difference_text,
    display_name,
    finding_row,
    has_interval,
    number,
    percent,
)
from laydown.usecases.comparison import ComparedDifference
from laydown.usecases.measuring.gloss_comparison import GlossComparison, GlossMedium, GlossQuantity


@dataclass(frozen=True, slots=True)
class GlossRow:
    """One medium: its mean with interval, sheets, scatter of repeats, and how it stands to the house."""

    name: str
    house_tag: bool
    value: str
    interval: str
    n: str
    repeats: str
    sheets: str
    difference: str
    mark: str
    call: str
    why: str


@dataclass(frozen=True, slots=True)
class GlossTable:
    """One place at one angle. ``margin`` says what difference matters; "" where nothing is compared."""

    label: str
    condition: str
    rows: tuple[GlossRow, ...]
    others: tuple[str, ...]
    margin: str


@dataclass(frozen=True, slots=True)
class GlossResults:
    """All of it; ``against`` names the house medium, "" where there is none."""

    tables: tuple[GlossTable, ...]
    against: str
    basis: str
    cautions: tuple[str, ...]


def gloss_results(found: GlossComparison) -> GlossResults | None:
    """What is known of gloss, or None where nothing was read."""
    if not found.told:
        return None
    return GlossResults(
        tables=tuple(_table(one, found.house) for one in found.quantities),
        against=display_name(found.house),
        basis=_basis(found),
        cautions=found.cautions,
    )


def _basis(found: GlossComparison) -> str:
    said = (
        f"Means over sheets, in gloss units (GU), with intervals at {percent(found.confidence)} from each "
        "medium's own sheets. Gloss is compared at one angle and place only."
    )
    if not found.comparisons:
        return said
    together = "one comparison" if found.comparisons == 1 else f"all {found.comparisons} comparisons"
    return (
        f"{said} “Higher” and “lower” allow for {together} of gloss made together (error rate "
        f"{percent(found.alpha)}); shinier is not better."
    )


def _table(one: GlossQuantity, house: str) -> GlossTable:
    by_name = {told.candidate: told for told in one.differences if told.against == house}
    others = [told for told in one.differences if told.against != house]
    margins = [told.margin for told in one.differences if told.margin is not None]
    sources = {told.margin_source for told in one.differences}
    words = ""
    if margins:
        words = f"± {number(margins[0], 1)} GU, {next(iter(sources))}" if by_name else next(iter(sources))
    return GlossTable(
        label=one.label,
        condition=one.condition,
        rows=tuple(_row(medium, by_name.get(medium.name)) for medium in one.media),
        others=tuple(_other(told) for told in others),
        margin=words,
    )


def _row(medium: GlossMedium, told: ComparedDifference | None) -> GlossRow:
    words = finding_row(medium.finding)
    scatter = number(medium.repeat_sd, 1)
    sheets = ", ".join(f"{code} {number(value, 1)}" for code, value in medium.finding.per_sheet)
    return GlossRow(
        name=display_name(medium.name),
        house_tag=medium.house and "house" not in medium.name.casefold(),
        value=words.value,
        interval=words.interval,
        n=words.n,
        repeats=f"± {scatter}" if scatter else "–",
        sheets=sheets,
        difference=difference_text(told) if told else "",
        mark=call_mark(told) if told else "",
        call=call_word(told) if told else "",
        why=told.reason if told and (told.refused or not has_interval(told)) else "",
    )


def _other(told: ComparedDifference) -> str:
    pair = f"{display_name(told.candidate)} against {display_name(told.against)}"
    said = difference_text(told)
    why = f": {told.reason}" if told.refused or not has_interval(told) else ""
    return f"{pair}: {said + ', ' if said else ''}{call_word(told)}{why}."
