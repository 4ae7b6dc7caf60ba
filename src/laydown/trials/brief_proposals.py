"""Must-haves and criteria that are offered to a brief: proposals to tick, alter or leave."""

from __future__ import annotations

from laydown.trials.trial import Criterion, Gate

SOURCE = "our own proposal; every studio has its own"

GATES: tuple[Gate, ...] = (
    Gate(name="Fits the printer", words="width, thickness and head gap"),
    Gate(name="Feeds without a strike", words="10 sheets, or 5 m of roll, and the head never touches"),
    Gate(name="No flakes", words="on solid black, after brushing"),
    Gate(name="White is acceptable", words="looked at in the display light"),
    Gate(name="Price per good print", words="below the limit: "),
    Gate(name="Supply and lot label", words="can be bought again, and the lot stands on the label"),
    Gate(name="Passes the fold test", words="where it is wrapped round bars"),
)
CRITERIA: tuple[Criterion, ...] = (
    Criterion(name="Look in the display light", weight=30),
    Criterion(name="Neutrals and shadows", weight=15, finding="grey_balance"),
    Criterion(name="Colour range", weight=10, finding="gamut_volume", words="where the work needs it"),
    Criterion(name="Uniformity", weight=10, finding="repeat_mcdm"),
    Criterion(name="Handling strength", weight=10),
    Criterion(name="Change in the fading comparison", weight=10),
    Criterion(name="Flatness and curl", weight=5),
    Criterion(name="Hand and texture", weight=5),
    Criterion(name="Cost per good print", weight=5),
)
