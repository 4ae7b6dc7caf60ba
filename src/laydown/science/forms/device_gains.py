"""Which rows of a file have the device values of which places."""

from __future__ import annotations

import numpy as np

from laydown.kernel.arrays import Bools, Floats, Ints
from laydown.kernel.constants import Constant
from laydown.science.forms.alignment import Gains

IN_PERCENT = Constant(0.0051, "of full scale", "rounding to whole percent, and a hair", "computed")
IN_CODES = Constant(0.0021, "of full scale", "rounding to 8-bit codes, and a hair", "computed")


def rounding(device: Floats) -> float:
    """How far device values of a file may lie from those that were printed, from how they are rounded.

    Parameters
    ----------
    device : (m, k) 0 to 1

    Returns
    -------
    float, of full scale

    Checked against
    ---------------
    Device values rounded to whole percent, to 8-bit codes and not at all.
    """
    known = device[np.isfinite(device)]
    percent = bool(np.all(np.abs(known * 100.0 - np.round(known * 100.0)) < 1e-3))
    return IN_PERCENT.value if percent else IN_CODES.value


def device_gains(device: Floats, page: Floats) -> Gains:
    """What is gained by taking every row of a file for every place, from device values.

    Parameters
    ----------
    device : (m, k) of the file's rows, 0 to 1; NaN where not stated
    page : (n, k) of the places

    Returns
    -------
    (m, n) 1 where they are the same, a little less the farther they are apart within rounding, -1 where they
    differ; 0 where not stated

    Checked against
    ---------------
    Device values rounded in every usual way.
    """
    within = rounding(device)
    apart = np.zeros((len(device), len(page)), dtype=np.float32)
    for one, other in zip(device.T.astype(np.float32), page.T.astype(np.float32), strict=True):
        np.maximum(apart, np.abs(one[:, None] - other), out=apart)
    same = apart <= within
    gains: Gains = np.full(apart.shape, -1.0, dtype=np.float32)
    gains[same] = 1.0 - 0.1 * (apart[same] / np.float32(within)) ** 2
    gains[~np.isfinite(device).all(axis=1)] = 0.0
    return gains


def shared_colours(device: Floats, page: Floats) -> Bools:
    """Which rows of a file have device values that occur on a page at all.

    Parameters
    ----------
    device : (m, k) of the file's rows
    page : (n, k) of the places

    Returns
    -------
    (m,) quick to tell, so that pages of other forms need not be looked at

    Checked against
    ---------------
    ``device_gains``.
    """
    from scipy.spatial import cKDTree

    if not len(page):
        return np.zeros(len(device), dtype=np.bool_)
    apart, _ = cKDTree(page).query(np.nan_to_num(device, nan=9.0), p=np.inf)
    return np.asarray(apart <= rounding(device))


def listed(gains: Gains) -> Ints:
    """The place of each row by its device values, whatever the order; repeats of a colour as they come.

    Parameters
    ----------
    gains : (m, n) from ``device_gains``

    Returns
    -------
    (m,) place of each row, -1 for none

    Checked against
    ---------------
    Pages sorted by colour.
    """
    place_of = np.full(len(gains), -1, dtype=np.int64)
    left = np.where(gains > 0.0, gains, -np.inf)
    for row in np.flatnonzero(left.max(axis=1, initial=-np.inf) > 0.0):
        place = int(left[row].argmax())
        if left[row, place] > 0.0:
            place_of[row] = place
            left[:, place] = -np.inf
    return place_of
