"""The ways in which a page of patches may be read: along rows or columns, from either end, there and back."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import Literal

import numpy as np

from laydown.kernel.arrays import Ints

Along = Literal["rows", "columns"]
Turn = Literal["forwards", "backwards", "there and back", "back and there"]
_TURNS: tuple[Turn, ...] = ("forwards", "backwards", "there and back", "back and there")


@dataclass(frozen=True, slots=True)
class Way:
    """How the lines of a page follow each other, and which way each of them runs.

    ``from_last`` begins with the last line. ``there and back`` turns round at the end of every line, beginning
    forwards; ``back and there`` begins backwards.
    """

    along: Along = "rows"
    from_last: bool = False
    turn: Turn = "forwards"

    @property
    def words(self) -> str:
        """Such as "from the last row to the first, each from right to left"."""
        if self == IN_ORDER:
            return "in order"
        if self == TURNED:
            return "turned by half, from the last patch to the first"
        line, start, end = ("row", "left", "right") if self.along == "rows" else ("column", "top", "bottom")
        which = f"from the last {line} to the first" if self.from_last else f"{line} by {line}"
        each = {
            "forwards": "",
            "backwards": f", each from {end} to {start}",
            "there and back": f", every second one from {end} to {start}",
            "back and there": f", beginning from {end} to {start} and then there and back",
        }[self.turn]
        return which + each


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
