"""How one sheet differs as a whole from another print of the same chart."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Bools, Floats
from laydown.kernel.constants import Constant
from laydown.kernel.errors import NotEnoughData

ALIKE = Constant(
    0.002, "of full scale", "rounding of 8 bits: 1/255 / 2, as where ramps are found", "computed"
)
MIDDLE_FROM = Constant(35.0, "L*", "our judgement: mid-tones of the reference", "common practice, no source")
MIDDLE_TO = Constant(75.0, "L*", "our judgement: mid-tones of the reference", "common practice, no source")
GREY_BELOW = Constant(
    6.0, "C*", "our judgement: what counts as near neutral on the reference", "common practice, no source"
)
COLOURED_ABOVE = Constant(
    15.0, "C*", "our judgement: what counts as coloured on the reference", "common practice, no source"
)
FEWEST = Constant(
    8, "patches", "our judgement: fewer say little about a whole sheet", "common practice, no source"
)


@dataclass(frozen=True, slots=True)
class SheetShift:
    """Mean shifts of a sheet against its reference, NaN where no patch of the kind is there.

    ``middle_l`` in L* of mid-tones; ``chroma_ratio`` of coloured patches, 1 where unchanged; ``grey_a`` and
    ``grey_b`` of near-neutral patches; ``patches`` how many colours both sheets share.
    """

    middle_l: float
    chroma_ratio: float
    grey_a: float
    grey_b: float
    patches: int


def sheet_shift(
    device: Floats, lab: Floats, *, reference_device: Floats, reference_lab: Floats
) -> SheetShift:
    """Mean shift of mid-tones, chroma and greys between two prints of the same device colours.

    Meant for telling a wrong print from a right one of the same medium: colours managed once too often move
    every tone one way. Two different media differ in all of this without any fault.

    Parameters
    ----------
    device : (p, c) array
        Device colours of the sheet, 0 to 1.
    lab : (p, 3) array
        CIELAB of its patches.
    reference_device : (r, c) array
        Device colours of the reference, in any order.
    reference_lab : (r, 3) array
        CIELAB of its patches; mean of several sheets, or one.

    Returns
    -------
    SheetShift
        L* and C* units; a ratio for chroma.

    Raises
    ------
    NotEnoughData
        Where the two share fewer than eight device colours.

    Notes
    -----
    Patches of one device colour are averaged first. Mid-tones are those of L* 35 to 75 on the reference, near
    neutral those below C* 6, coloured those above C* 15. Chroma is the ratio of means.

    Checked against
    ---------------
    Planted shifts; a chart printed through a conversion too many in the model of printing.
    """
    here, there = _means(device, lab), _means(reference_device, reference_lab)
    shared = [colour for colour in there if colour in here]
    if len(shared) < FEWEST.value:
        raise NotEnoughData(
            f"the two sheets share only {len(shared)} device colours.",
            todo="Compare sheets printed with the same chart.",
        )
    sheet, reference = (np.array([means[colour] for colour in shared]) for means in (here, there))
    moved = sheet - reference
    chroma, before = (np.hypot(some[:, 1], some[:, 2]) for some in (sheet, reference))
    middle = (reference[:, 0] >= MIDDLE_FROM.value) & (reference[:, 0] <= MIDDLE_TO.value)
    coloured = before > COLOURED_ABOVE.value
    grey = before < GREY_BELOW.value
    return SheetShift(
        middle_l=_mean(moved[:, 0], middle),
        chroma_ratio=_mean(chroma, coloured) / _mean(before, coloured),
        grey_a=_mean(moved[:, 1], grey),
        grey_b=_mean(moved[:, 2], grey),
        patches=len(shared),
    )


def _means(device: Floats, lab: Floats) -> dict[tuple[int, ...], Floats]:
    """Mean Lab of each device colour, by its levels in steps of what counts as alike."""
    levels = np.round(np.asarray(device, dtype=np.float64) / ALIKE.value).astype(np.int64)
    colours = np.asarray(lab, dtype=np.float64)
    known = np.isfinite(colours).all(axis=1)
    if not known.any():
        return {}
    unique, place = np.unique(levels[known], axis=0, return_inverse=True)
    place = place.reshape(-1)
    count = np.bincount(place, minlength=len(unique))
    sums = np.stack(
        [np.bincount(place, weights=column, minlength=len(unique)) for column in colours[known].T], axis=1
    )
    return {tuple(row): mean for row, mean in zip(unique.tolist(), sums / count[:, None], strict=True)}


def _mean(values: Floats, chosen: Bools) -> float:
    return float(values[chosen].mean()) if chosen.any() else float("nan")
