"""Mean colour difference from the mean: how far repeats of one colour lie from their own middle."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from laydown.kernel.arrays import Floats, Ints
from laydown.science.colour import delta_e_76, delta_e_2000

Formula = Literal["dE00", "dE76"]
_FORMULAS: dict[str, Callable[[Floats, Floats], Floats]] = {"dE00": delta_e_2000, "dE76": delta_e_76}


@dataclass(frozen=True, slots=True, eq=False)
class RepeatSpread:
    """Spread of patches with the same device colour on one sheet, in ``formula`` units.

    ``mean`` is the MCDM averaged over colours, ``p95`` and ``max`` are over all single readings. ``groups``
    is the number of colours with at least two readings, ``repeats`` how many readings they have in all;
    ``per_group`` (groups,) the MCDM of each and ``group_numbers`` which group it is.
    """

    mean: float
    p95: float
    max: float
    groups: int
    repeats: int
    per_group: Floats
    group_numbers: Ints
    formula: Formula


@dataclass(frozen=True, slots=True, eq=False)
class PatchSpread:
    """Spread of each patch over repeats of the whole chart, in ``formula`` units.

    ``mean``, ``p95`` and ``max`` are over the MCDM of all patches, ``per_patch`` (n,); ``worst`` is the place
    of the largest. ``repeats`` is the number of charts. NaN patches were read fewer than twice.
    """

    mean: float
    p95: float
    max: float
    worst: int
    repeats: int
    per_patch: Floats
    formula: Formula


def mcdm(labs: ArrayLike, *, formula: Formula = "dE00") -> Floats:
    """Mean colour difference of repeats from their mean Lab.

    With few repeats it is too small, because the mean follows the readings: for equal normal noise of SD
    sigma on each axis its expectation in dE76 is ``1.596 sigma sqrt((r - 1) / r)``. Compare only values from
    equally many repeats.

    Parameters
    ----------
    labs : (r, ..., 3) array
        Repeats of Lab along the first axis; NaN where a reading is missing.
    formula : str
        "dE00" (CIEDE2000) or "dE76".

    Returns
    -------
    (...) array
        In the formula's unit; NaN where fewer than two readings are there.

    References
    ----------
    ASTM E2214.

    Checked against
    ---------------
    ``sigma sqrt(8 / pi) sqrt((r - 1) / r)`` for simulated normal noise.
    """
    distance = distances(labs, formula=formula)
    present = np.isfinite(distance)
    count = present.sum(axis=0)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.where(count >= 2, np.where(present, distance, 0.0).sum(axis=0) / count, np.nan)


def distances(labs: ArrayLike, *, formula: Formula = "dE00") -> Floats:
    """Colour difference of every repeat from the mean Lab of its repeats.

    Parameters
    ----------
    labs : (r, ..., 3) array
        Repeats along the first axis.
    formula : str
        "dE00" or "dE76".

    Returns
    -------
    (r, ...) array
        NaN where a reading is missing or stands alone.

    Checked against
    ---------------
    Hand calculation in the tests.
    """
    data = np.asarray(labs, dtype=np.float64)
    present = np.asarray(np.isfinite(data).all(axis=-1))
    count = np.asarray(present.sum(axis=0))
    with np.errstate(invalid="ignore", divide="ignore"):
        mean = np.where(present[..., np.newaxis], data, 0.0).sum(axis=0) / count[..., np.newaxis]
    found = _FORMULAS[formula](np.broadcast_to(mean, data.shape), data)
    return np.where(present & (count >= 2), found, np.nan)


def repeat_mcdm(lab: ArrayLike, *, groups: ArrayLike, formula: Formula = "dE00") -> RepeatSpread:
    """Spread inside one sheet, from patches that were sent the same device colour.

    It holds everything that differs from place to place on a sheet (printing, paper, reading). It says
    nothing about the next sheet.

    Parameters
    ----------
    lab : (n, 3) array
        One sheet.
    groups : (n,) array of int
        Equal numbers mean equal device colours; negative numbers are left out.
    formula : str
        "dE00" or "dE76".

    Returns
    -------
    RepeatSpread
        In the formula's unit.

    Notes
    -----
    Where no device colour was read twice, ``groups`` and ``repeats`` are 0 and the numbers NaN.

    References
    ----------
    ASTM E2214.

    Checked against
    ---------------
    Hand calculation and simulated noise in the tests.
    """
    data, numbers = np.asarray(lab, dtype=np.float64), np.asarray(groups, dtype=np.int64)
    single: list[Floats] = []
    means: list[float] = []
    kept: list[int] = []
    usable = np.flatnonzero((numbers >= 0) & np.isfinite(data).all(axis=-1))
    order = usable[np.argsort(numbers[usable], kind="stable")]
    found, starts, counts = np.unique(numbers[order], return_index=True, return_counts=True)
    for number, start, count in zip(found, starts, counts, strict=True):
        if count >= 2:
            distance = distances(data[order[start : start + count]], formula=formula)
            single.append(distance)
            means.append(float(distance.mean()))
            kept.append(int(number))
    every = np.concatenate(single) if single else np.empty(0)
    _, p95, largest = _summary(every)
    return RepeatSpread(
        mean=_summary(np.asarray(means))[0],
        p95=p95,
        max=largest,
        groups=len(kept),
        repeats=int(every.size),
        per_group=np.asarray(means),
        group_numbers=np.asarray(kept, dtype=np.int64),
        formula=formula,
    )


def sheet_to_sheet(labs: ArrayLike, *, formula: Formula = "dE00") -> PatchSpread:
    """Spread of each patch over several sheets, or over several readings of one sheet.

    Parameters
    ----------
    labs : (s, n, 3) array
        The same patches in the same order on each of s sheets (or readings); NaN where missing.
    formula : str
        "dE00" or "dE76".

    Returns
    -------
    PatchSpread
        In the formula's unit.

    Notes
    -----
    Where no patch was read twice the numbers are NaN and ``worst`` is -1.

    References
    ----------
    ASTM E2214.

    Checked against
    ---------------
    Hand calculation and simulated noise in the tests.
    """
    data = np.asarray(labs, dtype=np.float64)
    per_patch = mcdm(data, formula=formula)
    known = np.isfinite(per_patch)
    mean, p95, largest = _summary(per_patch[known])
    return PatchSpread(
        mean=mean,
        p95=p95,
        max=largest,
        worst=int(np.argmax(np.where(known, per_patch, -1.0))) if known.any() else -1,
        repeats=int(data.shape[0]),
        per_patch=per_patch,
        formula=formula,
    )


def _summary(values: Floats) -> tuple[float, float, float]:
    """Mean, 95th percentile and maximum; NaN where there is nothing."""
    if not values.size:
        return float("nan"), float("nan"), float("nan")
    return float(values.mean()), float(np.percentile(values, 95.0)), float(values.max())
