"""The straight cuts that take nested pieces apart, in the order in which they are made."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from laydown.science.forms.nested import Cut, Room, Row
from laydown.science.forms.nesting_rows import STAYS_ON, columns_of

_TINY_MM = 1e-6


def cuts_of(rows: Sequence[Row], room: Room) -> tuple[Cut, ...]:
    """Every cut: first across the whole medium, then within each row.

    Cuts lie half way between pieces, so that each keeps a bare border to be held by. They are made from the
    far end on: a roll is cut off behind its last row first, and what is left always keeps the edge that the
    next cut is measured from. A narrow bare edge stays on.

    Parameters
    ----------
    rows : of a nesting, from the leading edge on
    room : what they lie on

    Returns
    -------
    tuple of Cut

    Checked against
    ---------------
    Layouts by hand; for random pieces that no cut crosses one.
    """
    return tuple(_across(rows, room)) + tuple(_within(rows, room))


def _across(rows: Sequence[Row], room: Room) -> Iterator[Cut]:
    for sheet in sorted({row.sheet for row in rows}):
        here = [row for row in rows if row.sheet == sheet]
        places = sorted({round(at, 6) for row in here for at in (row.top_mm, row.bottom_mm)}, reverse=True)
        for at in places:
            if _TINY_MM < at < room.length_mm - _TINY_MM:
                yield Cut(sheet, None, "across", at, 0.0, room.media.width_mm)


def _within(rows: Sequence[Row], room: Room) -> Iterator[Cut]:
    half = room.gap_mm / 2.0
    for number, row in enumerate(rows):
        columns = list(columns_of(row))
        left = 0.0
        along: list[Cut] = []
        inner: list[Cut] = []
        for column in columns:
            right = max(one.box.right_mm for one in column) + half
            last = column is columns[-1]
            if last and right > room.media.width_mm - room.side_mm - STAYS_ON * room.gap_mm:
                right = room.media.width_mm
            else:
                along.append(Cut(row.sheet, number, "along", right, row.top_mm, row.bottom_mm))
            for one in reversed(column):
                at = one.box.bottom_mm + half
                if at < row.bottom_mm - _TINY_MM:
                    inner.append(Cut(row.sheet, number, "across", at, left, right))
            left = right
        yield from reversed(along)
        yield from inner
