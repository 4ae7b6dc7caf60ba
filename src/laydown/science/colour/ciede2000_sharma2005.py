"""CIEDE2000, without trigonometry of hue angles, in blocks that stay in the cache.

Written out as Sharma, Wu and Dalal (2005) do, every pair needs some ten sines, cosines and arctangents. All
but three vanish when hues are kept as directions: the mean hue is the direction of the sum of the two unit
vectors, and the cosines of its multiples are polynomials. What is left is a chain of multiplications done
in place on a few thousand pairs at a time. Pairs of (nearly) opposite hue, for which the sum of directions
says nothing, and pairs with a colour without hue go through the formula as published.
"""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor
from math import cos, radians, sin

import numpy as np
from numpy.typing import ArrayLike

from laydown.kernel.arrays import Floats

_BLOCK = 4096  # pairs; a dozen float64 rows of scratch then fit in the second-level cache of any desk machine
_THREADED_FROM = 100_000  # pairs; below this, starting threads costs more than it saves
_OPPOSITE_WITHIN = 1e-6  # length of the sum of two unit vectors below which its direction is rounding noise
_C7 = 25.0**7

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
        _fill(one, two, out, factors)
    else:
        edges = np.linspace(0, pairs, workers + 1).astype(int)
        with ThreadPoolExecutor(workers) as pool:  # numpy lets go of the interpreter lock inside its loops
            parts = [
                pool.submit(_fill, one[a:b], two[a:b], out[a:b], factors)
                for a, b in zip(edges[:-1], edges[1:])
            ]
            for part in parts:
                part.result()
    return out.reshape(shape)


def as_published(lab_1: Floats, lab_2: Floats, *, k_l: float, k_c: float, k_h: float) -> Floats:
    """CIEDE2000 of pairs (n, 3) step by step as the source prints it, angles in degrees. Slow, and the judge."""
    l1, a1, b1 = lab_1.T
    l2, a2, b2 = lab_2.T
    mean_c7 = (0.5 * (np.hypot(a1, b1) + np.hypot(a2, b2))) ** 7
    g = 0.5 * (1.0 - np.sqrt(mean_c7 / (mean_c7 + _C7)))
    c1, c2 = np.hypot((1.0 + g) * a1, b1), np.hypot((1.0 + g) * a2, b2)
    h1 = np.degrees(np.arctan2(b1, (1.0 + g) * a1)) % 360.0
    h2 = np.degrees(np.arctan2(b2, (1.0 + g) * a2)) % 360.0
    no_hue = c1 * c2 == 0.0
    dh = h2 - h1
    near = np.abs(dh) <= 180.0
    total = h1 + h2
    mean_h = np.where(near, total / 2.0, np.where(total < 360.0, total / 2.0 + 180.0, total / 2.0 - 180.0))
    mean_h = np.where(no_hue, total, mean_h)
    dh = np.where(no_hue, 0.0, np.where(near, dh, dh - np.copysign(360.0, dh)))
    d_hue = 2.0 * np.sqrt(c1 * c2) * np.sin(np.radians(dh / 2.0))
    mean_l, mean_c = (l1 + l2) / 2.0, (c1 + c2) / 2.0
    t = (
        1.0
        - 0.17 * np.cos(np.radians(mean_h - 30.0))
        + 0.24 * np.cos(np.radians(2.0 * mean_h))
        + 0.32 * np.cos(np.radians(3.0 * mean_h + 6.0))
        - 0.20 * np.cos(np.radians(4.0 * mean_h - 63.0))
    )
    s_l = 1.0 + 0.015 * (mean_l - 50.0) ** 2 / np.sqrt(20.0 + (mean_l - 50.0) ** 2)
    rotation = -np.sin(np.radians(60.0 * np.exp(-(((mean_h - 275.0) / 25.0) ** 2))))
    rotation *= 2.0 * np.sqrt(mean_c**7 / (mean_c**7 + _C7))
    lightness = (l2 - l1) / (k_l * s_l)
    chroma = (c2 - c1) / (k_c * (1.0 + 0.045 * mean_c))
    hue = d_hue / (k_h * (1.0 + 0.015 * mean_c * t))
    return np.asarray(np.sqrt(lightness**2 + chroma**2 + hue**2 + rotation * chroma * hue))


def _fill(one: Floats, two: Floats, out: Floats, factors: tuple[float, float, float]) -> None:
    """Write dE00 of pairs (n, 3) into ``out`` (n,), block by block."""
    rows = [np.empty(min(_BLOCK, len(out))) for _ in range(15)]
    k_l, k_c, k_h = factors
    with np.errstate(all="ignore"):  # settings of errstate are per thread, so it stands here
        for start in range(0, len(out), _BLOCK):
            stop = min(start + _BLOCK, len(out))
            scratch = [row[: stop - start] for row in rows]
            _block(one[start:stop], two[start:stop], out[start:stop], scratch, factors)
            length, product = scratch[0], scratch[1]
            odd = np.flatnonzero(length <= _OPPOSITE_WITHIN * product)
            if odd.size:
                odd += start
                out[odd] = as_published(one[odd], two[odd], k_l=k_l, k_c=k_c, k_h=k_h)


def _block(
    one: Floats, two: Floats, out: Floats, scratch: list[Floats], factors: tuple[float, float, float]
) -> None:
    """The chain for one block; leaves |sum of directions| C1'C2' and C1'C2' in the first two scratch rows."""
    length, cc, a1, b1, c1, a2, b2, c2, mc, u, v, w, x, y, z = scratch
    k_l, k_c, k_h = factors
    np.copyto(a1, one[:, 1])
    np.copyto(b1, one[:, 2])
    np.copyto(a2, two[:, 1])
    np.copyto(b2, two[:, 2])
    # chroma with a* stretched near the neutral axis: a' = a (1 + G), 1 + G = 1.5 - 0.5 R7
    np.multiply(b1, b1, out=x)
    np.multiply(b2, b2, out=y)
    _length(a1, x, c1)
    _length(a2, y, c2)
    np.add(c1, c2, out=mc)
    mc *= 0.5
    _seventh_power_ratio(mc, u, v)
    u *= -0.5
    u += 1.5
    a1 *= u
    a2 *= u
    _length(a1, x, c1)
    _length(a2, y, c2)
    np.multiply(c1, c2, out=cc)
    np.add(c1, c2, out=mc)
    mc *= 0.5
    # direction of the mean hue, kept in x (cosine) and y (sine)
    np.multiply(a1, c2, out=x)
    np.multiply(a2, c1, out=u)
    x += u
    np.multiply(b1, c2, out=y)
    np.multiply(b2, c1, out=u)
    y += u
    np.multiply(y, y, out=u)
    _length(x, u, length)
    x /= length
    y /= length
    # hue difference: its square from the sides of the triangle, its sign from the cross product
    np.multiply(a1, b2, out=z)
    np.multiply(a2, b1, out=u)
    z -= u
    a2 -= a1
    b2 -= b1
    c2 -= c1
    a2 *= a2
    b2 *= b2
    a2 += b2
    np.multiply(c2, c2, out=u)
    a2 -= u
    np.maximum(a2, 0.0, out=a2)
    np.sqrt(a2, out=a2)
    np.copysign(a2, z, out=z)
    # S_H = 1 + 0.015 C T, S_C = 1 + 0.045 C
    _polynomial(_P, x, u)
    _polynomial(_Q, x, v)
    v *= y
    u += v
    u *= mc
    u *= 0.015
    u += 1.0
    z /= u
    np.multiply(mc, 0.045, out=u)
    u += 1.0
    c2 /= u
    if k_h != 1.0:
        z /= k_h
    if k_c != 1.0:
        c2 /= k_c
    # rotation: R_T = -2 R7 sin(60 exp(-((h - 275) / 25)^2))
    _turn(x, y, w)
    _seventh_power_ratio(mc, u, v)
    w *= u
    w *= -2.0
    # lightness
    np.subtract(two[:, 0], one[:, 0], out=a1)
    np.add(two[:, 0], one[:, 0], out=b1)
    b1 *= 0.5
    b1 -= 50.0
    b1 *= b1
    np.add(b1, 20.0, out=u)
    np.sqrt(u, out=u)
    b1 /= u
    b1 *= 0.015
    b1 += 1.0
    a1 /= b1
    if k_l != 1.0:
        a1 /= k_l
    # sum of squares: chroma (chroma + turn hue) + hue^2 + lightness^2
    w *= z
    w += c2
    w *= c2
    z *= z
    w += z
    a1 *= a1
    w += a1
    np.sqrt(w, out=out)


def _length(a: Floats, b_squared: Floats, out: Floats) -> None:
    """sqrt(a^2 + b^2); hypot guards against overflow that Lab cannot reach, at several times the cost."""
    np.multiply(a, a, out=out)
    out += b_squared
    np.sqrt(out, out=out)


def _seventh_power_ratio(chroma: Floats, out: Floats, spare: Floats) -> None:
    """sqrt(C^7 / (C^7 + 25^7))."""
    np.multiply(chroma, chroma, out=spare)
    np.multiply(spare, chroma, out=out)
    out *= spare
    out *= spare
    np.add(out, _C7, out=spare)
    out /= spare
    np.sqrt(out, out=out)


def _polynomial(coefficients: tuple[float, ...], x: Floats, out: Floats) -> None:
    """Horner's rule, in place."""
    np.multiply(x, coefficients[0], out=out)
    for coefficient in coefficients[1:-1]:
        out += coefficient
        out *= x
    out += coefficients[-1]


def _turn(cosine: Floats, sine: Floats, out: Floats) -> None:
    """sin(60 degrees exp(-((h - 275) / 25)^2)) for a hue h from 0 to 360 degrees; overwrites its inputs.

    The published term does not wrap round: a hue of 5 degrees is 270 from 275, not 90. So the arctangent is
    cut at h = 0, by turning both directions half round.
    """
    sine += 0.0  # -0.0 would land at 360 instead of 0
    np.negative(sine, out=sine)
    np.negative(cosine, out=cosine)
    np.arctan2(sine, cosine, out=out)
    out -= radians(95.0)
    out *= 180.0 / (np.pi * 25.0)
    out *= out
    np.negative(out, out=out)
    np.exp(out, out=out)
    out *= np.pi / 3.0
    np.sin(out, out=out)
