"""Book in a delivery in one go: what its label says, from the medium down to each roll or box."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting
from laydown.records.ledger import Records
from laydown.records.stock_query import named_alike
from laydown.records.work import Work
from laydown.trials.stock import Lot, Medium, Roll, Supplier
from laydown.usecases.acted import Acted
from laydown.usecases.stock.sound import sound
from laydown.usecases.stock.stock_words import called, roll_word

MOST_PIECES = Constant(100.0, "rolls or boxes", "chosen here: more is a slip of the keyboard", "computed")


def book_in_delivery(
    records: Records,
    medium: Medium,
    *,
    lot_code: str,
    piece: Roll,
    pieces: int = 1,
    supplier_name: str = "",
    received: date | None = None,
    who: str,
) -> Acted[tuple[Roll, ...]]:
    """Keep as many rolls or boxes like ``piece`` of one lot; medium, supplier and lot are made where new.

    A medium with an id is one that is kept; one without is new. ``piece`` needs neither id nor lot. Several
    pieces, and one without a number, are numbered on from those of the lot.

    Raises
    ------
    BadSetting
        A name or the lot is missing, a size or a day is not possible, or there are too many pieces.
    UnknownRecord
        The medium is not kept.
    """
    if not 1 <= pieces <= MOST_PIECES.value:
        raise BadSetting(f"{pieces} rolls or boxes.", todo=f"Book in 1 to {MOST_PIECES.value:g} at a time.")
    with records.work("booked in", who=who) as work:
        kept = work.get(Medium, medium.id) if medium.id else _new_medium(records, work, medium, supplier_name)
        lot = _lot(records, work, kept, lot_code, received)
        rolls = []
        for code in _codes(work, lot, piece, pieces):
            roll = replace(piece, id=records.new_id(), lot_id=lot.id, code=code, received=received)
            rolls.append(work.add(sound(work, roll)))
        word = (
            roll_word(replace(piece, code=""))
            if pieces == 1
            else "rolls"
            if piece.form == "roll"
            else "boxes"
        )
        work.say(f"{pieces} {word} of {called(work, lot)}")
        return Acted(tuple(rolls), work.entry_id)


def _new_medium(records: Records, work: Work, medium: Medium, supplier_name: str) -> Medium:
    supplier_id = None
    if supplier_name.strip():
        known = named_alike(work, Supplier, "name", " ".join(supplier_name.split()))
        supplier = known[0] if known else Supplier(id=records.new_id(), name=supplier_name)
        supplier_id = supplier.id if known else work.add(sound(work, supplier)).id
    new = replace(medium, id=records.new_id(), supplier_id=supplier_id)
    return work.add(sound(work, new))


def _lot(records: Records, work: Work, medium: Medium, code: str, received: date | None) -> Lot:
    known = (
        named_alike(work, Lot, "code", " ".join(code.split()), medium_id=medium.id) if code.strip() else ()
    )
    if known:
        return known[0]
    lot = Lot(id=records.new_id(), medium_id=medium.id, code=code, received=received)
    return work.add(sound(work, lot))


def _codes(work: Work, lot: Lot, piece: Roll, pieces: int) -> list[str]:
    if pieces == 1 and piece.code:
        return [piece.code]
    taken = {roll.code.casefold() for roll in work.find(Roll, lot_id=lot.id)}
    stem = f"{piece.code}-" if piece.code else ""
    numbered = (f"{stem}{number}" for number in range(1, len(taken) + pieces + 1))
    return [code for code in numbered if code.casefold() not in taken][:pieces]
