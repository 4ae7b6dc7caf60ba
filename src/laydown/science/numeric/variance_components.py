"""How much of a spread comes from which level: analysis of variance by the method of moments."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import fdtrc

from laydown.kernel.arrays import Floats, Ints
from laydown.kernel.constants import Constant

POOL_ABOVE = Constant(0.25, "probability", "AIAG measurement systems analysis manual", "from memory")


@dataclass(frozen=True, slots=True, eq=False)
class NestedComponents:
    """Per level, outermost first and the residual last (levels + 1, ...).

    ``variance`` is never below zero; ``raw`` may be, which says "no more than chance". ``df`` and
    ``mean_square`` belong to the same levels. A level without df (one member in every group above it) is NaN;
    its variance is then part of the level above.
    """

    variance: Floats
    raw: Floats
    mean_square: Floats
    df: Ints


@dataclass(frozen=True, slots=True)
class CrossedComponents:
    """Variances of a part x operator x trial table; ``interaction`` is 0 where it was pooled."""

    repeatability: float
    operator: float
    interaction: float
    part: float
    interaction_p: float
    pooled: bool

    @property
    def measurement(self) -> float:
        """Variance of measuring: repeatability, operator and their interaction with parts."""
        return self.repeatability + self.operator + self.interaction

    @property
    def total(self) -> float:
        """Variance of everything."""
        return self.measurement + self.part


def nested_components(values: ArrayLike, *, levels: Sequence[ArrayLike]) -> NestedComponents:
    """Variance components of a nested design, balanced or not.

    Such as sheet, place on the sheet, reading: every level lies inside the one before. Not for crossed
    designs, where the same operator meets every part.

    Parameters
    ----------
    values : (..., n) array
        Readings; leading axes are separate quantities with the same design. A NaN makes its slice NaN.
    levels : sequence of (n,) array of int
        Group numbers, outermost level first. The same number inside different outer groups means different
        inner groups.

    Returns
    -------
    NestedComponents
        Variances in squared units of ``values``.

    Raises
    ------
    ValueError
        A level whose length is not n.

    Notes
    -----
    Each mean square is set equal to its expectation and the system solved from the inside out (Henderson's
    first method). Unbiased before the cut at zero; unbalanced designs lose some precision, no more.

    References
    ----------
    C. R. Henderson, Biometrics 9 (1953) 226-252; S. R. Searle, G. Casella and C. E. McCulloch, Variance
    Components (1992).

    Checked against
    ---------------
    NIST StRD SmLs01-06 (certified sums of squares and F); simulation of unbalanced designs.

    Examples
    --------
    >>> found = nested_components([1.0, 1.2, 2.0, 2.2], levels=[[0, 0, 1, 1]])
    >>> [round(float(v), 2) for v in found.variance]
    [0.49, 0.02]
    """
    data = np.asarray(values, dtype=np.float64)
    size = data.shape[-1]
    if any(np.shape(level) != (size,) for level in levels):
        raise ValueError(f"every level needs {size} group numbers, one for each value")
    groups = _combined([np.asarray(level, dtype=np.int64) for level in levels], size)
    # A large common offset would eat the digits of small spreads.
    centred = data - data.mean(axis=-1, keepdims=True)
    fitted = [_group_means(centred, group) for group in groups]
    squares = np.stack([((inner - outer) ** 2).sum(axis=-1) for outer, inner in pairwise(fitted)])
    counts = np.asarray([group.max(initial=-1) + 1 for group in groups], dtype=np.int64)
    df = np.diff(counts)
    expected = np.diff(_coefficients(groups), axis=0)
    raw = np.full(squares.shape, np.nan)
    kept = np.flatnonzero(df > 0)
    if kept.size:
        flat = squares[kept].reshape(kept.size, -1)
        solved = np.linalg.solve(expected[np.ix_(kept, kept)], flat)
        raw[kept] = solved.reshape((kept.size, *squares.shape[1:]))
    shaped_df = df.reshape((-1,) + (1,) * (squares.ndim - 1))
    mean_square = np.where(shaped_df > 0, squares / np.maximum(shaped_df, 1), np.nan)
    return NestedComponents(variance=np.maximum(raw, 0.0), raw=raw, mean_square=mean_square, df=df)


def crossed_components(values: ArrayLike, *, pool_above: float = POOL_ABOVE.value) -> CrossedComponents:
    """Variance components of parts x operators x trials (gauge repeatability and reproducibility).

    Parameters
    ----------
    values : (parts, operators, trials) array
        A full table with at least two of each; no NaN.
    pool_above : float
        The interaction is pooled with repeatability where its p-value is above this.

    Returns
    -------
    CrossedComponents
        Variances in squared units of ``values``, cut at zero.

    Raises
    ------
    ValueError
        A table that is not full or has fewer than two of anything.

    References
    ----------
    AIAG, Measurement Systems Analysis, ANOVA method.

    Checked against
    ---------------
    The 10 x 3 x 3 example of that manual (data from memory of the source, output as published).
    """
    table = np.asarray(values, dtype=np.float64)
    if table.ndim != 3 or min(table.shape) < 2 or not np.isfinite(table).all():
        raise ValueError("a full table of at least two parts, two operators and two trials is needed")
    parts, operators, trials = table.shape
    cells = table.mean(axis=2)
    by_part, by_operator, grand = cells.mean(axis=1), cells.mean(axis=0), cells.mean()
    ms_part = operators * trials * np.sum((by_part - grand) ** 2) / (parts - 1)
    ms_operator = parts * trials * np.sum((by_operator - grand) ** 2) / (operators - 1)
    lack = cells - by_part[:, np.newaxis] - by_operator + grand
    df_lack, df_error = (parts - 1) * (operators - 1), parts * operators * (trials - 1)
    ss_lack, ss_error = trials * np.sum(lack**2), np.sum((table - cells[:, :, np.newaxis]) ** 2)
    ms_lack, ms_error = ss_lack / df_lack, ss_error / df_error
    p = float(fdtrc(df_lack, df_error, ms_lack / ms_error)) if ms_error > 0 else float(ms_lack == 0)
    pooled = p > pool_above
    if pooled:
        ms_error = ms_lack = (ss_lack + ss_error) / (df_lack + df_error)
    return CrossedComponents(
        repeatability=float(ms_error),
        operator=max(0.0, float(ms_operator - ms_lack) / (parts * trials)),
        interaction=max(0.0, float(ms_lack - ms_error) / trials),
        part=max(0.0, float(ms_part - ms_lack) / (operators * trials)),
        interaction_p=p,
        pooled=pooled,
    )


def _combined(levels: Sequence[Ints], size: int) -> list[Ints]:
    """Consecutive group numbers per level, from one group of all to one group per value."""
    groups = [np.zeros(size, dtype=np.int64)]
    for level in levels:
        both = np.stack([groups[-1], level])
        groups.append(np.unique(both, axis=1, return_inverse=True)[1].reshape(-1).astype(np.int64))
    groups.append(np.arange(size, dtype=np.int64))
    return groups


def _group_means(values: Floats, group: Ints) -> Floats:
    """Every value replaced by the mean of its group."""
    order = np.argsort(group, kind="stable")
    sizes = np.bincount(group)
    starts = np.concatenate([[0], np.cumsum(sizes)[:-1]])
    sums = np.add.reduceat(values[..., order], starts, axis=-1)
    return np.asarray((sums / sizes)[..., group])


def _coefficients(groups: Sequence[Ints]) -> Floats:
    """Factor of each component (columns: levels, residual) in each uncorrected sum of squares (rows)."""
    rows = []
    for outer in groups:
        sizes = np.bincount(outer)
        row = []
        for inner in groups[1:]:
            pair = np.unique(np.stack([outer, inner]), axis=1, return_counts=True)
            row.append(float(np.sum(pair[1] ** 2 / sizes[pair[0][0]])))
        rows.append(row)
    return np.asarray(rows)
