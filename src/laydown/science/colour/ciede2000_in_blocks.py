"""CIEDE2000, without trigonometry of hue angles, in blocks that stay in the cache.

Written out as Sharma, Wu and Dalal (2005) do, every pair needs some ten sines, cosines and arctangents. All
but three vanish when hues are kept as directions: the mean hue is the direction of the sum of the two unit
vectors, the hue difference is a cross product, and the cosines of multiples of the hue are polynomials.
What is left is a chain of multiplications, done in place on some thousand pairs at a time. Pairs of (nearly)
opposite hue, for which the sum of directions says nothing, and pairs with a colour without hue go through
the formula as published.
"""

from __future__ import annotations

import os
from itertools import pairwise
from math import cos, pi, radians, sin
from threading import Thread
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike

from laydown.kernel.arrays import Floats, Ints
from laydown.science.colour.ciede2000_sharma2005 import C7, as_published

# Pairs worked on at a time. Alone, a thread is quickest when its scratch stays in the second-level cache;
# in company, when each call is long enough that waiting for the interpreter lock in between does not matter.
_BLOCK_ALONE = 8_192
_BLOCK_SHARED = 32_768
_THREADED_FROM = 200_000  # pairs; below this, starting threads costs more than it saves
_OPPOSITE_WITHIN = 1e-5  # length of the sum of two unit vectors below which rounding shows in its direction

# T = 1 - 0.17 cos(h - 30) + 0.24 cos(2h) + 0.32 cos(3h + 6) - 0.20 cos(4h - 63), regrouped as P(c) + s Q(c)
# with c = cos h, s = sin h: highest power first.
_P = (
    8 * -0.20 * cos(radians(63)),
    4 * 0.32 * cos(radians(6)),
    2 * 0.24 - 8 * -0.20 * cos(radians(63)),
    -0.17 * cos(radians(30)) - 3 * 0.32 * cos(radians(6)),
    1 - 0.24 - 0.20 * cos(radians(63)),
)
_Q = (
    8 * -0.20 * sin(radians(63)),
    4 * -0.32 * sin(radians(6)),
    -4 * -0.20 * sin(radians(63)),
    -0.17 * sin(radians(30)) + 0.32 * sin(radians(6)),
)

Factors: TypeAlias = tuple[float, float, float]


def delta_e_2000(
    lab_1: ArrayLike,
    lab_2: ArrayLike,
    *,
    k_l: float = 1.0,
    k_c: float = 1.0,
    k_h: float = 1.0,
    threads: int | None = None,
) -> Floats:
    """Colour difference CIEDE2000.

    The difference to use for small differences between prints. Made for pairs less than about 5 apart;
    above that it ranks but does not measure.

    Parameters
    ----------
    lab_1, lab_2
        Lab, (..., 3), L* 0-100, broadcast against each other: (n, 1, 3) with (m, 3) gives every pair.
    k_l, k_c, k_h
        Parametric factors for lightness, chroma and hue; 1 for graphic arts, k_l = 2 for textiles.
    threads
        How many threads to share large inputs between; None for one per processor.

    Returns
    -------
    Floats
        dE00, (...). NaN where either colour is missing. Symmetric.

    Notes
    -----
    Near opposite hues the published formula jumps (pairs 9-15 of the source's table); there it is evaluated
    as published, and the last decimal of the machine's arctangent decides, as everywhere.

    References
    ----------
    G. Sharma, W. Wu, E. N. Dalal, Color Research and Application 30 (2005) 21-30; ISO/CIE 11664-6.

    Checked against
    ---------------
    The 34 pairs of the source's Table 1 to 5e-5; colour-science 0.4.7 ``delta_E_CIE2000`` to 1e-9.

    Examples
    --------
    >>> float(delta_e_2000([50.0, 2.6772, -79.7751], [50.0, 0.0, -82.7485]).round(4))
    2.0425
    """
    first, second = np.broadcast_arrays(np.asarray(lab_1, np.float64), np.asarray(lab_2, np.float64))
    shape = first.shape[:-1]
    pairs = int(np.prod(shape))
    one, two = first.reshape(pairs, 3), second.reshape(pairs, 3)
    out = np.empty(pairs)
    factors = (k_l, k_c, k_h)
    workers = 1 if pairs < _THREADED_FROM else (threads or os.cpu_count() or 1)
    if workers == 1:
        _fill(one, two, out, factors, _BLOCK_ALONE)
    else:
        _fill_in_threads(one, two, out, factors, workers)
    return out.reshape(shape)


def _fill_in_threads(one: Floats, two: Floats, out: Floats, factors: Factors, workers: int) -> None:
    """``_fill`` in equal parts side by side: numpy lets go of the interpreter lock inside its loops."""
    failures: list[Exception] = []

    def work(start: int, stop: int) -> None:
        try:
            _fill(one[start:stop], two[start:stop], out[start:stop], factors, _BLOCK_SHARED)
        except Exception as error:  # noqa: BLE001 - a thread would swallow it; raised again below
            failures.append(error)

    ends = np.linspace(0, len(out), workers + 1).astype(int).tolist()
    crew = [Thread(target=work, args=part) for part in pairwise(ends)]
    for worker in crew:
        worker.start()
    for worker in crew:
        worker.join()
    if failures:
        raise failures[0]


def _fill(one: Floats, two: Floats, out: Floats, factors: Factors, block: int) -> None:
    """Write dE00 of pairs (n, 3) into ``out`` (n,), block by block, in one set of scratch arrays."""
    size = min(block, len(out))
    halves, rows = np.empty((4, 2, size)), np.empty((6, size))
    k_l, k_c, k_h = factors
    with np.errstate(all="ignore"):  # settings of errstate are per thread, so it stands here
        for start in range(0, len(out), block):
            stop = min(start + block, len(out))
            scratch = halves[..., : stop - start], rows[:, : stop - start]
            odd = _block(one[start:stop], two[start:stop], out[start:stop], *scratch, factors)
            if odd.size:
                odd += start
                out[odd] = as_published(one[odd], two[odd], k_l=k_l, k_c=k_c, k_h=k_h)


def _block(one: Floats, two: Floats, out: Floats, halves: Floats, rows: Floats, factors: Factors) -> Ints:
    """The chain for one block; returns the places whose hues are opposite or absent.

    ``halves`` (k, 2, n) hold something of both colours of each pair, ``rows`` (k, n) something of the pair.
    """
    a, b, c, spare = halves
    cosine, sine, hue, chroma, u, v = rows
    for i, lab in enumerate((one, two)):
        np.copyto(a[i], lab[:, 1])
        np.copyto(b[i], lab[:, 2])
    k_l, k_c, k_h = factors
    _stretch(a, b, c, spare, u, v)
    odd = _directions(a, b, c, spare, rows)
    np.subtract(c[1], c[0], out=chroma)
    total = c[0]
    total += c[1]
    # weights: k_C S_C = k_C (1 + 0.045 C), k_H S_H = k_H (1 + 0.015 C T), C = total / 2; hue comes halved
    np.multiply(total, 0.0225 * k_c, out=u)
    u += k_c
    chroma /= u
    _polynomial(_P, cosine, u)
    _polynomial(_Q, cosine, v)
    v *= sine
    u += v
    u *= total
    u *= 0.00375 * k_h
    u += 0.5 * k_h
    hue /= u
    # the form chroma (chroma + R_T hue) + hue^2 + lightness^2, with R_T = -2 R7 sin(...)
    turn = a[0]
    _turn(cosine, sine, turn)
    _seventh_power_ratio(total, u, v)
    turn *= u
    turn *= hue
    turn += chroma
    turn *= chroma
    np.square(hue, out=hue)
    turn += hue
    _lightness(one[:, 0], two[:, 0], k_l, u, v)
    turn += u
    np.sqrt(turn, out=out)
    return odd


def _stretch(a: Floats, b: Floats, c: Floats, spare: Floats, u: Floats, v: Floats) -> None:
    """Stretch a* near the neutral axis in place, a' = a (1 + G) with 1 + G = 1.5 - 0.5 R7; c becomes C'."""
    np.square(b, out=spare)
    _length(a, spare, c)
    total = c[0]
    total += c[1]
    _seventh_power_ratio(total, u, v)
    u *= -0.5
    u += 1.5
    a *= u
    _length(a, spare, c)


def _directions(a: Floats, b: Floats, c: Floats, spare: Floats, rows: Floats) -> Ints:
    """Cosine and sine of the mean hue, and half the hue difference dH'; returns where they mean nothing.

    With m the sum of the unit vectors times C1'C2', dH' = 2 sqrt(C1'C2') (a1'b2' - b1'a2') / |m|.
    """
    cosine, sine, hue, _, length, product = rows
    crossed = c[::-1]
    np.multiply(a, crossed, out=spare)
    np.add(spare[0], spare[1], out=cosine)
    np.multiply(b, crossed, out=spare)
    np.add(spare[0], spare[1], out=sine)
    np.multiply(a, b[::-1], out=spare)
    np.subtract(spare[0], spare[1], out=hue)
    np.square(sine, out=product)
    _length(cosine, product, length)
    np.multiply(c[0], c[1], out=product)
    np.multiply(product, _OPPOSITE_WITHIN, out=spare[0])
    odd = np.flatnonzero(length <= spare[0])
    np.sqrt(product, out=product)
    hue *= product
    cosine /= length
    sine /= length
    hue /= length
    return odd


def _length(a: Floats, b_squared: Floats, out: Floats) -> None:
    """sqrt(a^2 + b^2); hypot guards against overflow that Lab cannot reach, at several times the cost."""
    np.square(a, out=out)
    out += b_squared
    np.sqrt(out, out=out)


def _seventh_power_ratio(total: Floats, out: Floats, spare: Floats) -> None:
    """sqrt(C^7 / (C^7 + 25^7)) from the sum of two chromas, C = total / 2."""
    np.square(total, out=spare)
    np.multiply(spare, total, out=out)
    out *= spare
    out *= spare
    np.add(out, 2.0**7 * C7, out=spare)
    out /= spare
    np.sqrt(out, out=out)


def _polynomial(coefficients: tuple[float, ...], x: Floats, out: Floats) -> None:
    """Horner's rule, in place."""
    np.multiply(x, coefficients[0], out=out)
    for coefficient in coefficients[1:-1]:
        out += coefficient
        out *= x
    out += coefficients[-1]


def _lightness(l1: Floats, l2: Floats, k_l: float, out: Floats, spare: Floats) -> None:
    """The squared lightness term, (dL' / (k_L S_L))^2.

    With p = L1 + L2 - 100, twice the mean from 50, and r = sqrt(80 + p^2): 1 / S_L = r / (r + 0.0075 p^2).
    """
    np.add(l1, l2, out=out)
    out -= 100.0
    np.square(out, out=out)
    np.add(out, 80.0, out=spare)
    np.sqrt(spare, out=spare)
    out *= 0.0075
    out += spare
    spare /= out
    np.subtract(l2, l1, out=out)
    out *= spare
    if k_l != 1.0:
        out /= k_l
    np.square(out, out=out)


def _turn(cosine: Floats, sine: Floats, out: Floats) -> None:
    """-2 sin(60 degrees exp(-((h - 275) / 25)^2)) for a hue h from 0 to 360 degrees; overwrites its inputs.

    The published term does not wrap round: a hue of 5 degrees is 270 from 275, not 90. So the arctangent is
    cut at h = 0, by turning both directions half round.
    """
    sine += 0.0  # -0.0 would land at 360 instead of 0
    np.negative(sine, out=sine)
    np.negative(cosine, out=cosine)
    np.arctan2(sine, cosine, out=out)
    out -= radians(95.0)
    np.square(out, out=out)
    out *= -((180.0 / (pi * 25.0)) ** 2)
    np.exp(out, out=out)
    # sin 2x = 2 tan x / (1 + tan^2 x): numpy's tangent is three times as quick as its sine where it has both
    out *= pi / 6.0
    np.tan(out, out=out)
    np.square(out, out=sine)
    sine += 1.0
    sine *= -0.25
    out /= sine
