"""Gloss sheet by sheet: the mean of repeats at each place, and paper white less black."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from laydown.science.medium.gloss import gloss_differential, repeats_of
from laydown.trials.measured import GlossDirection, GlossReading
from laydown.trials.sheets import Sheet
from laydown.usecases.measuring.standings import GlossStanding
from laydown.usecases.measuring.type_gloss import BLACK, MID_GREY, PAPER_WHITE

DIFFERENTIAL = "gloss differential"
_ORDER: Mapping[str, int] = {PAPER_WHITE: 0, BLACK: 1, DIFFERENTIAL: 2, MID_GREY: 3}
METER_NOT_STATED = "meter not stated"


@dataclass(frozen=True, slots=True)
class Under:
    """Where gloss was read, at which angle and how the meter lay: only what agrees in all is compared."""

    place: str
    angle: int
    direction: GlossDirection

    @property
    def label(self) -> str:
        """Such as "Gloss of paper white"."""
        return "Gloss differential" if self.place == DIFFERENTIAL else f"Gloss of {self.place}"

    @property
    def words(self) -> str:
        """Such as "60°, along the feed"."""
        return f"{self.angle}°" + (f", {self.direction} the feed" if self.direction else "")

    @property
    def turn(self) -> tuple[int, str, int, str]:
        """Its place in a list."""
        return self.angle, self.direction, _ORDER.get(self.place, len(_ORDER)), self.place


@dataclass(frozen=True, slots=True)
class GlossOfSheet:
    """Gloss of one sheet at one place (GU): ``sd`` and ``repeats`` tell of repeats, NaN and 0 where none.

    The differential has neither. ``meters`` are the instruments it was read with.
    """

    sheet: Sheet
    candidate_id: str
    under: Under
    value: float
    sd: float
    repeats: int
    meters: tuple[str, ...]


def gloss_of_sheets(standings: Iterable[GlossStanding]) -> tuple[GlossOfSheet, ...]:
    """The mean of all repeats at each place of each sheet, and the differential, in print order."""
    told: dict[tuple[str, Under], list[GlossStanding]] = defaultdict(list)
    for one in standings:
        told[one.sheet.id, _under(one.reading)].append(one)
    found = [_of_place(under, held) for (_, under), held in told.items()]
    found += _differentials(found)
    return tuple(sorted(found, key=lambda one: (one.under.turn, one.sheet.place, one.sheet.code)))


def _under(reading: GlossReading) -> Under:
    return Under(reading.place, reading.angle, reading.direction)


def _of_place(under: Under, held: list[GlossStanding]) -> GlossOfSheet:
    repeats = repeats_of([value for one in held for value in one.reading.values])
    return GlossOfSheet(
        sheet=held[0].sheet,
        candidate_id=held[0].candidate.id,
        under=under,
        value=repeats.mean,
        sd=repeats.sd,
        repeats=repeats.n,
        meters=tuple(sorted({one.reading.instrument or METER_NOT_STATED for one in held})),
    )


def _differentials(found: list[GlossOfSheet]) -> Iterator[GlossOfSheet]:
    blacks = {(one.sheet.id, one.under): one for one in found if one.under.place == BLACK}
    for white in found:
        if white.under.place != PAPER_WHITE:
            continue
        black = blacks.get((white.sheet.id, replace(white.under, place=BLACK)))
        if black is not None:
            yield GlossOfSheet(
                sheet=white.sheet,
                candidate_id=white.candidate_id,
                under=replace(white.under, place=DIFFERENTIAL),
                value=float(gloss_differential(white.value, black.value)),
                sd=float("nan"),
                repeats=0,
                meters=tuple(sorted({*white.meters, *black.meters})),
            )
