"""What a candidate can be made from: all of a small shelf; the newest of a large one, the rest by search."""

from __future__ import annotations

from dataclasses import dataclass

from laydown.records.look import Look
from laydown.records.stock_query import list_stock
from laydown.trials.stock import Lot, Medium, Roll
from laydown.trials.studio import Units
from laydown.trials.trial import Candidate
from laydown.web.views.stock_words import roll_words

MOST_WHOLE = 40  # rolls, lots or media that are all listed; with more of any a search is wanted
NEWEST = 12


@dataclass(frozen=True, slots=True)
class StockChoice:
    """Something from the stock room that a candidate can be: ``value`` names medium, lot and roll."""

    value: str
    words: str


@dataclass(frozen=True, slots=True)
class StockGroup:
    """A medium with its lots and rolls."""

    medium: str
    choices: tuple[StockChoice, ...]


@dataclass(frozen=True, slots=True)
class StockOffer:
    """What is listed to choose from; ``more`` says that not all is, ``find`` what was looked for."""

    groups: tuple[StockGroup, ...]
    more: bool
    find: str


def stock_offer(look: Look, *, units: Units, find: str = "", keep: str = "") -> StockOffer:
    """Media, lots and rolls that hold every word of ``find``; ``keep`` is a choice that is always listed."""
    words = find.split()
    rolls = list_stock(look, Roll, words=words, limit=MOST_WHOLE + 1)
    lots = list_stock(look, Lot, words=words, limit=MOST_WHOLE + 1)
    media = list_stock(look, Medium, words=words, limit=MOST_WHOLE + 1)
    more = any(len(one) > MOST_WHOLE for one in (rolls, lots, media))
    most = NEWEST if more and not words else MOST_WHOLE
    kept_medium, kept_lot, kept_roll = (*keep.split("|"), "", "", "")[:3]
    rolls = look.find_any(Roll, "id", {kept_roll, *(one.id for one in rolls[:most])}, order=("code", "id"))
    lot_ids = {kept_lot, *(one.id for one in lots[:most]), *(one.lot_id for one in rolls)}
    lots = look.find_any(Lot, "id", lot_ids, order=("code", "id"))
    medium_ids = {kept_medium, *(one.id for one in media[:most]), *(one.medium_id for one in lots)}
    media = look.find_any(Medium, "id", medium_ids, order=("name", "id"))
    by_lot: dict[str, list[Roll]] = {lot.id: [] for lot in lots}
    for roll in rolls:
        by_lot[roll.lot_id].append(roll)
    return StockOffer(
        groups=tuple(
            StockGroup(
                medium.name,
                tuple(_choices(medium, [one for one in lots if one.medium_id == medium.id], by_lot, units)),
            )
            for medium in media
        ),
        more=more,
        find=find,
    )


def stock_value(candidate: Candidate) -> str:
    """What stands for the stock of a candidate in a form."""
    return f"{candidate.medium_id}|{candidate.lot_id or ''}|{candidate.roll_id or ''}"


def _choices(
    medium: Medium, lots: list[Lot], by_lot: dict[str, list[Roll]], units: Units
) -> list[StockChoice]:
    found = []
    for lot in lots:
        found += [
            StockChoice(f"{medium.id}|{lot.id}|{roll.id}", f"lot {lot.code}, {roll_words(roll, units=units)}")
            for roll in by_lot[lot.id]
        ]
        found.append(StockChoice(f"{medium.id}|{lot.id}|", f"lot {lot.code}, roll or box not stated"))
    return [*found, StockChoice(f"{medium.id}||", "lot not stated")]
