"""The darkest colour on a chart, and whether more ink still made it darker."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Bools, Floats, Ints
from laydown.kernel.errors import NotEnoughData
from laydown.science.tone.ramps import RGB, SAME_LEVEL


@dataclass(frozen=True, slots=True, eq=False)
class Darkest:
    """The darkest colour found.

    ``index`` (...) is its row, -1 where there is no value; ``lightness`` and ``chroma`` (...) its L* and C*.
    ``full_ink`` is the row with most ink and ``is_full_ink`` (...) whether the darkest is that one (or has
    the same device values). ``hook`` (...) is how much lighter full ink is than the darkest colour, in L*:
    0 where full ink is the darkest, above 0 where more ink gave less black.
    """

    index: Ints
    lightness: Floats
    chroma: Floats
    full_ink: int
    is_full_ink: Bools
    hook: Floats


def darkest(lab: Floats, device: Floats, *, channels: Sequence[str] = RGB) -> Darkest:
    """Find the darkest colour on a chart, wherever it is.

    The darkest patch is often not the one with most ink: beyond a medium's limit ink sinks in or runs
    together. Give the mean of repeated patches, or the darkest of many readings is partly chosen by noise;
    a hook smaller than the scatter of two dark patches is no hook.

    Parameters
    ----------
    lab : array (..., u, 3), CIELAB
    device : array (u, k), 0-1
        RGB: 1 = full light. Inks: 1 = full ink.
    channels : names of the columns

    Returns
    -------
    Darkest

    Raises
    ------
    NotEnoughData
        There is no patch at all.

    Notes
    -----
    Full ink is the least light (RGB) or the largest sum of inks. On an ink chart that may be 400 %, which is
    lighter than a good black on many media; the hook then says so and no more.

    Checked against
    ---------------
    Charts with a planted darkest patch; a real matte chart, whose darkest patch is RGB 0.
    """
    colours = np.asarray(lab, dtype=np.float64)
    amounts = np.asarray(device, dtype=np.float64)
    if amounts.shape[0] == 0 or colours.shape[-2] == 0:
        raise NotEnoughData(
            "there is no patch to find the darkest of.", todo="Check that the chart was read."
        )
    ink = 1.0 - amounts if tuple(channels) == RGB else amounts
    full = int(np.nanargmax(ink.sum(axis=1)))
    lightness = colours[..., 0]
    known = np.isfinite(lightness)
    index = np.where(known, lightness, np.inf).argmin(axis=-1)
    some = known.any(axis=-1)
    picked = np.take_along_axis(colours, index[..., None, None], axis=-2)[..., 0, :]
    alike = (np.abs(amounts - amounts[full]) <= SAME_LEVEL.value).all(axis=1)
    return Darkest(
        index=np.where(some, index, -1),
        lightness=np.where(some, picked[..., 0], np.nan),
        chroma=np.where(some, np.hypot(picked[..., 1], picked[..., 2]), np.nan),
        full_ink=full,
        is_full_ink=some & alike[index],
        hook=np.where(some & alike[index], 0.0, lightness[..., full] - picked[..., 0]),
    )
