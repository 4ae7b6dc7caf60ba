"""Lays printed pieces out on a roll or on sheets, in rows that one straight cut separates."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from itertools import groupby

from laydown.kernel.errors import BadSetting
from laydown.science.forms.bare_edges import GAP_MM, LEAD_MM, SIDE_MM, TAIL_MM
from laydown.science.forms.nested import LeftOut, Nesting, Piece, RollMedia, Room, Row, SheetMedia
from laydown.science.forms.nesting_cuts import cuts_of
from laydown.science.forms.nesting_rows import Order, Wanted, laid_in_rows, wanted

_MOST_PIECES = 2000
_TINY_MM = 1e-6


def nest(
    pieces: Sequence[Piece],
    *,
    media: RollMedia | SheetMedia,
    side_mm: float = SIDE_MM.value,
    lead_mm: float | None = None,
    tail_mm: float | None = None,
    gap_mm: float = GAP_MM.value,
    order: Order = "as given",
) -> Nesting:
    """Lay pieces out in rows.

    Every row lies between two straight cuts across the medium, so that pieces come apart with a trimmer and
    nobody cuts round a corner. Prints come first, then spares, then scraps, which go into waste beside other
    pieces wherever they fit. In the order given, prints stay in the order that was drawn at random, which a
    fair trial needs; sorted to save length they do not, and a warning says so.

    Parameters
    ----------
    pieces : what is wanted
    media : the roll or the sheets
    side_mm : bare at the left and the right edge
    lead_mm, tail_mm : bare at the leading and the trailing edge, of the roll or of each sheet; None for what
        is usual on a roll, and on sheets for as much as at the sides
    gap_mm : bare between neighbouring pieces
    order : "as given" or "to save length"

    Returns
    -------
    Nesting; what found no place is in ``left_out``

    Raises
    ------
    BadSetting
        if there is nothing to lay out, a length makes no sense, or a piece is larger than what can be printed
        and may not be turned.

    Notes
    -----
    Turning is tried group by group and kept where it saves length or sheets.

    Checked against
    ---------------
    Layouts by hand; for random pieces that nothing overlaps, reaches beyond what can be printed, lies nearer
    than the gap or is crossed by a cut, and that every piece is placed or named.
    """
    on_roll = isinstance(media, RollMedia)
    usual = (LEAD_MM.value, TAIL_MM.value) if on_roll else (side_mm, side_mm)
    lead, tail = (
        here if told is None else told for told, here in zip((lead_mm, tail_mm), usual, strict=True)
    )
    room = Room(media, side_mm, lead, tail, gap_mm)
    _check(pieces, room)
    turned = _turned(pieces, room, order)
    every = wanted(pieces, turned)
    rows, without = laid_in_rows(every, room, order=order)
    placed = [piece for row in rows for piece in row.pieces]
    used = max((one.box.bottom_mm for one in placed), default=0.0) + tail if on_roll and placed else None
    sheets_used = 0 if on_roll else len({row.sheet for row in rows})
    left = _left(media, used if placed else 0.0)
    area = media.width_mm * (used or 0.0) if on_roll else media.width_mm * room.length_mm * sheets_used
    covered = sum(one.box.width_mm * one.box.height_mm for one in placed)
    left_out = _left_out(without, room)
    return Nesting(
        room=room,
        rows=tuple(rows),
        cuts=cuts_of(rows, room),
        left_out=left_out,
        used_mm=used,
        left_mm=left,
        sheets_used=sheets_used,
        more=_more(pieces, turned, rows, room),
        covered=covered / area if area else 0.0,
        warnings=tuple(_warnings(every, rows, room, left)),
    )


def nesting_words(nesting: Nesting) -> str:
    """A nesting in a sentence or two, in mm.

    Parameters
    ----------
    nesting : Nesting

    Returns
    -------
    what goes, what is left, and what found no place

    Checked against
    ---------------
    Layouts by hand.
    """
    room, count = nesting.room, len(nesting.pieces)
    rows = f"{count} piece{_s(count)} in {len(nesting.rows)} row{_s(len(nesting.rows))}"
    if isinstance(room.media, SheetMedia):
        size = f"{room.media.width_mm:.0f} x {room.media.height_mm:.0f} mm"
        told = f"{rows} on {nesting.sheets_used} of {room.sheets} sheet{_s(room.sheets)} of {size}."
    else:
        told = (
            f"{rows} on a roll of {room.media.width_mm:.0f} mm: {nesting.used_mm or 0.0:.0f} mm go, lead and "
        )
        told += "tail included"
        told += "." if nesting.left_mm is None else f"; {nesting.left_mm:.0f} mm are left over."
    if nesting.left_out:
        named = ", ".join(f"{one.n} x {one.name} ({one.reason})" for one in nesting.left_out)
        told += f" Without a place: {named}."
    return told


def _s(count: int) -> str:
    return "" if count == 1 else "s"


def _left(media: RollMedia | SheetMedia, used: float | None) -> float | None:
    if isinstance(media, SheetMedia) or media.length_mm is None:
        return None
    return max(media.length_mm - (used or 0.0), 0.0)


def _check(pieces: Sequence[Piece], room: Room) -> None:
    lengths = (room.side_mm, room.lead_mm, room.tail_mm, room.gap_mm)
    if min(lengths) < 0.0 or room.printable_mm <= 0.0 or room.sheets < 0:
        raise BadSetting(
            "edges, gaps and counts cannot be less than nothing, nor the edges wider than the medium.",
            todo="Check the width of the medium and what is kept free.",
        )
    if not pieces or sum(piece.n for piece in pieces) > _MOST_PIECES:
        raise BadSetting(f"between one and {_MOST_PIECES} pieces can be laid out.", todo="Check the counts.")
    for piece in pieces:
        if min(piece.width_mm, piece.height_mm) <= 0.0 or piece.n < 0:
            raise BadSetting(f"{piece.name} has no size or a count below nothing.", todo="Give it its size.")


def _turned(pieces: Sequence[Piece], room: Room, order: Order) -> frozenset[int]:
    """Places of the pieces that lie turned, whole groups at a time."""
    groups: dict[str, list[int]] = {}
    for place, piece in enumerate(pieces):
        groups.setdefault(piece.group or f"\0{place}", []).append(place)
    turned: frozenset[int] = frozenset()
    free: list[list[int]] = []
    for places in groups.values():
        upright = all(_fits(pieces[one], room, turned=False) for one in places)
        sideways = all(pieces[one].may_turn and _fits(pieces[one], room, turned=True) for one in places)
        if not upright and not sideways:
            _refuse([pieces[one] for one in places], room)
        if not upright:
            turned |= frozenset(places)
        elif sideways:
            free.append(places)
    for places in free:
        tried = turned | frozenset(places)
        if _cost(pieces, tried, room, order) < _cost(pieces, turned, room, order):
            turned = tried
    return turned


def _fits(piece: Piece, room: Room, *, turned: bool) -> bool:
    width, height = (piece.height_mm, piece.width_mm) if turned else (piece.width_mm, piece.height_mm)
    high_enough = isinstance(room.media, RollMedia) or room.lead_mm + height <= room.last_mm + _TINY_MM
    return width <= room.printable_mm + _TINY_MM and high_enough


def _refuse(group: Sequence[Piece], room: Room) -> None:
    piece = next(one for one in group if not _fits(one, room, turned=False))
    what = f"{room.printable_mm:g} mm of its {room.media.width_mm:g} mm can be printed"
    if isinstance(room.media, SheetMedia):
        what = f"{room.printable_mm:g} x {room.last_mm - room.lead_mm:g} mm of a sheet can be printed"
    turning = "Make it smaller or take a wider medium."
    if all(_fits(one, room, turned=True) for one in group):
        others = "" if len(group) == 1 else " with all others of its group"
        turning = f"Turned{others} it would fit: allow that if grain and feed may run the other way."
    elif _fits(piece, room, turned=True):
        turning = "Turned it would fit, but not all others of its group: take it out of the group."
    raise BadSetting(
        f"{piece.name} ({piece.width_mm:g} x {piece.height_mm:g} mm) is too large: {what}.", todo=turning
    )


def _cost(
    pieces: Sequence[Piece], turned: frozenset[int], room: Room, order: Order
) -> tuple[int, int, float]:
    """What is to be small: prints and spares without a place, sheets, and length, to the mm."""
    rows, without = laid_in_rows(wanted(pieces, turned), room, order=order)
    ends = {row.sheet: row.bottom_mm for row in rows}
    return sum(one.use != "scrap" for one in without), len(ends), round(max(ends.values(), default=0.0))


def _left_out(without: Sequence[Wanted], room: Room) -> tuple[LeftOut, ...]:
    why = "the sheets are full" if isinstance(room.media, SheetMedia) else "the roll is not long enough"
    named = sorted(without, key=lambda one: one.name)
    return tuple(
        LeftOut(name, len(list(group)), why) for name, group in groupby(named, key=lambda one: one.name)
    )


def _more(
    pieces: Sequence[Piece], turned: frozenset[int], rows: Sequence[Row], room: Room
) -> tuple[tuple[str, int], ...]:
    """How many more of each print the rest would hold by itself, in rows of their own."""
    if room.length_mm == float("inf"):
        return ()
    ends: dict[int, float] = {}
    for row in rows:
        ends[row.sheet] = max(ends.get(row.sheet, 0.0), *(one.box.bottom_mm for one in row.pieces))
    tops = [ends[sheet] + room.gap_mm if sheet in ends else room.lead_mm for sheet in range(room.sheets)]
    sizes: dict[str, tuple[float, float]] = {}
    for place, piece in enumerate(pieces):
        if piece.use == "print":
            sides = (piece.width_mm, piece.height_mm)
            sizes[piece.name] = sides[::-1] if place in turned else sides
    return tuple(
        (name, sum(_down(top, height, room) for top in tops) * room.across(width))
        for name, (width, height) in sizes.items()
    )


def _down(top_mm: float, height_mm: float, room: Room) -> int:
    """How many rows of a height follow each other from a place on."""
    rows = int((room.last_mm - top_mm + room.gap_mm + _TINY_MM) // (height_mm + room.gap_mm))
    return max(rows, 0)


def _warnings(every: Sequence[Wanted], rows: Sequence[Row], room: Room, left: float | None) -> list[str]:
    told: list[str] = []
    as_given = [(one.name, one.number) for one in every if one.use == "print"]
    as_laid = [(one.name, one.number) for row in rows for one in row.pieces if one.use == "print"]
    there = set(as_laid)
    if as_laid != [one for one in as_given if one in there]:
        told.append(
            "Prints are not in the order in which they were given: if that was drawn at random, a drift "
            "along the medium may now pass for a difference between them."
        )
    by_row = [Counter(one.name for one in row.pieces) for row in rows]
    for name in dict.fromkeys(name for name, _ in as_laid):
        counts = [count[name] for count in by_row]
        if sum(counts) > 1 and max(counts) == sum(counts):
            told.append(
                f"All {sum(counts)} of {name} lie in one row: they are printed together and do not show how "
                "prints differ along the medium."
            )
    uses = {one.use for row in rows for one in row.pieces}
    if "scrap" not in uses:
        told.append("No scraps for handling tests (rub, tape, fold) are laid out.")
    if "spare" not in uses:
        told.append("No spare is laid out: a spoiled print cannot be replaced from the same load.")
    if isinstance(room.media, RollMedia) and room.media.length_mm is None:
        told.append("How much is left on the roll is not stated: measure it before printing.")
    if left is not None and 0.0 < left <= room.lead_mm + room.tail_mm:
        told.append(
            f"The {left:.0f} mm left over are too short to be printed on: lead and tail take "
            f"{room.lead_mm + room.tail_mm:.0f} mm."
        )
    return told
