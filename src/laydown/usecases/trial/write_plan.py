"""Write the plan of a trial: how many sheets, in which order, over how many days, of what lengths."""

from __future__ import annotations

from dataclasses import fields, replace

from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting, RefusedInput
from laydown.records.ledger import Records
from laydown.records.look import Look
from laydown.records.work import Work
from laydown.trials.trial import Plan
from laydown.usecases.acted import Acted
from laydown.usecases.bench.open_trial import open_trial
from laydown.usecases.trial.name_candidate import candidates_of, printed_sheets

MOST_SHEETS = Constant(50.0, "sheets of each candidate", "our own choice: more is a slip", "computed")
MOST_SEED = 2**31 - 1  # fits a whole number of every database
LONGEST_MM = 1e5
DRAWN_FROM = ("sheets_per_candidate", "order", "days", "seed")
LABELS = {
    "sheets_per_candidate": "sheets of each candidate",
    "why": "why so many",
    "order": "the way of ordering",
    "days": "printing days",
    "seed": "seed",
    "first_day": "first day",
    "sheet_length_mm": "length of a test sheet",
    "sheet_width_mm": "width of a test sheet",
    "chart_length_mm": "length of the chart",
    "strip_length_mm": "length of the strips",
    "handling_length_mm": "length for handling",
    "fading_length_mm": "length for fading",
    "setting_length_mm": "length of the setting sheet",
    "spare_sheets": "spare sheets",
}


def write_plan(records: Records, told: Plan, *, who: str, seen: int | None = None) -> Acted[Plan]:
    """Keep the plan; ``told`` names the trial, its id and ``drawn_at`` are not looked at.

    Raises
    ------
    BadSetting
        A number is out of range, or a day would go without a sheet of every candidate.
    RefusedInput
        Printing has begun and the drawn order would no longer be what the plan says.
    ChangedMeanwhile
        Somebody else wrote it after the revision ``seen``.
    """
    with records.work("wrote", who=who) as work:
        open_trial(work, told.trial_id)
        plan, altered = keep_plan(work, told, new_id=records.new_id(), seen=seen)
        named = [LABELS[name] for name in altered if name in LABELS]
        work.say(f"the plan: {', '.join(named)}" if named else "the plan")
        return Acted(plan, work.entry_id)


def keep_plan(work: Work, told: Plan, *, new_id: str, seen: int | None) -> tuple[Plan, list[str]]:
    """The plan as it is kept within a piece of work, and which of its fields became others; as above."""
    _refuse(told)
    kept = plan_of(work, told.trial_id)
    before = kept or Plan(id="", trial_id=told.trial_id)
    plan = replace(told, id=kept.id if kept else new_id, drawn_at=before.drawn_at)
    altered = [item.name for item in fields(Plan) if getattr(before, item.name) != getattr(plan, item.name)]
    _refuse_behind_prints(work, before, altered)
    return (work.change(plan, seen=seen) if kept else work.add(plan)), altered


def plan_of(look: Look, trial_id: str) -> Plan | None:
    """The plan of a trial, if there is one."""
    return next(iter(look.find(Plan, trial_id=trial_id)), None)


def _refuse(told: Plan) -> None:
    most = int(MOST_SHEETS.value)
    if not 1 <= told.sheets_per_candidate <= most:
        raise BadSetting(f"{told.sheets_per_candidate} sheets of each candidate.", todo=f"Give 1 to {most}.")
    if told.days < 1:
        raise BadSetting(f"{told.days} printing days.", todo="Give at least one; two are better.")
    if told.days > told.sheets_per_candidate:
        raise BadSetting(
            f"{told.sheets_per_candidate} sheets of each candidate do not reach for {told.days} days.",
            todo="Every day needs one sheet of each; print on fewer days, or more sheets.",
        )
    if not 0 <= told.seed <= MOST_SEED:
        raise BadSetting(f"the seed {told.seed} is out of range.", todo=f"Give 0 to {MOST_SEED}.")
    if not 0 <= told.spare_sheets <= most:
        raise BadSetting(f"{told.spare_sheets} spare sheets.", todo=f"Give 0 to {most}.")
    for name, words in LABELS.items():
        length = getattr(told, name)
        if name.endswith("_mm") and length is not None and not 0 < length <= LONGEST_MM:
            raise BadSetting(f"{words}: {length:.10g} mm is not possible.", todo="Correct it.")


def _refuse_behind_prints(look: Look, before: Plan, altered: list[str]) -> None:
    """An order that is being printed was drawn from these; altering them would make its seed untrue."""
    if before.drawn_at is None or not set(altered) & set(DRAWN_FROM):
        return
    for candidate in candidates_of(look, before.trial_id):
        printed = printed_sheets(look, candidate.id)
        if printed:
            raise RefusedInput(
                f"sheet {printed[0].code} is printed, so the order stands as it was drawn.",
                todo="Add sheets on a further day instead; see the print order.",
            )
