"""The straight cuts that take nested pieces apart, in the order in which they are made."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from laydown.science.forms.nested import Cut, RollMedia, Room, Row
from laydown.science.forms.nesting_rows import columns_of

_STAYS_ON = 1.5  # gaps: a bare strip no wider than that beside the last piece is not worth a cut
_TINY_MM = 1e-6


def cuts_of(rows: Sequence[Row], room: Room) -> tuple[Cut, ...]:
    """Every cut: first across the whole medium, row by row, then within each row.

    Cuts lie half way between pieces, so that each keeps a bare border to be held by; a roll is cut off behind
    its last row first. A bare edge stays on.

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
        places = sorted({round(at, 6) for row in here for at in (row.top_mm, row.bottom_mm)})
        places = [at for at in places if _TINY_MM < at < room.length_mm - _TINY_MM]
        if isinstance(room.media, RollMedia) and places:
            places = [places[-1], *places[:-1]]
        yield from (Cut(sheet, None, "across", at, 0.0, room.media.width_mm) for at in places)


def _within(rows: Sequence[Row], room: Room) -> Iterator[Cut]:
    half = room.gap_mm / 2.0
    for number, row in enumerate(rows):
        columns = list(columns_of(row))
        left = 0.0
        inner: list[Cut] = []
        for column in columns:
            right = max(one.box.right_mm for one in column) + half
            last = column is columns[-1]
            if last and right > room.media.width_mm - room.side_mm - _STAYS_ON * room.gap_mm:
                right = room.media.width_mm
            else:
                yield Cut(row.sheet, number, "along", right, row.top_mm, row.bottom_mm)
            for one in column:
                at = one.box.bottom_mm + half
                if at < row.bottom_mm - _TINY_MM:
                    inner.append(Cut(row.sheet, number, "across", at, left, right))
            left = right
        yield from inner
