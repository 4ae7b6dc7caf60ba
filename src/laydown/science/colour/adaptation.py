"""Chromatic adaptation: the XYZ that looks the same under another white."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from laydown.kernel.arrays import Floats

# Lam's Bradford cone response as published in ICC.1 (ISO 15076-1), annex E.
_BRADFORD = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])


def bradford_matrix(*, from_white: ArrayLike, to_white: ArrayLike) -> Floats:
    """The matrix that takes XYZ seen under one white to XYZ that looks the same under another.

    Parameters
    ----------
    from_white, to_white
        XYZ of the two whites, (3,), on the same scale.

    Returns
    -------
    Floats
        (3, 3), for ``xyz @ matrix.T``.

    References
    ----------
    ISO 15076-1 (ICC.1), annex E: linear Bradford.

    Checked against
    ---------------
    colour-science 0.4.7 ``matrix_chromatic_adaptation_VonKries``.
    """
    source = _BRADFORD @ np.asarray(from_white, dtype=np.float64)
    target = _BRADFORD @ np.asarray(to_white, dtype=np.float64)
    return np.asarray(np.linalg.inv(_BRADFORD) @ ((target / source)[:, None] * _BRADFORD))


def adapt_bradford(xyz: ArrayLike, *, from_white: ArrayLike, to_white: ArrayLike) -> Floats:
    """Adapt XYZ from one white to another by the linear Bradford transform.

    Use it to show colours measured for one light under another. It cannot stand in for a spectrum: two
    spectra with one XYZ may differ under the other light.

    Parameters
    ----------
    xyz
        (..., 3), Y = 100 for the perfect diffuser.
    from_white, to_white
        XYZ of the two whites, (3,).

    Returns
    -------
    Floats
        XYZ, (..., 3).

    References
    ----------
    ISO 15076-1 (ICC.1), annex E.

    Checked against
    ---------------
    colour-science 0.4.7 ``chromatic_adaptation_VonKries`` with ``transform="Bradford"``.
    """
    matrix = bradford_matrix(from_white=from_white, to_white=to_white)
    return np.asarray(np.asarray(xyz, dtype=np.float64) @ matrix.T)
