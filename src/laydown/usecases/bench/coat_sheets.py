"""Sheets were coated together: with what, how much, and in which room."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting, RefusedInput
from laydown.records.ledger import Records
from laydown.records.trial_facts import load_facts
from laydown.trials.clocks import sheet_clocks
from laydown.trials.facts import TrialFacts
from laydown.trials.recipe import Coat
from laydown.trials.sheets import Sheet, SheetEvent
from laydown.usecases.acted import Acted
from laydown.usecases.bench.climate import clean_climate
from laydown.usecases.bench.open_trial import open_trial

SPRAYING = (
    "Read the coating's data sheet first; water-based is not harmless as mist. Spray only where it is "
    "exhausted outdoors or in a booth, with the respirator, eye and skin protection the sheet names, until "
    "the air has cleared. No sparks, flames or heaters near vapour, overspray or rags. Two-part isocyanate "
    "coatings need licensed controls. Follow local fire and work-safety codes."
)
MOST_COATS = Constant(20.0, "coats", "chosen here: more is a slip of the keyboard", "computed")
MOST_WET = Constant(1000.0, "g/m2", "chosen here: more is a slip of the keyboard", "computed")
LONGEST_FLOW = Constant(600.0, "s", "chosen here: more is a slip of the keyboard", "computed")


def coat_sheets(
    records: Records,
    trial_id: str,
    sheet_ids: Sequence[str],
    coat: Coat,
    *,
    who: str,
    at: datetime | None = None,
    room_c: float | None = None,
    room_rh: float | None = None,
    early_why: str = "",
) -> Acted[tuple[SheetEvent, ...]]:
    """Note that sheets were coated, all in one go; several coats count as one coating.

    A sheet that had not cured is refused unless ``early_why`` says why it was coated all the same.

    Raises
    ------
    BadSetting
        No sheet or product is named, or an amount that cannot be.
    RefusedInput
        A sheet has not cured, or is of another trial.
    Contradiction
        A sheet was never printed, is coated already, was spoiled, or belongs to the uncoated arm.
    """
    if not sheet_ids:
        raise BadSetting("no sheet is chosen.", todo="Tick the sheets that were coated.")
    _refuse_coat(coat)
    with records.work("coated", who=who) as work:
        open_trial(work, trial_id)
        facts = load_facts(work, trial_id)
        warm, moist = clean_climate(room_c, room_rh)
        when = at or work.now
        known = {sheet.id: sheet for sheet in facts.sheets}
        if not set(sheet_ids) <= set(known):
            raise RefusedInput("a sheet is not of this trial.", todo="Open the page again.")
        sheets = [known[one] for one in dict.fromkeys(sheet_ids)]
        early = [sheet.code for sheet in sheets if not _had_cured(facts, sheet, when)]
        if early and not early_why.strip():
            raise RefusedInput(
                f"{_codes(early)} had not cured.",
                todo="Wait for the clock, or say why it was coated all the same.",
            )
        if early:
            coat = replace(coat, words=f"{coat.words} Coated early: {early_why.strip()}".strip())
        work.say(f"{_codes([sheet.code for sheet in sheets])} with {coat.product}")
        if early:
            work.say(f"({_codes(early)} before the cure was over: {early_why.strip()})")
        made = []
        for sheet in sheets:
            event = SheetEvent(
                id=records.new_id(),
                trial_id=trial_id,
                sheet_id=sheet.id,
                at=when,
                kind="coated",
                by=who,
                room_c=warm,
                room_rh=moist,
                coat=coat,
            )
            made.append(work.add(event))
        return Acted(tuple(made), work.entry_id)


def _had_cured(facts: TrialFacts, sheet: Sheet, when: datetime) -> bool:
    cured_at = sheet_clocks(facts, sheet, now=when).cured_at
    # What was never printed is for the rules of a trial to refuse, in their own words.
    return cured_at is None or when >= cured_at


def _refuse_coat(coat: Coat) -> None:
    if not coat.product.strip():
        raise BadSetting("which coating was it?", todo="Name the product as its label does.")
    for amount, most, what in (
        (coat.coats, MOST_COATS, "coats"),
        (coat.wet_g_m2, MOST_WET, "g/m2 wet"),
        (coat.flow_cup_seconds, LONGEST_FLOW, "seconds in the flow cup"),
    ):
        if amount is not None and not 0 < amount <= most.value:
            raise BadSetting(f"{amount:.10g} {what} cannot be.", todo="Correct it, or leave it empty.")


def _codes(codes: Sequence[str]) -> str:
    return f"sheet {codes[0]}" if len(codes) == 1 else f"sheets {', '.join(codes)}"
