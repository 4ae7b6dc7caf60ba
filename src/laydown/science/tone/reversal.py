"""Tone reversal: a step towards black that comes out lighter than the one before."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Bools, Floats, Ints
from laydown.kernel.constants import Constant

CREDIBLE = Constant(2.0, "standard deviations", "about 95 % of a normal distribution", "computed")


@dataclass(frozen=True, slots=True, eq=False)
class Reversal:
    """The largest rise of lightness on the way to full ink.

    ``rise`` (...) in L*, 0 where the ramp is monotone; ``step`` (...) the index of the step that is lighter
    than the one before it, -1 where none is; ``credible`` (...) whether the rise exceeds what the stated
    scatter of the two steps explains (False where no scatter was given).
    """

    rise: Floats
    step: Ints
    credible: Bools


def tone_reversal(lab_ramp: Floats, *, spread: Floats | None = None) -> Reversal:
    """The largest rise of L* from one step of a ramp to the next darker one.

    A ramp that turns back shows as a contour or a halo in dark gradations. Any ramp with noise rises
    somewhere if its steps are fine enough: look at ``credible``, and average sheets before believing a small
    rise.

    Parameters
    ----------
    lab_ramp : array (..., s, 3), CIELAB from paper to full ink
    spread : array (..., s) or None
        Standard deviation of L* of each step.

    Returns
    -------
    Reversal, in L* units.

    Notes
    -----
    ``max(0, L*[i+1] - L*[i])`` over i. Steps with a missing value are passed over. Fewer than two steps give
    NaN.

    Checked against
    ---------------
    Ramps with a planted rise.
    """
    lightness = np.asarray(lab_ramp, dtype=np.float64)[..., 0]
    shape = lightness.shape[:-1]
    flat = lightness.reshape(-1, lightness.shape[-1])
    scatter = (
        None if spread is None else np.broadcast_to(np.asarray(spread), lightness.shape).reshape(flat.shape)
    )
    rise, step, credible = np.full(len(flat), np.nan), np.full(len(flat), -1), np.zeros(len(flat), dtype=bool)
    for index, row in enumerate(flat):
        there = np.flatnonzero(np.isfinite(row))
        if there.size < 2:
            continue
        climbs = np.diff(row[there])
        most = int(climbs.argmax())
        rise[index] = max(float(climbs[most]), 0.0)
        if rise[index] > 0.0:
            step[index] = there[most + 1]
            if scatter is not None:
                of_two = np.hypot(scatter[index, there[most]], scatter[index, there[most + 1]])
                credible[index] = rise[index] > CREDIBLE.value * of_two
    return Reversal(rise.reshape(shape), step.reshape(shape), credible.reshape(shape))
