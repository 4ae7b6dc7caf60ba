"""Steps of the neutral ramp that cannot be told from the next darker one."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Bools, Floats, Ints
from laydown.kernel.constants import Constant
from laydown.science.colour import delta_e_2000

TOLD_APART = Constant(
    0.3,
    "dE00",
    "common practice, no source: about as much as two patches of one colour differ on one sheet",
    "common practice, no source",
)


@dataclass(frozen=True, slots=True, eq=False)
class LostSteps:
    """Steps that are lost.

    ``shadow`` and ``highlight`` (...) count them in the dark and in the light half of the ramp's L*; ``lost``
    (..., s) marks each step that cannot be told from the next; the last step never is.
    """

    shadow: Ints
    highlight: Ints
    lost: Bools


def lost_steps(lab_ramp: Floats, *, threshold: Constant = TOLD_APART) -> LostSteps:
    """Count the steps of a ramp that are not told from the next darker step.

    A step is lost where the next differs by less than the threshold, or is not darker at all. The count
    depends on how fine the ramp is: compare it only between media printed with the same chart.

    Parameters
    ----------
    lab_ramp : array (..., s, 3), CIELAB from paper to full ink
    threshold : Constant, dE00

    Returns
    -------
    LostSteps, in steps.

    Notes
    -----
    A step belongs to the shadows where its L* lies below the middle between the lightest and the darkest step
    of the ramp. A step with a missing value, or before one, is not counted as lost. Scatter makes steps
    differ by accident, so that a count from one noisy sheet is rather too low.

    References
    ----------
    The threshold is common practice, without a source; CIEDE2000: Sharma, Wu & Dalal (2005).

    Checked against
    ---------------
    Ramps with planted equal and reversed steps.
    """
    lab = np.asarray(lab_ramp, dtype=np.float64)
    lost = np.zeros(lab.shape[:-1], dtype=bool)
    if lab.shape[-2] < 2:
        return LostSteps(lost.sum(axis=-1), lost.sum(axis=-1), lost)
    here, following = lab[..., :-1, :], lab[..., 1:, :]
    close = delta_e_2000(here, following) < threshold.value
    lost[..., :-1] = close | (following[..., 0] >= here[..., 0])
    lightness = lab[..., 0]
    known = np.isfinite(lightness)
    lightest = np.where(known, lightness, -np.inf).max(axis=-1, keepdims=True)
    darkest = np.where(known, lightness, np.inf).min(axis=-1, keepdims=True)
    with np.errstate(invalid="ignore"):  # a ramp without any value has no middle, and no lost step either
        dark = lightness < (lightest + darkest) / 2.0
    return LostSteps((lost & dark).sum(axis=-1), (lost & ~dark).sum(axis=-1), lost)
