"""Lay a form of a trial onto a candidate's roll or box: each load as it will be cut, and what is left."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting, RefusedInput
from laydown.science.forms.bare_edges import GAP_MM, LEAD_MM, TAIL_MM
from laydown.science.forms.nested import Nesting, Piece, RollMedia, SheetMedia
from laydown.science.forms.nesting import nest
from laydown.trials.facts import TrialFacts
from laydown.trials.stock import Roll, RollUse
from laydown.trials.test_form import TestForm
from laydown.trials.trial import Candidate
from laydown.usecases.forms.blind_key import blind_key
from laydown.usecases.forms.printable_width import (
    TINY_MM,
    PrintableWidth,
    printable_width,
    printable_words,
    told_mm,
)
from laydown.usecases.forms.roll_layout import Lack, LaidPiece, RollLayout, RollLoad
from laydown.usecases.forms.roll_loads import (
    LayOptions,
    PlannedLoad,
    RollPiece,
    as_pieces,
    by_label,
    is_drawn,
    pages_of,
    planned_loads,
)
from laydown.usecases.forms.roll_warnings import roll_warnings
from laydown.usecases.stock.roll_left import roll_left

LAID_AS_USUAL = LayOptions()
MOST_GAP_MM = Constant(200.0, "mm", "chosen here: a wider gap is a slip of the keyboard", "computed")
_NOTHING = (Piece(name="nothing", width_mm=1.0, height_mm=1.0, n=0),)
MOST_PIECES = 2000  # that one nesting takes; and sheets in a box where nobody knows how many


@dataclass(frozen=True, slots=True)
class _Job:
    """What is laid onto what."""

    facts: TrialFacts
    form: TestForm
    candidate: Candidate
    roll: Roll
    arms: tuple[Candidate, ...]
    gap_mm: float
    holds: float | None
    options: LayOptions

    @property
    def on_roll(self) -> bool:
        """A roll, or else a box of sheets."""
        return self.roll.form == "roll"

    def room(self, arm: Candidate) -> PrintableWidth:
        """What of it the printer of an arm can print on."""
        return printable_width(self.facts, arm)

    def margins(self, arms: Iterable[Candidate]) -> tuple[float, float, float]:
        """Side, lead and tail in mm: the widest of all whose pieces are in a load."""
        printers = [self.facts.printer_of(arm) for arm in arms]
        leads = [one.lead_mm if one and one.lead_mm is not None else LEAD_MM.value for one in printers]
        tails = [one.tail_mm if one and one.tail_mm is not None else TAIL_MM.value for one in printers]
        return max(self.room(arm).side_mm for arm in arms), max(leads), max(tails)

    def media(self, left: float | None) -> RollMedia | SheetMedia:
        """What there is of it."""
        wide, long = self.roll.width_mm, self.roll.length_mm
        assert wide is not None
        if self.on_roll:
            return RollMedia(wide, None if left is None else max(left, 0.0))
        assert long is not None
        return SheetMedia(wide, long, MOST_PIECES if left is None else max(int(left), 0))


def form_in_use(facts: TrialFacts) -> TestForm | None:
    """The form that is printed from: the newest that is not set aside."""
    used = [form for form in facts.forms if form.set_aside_at is None]
    return max(used, key=lambda form: (form.made_at, form.id), default=None)


def what_is_missing(facts: TrialFacts, candidate: Candidate, form: TestForm | None) -> tuple[Lack, ...]:
    """What must be there before a form is laid out; empty where nothing is missing."""
    found = []
    if form is None:
        found.append(Lack("form", "No form is made yet.", "Design one: its pages are what is laid out."))
    if not is_drawn(facts):
        found.append(
            Lack("order", "The print order is not drawn yet.", "Draw it: it says which sheet comes when.")
        )
    width = printable_width(facts, candidate)
    if candidate.roll_id is None:
        found.append(
            Lack("roll", f"{candidate.name} names no roll or box.", "Name the one it is printed on.")
        )
    elif width.why_not:
        told = width.why_not[:1].upper() + width.why_not[1:]
        found.append(
            Lack("size", f"{candidate.name}: {told}.", "Correct the roll, the sheets or the printer.")
        )
    return tuple(found)


def lay_on_roll(
    facts: TrialFacts,
    candidate: Candidate,
    form: TestForm,
    *,
    uses: Sequence[RollUse] = (),
    options: LayOptions = LAID_AS_USUAL,
) -> RollLayout:
    """Lay a form out on the roll or box of a candidate, load by load, with all that share it.

    The pages of a sheet lie behind one another, sheets in the order that was drawn; every load has its own
    lead and tail. Nothing is turned, and nothing wider than what can be printed is ever laid out.

    Parameters
    ----------
    facts
        The trial, its order drawn.
    candidate
        Whose roll or box.
    form
        Whose pages.
    uses
        What was taken from rolls and boxes. What this trial took itself is taken off only where what is
        printed is left out of the layout.
    options
        How.

    Returns
    -------
    RollLayout

    Raises
    ------
    RefusedInput
        Something is missing (see ``what_is_missing``).
    BadSetting
        A page is larger than what can be printed, or the gap makes no sense.
    """
    for lack in what_is_missing(facts, candidate, form):
        raise RefusedInput(lack.words, todo=lack.todo)
    roll = next(one for one in facts.rolls if one.id == candidate.roll_id)
    arms = tuple(
        one
        for one in facts.candidates
        if one.roll_id == roll.id and (not one.withdrawn_at or one == candidate)
    )
    gap = GAP_MM.value if options.gap_mm is None else options.gap_mm
    if not 0.0 <= gap <= MOST_GAP_MM.value:
        raise BadSetting(f"a gap of {gap:g} mm between pieces.", todo=f"Give 0 to {MOST_GAP_MM.value:g} mm.")
    holds = _holds(roll, uses, own_trial=None if options.only_unprinted else facts.trial.id)
    job = _Job(facts, form, candidate, roll, arms, gap, holds, options)
    for arm in arms:
        _refuse_too_large(form, job.room(arm))
    return _layout(job, _laid(job))


def _layout(job: _Job, loads: tuple[RollLoad, ...]) -> RollLayout:
    facts, room = job.facts, job.room(job.candidate)
    assert room.medium_mm is not None
    assert room.printable_mm is not None
    used_mm = sum(load.nesting.used_mm or 0.0 for load in loads)
    sheets_used = sum(load.nesting.sheets_used for load in loads)
    used = used_mm if job.on_roll else sheets_used
    left = None if job.holds is None else max(job.holds - used, 0.0)
    repeat_mm = _repeat_mm(job) if job.on_roll else None
    wanted, placed = _repeats([one for load in loads for one in load.pieces])
    return RollLayout(
        trial_id=facts.trial.id,
        candidate_id=job.candidate.id,
        form=job.form.code,
        roll_id=job.roll.id,
        stock=job.roll.form,
        medium_mm=room.medium_mm,
        medium_length_mm=None if job.on_roll else job.roll.length_mm,
        printable_mm=room.printable_mm,
        holds=job.holds,
        loads=loads,
        used_mm=used_mm if job.on_roll else None,
        left_mm=left if job.on_roll else None,
        sheets_used=sheets_used,
        left_sheets=None if job.on_roll or left is None else int(left),
        repeat_mm=repeat_mm,
        repeats_wanted=wanted,
        repeats_placed=placed,
        more_repeats=None if left is None else _more(job, left),
        without_place=tuple(one.piece.words for load in loads for one in load.pieces if not one.row),
        shared_with=tuple(arm.name for arm in job.arms if arm.id != job.candidate.id),
        warnings=tuple(
            roll_warnings(
                facts, job.form, job.roll, loads, left=left, repeat_mm=repeat_mm, options=job.options
            )
        ),
        reckoned=_reckoned(job),
    )


def _laid(job: _Job) -> tuple[RollLoad, ...]:
    room = {arm.id: job.room(arm) for arm in job.arms}
    planned = planned_loads(job.facts, job.form, job.roll, job.arms, room=room, options=job.options)
    blind = blind_key(job.facts, job.form)
    found, left = [], job.holds
    for number, load in enumerate(planned, start=1):
        nesting, pieces = _nested(job, load, left, blind)
        if left is not None:
            left -= (nesting.used_mm or 0.0) if job.on_roll else nesting.sheets_used
        found.append(
            RollLoad(
                number=number,
                title=load.title,
                day=load.day,
                printer=load.printer.name if load.printer else "",
                nesting=nesting,
                pieces=pieces,
            )
        )
    return tuple(found)


def _nested(
    job: _Job, load: PlannedLoad, left: float | None, blind: Mapping[str, str]
) -> tuple[Nesting, tuple[LaidPiece, ...]]:
    """A load laid out. A print of which not every page has its place is left out with all of them."""
    if len(load.pieces) > MOST_PIECES:
        raise BadSetting(
            f"{load.title.lower()} holds {len(load.pieces)} pieces, and {MOST_PIECES} can be laid out.",
            todo="Draw the order over more days, or plan fewer repeats.",
        )
    wanted = list(load.pieces)
    while True:
        nesting = _nest(job, wanted, left)
        pieces = by_label(wanted)
        there = {one.label for one in nesting.pieces}
        torn = {
            piece.sheet_id for label, piece in pieces.items() if label not in there and piece.kind == "page"
        } & {pieces[label].sheet_id for label in there}
        if not torn:
            return nesting, _placed(load, nesting, pieces, blind)
        last = [piece.sheet_id for piece in wanted if piece.sheet_id in torn][-1]
        wanted = [piece for piece in wanted if piece.sheet_id != last]


def _nest(job: _Job, wanted: Sequence[RollPiece], left: float | None) -> Nesting:
    owners = {piece.candidate_id for piece in wanted}
    side, lead, tail = job.margins([arm for arm in job.arms if arm.id in owners] or [job.candidate])
    nesting = nest(
        as_pieces(wanted) or _NOTHING,
        media=job.media(left),
        side_mm=side,
        lead_mm=lead if job.on_roll else None,
        tail_mm=tail if job.on_roll else None,
        gap_mm=job.gap_mm,
        order="to save length" if job.options.way == "to save length" else "as given",
    )
    return replace(nesting, warnings=())  # what one load lacks another may hold: warnings are of the whole


def _placed(
    load: PlannedLoad, nesting: Nesting, pieces: Mapping[str, RollPiece], blind: Mapping[str, str]
) -> tuple[LaidPiece, ...]:
    laid = [
        LaidPiece(
            label=one.label,
            piece=pieces[one.label],
            row=at,
            blind=blind.get(pieces[one.label].sheet_id, ""),
        )
        for at, row in enumerate(nesting.rows, start=1)
        for one in row.pieces
    ]
    there = {one.piece.code for one in laid}
    without = [
        LaidPiece(label="", piece=piece, row=0, blind=blind.get(piece.sheet_id, ""))
        for piece in load.pieces
        if piece.code not in there
    ]
    return (*laid, *without)


def _holds(roll: Roll, uses: Sequence[RollUse], *, own_trial: str | None) -> float | None:
    """What there is, in mm or in sheets, without what others took (and, where asked, this trial itself)."""
    gone = [
        use for use in uses if use.roll_id == roll.id and (own_trial is None or use.trial_id != own_trial)
    ]
    taken = sum(use.length_mm or 0.0 for use in gone), sum(use.sheets or 0 for use in gone)
    left = roll_left(roll, taken).amount
    return None if left is None else max(left, 0.0)


def _refuse_too_large(form: TestForm, room: PrintableWidth) -> None:
    """A page that reaches beyond what can be printed is never laid out, not even turned."""
    for page in form.pages:
        called = f"form {form.code} is"
        if room.printable_mm is not None and page.width_mm > room.printable_mm + TINY_MM:
            raise BadSetting(
                f"{called} {told_mm(page.width_mm)} wide (page {page.name}); of {room.candidate}, "
                f"{printable_words(room)}.",
                todo=f"Make a form of up to {told_mm(room.printable_mm)}, or print on a wider medium.",
            )
        most = room.printable_length_mm
        if most is not None and page.length_mm > most + TINY_MM:
            raise BadSetting(
                f"{called} {told_mm(page.length_mm)} long (page {page.name}); of {room.candidate}, "
                f"{told_mm(most)} of a sheet can be printed.",
                todo=f"Make a form with pages of up to {told_mm(most)}, or print on larger sheets.",
            )


def _repeats(pieces: Sequence[LaidPiece]) -> tuple[int, int]:
    """Test prints that are wanted, and those of which every page has its place."""
    sheets: dict[str, bool] = {}
    for one in pieces:
        if one.piece.kind == "page" and one.piece.use == "print":
            sheets[one.piece.sheet_id] = sheets.get(one.piece.sheet_id, True) and one.row > 0
    return len(sheets), sum(sheets.values())


def _repeat_mm(job: _Job) -> float:
    """How much of a roll the pages of one print take."""
    nesting = _nest(job, pages_of(job.form, candidate_id="", sheet_id="", sheet="0"), None)
    return (nesting.used_mm or 0.0) - nesting.room.lead_mm - nesting.room.tail_mm


def _more(job: _Job, left: float) -> int:
    """How many more repeats the rest would hold, in one load of their own."""
    side, lead, tail = job.margins([job.candidate])
    media, each = job.media(left), as_pieces(pages_of(job.form, candidate_id="", sheet_id="", sheet="0"))

    def fits(count: int) -> bool:
        if count == 0:
            return True
        nesting = nest(
            each * count,
            media=media,
            side_mm=side,
            lead_mm=lead if job.on_roll else None,
            tail_mm=tail if job.on_roll else None,
            gap_mm=job.gap_mm,
        )
        return not nesting.left_out

    low, high = 0, MOST_PIECES // len(each) + 1
    step = 1
    while low + step < high and fits(low + step):
        low, step = low + step, 2 * step
    high = min(high, low + step)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if fits(middle) else (low, middle)
    return low


def _reckoned(job: _Job) -> tuple[str, ...]:
    """Where margins and gaps are from."""
    printer = job.facts.printer_of(job.candidate)
    side, lead, tail = job.margins([job.candidate])
    of = printer.name if printer else "no printer named"
    parts = [("sides", side, job.room(job.candidate).side_stated)]
    if job.on_roll:
        parts.append(("lead", lead, printer is not None and printer.lead_mm is not None))
        parts.append(("tail", tail, printer is not None and printer.tail_mm is not None))
    said = [
        f"{name} {told_mm(mm)} ({'as stated for ' + of if stated else 'usual; ' + of + ' states none'})"
        if printer
        else f"{name} {told_mm(mm)} (usual; {of})"
        for name, mm, stated in parts
    ]
    told = "as asked" if job.options.gap_mm is not None else "usual"
    return (*said, f"gap between pieces {told_mm(job.gap_mm)} ({told})")
