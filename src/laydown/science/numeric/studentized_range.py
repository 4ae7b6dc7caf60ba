"""The studentized range: the largest difference among k means, measured in standard errors.

``Q = R / s`` where R is the range of k standard normals and ``s**2`` an independent ``chi2 / df``. Two forms
of the same probability are used, each where it is smooth:

* few degrees of freedom: ``P(Q > q) = E_R[P(s < R / q)]``; the nodes and weights in R depend on k only, and
  the tail keeps its relative accuracy because nothing is subtracted from one;
* many: ``P(Q > q) = E_s[P(R > q s)]``, since s is then close to one.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import gammainc, gammaln, ndtr, stdtr

from laydown.kernel.arrays import Floats, Ints

_MANY_DF = 60.0  # above this, nine standard deviations of s stay clear of zero
_Z_REACH = 8.5  # the normal density beyond is below 1e-16
_Z_STEP = 0.125  # the trapezium rule on this smooth integrand is exact to 1e-13 at this step
_BLOCK = 200_000  # values handled at once, so that memory stays bounded


def studentized_range_sf(q: ArrayLike, *, k: ArrayLike, df: ArrayLike) -> Floats:
    """Probability that the studentized range of ``k`` means exceeds ``q``.

    The p-value of Tukey's comparison of all pairs. Much faster than general-purpose versions on many values;
    not meant for more than a few hundred means.

    Parameters
    ----------
    q : array
        Observed range in standard errors of one mean; values below 0 count as 0.
    k : array of int
        Number of means, at least 2.
    df : array
        Degrees of freedom of the standard error, above 0; ``inf`` where it is known.

    Returns
    -------
    array
        Probability, broadcast over the arguments; NaN where an argument is NaN or out of range.

    Notes
    -----
    Gauss-Legendre nodes. For q above 0.5 the relative error is below 1e-5 where p is above 1e-7 (k up to 20,
    df from 1); nearer to q = 0, where p is close to 1, the absolute error is below 2e-4.

    References
    ----------
    J. W. Tukey, The problem of multiple comparisons (1953); C. Y. Kramer, Biometrics 12 (1956) 307-310.

    Checked against
    ---------------
    ``scipy.stats.studentized_range``; NIST/SEMATECH e-Handbook 7.4.7.1.

    Examples
    --------
    >>> round(float(studentized_range_sf(4.046, k=4, df=16)), 4)
    0.05
    """
    q_all, k_all, df_all = np.broadcast_arrays(
        np.asarray(q, dtype=np.float64), np.asarray(k, dtype=np.float64), np.asarray(df, dtype=np.float64)
    )
    shape = q_all.shape
    flat_q, flat_k, flat_df = q_all.ravel(), k_all.ravel(), df_all.ravel()
    out = np.full(flat_q.shape, np.nan)
    known = (flat_k >= 2) & (flat_df > 0) & ~np.isnan(flat_q)
    out[known & (flat_q <= 0)] = 1.0
    known &= flat_q > 0
    two = known & (flat_k == 2)  # the range of two is a difference: Student's t
    out[two] = 2.0 * stdtr(flat_df[two], -flat_q[two] / np.sqrt(2.0))
    known &= ~two
    few = known & (flat_df <= _MANY_DF)
    for means in np.unique(flat_k[known]):
        for chosen, method in ((few, _sf_few_df), (known & ~few, _sf_many_df)):
            places = np.flatnonzero(chosen & (flat_k == means))
            for part in _blocks(places, _BLOCK if method is _sf_few_df else _BLOCK // 10):
                out[part] = method(flat_q[part], int(means), flat_df[part])
    return np.asarray(np.clip(out, 0.0, 1.0).reshape(shape))


def studentized_range_ppf(upper: ArrayLike, *, k: int, df: ArrayLike) -> Floats:
    """Range in standard errors that is exceeded with probability ``upper``.

    Parameters
    ----------
    upper : array
        Upper-tail probability, between 0 and 1 (0.05 for the usual table).
    k : int
        Number of means, at least 2.
    df : array
        Degrees of freedom, above 0.

    Returns
    -------
    array
        The critical range, broadcast over ``upper`` and ``df``.

    Notes
    -----
    Bisection on the logarithm, 46 halvings of the span 1e-6 to 1e9; the result is 1e9 where the true value is
    larger.

    Checked against
    ---------------
    ``scipy.stats.studentized_range.ppf``; NIST/SEMATECH 7.4.7.1 (4.046 for k 4, df 16; 4.65 for k 5, df 10).
    """
    tail, freedom = np.broadcast_arrays(np.asarray(upper, dtype=np.float64), np.asarray(df, dtype=np.float64))
    low = np.full(tail.shape, np.log(1e-6))
    high = np.full(tail.shape, np.log(1e9))
    for _ in range(46):
        middle = 0.5 * (low + high)
        above = studentized_range_sf(np.exp(middle), k=k, df=freedom) > tail
        low = np.where(above, middle, low)
        high = np.where(above, high, middle)
    return np.where(np.isnan(tail + freedom), np.nan, np.exp(0.5 * (low + high)))


def _blocks(places: Ints, size: int) -> list[Ints]:
    """Consecutive parts of ``places`` of at most ``size``."""
    return [places[start : start + size] for start in range(0, places.size, size)]


@lru_cache(maxsize=64)
def _range_nodes(k: int) -> tuple[Floats, Floats]:
    """Nodes and probability weights of the range of k standard normals."""
    reach = 2.0 * np.sqrt(2.0 * np.log(k)) + 10.0
    x, weight = np.polynomial.legendre.leggauss(96)
    nodes = 0.5 * reach * (x + 1.0)
    z = np.arange(-_Z_REACH, _Z_REACH + _Z_STEP / 2, _Z_STEP)
    lower = z - nodes[:, np.newaxis]
    between = ndtr(z) - ndtr(lower)
    density = between ** (k - 2) * np.exp(-0.5 * (z**2 + lower**2)) / (2.0 * np.pi)
    weights = 0.5 * reach * weight * k * (k - 1) * _Z_STEP * density.sum(axis=-1)
    weights /= weights.sum()
    nodes.flags.writeable = weights.flags.writeable = False
    return nodes, weights


def _sf_few_df(q: Floats, k: int, df: Floats) -> Floats:
    """E over the range R of P(s < R / q)."""
    nodes, weights = _range_nodes(k)
    out = np.zeros(q.shape)
    for node, weight in zip(nodes, weights, strict=True):
        out += weight * gammainc(0.5 * df, 0.5 * df * (node / q) ** 2)
    return out


def _sf_many_df(q: Floats, k: int, df: Floats) -> Floats:
    """E over s of P(R > q s), s within nine of its standard deviations."""
    x, weight = np.polynomial.legendre.leggauss(40)
    known = np.isinf(df)
    freedom = np.where(known, 1e12, df)[:, np.newaxis]
    half = 9.0 / np.sqrt(2.0 * freedom)
    s = 1.0 + half * x
    log_constant = 0.5 * freedom * np.log(0.5 * freedom) - gammaln(0.5 * freedom) + np.log(2.0)
    density = np.exp(log_constant + (freedom - 1.0) * np.log(s) - 0.5 * freedom * s**2)
    weights = half * weight * density
    weights = weights / weights.sum(axis=-1, keepdims=True)
    return np.asarray((weights * _range_sf(q[:, np.newaxis] * s, k)).sum(axis=-1))


def _range_sf(w: Floats, k: int) -> Floats:
    """P(range of k standard normals > w)."""
    out = np.zeros(w.shape)
    for z in np.arange(-_Z_REACH, _Z_REACH + _Z_STEP / 2, _Z_STEP):
        top = ndtr(z)
        # 1 - P(R <= w), written as the part of the top value's law that w does not reach.
        out += np.exp(-0.5 * z**2) * (top ** (k - 1) - (top - ndtr(z - w)) ** (k - 1))
    return np.asarray(out * (k * _Z_STEP / np.sqrt(2.0 * np.pi)))
