"""Gloss of the demo trial: a borrowed meter, two places on some sheets, and one slip of the keyboard."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np

from laydown.trials.measured import GlossReading
from laydown.trials.sheets import Sheet
from laydown.usecases.measuring.type_gloss import BLACK, PAPER_WHITE
from laydown.usecases.trial.seed_demo_course import COATED

METER = "hand gloss meter, borrowed (invented)"
SETTLED = datetime(2026, 2, 16, 10, 0, tzinfo=UTC)
BEFORE_COATING = COATED - timedelta(minutes=40)
APART = timedelta(minutes=2)
ANGLE = 60
REPEATS = 3
_SEED = 60
_SHEET_SPREAD, _REPEAT_SPREAD = 0.05, 0.02  # of the value; invented


@dataclass(frozen=True, slots=True)
class DemoGloss:
    """Gloss of one arm: paper white and black at 60 degrees (GU, invented), on how many sheets, from when."""

    candidate_id: str
    white: float
    black: float
    sheets: int = 3
    at: datetime = SETTLED


def demo_gloss(
    arms: Sequence[DemoGloss], sheets: Mapping[str, Sequence[Sheet]], *, trial_id: str, by: str
) -> Iterator[GlossReading]:
    """Every gloss reading, arm by arm; the first was typed wrongly once, set aside and typed again."""
    rng = np.random.default_rng(_SEED)
    number = 0
    for arm in arms:
        own = sheets[arm.candidate_id][: arm.sheets]
        for turn, (sheet, (place, level)) in enumerate(
            (sheet, told) for sheet in own for told in ((PAPER_WHITE, arm.white), (BLACK, arm.black))
        ):
            number += 1
            mean = level * (1.0 + _SHEET_SPREAD * rng.standard_normal())
            values = mean * (1.0 + _REPEAT_SPREAD * rng.standard_normal(REPEATS))
            at = arm.at + turn * APART
            reading = GlossReading(
                id=f"demo-gloss-{number}",
                trial_id=trial_id,
                sheet_id=sheet.id,
                place=place,
                angle=ANGLE,
                values=tuple(round(float(value), 1) for value in values),
                direction="along",
                instrument=METER,
                received_at=at + timedelta(seconds=40),
                measured_at=at,
                by=by,
            )
            if number == 1:
                yield _slip(reading)
            yield reading


def _slip(reading: GlossReading) -> GlossReading:
    """The same with a decimal point lost."""
    first, *rest = reading.values
    return replace(
        reading,
        id="demo-gloss-slip",
        values=(round(10.0 * first, 1), *rest),
        received_at=reading.received_at - timedelta(seconds=30),
        set_aside_at=reading.received_at,
        set_aside_why=f"a slip: {10.0 * first:g} was typed for {first:g}",
    )
