"""Gloss that goes with a comparison of a trial's sheets by medium."""

from __future__ import annotations

from laydown.records.trial_facts import load_facts
from laydown.usecases.measuring.gloss_comparison import GlossComparison, compare_gloss
from laydown.web.desk import Desk
from laydown.web.trial_comparison import trial_comparison_id


def gloss_beside(desk: Desk, comparison_id: str) -> GlossComparison | None:
    """What gloss meters told of the same trial; None beside other comparisons, or where nothing was read."""
    wanted = trial_comparison_id(comparison_id)
    if wanted is None or wanted.by != "medium":
        return None
    with desk.records.look() as look:
        found = compare_gloss(load_facts(look, wanted.trial_id))
    return found if found.told else None
