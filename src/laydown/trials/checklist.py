"""The checklist of a bench run: what gloved hands do, in order, and what they write down."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from laydown.kernel.constants import Constant
from laydown.trials.clocks import HUMID_RH
from laydown.trials.facts import TrialFacts
from laydown.trials.recipe import Recipe
from laydown.trials.recipes import LABELS, SHOWN_OF_CHECKSUM, UNITS, is_heavy, setting_words
from laydown.trials.resting import rest_hours
from laydown.trials.stock import Medium, StockForm
from laydown.trials.studio import Printer
from laydown.trials.trial import Candidate

NoteKind = Literal["number", "text"]

COOLEST_C = Constant(18.0, "degrees Celsius", "print rooms: about 18 to 24", "common practice, no source")
WARMEST_C = Constant(24.0, "degrees Celsius", "print rooms: about 18 to 24", "common practice, no source")
DRIEST_RH = Constant(40.0, "% relative humidity", "print rooms: 40 to 60", "common practice, no source")
DAMPEST_RH = Constant(60.0, "% relative humidity", "print rooms: 40 to 60", "common practice, no source")

MOVING_PARTS = (
    "Moving carriage, rollers and blade: keep hands, hair and sleeves out while it runs, stop it before "
    "reaching in, and follow the printer's manual."
)
LIFTING = (
    "A roll is heavy and awkward: two people or a trolley, spindle at waist height; follow local rules for "
    "lifting."
)
BLADE = (
    "Cut away from the body along a guarded rule, with a fresh blade and a cut-resistant glove; put used "
    "blades into a sharps box."
)
DUST = "Vacuum rather than blow; wear a dust mask where it is dusty; earth the stand against static."


@dataclass(frozen=True, slots=True)
class Noted:
    """A value to be noted at a step: the field it goes to, its name, its unit, and what kind of value."""

    field: str
    label: str
    unit: str = ""
    kind: NoteKind = "text"


@dataclass(frozen=True, slots=True)
class Step:
    """One step. ``id`` never changes its meaning; ``text`` is an order of at most 60 characters.

    ``expected`` is the value wanted, "" where there is none; ``caution`` is about hands, eyes and backs;
    ``skippable`` steps may be left out if a reason is given.
    """

    id: str
    text: str
    why: str
    caution: str = ""
    expected: str = ""
    noted: Noted | None = None
    skippable: bool = False


def checklist(
    facts: TrialFacts,
    candidate: Candidate,
    *,
    printer: Printer | None,
    medium: Medium,
    for_chart: bool = False,
) -> tuple[Step, ...]:
    """The steps of one bench run of a candidate, in order; only those its printer and medium need.

    ``for_chart`` is for a chart that is profiled or measured, printed without colour management; otherwise
    pictures, whose colour is managed exactly once. Cautions are the usual ones and never the last word: the
    printer's manual, data sheets and local rules come first.
    """
    form: StockForm = next((roll.form for roll in facts.rolls if roll.id == candidate.roll_id), "roll")
    heavy = is_heavy(medium)
    return (
        *_before(form),
        *_load(form, heavy=heavy),
        *_printer_settings(candidate.recipe, printer, heavy=heavy),
        *_driver_settings(candidate.recipe),
        *_colour(facts, candidate.recipe, for_chart=for_chart),
        *_printing(facts, candidate),
        *_after(form, printer, candidate.recipe, heavy=heavy),
    )


def _before(form: StockForm) -> Iterator[Step]:
    yield Step(
        "rested",
        "Check that the medium has rested here, wrapped",
        "Cold or damp media curl, strike the head and take ink differently.",
        expected=f"{rest_hours(form):g} h",
        noted=Noted("rested_hours", "rested", "h", "number"),
        skippable=True,
    )
    yield Step(
        "room-temperature",
        "Note the temperature of the room",
        "Printed in another climate, sheets may differ though media do not.",
        expected=f"{COOLEST_C.value:g} to {WARMEST_C.value:g} °C",
        noted=Noted("room_c", "temperature", "°C", "number"),
        skippable=True,
    )
    yield Step(
        "room-humidity",
        "Note the relative humidity of the room",
        f"Above {HUMID_RH.value:g} % it is still good to print, but prints get twice as long to settle; "
        "dry rooms bring static, curl and missing nozzles.",
        expected=f"{DRIEST_RH.value:g} to {DAMPEST_RH.value:g} % RH",
        noted=Noted("room_rh", "relative humidity", "%", "number"),
        skippable=True,
    )
    yield Step(
        "gloves",
        "Put on clean gloves",
        "Skin oil marks bare coating before printing and dark matte areas after it.",
    )
    yield Step(
        "nozzles",
        "Print a nozzle check; every line must be whole",
        "A missing nozzle spoils every sheet that follows.",
        expected="whole",
        noted=Noted("nozzles", "nozzle pattern"),
    )


def _load(form: StockForm, *, heavy: bool) -> Iterator[Step]:
    face = "the coated side takes the ink; if in doubt touch a corner with a damp finger: it grips"
    if form == "roll":
        yield Step(
            "load",
            "Load the roll square, printing side to the head",
            f"A skew roll damages its edge and prints crooked; {face}.",
            caution=f"{LIFTING} {MOVING_PARTS}",
        )
    else:
        yield Step(
            "load",
            "Load one sheet, printing side to the head",
            f"Sheets fed in a stack rub each other; {face}.",
            caution=MOVING_PARTS,
        )
    yield Step(
        "dust",
        "Brush the printing side clean",
        "Lint and crumbs fall off after printing and leave white specks"
        + ("; canvas and thick rag shed most." if heavy else "."),
        caution=DUST,
    )


def _printer_settings(recipe: Recipe, printer: Printer | None, *, heavy: bool) -> Iterator[Step]:
    gaps = printer.head_gaps if printer else ()
    if gaps or (printer is None and (heavy or recipe.head_gap)):
        widest = gaps[-1] if gaps else "the widest"
        yield Step(
            "head-gap",
            "Set the head gap to the widest" if heavy else "Set the head gap",
            "Too small a gap strikes a thick or curled medium; too large a one blurs.",
            caution=MOVING_PARTS,
            expected=widest if heavy else recipe.head_gap,
            noted=Noted("head_gap", "head gap"),
        )
    has_cutter = printer is None or printer.has_cutter is not False
    if has_cutter and (heavy or recipe.cutter_off):
        yield Step(
            "cutter",
            "Switch the printer's cutter off",
            "It makes dust on canvas and thick rag, and dulls.",
            expected="off",
            noted=Noted("cutter_off", "cutter"),
        )
    yield Step(
        "black-ink",
        "Check which black ink is in use",
        "Photo black on matte turns grey and rubs off; matte black on gloss is dull.",
        expected=recipe.black_ink,
        noted=Noted("black_ink", "black ink"),
    )


def _driver_settings(recipe: Recipe) -> Iterator[Step]:
    always = {
        "media_setting": ("Choose the media setting", "It sets ink, drops and drying; no profile mends it."),
        "quality": ("Choose the quality", "Another quality is another amount of ink."),
        "resolution_ppi": ("Set the resolution", "Another resolution is another amount of ink."),
        "direction": ("Set one way or both ways", "Both ways is quicker and shows more grain."),
    }
    where_stated = {
        "passes": ("Set the passes", "More passes dry better and band less."),
        "ink_adjust_percent": ("Set the ink adjustment", "It must be what the profile was built with."),
        "feed_adjust": ("Set the feed adjustment", "A wrong feed shows as bands in all colours."),
        "drying_seconds_per_pass": ("Set the drying time per pass", "Less of it cockles and smears."),
    }
    for field, (text, why) in (always | where_stated).items():
        told = setting_words(recipe, field)
        if field in always or told != "not stated":
            kind: NoteKind = "number" if field in UNITS or field == "passes" else "text"
            yield Step(
                field.replace("_", "-"),
                text,
                why,
                expected="" if told == "not stated" else told,
                noted=Noted(field, LABELS[field], UNITS.get(field, ""), kind),
            )


def _colour(facts: TrialFacts, recipe: Recipe, *, for_chart: bool) -> Iterator[Step]:
    if for_chart:
        name, checksum = facts.trial.chart_name, facts.trial.chart_sha256
        yield Step(
            "no-colour-management",
            "Switch colour management off everywhere",
            "A chart shows what the printer does by itself: no profile in program, driver or printer.",
            expected="nowhere",
            noted=Noted("colour_managed_by", "colour managed by"),
        )
    else:
        name, checksum = recipe.file_name, recipe.file_sha256
        yield Step(
            "profile",
            "Choose the profile and compare its checksum",
            "Two profiles can have one name.",
            expected=_named(recipe.profile_name, recipe.profile_sha256),
            noted=Noted("profile_name", "profile"),
        )
        yield Step(
            "intent",
            "Set rendering intent and black-point compensation",
            "They must be the same for every medium, or colours and shadows move.",
            expected=_intent(recipe),
            noted=Noted("intent", "rendering intent"),
        )
        yield Step(
            "colour-managed-once",
            "Manage colour exactly once",
            "Twice turns prints dark with a cast; not at all makes them flat or garish.",
            expected=" and ".join(recipe.colour_managed_by),
            noted=Noted("colour_managed_by", "colour managed by"),
        )
    yield Step(
        "file",
        "Open the file; print it at 100 %, not fitted",
        "The same file at the same size on every medium.",
        expected=_named(name, checksum),
        noted=Noted("file_name", "file"),
    )


def _printing(facts: TrialFacts, candidate: Candidate) -> Iterator[Step]:
    printed = {event.sheet_id for event in facts.events if event.kind in ("printed", "spoiled")}
    waiting = [
        sheet.code
        for sheet in facts.sheets_of(candidate.id)
        if sheet.use == "test" and sheet.id not in printed
    ]
    yield Step(
        "warm-up",
        "Print one warm-up; it is not a sheet of the trial",
        "The first print after a cleaning or a rest is not like the next ones.",
        caution=MOVING_PARTS,
        skippable=True,
    )
    yield Step(
        "print",
        "Print the sheets whose turn it is",
        "Out of order, drift of the printer may favour one medium.",
        caution=MOVING_PARTS,
        expected=", ".join(waiting),
    )
    lot = next((lot.code for lot in facts.lots if lot.id == candidate.lot_id), "")
    yield Step(
        "mark",
        "Mark the back in pencil: code, lot, time",
        "A sheet without a mark is lost to the trial; ink may show through or set off.",
        expected=f"lot {lot}" if lot else "",
    )
    yield Step(
        "look-over",
        "Look for lines, strikes, specks and smears",
        "A spoiled sheet is noted and printed again, not quietly dropped.",
    )


def _after(form: StockForm, printer: Printer | None, recipe: Recipe, *, heavy: bool) -> Iterator[Step]:
    no_cutter = printer is not None and printer.has_cutter is False
    if form == "roll" and (heavy or no_cutter or recipe.cutter_off):
        yield Step(
            "cut",
            "Cut the sheet off by hand, away from the printer",
            "Dust of cutting belongs neither into the printer nor onto the print.",
            caution=BLADE,
        )
    yield Step(
        "lay-flat",
        "Take it by the edges and lay it flat, face up",
        "Fresh ink marks, and a rolled or stacked print cures unevenly.",
        caution="Wait until carriage and rollers stand still.",
    )
    yield Step("cover", "Cover it against dust; let air reach it", "Dust that lands on wet ink stays in it.")
    if form == "roll":
        yield Step(
            "unload",
            "Take the roll off and wrap it",
            "Left on the printer it curls at the edge and strikes the head tomorrow.",
            caution=LIFTING,
            skippable=True,
        )
    yield Step(
        "used",
        "Note how much was used" if form == "roll" else "Note how many sheets were used",
        "So that the next run does not end in the middle of a sheet.",
        noted=Noted("used_mm", "length used", "mm", "number")
        if form == "roll"
        else Noted("used_sheets", "sheets used", "", "number"),
        skippable=True,
    )


def _named(name: str, checksum: str) -> str:
    short = f"checksum {checksum[:SHOWN_OF_CHECKSUM]}" if checksum else ""
    return f"{name} ({short})" if name and short else name or short


def _intent(recipe: Recipe) -> str:
    compensation = {None: "", True: "black-point compensation on", False: "black-point compensation off"}
    return ", ".join(part for part in (recipe.intent, compensation[recipe.black_point_compensation]) if part)
