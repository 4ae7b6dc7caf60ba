"""The ways in which a page of patches may be read: along rows or columns, from either end, there and back."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import Literal

import numpy as np

from laydown.kernel.arrays import Bools, Ints

Along = Literal["rows", "columns"]
Turn = Literal["forwards", "backwards", "there and back", "back and there"]
_TURNS: tuple[Turn, ...] = ("forwards", "backwards", "there and back", "back and there")


@dataclass(frozen=True, slots=True)
class Way:
    """How the lines of a page follow each other, and which way each of them runs.

    ``from_last`` begins with the last line. ``there and back`` turns round at the end of every line,
    beginning forwards; ``back and there`` begins backwards.
    """

    along: Along = "rows"
    from_last: bool = False
    turn: Turn = "forwards"

    @property
    def words(self) -> str:
        """A sentence on how the sheet was read."""
        if self == IN_ORDER:
            return "It was read in order"
        if self == TURNED:
            return "The sheet was read from the other end, from the last patch to the first"
        line, start, end = ("row", "left", "right") if self.along == "rows" else ("column", "top", "bottom")
        which = f"{line} by {line}"
        if self.from_last:
            which = f"from the last {line} to the first"
        each = {
            "forwards": "",
            "backwards": f", each {line} from {end} to {start}",
            "there and back": f", there and back: every second {line} from {end} to {start}",
            "back and there": f", there and back: the first {line} from {end} to {start}",
        }[self.turn]
        return f"The sheet was read {which}{each}"


IN_ORDER = Way()
TURNED = Way(from_last=True, turn="backwards")


def every_way() -> tuple[Way, ...]:
    """All sixteen, the usual one first.

    Returns
    -------
    tuple of Way

    Checked against
    ---------------
    Sixteen different orders of a page of several rows and columns.
    """
    axes: tuple[Along, ...] = ("rows", "columns")
    return tuple(Way(*parts) for parts in itertools.product(axes, (False, True), _TURNS))


def order_of(way: Way, positions: Ints) -> Ints:
    """The places of a page in the order in which they are read.

    Parameters
    ----------
    way : Way
    positions : (n, 2) row and column of each place

    Returns
    -------
    (n,) places

    Checked against
    ---------------
    Small pages written out; the way turned by half is the list backwards.
    """
    across = 0 if way.along == "rows" else 1
    numbers = np.unique(positions[:, across])
    lines = []
    for count, number in enumerate(numbers[::-1] if way.from_last else numbers):
        line = np.flatnonzero(positions[:, across] == number)
        line = line[np.argsort(positions[line, 1 - across], kind="stable")]
        back = {
            "forwards": False,
            "backwards": True,
            "there and back": count % 2 == 1,
            "back and there": count % 2 == 0,
        }[way.turn]
        lines.append(line[::-1] if back else line)
    return np.concatenate(lines).astype(np.int64) if lines else np.zeros(0, dtype=np.int64)


def line_begins(way: Way, order: Ints, positions: Ints) -> Bools:
    """At which steps of an order a new row or column begins.

    Parameters
    ----------
    way : Way
    order : (n,) places as read, from ``order_of``
    positions : (n, 2) row and column of each place

    Returns
    -------
    (n,) True at the first place of each line

    Checked against
    ---------------
    Small pages written out.
    """
    across = positions[order, 0 if way.along == "rows" else 1]
    return np.concatenate([np.ones(min(len(order), 1), dtype=np.bool_), np.diff(across) != 0])


def lines_turned(order: Ints, begins: Bools) -> Ints:
    """The same order with every line run through from its other end.

    Parameters
    ----------
    order, begins : from ``order_of`` and ``line_begins``

    Returns
    -------
    (n,) places; lines begin at the same steps

    Checked against
    ---------------
    The way with all turns exchanged.
    """
    if not len(order):
        return order
    return np.concatenate([line[::-1] for line in np.split(order, np.flatnonzero(begins)[1:])])
