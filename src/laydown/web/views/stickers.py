"""Labels for the backs of sheets: the code large, and nothing that names the medium."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

from laydown.trials.facts import TrialFacts

BESIDE = "Beside the order"


@dataclass(frozen=True, slots=True)
class Sticker:
    """One label: what stands on it."""

    code: str
    line: str


@dataclass(frozen=True, slots=True)
class StickerGroup:
    """The labels of one day."""

    name: str
    stickers: tuple[Sticker, ...]


@dataclass(frozen=True, slots=True)
class StickersView:
    """The page of labels of a trial."""

    trial_id: str
    trial: str
    groups: tuple[StickerGroup, ...]


def stickers_view(facts: TrialFacts) -> StickersView:
    """One label for each sheet that was not spoiled, by day in print order."""
    spoiled = {event.sheet_id for event in facts.events if event.kind == "spoiled"}
    fresh = [sheet for sheet in facts.sheets if sheet.id not in spoiled]
    ordered = [sheet for sheet in fresh if sheet.place]
    groups = [
        StickerGroup(f"Day {day}", tuple(Sticker(one.code, f"day {day}, turn {one.place}") for one in sheets))
        for day, sheets in groupby(ordered, key=lambda sheet: sheet.day)
    ]
    beside = tuple(Sticker(sheet.code, sheet.use) for sheet in fresh if not sheet.place)
    if beside:
        groups.append(StickerGroup(BESIDE, beside))
    return StickersView(facts.trial.id, facts.trial.name, tuple(groups))
