"""How well a medium hides what lies behind it."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from laydown.kernel.arrays import Floats


def opacity(y_black_backing: ArrayLike, y_white_backing: ArrayLike) -> Floats:
    """Opacity of an unprinted medium: what is left of its luminance when the backing turns black.

    The contrast ratio that ISO 13655 backings give. Not the opacity of ISO 2471 on a data sheet, which
    divides by a pile of the medium itself; the two may not be compared.

    Parameters
    ----------
    y_black_backing, y_white_backing
        Y (D50, 2 degrees) of the medium over a black and over a white backing, (...), 0-100.

    Returns
    -------
    Floats
        (...), percent: 100 hides everything. NaN where a reading is missing or the white one is not positive.

    Notes
    -----
    Above 100 by more than the scatter of the readings means that the backings were mixed up.

    References
    ----------
    ISO 13655; ISO 15397.

    Checked against
    ---------------
    Definition.
    """
    over_white = np.asarray(y_white_backing, dtype=np.float64)
    over_white = np.where(over_white > 0.0, over_white, np.nan)
    return np.asarray(100.0 * np.asarray(y_black_backing, dtype=np.float64) / over_white)
