"""What a search looks through: each kind of thing described once, by the paths of its fields."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal, get_args

from sqlalchemy import Table

from laydown.records.tables import TABLES, journal
from laydown.trials.measured import GlossReading, Reading
from laydown.trials.remarks import Attachment, Note
from laydown.trials.retracing import Retrace
from laydown.trials.sheets import BenchRun, Sheet, SheetEvent
from laydown.trials.stock import Certificate, Lot, Medium, Roll, RollUse, Supplier
from laydown.trials.studio import Printer, PrinterEvent
from laydown.trials.test_form import TestForm
from laydown.trials.trial import Brief, BriefChange, Candidate, Plan, Trial

FoundKind = Literal[
    "trial", "brief", "change", "plan", "candidate", "sheet", "event", "sitting", "reading", "gloss",
    "form", "medium", "lot", "roll", "use", "printer", "upkeep", "supplier", "certificate", "retrace",
    "note", "attachment", "entry",
]  # fmt: skip
ALL_KINDS: tuple[FoundKind, ...] = get_args(FoundKind)
# The journal says again what the others say, and is by far the longest: it is looked through when asked for.
KINDS: tuple[FoundKind, ...] = tuple(kind for kind in ALL_KINDS if kind != "entry")


@dataclass(frozen=True, slots=True)
class Described:
    """Which fields of a kind are looked through and shown, as paths from its table.

    "code" is a field; "lot_id.medium_id.name" one of what it belongs to; "recipe.profile_name" a part of a
    compound field; "tried.*.words" that part of each in a list. "about:Sheet.code" goes by an id that may be
    of any noun and asks whether it is of this one.

    Every word must stand in its ``own`` fields or in those ``around`` it, and one at least in its own: a
    sheet is found by its code and the name of its trial, not by the name of its trial alone. ``title`` may
    name several fields with spaces between. ``told`` is shown where no further own field holds a word; ``at``
    orders, the latest first; ``place`` is the id of the thing it is found at, where that is another one.
    """

    table: Table
    title: str
    own: tuple[str, ...]
    around: tuple[str, ...] = ()
    context: tuple[str, ...] = ()
    told: tuple[str, ...] = ()
    at: str = ""
    place: str = ""
    trial: str = ""


_TRIAL = "trial_id.name"
_COAT = ("coat.product", "coat.batch", "coat.dilution", "coat.tool", "coat.words")
_RECIPE = (
    "recipe.media_setting", "recipe.quality", "recipe.black_ink", "recipe.head_gap", "recipe.feed_adjust",
    "recipe.profile_name", "recipe.profile_media_setting", "recipe.file_name", "recipe.words",
)  # fmt: skip
_NOTED_ABOUT = (
    "about:Trial.name", "about:Candidate.name", "about:Sheet.code", "about:Medium.name", "about:Lot.code",
    "about:Roll.code", "about:Printer.name", "about:Retrace.title",
)  # fmt: skip

DESCRIBED: Mapping[FoundKind, Described] = MappingProxyType(
    {
        "trial": Described(
            TABLES[Trial],
            "name",
            own=("name", "question", "client", "chart_name"),
            context=("client",),
            told=("question",),
            at="begun",
            trial="id",
        ),
        "brief": Described(
            TABLES[Brief],
            _TRIAL,
            own=(
                *("question", "sizes", "display_light", "viewing_distance", "glazing", "coating"),
                *("must_match", "judges", "lights", "words"),
                *("gates.*.name", "gates.*.words", "criteria.*.name", "criteria.*.words"),
            ),
            around=(_TRIAL,),
            told=("question",),
            at="trial_id.begun",
            trial="trial_id",
        ),
        "change": Described(
            TABLES[BriefChange],
            _TRIAL,
            own=("why", "before", "after", "part"),
            around=("by", _TRIAL),
            told=("why",),
            at="at",
            trial="trial_id",
        ),
        "plan": Described(
            TABLES[Plan],
            _TRIAL,
            own=("why",),
            around=(_TRIAL,),
            at="trial_id.begun",
            trial="trial_id",
        ),
        "candidate": Described(
            TABLES[Candidate],
            "name",
            own=("name", "words", "withdrawn_why", *_RECIPE, *_COAT),
            around=("medium_id.name", _TRIAL),
            context=(_TRIAL,),
            told=("words",),
            at="trial_id.begun",
            trial="trial_id",
        ),
        "sheet": Described(
            TABLES[Sheet],
            "code",
            own=("code", "words"),
            around=("candidate_id.name", _TRIAL),
            context=("candidate_id.name", _TRIAL),
            told=("words",),
            at="trial_id.begun",
            trial="trial_id",
        ),
        "event": Described(
            TABLES[SheetEvent],
            "kind",
            own=("kind", "words", *_COAT),
            around=("by", "sheet_id.code", "sheet_id.candidate_id.name", _TRIAL),
            context=("sheet_id.candidate_id.name", _TRIAL),
            told=("words",),
            at="at",
            place="sheet_id",
            trial="trial_id",
        ),
        "sitting": Described(
            TABLES[BenchRun],
            "candidate_id.name",
            own=("words", *_RECIPE, "ticks.*.value"),
            around=("by", "candidate_id.name", "printer_id.name", "roll_id.code", _TRIAL),
            context=("printer_id.name", _TRIAL),
            told=("words",),
            at="begun_at",
            trial="trial_id",
        ),
        "reading": Described(
            TABLES[Reading],
            "file_name",
            own=("file_name", "instrument", "words", "set_aside_why", "early_used_why"),
            around=("by", "sheet_id.code", "sheet_id.candidate_id.name", _TRIAL),
            context=("sheet_id.candidate_id.name", _TRIAL),
            told=("words",),
            at="received_at",
            trial="trial_id",
        ),
        "gloss": Described(
            TABLES[GlossReading],
            "sheet_id.code",
            own=("place", "instrument", "set_aside_why", "early_used_why"),
            around=("by", "sheet_id.code", "sheet_id.candidate_id.name", _TRIAL),
            context=("sheet_id.candidate_id.name", _TRIAL),
            told=("place",),
            at="received_at",
            place="sheet_id",
            trial="trial_id",
        ),
        "form": Described(
            TABLES[TestForm],
            "code",
            own=("code", "words", "set_aside_why", "made_with"),
            around=("by", _TRIAL),
            context=(_TRIAL,),
            told=("words", "set_aside_why"),
            at="made_at",
            trial="trial_id",
        ),
        "medium": Described(
            TABLES[Medium],
            "name",
            own=("name", "base", "words", "brightener_claim", "other_claims"),
            around=("supplier_id.name",),
            context=("base",),
            told=("words",),
        ),
        "lot": Described(
            TABLES[Lot],
            "code",
            own=("code", "words"),
            around=("medium_id.name",),
            context=("medium_id.name",),
            told=("words",),
        ),
        "roll": Described(
            TABLES[Roll],
            "code",
            own=("code", "words"),
            around=("lot_id.code", "lot_id.words", "lot_id.medium_id.name"),
            context=("lot_id.code", "lot_id.medium_id.name"),
            told=("words",),
        ),
        "use": Described(
            TABLES[RollUse],
            "roll_id.code",
            own=("words",),
            around=("roll_id.code", "roll_id.lot_id.code", "roll_id.lot_id.medium_id.name", _TRIAL),
            context=("roll_id.lot_id.code", "roll_id.lot_id.medium_id.name", _TRIAL),
            told=("words",),
            at="at",
            place="roll_id",
            trial="trial_id",
        ),
        "printer": Described(
            TABLES[Printer],
            "name",
            own=("name", "serial", "ink_set", "black_inks", "firmware", "words"),
            context=("serial",),
            told=("words",),
        ),
        "upkeep": Described(
            TABLES[PrinterEvent],
            "kind",
            own=("kind", "words"),
            around=("printer_id.name",),
            context=("printer_id.name",),
            told=("words",),
            at="at",
            place="printer_id",
        ),
        "supplier": Described(
            TABLES[Supplier],
            "name",
            own=("name", "contact", "words"),
            context=("contact",),
            told=("words",),
        ),
        "certificate": Described(
            TABLES[Certificate],
            "title",
            own=(
                *("title", "laboratory", "accreditation", "method", "ink", "medium_as_stated", "coating"),
                *("glazing", "light_source", "climate", "end_point", "result", "words"),
            ),
            around=("medium_id.name",),
            context=("laboratory",),
            told=("result",),
        ),
        "retrace": Described(
            TABLES[Retrace],
            "title",
            own=("title", "words", "tried.*.words", "answers.*.words"),
            around=("by", "outcome", "sheet_id.code", "sheet_id.candidate_id.name", _TRIAL),
            context=("sheet_id.candidate_id.name", _TRIAL),
            told=("words",),
            at="begun_at",
            trial="trial_id",
        ),
        "note": Described(
            TABLES[Note],
            "words",
            own=("words",),
            around=("by", *_NOTED_ABOUT, _TRIAL),
            context=(_TRIAL,),
            at="at",
            place="about",
            trial="trial_id",
        ),
        "attachment": Described(
            TABLES[Attachment],
            "name",
            own=("name", "words"),
            around=("by", "kind", *_NOTED_ABOUT, _TRIAL),
            context=(_TRIAL,),
            told=("words",),
            at="at",
            place="about",
            trial="trial_id",
        ),
        "entry": Described(
            journal,
            "who action words",
            own=("words", "action"),
            around=("who", "trial_id:Trial.name"),
            context=("trial_id:Trial.name",),
            at="at",
            trial="trial_id",
        ),
    }
)
