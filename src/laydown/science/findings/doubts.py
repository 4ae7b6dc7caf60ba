"""What to do with a patch that contradicts its neighbours: leave it out where others show its colour.

Whether an odd patch was misread or the medium really prints it so cannot be told from one reading. Other
patches of the same colour, on the sheet or on the medium's other sheets, tell: if they are odd too, the
medium prints it so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from laydown.kernel.arrays import Bools, Floats
from laydown.kernel.problems import Problem
from laydown.science.findings.reduction import SAME_COLOUR, Reduced, Suspect


def settle_doubts(readings: Sequence[Reduced]) -> tuple[tuple[Reduced, ...], tuple[Problem, ...]]:
    """Leave out suspicious patches of one medium where other readings of their colour are not suspicious.

    Parameters
    ----------
    readings
        All readings of one medium, as reduced.

    Returns
    -------
    tuple
        The readings, left-out patches NaN and every suspect told what became of it; and a problem for each.

    Notes
    -----
    Other readings count only under the same measuring condition and backing. A patch that is the only
    reading of its colour is used as it stands, with a warning.

    Checked against: planted swaps and misreadings, and a colour that every sheet prints oddly, in the tests.
    """
    settled, problems = [], []
    for item in readings:
        if not item.suspects:
            settled.append(item)
            continue
        suspects = tuple(_judged(suspect, item, readings) for suspect in item.suspects)
        problems += [_problem(suspect, item) for suspect in suspects]
        rows = [suspect.row for suspect in suspects if suspect.left_out]
        settled.append(
            replace(
                item,
                suspects=suspects,
                lab=_without(item.lab, rows),
                visual=_without(item.visual, rows),
                status_t=_without(item.status_t, rows),
            )
        )
    return tuple(settled), tuple(problems)


def _judged(suspect: Suspect, item: Reduced, readings: Sequence[Reduced]) -> Suspect:
    """The suspect with what becomes of it, in words."""
    here = sum(int(same.sum()) for other, same in _alike(suspect, item, readings) if other is item)
    elsewhere = sum(int(same.any()) for other, same in _alike(suspect, item, readings) if other is not item)
    if here:
        fate = f"Left out: {here} other patch(es) of this colour on the sheet are in order."
    elif elsewhere:
        fate = f"Left out: {elsewhere} other reading(s) of this colour on this medium are in order."
    else:
        fate = "Used as it stands: no other reading of this colour is in order."
    return replace(suspect, left_out=bool(here or elsewhere), fate=fate)


def _alike(suspect: Suspect, item: Reduced, readings: Sequence[Reduced]) -> list[tuple[Reduced, Bools]]:
    """For each reading under the same condition, its unsuspicious patches of the suspect's device colour."""
    assert item.device is not None
    colour = item.device[suspect.row]
    found = []
    for other in readings:
        if other.device is None or other.channels != item.channels or other.condition != item.condition:
            continue
        same = np.all(np.abs(other.device - colour) < float(SAME_COLOUR), axis=1)
        same[[s.row for s in other.suspects]] = False
        found.append((other, same))
    return found


def _without(values: Floats, rows: Sequence[int]) -> Floats:
    """A copy with those rows NaN."""
    kept = values.copy()
    kept[list(rows)] = np.nan
    return kept


def _problem(suspect: Suspect, item: Reduced) -> Problem:
    return Problem(
        "error" if suspect.left_out else "warning",
        suspect.explanation,
        todo=f"{suspect.fate} Read this patch again.",
        file=item.file,
        line=int(item.lines[suspect.row]) or None,
        patch=item.ids[suspect.row],
    )
