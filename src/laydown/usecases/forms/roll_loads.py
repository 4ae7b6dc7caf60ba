"""What goes onto a roll or box, load by load: sheets in the order drawn, and what else is planned."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from laydown.science.forms.bare_edges import SIDE_MM
from laydown.science.forms.identity import Identity
from laydown.science.forms.nested import Piece, PieceUse
from laydown.trials.facts import TrialFacts
from laydown.trials.material import TRIAL_ROLL_WIDTH_MM, ItemName, MaterialItem, material_budget
from laydown.trials.print_order import loads_of, planned_turns, shares_of
from laydown.trials.sheets import Sheet
from laydown.trials.stock import Roll
from laydown.trials.studio import Printer
from laydown.trials.test_form import TestForm
from laydown.trials.trial import Candidate
from laydown.usecases.forms.printable_width import PrintableWidth

LayWay = Literal["as drawn", "to save length", "in one load"]
PieceKind = Literal["page", "setting", "chart", "strip", "handling", "fading"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LayOptions:
    """How a form is laid onto a roll; ``gap_mm`` None for what is usual.

    "as drawn" keeps the order within each load; "to save length" sorts what one load holds; "in one load"
    puts every day's prints behind each other. Either way out of the drawn order is warned of.
    """

    way: LayWay = "as drawn"
    gap_mm: float | None = None
    without_spares: bool = False
    without_scraps: bool = False
    without_setting: bool = False
    only_unprinted: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class RollPiece:
    """One piece that is wanted: a page of a sheet, or what the plan keeps for something else.

    ``code`` is what its label holds for a reader of codes, ``words`` the same for people; ``sheet`` is the
    code of its sheet, or of the first sheet of the same candidate where it is none of a sheet.
    """

    kind: PieceKind
    candidate_id: str
    sheet_id: str
    sheet: str
    page: str
    width_mm: float
    length_mm: float
    use: PieceUse
    code: str
    words: str

    @property
    def name(self) -> str:
        """What it shares with others of its kind."""
        return self.page if self.kind == "page" else self.kind


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedLoad:
    """What one load is to hold; day 0 comes before the days of the order."""

    title: str
    day: int
    printer: Printer | None
    pieces: tuple[RollPiece, ...]


@dataclass(frozen=True, slots=True)
class _OnRoll:
    """What everything below needs to know."""

    facts: TrialFacts
    form: TestForm
    roll: Roll
    arms: tuple[Candidate, ...]
    room: Mapping[str, PrintableWidth]
    options: LayOptions

    def first_sheet(self, arm: Candidate) -> str:
        """The code that tells a medium from others without naming it."""
        drawn = sorted(self.facts.sheets_of(arm.id), key=lambda one: (one.place == 0, one.place, one.code))
        return drawn[0].code if drawn else "0"

    def has(self, sheet: Sheet, *kinds: str) -> bool:
        """Whether any of these happened to a sheet."""
        return any(event.kind in kinds for event in self.facts.events_of(sheet.id))

    def is_over(self, sheet: Sheet) -> bool:
        """Whether it is not to be laid out any more."""
        return self.options.only_unprinted and self.has(sheet, "printed", "spoiled")


def planned_loads(
    facts: TrialFacts,
    form: TestForm,
    roll: Roll,
    arms: Sequence[Candidate],
    *,
    room: Mapping[str, PrintableWidth],
    options: LayOptions,
) -> tuple[PlannedLoad, ...]:
    """Every load of a roll or box, in the order in which they are printed.

    Setting sheet and chart come before the first day, a load each. Spares, strips, handling and fading pieces
    go behind the last prints of their candidate, where a spoiled print of any day can be replaced.
    """
    on = _OnRoll(facts, form, roll, tuple(arms), room, options)
    drawn = list(_drawn(on))
    if options.way == "in one load" and drawn:
        every = tuple(piece for load in drawn for piece in load.pieces)
        drawn = [replace(drawn[0], title="All in one load", day=1, pieces=every)]
    for arm in arms:
        extra = (*_spares(on, arm), *_kept_back(on, arm))
        if not extra:
            continue
        holding = [at for at, load in enumerate(drawn) if any(p.candidate_id == arm.id for p in load.pieces)]
        if not drawn:
            drawn.append(
                PlannedLoad(title="Beside the order", day=1, printer=facts.printer_of(arm), pieces=())
            )
        at = holding[-1] if holding else len(drawn) - 1
        drawn[at] = replace(drawn[at], pieces=(*drawn[at].pieces, *extra))
    return (*_before(on), *drawn)


def as_pieces(wanted: Sequence[RollPiece]) -> tuple[Piece, ...]:
    """What is laid out; no page is turned, since its marks say which way it is fed."""
    return tuple(
        Piece(name=one.name, width_mm=one.width_mm, height_mm=one.length_mm, use=one.use) for one in wanted
    )


def by_label(wanted: Sequence[RollPiece]) -> dict[str, RollPiece]:
    """Pieces by the label that they have once they are laid out: their name, counted on as given."""
    counts: dict[str, int] = {}
    found = {}
    for one in wanted:
        counts[one.name] = counts.get(one.name, 0) + 1
        found[f"{one.name} {counts[one.name]}"] = one
    return found


def pages_of(
    form: TestForm, *, candidate_id: str, sheet_id: str, sheet: str, use: PieceUse = "print"
) -> tuple[RollPiece, ...]:
    """One repeat: a piece for each page."""
    return tuple(
        RollPiece(
            kind="page",
            candidate_id=candidate_id,
            sheet_id=sheet_id,
            sheet=sheet,
            page=page.name,
            width_mm=page.width_mm,
            length_mm=page.length_mm,
            use=use,
            code=Identity(form.code, page.name, sheet).text,
            words=f"{sheet} {page.name}",
        )
        for page in form.pages
    )


def _drawn(on: _OnRoll) -> Iterator[PlannedLoad]:
    facts = on.facts
    sheets = {sheet.place: sheet for sheet in facts.sheets if sheet.use == "test" and sheet.place}
    shares = shares_of(facts)
    there = {share.candidate_id for share in shares}
    turns = [turn for turn in planned_turns(facts) if turn.candidate_id in there]
    counts: dict[int, int] = {}
    for load in loads_of(turns, shares):
        if load.stock != on.roll.id:
            continue
        counts[load.day] = counts.get(load.day, 0) + 1
        wanted = [sheets[place] for place in load.places if not on.is_over(sheets[place])]
        if wanted:
            yield PlannedLoad(
                title=f"Day {load.day}, load {counts[load.day]}",
                day=load.day,
                printer=next((one for one in facts.printers if one.id == load.printer), None),
                pieces=tuple(piece for sheet in wanted for piece in _pages(on, sheet)),
            )


def is_drawn(facts: TrialFacts) -> bool:
    """Whether sheets have their turns; what the plan would draw is no order yet."""
    return any(sheet.use == "test" and sheet.place for sheet in facts.sheets)


def _pages(on: _OnRoll, sheet: Sheet) -> tuple[RollPiece, ...]:
    use: PieceUse = "spare" if sheet.use == "spare" else "print"
    return pages_of(on.form, candidate_id=sheet.candidate_id, sheet_id=sheet.id, sheet=sheet.code, use=use)


def _spares(on: _OnRoll, arm: Candidate) -> Iterator[RollPiece]:
    if on.options.without_spares:
        return
    for sheet in on.facts.sheets_of(arm.id):
        if sheet.use == "spare" and not on.is_over(sheet) and not on.has(sheet, "spoiled"):
            yield from _pages(on, sheet)


_KEPT_BACK: dict[ItemName, tuple[PieceKind, str, PieceUse]] = {
    "strips": ("strip", "S", "print"),
    "fading": ("fading", "F", "print"),
    "handling": ("handling", "H", "scrap"),
}
_BEFORE: dict[ItemName, tuple[PieceKind, str, PieceUse]] = {
    "setting": ("setting", "SET", "print"),
    "chart": ("chart", "CH", "print"),
}
_SHEET_USES = {"strips": "control strip", "handling": "handling", "setting": "setting"}


def _kept_back(on: _OnRoll, arm: Candidate) -> Iterator[RollPiece]:
    """Strips, fading pieces and scraps for handling tests, as the plan has them."""
    if on.options.without_scraps:
        return
    items = {item.name: item for item in material_budget(on.facts, arm).items}
    for name, (kind, sign, use) in _KEPT_BACK.items():
        if not _printed_already(on, arm, name):
            yield from _of_item(on, arm, items[name], kind, sign, use)


def _before(on: _OnRoll) -> Iterator[PlannedLoad]:
    if on.options.without_setting:
        return
    for name, title in (("setting", "Setting sheet"), ("chart", "Chart")):
        wanted = [
            piece
            for arm in on.arms
            if not _begun(on, arm)
            for item in material_budget(on.facts, arm).items
            if item.name == name
            for piece in _of_item(on, arm, item, *_BEFORE[item.name])
        ]
        if wanted:
            yield PlannedLoad(
                title=title, day=0, printer=on.facts.printer_of(on.arms[0]), pieces=tuple(wanted)
            )


def _begun(on: _OnRoll, arm: Candidate) -> bool:
    """Whether its tests have begun, so that setting sheet and chart lie behind it."""
    return on.options.only_unprinted and any(
        on.has(sheet, "printed") for sheet in on.facts.sheets_of(arm.id) if sheet.use == "test"
    )


def _printed_already(on: _OnRoll, arm: Candidate, name: ItemName) -> bool:
    return on.options.only_unprinted and any(
        on.has(sheet, "printed") for sheet in on.facts.sheets_of(arm.id) if sheet.use == _SHEET_USES.get(name)
    )


def _of_item(
    on: _OnRoll, arm: Candidate, item: MaterialItem, kind: PieceKind, sign: str, use: PieceUse
) -> Iterator[RollPiece]:
    """A need of the plan in pieces; a length is of a 17 in roll unless the studio stated its own."""
    room = on.room[arm.id]
    assert room.printable_mm is not None
    wide, long, count = room.printable_mm, item.each_mm, item.n
    if room.printable_length_mm is not None:
        long, count = room.printable_length_mm, item.sheets
    elif not item.stated:
        wide = min(wide, TRIAL_ROLL_WIDTH_MM.value - 2.0 * SIDE_MM.value)
    first = on.first_sheet(arm)
    for number in range(1, count + 1):
        many = f" {number}" if count > 1 else ""
        yield RollPiece(
            kind=kind,
            candidate_id=arm.id,
            sheet_id="",
            sheet=first,
            page=f"{sign}{number}",
            width_mm=wide,
            length_mm=long,
            use=use,
            code=Identity(on.form.code, f"{sign}{number}", first).text,
            words=f"{kind}{many} (as {first})",
        )
