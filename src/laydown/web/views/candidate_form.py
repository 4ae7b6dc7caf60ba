"""What the forms about a candidate say."""

from __future__ import annotations

from dataclasses import replace
from typing import get_args

from laydown.kernel.errors import BadSetting
from laydown.trials.recipe import Coat
from laydown.trials.trial import Candidate, Finish
from laydown.web.forms import BOUNDLESS, Form

FINISHES: tuple[Finish, ...] = get_args(Finish)
IDENTITY_FIELDS = (
    "name",
    "stock",
    "printer",
    "house",
    "finish",
    "cure_hours",
    "dry_hours",
    "words",
    "coat_product",
    "coat_batch",
    "coat_dilution",
    "coat_tool",
    "coat_coats",
    "coat_wet_g_m2",
    "coat_flow_cup_seconds",
)


def told_new_candidate(form: Form, trial_id: str) -> Candidate:
    """The candidate that the form for a new one says; BadSetting where nothing was chosen."""
    medium, lot, roll = _stock(form)
    return Candidate(
        id="",
        trial_id=trial_id,
        medium_id=medium,
        name=form.text("name"),
        house=form.flag("house"),
        lot_id=lot,
        roll_id=roll,
        printer_id=form.text("printer") or None,
        finish=_finish(form),
    )


def told_candidate(form: Form, kept: Candidate) -> Candidate:
    """What the form of a candidate says of it, on top of what is kept; BadSetting where a number is none."""
    medium, lot, roll = _stock(form)
    finish = _finish(form)
    return replace(
        kept,
        medium_id=medium,
        lot_id=lot,
        roll_id=roll,
        name=form.text("name"),
        house=form.flag("house"),
        printer_id=form.text("printer") or None,
        finish=finish,
        coat=_coat(form) if finish == "coated" else None,
        cure_hours=form.number("cure_hours", "Hours of curing", low=0, high=BOUNDLESS),
        dry_hours=form.number("dry_hours", "Hours of drying", low=0, high=BOUNDLESS),
        words=form.text("words"),
    )


def _stock(form: Form) -> tuple[str, str | None, str | None]:
    """Medium, lot and roll of a choice; see ``stock_value``."""
    parts = form.text("stock").split("|")
    if len(parts) != 3 or not parts[0]:
        raise BadSetting("no medium is chosen.", todo="Choose one from the stock room.")
    return parts[0], parts[1] or None, parts[2] or None


def _finish(form: Form) -> Finish:
    told = form.choice("finish", FINISHES, "The finish")
    return next(one for one in FINISHES if one == told)


def _coat(form: Form) -> Coat | None:
    coat = Coat(
        product=form.text("coat_product"),
        batch=form.text("coat_batch"),
        dilution=form.text("coat_dilution"),
        tool=form.text("coat_tool"),
        coats=form.whole("coat_coats", "Number of coats", low=1, high=20),
        wet_g_m2=form.number("coat_wet_g_m2", "Wet amount", low=0, high=2000),
        flow_cup_seconds=form.number("coat_flow_cup_seconds", "Flow cup", low=0, high=600),
    )
    return None if coat == Coat() else coat
