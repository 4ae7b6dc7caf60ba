"""Leaves before leaves: greens from near black to sunlit, in depth."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.science.forms.scenes.light import linear, painted, step
from laydown.science.forms.scenes.noise import Hills, hills

#: Device values of leaves from shade to sun, and of young and turning ones: chosen here.
GREENS = (
    (0.13, 0.26, 0.14),
    (0.20, 0.38, 0.17),
    (0.31, 0.50, 0.20),
    (0.46, 0.62, 0.24),
    (0.63, 0.70, 0.28),
    (0.70, 0.55, 0.22),
)
_SUN_FROM = np.array([-0.55, -0.83])  # the way light comes on the page
_HAZE = (0.16, 0.27, 0.23)


@dataclass(frozen=True, slots=True)
class _Layer:
    """How many twigs, the size of a leaf and its blur (shares of the height), light, and depth of haze."""

    twigs: int
    size: float
    sun: float
    blur: float
    haze: float


_LAYERS = (
    _Layer(16, 0.100, 0.34, 0.0080, 0.55),
    _Layer(13, 0.125, 0.52, 0.0030, 0.32),
    _Layer(11, 0.150, 0.80, 0.0009, 0.12),
    _Layer(6, 0.200, 1.12, 0.0004, 0.00),
)


@dataclass(frozen=True, slots=True)
class _Leaf:
    """Where its stalk is, the way it points, its length and width, how it bends, and its look."""

    x: float
    y: float
    angle: float
    length: float
    width: float
    bend: float
    colour: tuple[float, float, float]
    light: float
    seed: float


@dataclass(frozen=True, slots=True)
class _Twig:
    """Points along its stalk, its leaves from the stalk's root to its tip, and how deep in the wood it is."""

    points: tuple[tuple[float, float], ...]
    leaves: tuple[_Leaf, ...]
    layer: _Layer


_Spot = tuple[float, float, float, float]


def foliage_scene(rng: np.random.Generator, *, width_mm: float, height_mm: float, ppi: float) -> Floats:
    """Twigs with leaves in four depths, the farthest soft and hazy, the nearest sharp and sunlit.

    Greens differ between media more than any other memory colour; fine veins show sharpness, the deep gaps
    show shadow.

    Parameters
    ----------
    rng : where chance comes from
    width_mm, height_mm : size of the picture; it is composed for 4 to 3
    ppi : pixels per inch

    Returns
    -------
    (rows, columns, 3) device values 0 to 1 on the curve of sRGB

    Checked against
    ---------------
    Looked at; green leads in most of it, light and deep; the same for the same rng.
    """
    grain = hills(rng)
    ratio = width_mm / height_mm
    spots = _spots(rng, ratio)
    twigs = [_twig(rng, layer, ratio) for layer in _LAYERS for _ in range(layer.twigs)]

    def light_at(x: Floats, y: Floats) -> Floats:
        x, y = x / height_mm, y / height_mm
        light = _behind(x, y, grain, spots)
        for twig in twigs:
            _draw_stalk(light, x, y, twig)
            for leaf in twig.leaves:
                _draw_leaf(light, x, y, leaf, grain, twig.layer)
        # Light falls in from the upper left, and the corner far from it stays deep.
        fall = 1.18 - 0.55 * step(x / ratio + y, 0.3, 2.0)
        return np.asarray(light * fall[..., None])

    return painted(light_at, width_mm=width_mm, height_mm=height_mm, ppi=ppi, finer=2)


def _spots(rng: np.random.Generator, ratio: float) -> tuple[_Spot, ...]:
    """Place, size and strength of gaps in the wood, out of focus."""
    return tuple(
        (
            float(rng.uniform(0.0, ratio)),
            float(rng.beta(1.4, 2.0)),
            float(rng.uniform(0.018, 0.050)),
            float(rng.uniform(0.03, 0.22)),
        )
        for _ in range(46)
    )


def _behind(x: Floats, y: Floats, grain: Hills, spots: tuple[_Spot, ...]) -> Floats:
    """A dark wood with round spots of light."""
    dark, mid = linear((0.035, 0.070, 0.055)), linear((0.16, 0.27, 0.16))
    share = step(grain.rough(x * 2.6, y * 2.6, octaves=3), -0.45, 0.65)
    light = dark + (mid - dark) * share[..., None]
    for at_x, at_y, size, power in spots:
        here = _window(x, y, (at_x, at_y), size)
        if here is not None:
            away = np.hypot(x[here] - at_x, y[here] - at_y)
            disc = step(away, size, size * 0.82) * (0.75 + 0.25 * step(away, size * 0.5, size * 0.9))
            light[here] += (power * disc)[..., None] * linear((0.82, 0.92, 0.55))
    return light


def _twig(rng: np.random.Generator, layer: _Layer, ratio: float) -> _Twig:
    """A bent twig with leaves on both sides and one at its end."""
    x, y = float(rng.uniform(-0.1, ratio + 0.1)), float(rng.uniform(-0.05, 1.10))
    angle, curl = float(rng.uniform(-np.pi, np.pi)), float(rng.uniform(-0.16, 0.16))
    pairs = int(rng.integers(4, 7))
    leaves: list[_Leaf] = []
    points = [(x, y)]
    for number in range(pairs):
        share = 1.0 - 0.55 * abs(number / pairs - 0.35)
        for side in (-1.0, 1.0):
            turn = angle + side * float(rng.uniform(0.75, 1.05))
            length = layer.size * share * float(rng.uniform(0.8, 1.1))
            leaves.append(_leaf(rng, (x, y), turn, length, layer.sun))
        x += 0.50 * layer.size * float(np.cos(angle))
        y += 0.50 * layer.size * float(np.sin(angle))
        points.append((x, y))
        angle += curl
    leaves.append(_leaf(rng, (x, y), angle, layer.size * 0.9, layer.sun))
    return _Twig(tuple(points), tuple(leaves), layer)


def _leaf(
    rng: np.random.Generator, at: tuple[float, float], angle: float, length: float, sun: float
) -> _Leaf:
    which = min(int(rng.beta(2.0, 2.4) * 5.0) + int(rng.uniform() < 0.10), len(GREENS) - 1)
    return _Leaf(
        at[0],
        at[1],
        angle + float(rng.normal(0.0, 0.10)),
        length,
        float(rng.uniform(0.19, 0.25)),
        float(rng.uniform(-0.16, 0.16)),
        GREENS[which],
        sun * float(rng.uniform(0.75, 1.2)),
        float(rng.uniform(0.0, 200.0)),
    )


def _window(x: Floats, y: Floats, middle: tuple[float, float], reach: float) -> tuple[slice, slice] | None:
    """Rows and columns within reach of a place."""
    columns = np.flatnonzero(np.abs(x[0] - middle[0]) < reach)
    rows = np.flatnonzero(np.abs(y[:, 0] - middle[1]) < reach)
    if not len(rows) or not len(columns):
        return None
    return slice(int(rows[0]), int(rows[-1]) + 1), slice(int(columns[0]), int(columns[-1]) + 1)


def _draw_stalk(light: Floats, x: Floats, y: Floats, twig: _Twig) -> None:
    size, blur = twig.layer.size, twig.layer.blur
    colour = linear((0.30, 0.27, 0.16)) * twig.layer.sun
    every = np.array(twig.points)
    for start, end in pairwise(every):
        middle = (start + end) / 2.0
        here = _window(x, y, (float(middle[0]), float(middle[1])), float(np.linalg.norm(end - start)) + 0.02)
        if here is None:
            continue
        way = end - start
        px, py = x[here] - start[0], y[here] - start[1]
        share = np.clip((px * way[0] + py * way[1]) / float(way @ way), 0.0, 1.0)
        away = np.hypot(px - share * way[0], py - share * way[1])
        part = step(away, 0.022 * size + blur + 4e-4, 0.022 * size - blur)[..., None]
        light[here] = light[here] * (1.0 - part) + colour * part


def _draw_leaf(light: Floats, x: Floats, y: Floats, leaf: _Leaf, grain: Hills, layer: _Layer) -> None:
    cosine, sine = np.cos(leaf.angle), np.sin(leaf.angle)
    middle = (leaf.x + 0.5 * leaf.length * cosine, leaf.y + 0.5 * leaf.length * sine)
    here = _window(x, y, middle, 0.62 * leaf.length + 0.03)
    if here is None:
        return
    under = light[here]
    drop = 0.07 * leaf.length
    moved = x[here] + _SUN_FROM[0] * drop, y[here] + _SUN_FROM[1] * drop
    _, _, shadow = _outline(*moved, leaf, 0.05 * leaf.length)
    under *= 1.0 - 0.55 * shadow[..., None]
    u, v, inside = _outline(x[here], y[here], leaf, layer.blur + 5e-4)
    on = inside > 0.0  # a leaf that lies aslant leaves most of its window free
    colour = _leaf_light(u[on], v[on], leaf, grain)
    colour = colour * (1.0 - layer.haze) + linear(_HAZE) * layer.haze * 0.55
    part = inside[on][:, None]
    under[on] = under[on] * (1.0 - part) + colour * part


def _outline(x: Floats, y: Floats, leaf: _Leaf, soft: float) -> tuple[Floats, Floats, Floats]:
    """Places along the leaf (0 to 1), across it (-1 to 1 at its borders), and the share inside."""
    cosine, sine = np.cos(leaf.angle), np.sin(leaf.angle)
    u = ((x - leaf.x) * cosine + (y - leaf.y) * sine) / leaf.length
    aside = (-(x - leaf.x) * sine + (y - leaf.y) * cosine) / leaf.length - leaf.bend * (u - u * u) * 2.0
    kept = np.clip(u, 0.0, 1.0)
    half = leaf.width * 2.35 * kept**0.72 * (1.0 - kept) ** 0.95 + 1e-4
    # Distance to the border, roughly: across the leaf near its sides, along it beyond its ends.
    away = np.maximum((np.abs(aside) - half) * 0.85, np.maximum(-u, u - 1.0)) * leaf.length
    return u, np.clip(aside / half, -1.2, 1.2), step(away, soft, -soft)


def _leaf_light(u: Floats, v: Floats, leaf: _Leaf, grain: Hills) -> Floats:
    """Two halves that lean apart, a midrib, side veins, blotches and a sheen."""
    base = linear(leaf.colour) * leaf.light
    toward = float(np.cos(leaf.angle) * _SUN_FROM[1] - np.sin(leaf.angle) * _SUN_FROM[0])
    curve = 0.55 * toward * np.sign(v) * (1.0 - 0.6 * np.abs(v)) + 0.25 * (0.5 - u)
    tone = 1.0 + 0.55 * curve + 0.16 * grain.rough(u * 7.0 + leaf.seed, v * 4.0, octaves=3)
    vein = (u - 0.32 * np.abs(v) ** 1.15) * 11.0
    ridge = np.abs((vein % 1.0) - 0.5) * 2.0
    veins = step(ridge, 0.80, 1.0) * step(np.abs(v), 1.0, 0.35)
    puffed = 0.10 * np.cos((vein % 1.0) * 2.0 * np.pi)
    rib = step(np.abs(v) * (0.35 + 1.2 * (1.0 - u)), 0.075, 0.030)
    tone = np.maximum(tone + puffed, 0.15)[..., None]
    pale = linear((0.70, 0.78, 0.42)) * leaf.light
    light = base * tone
    light = light + (pale - light) * (0.28 * veins + 0.60 * rib * (1.0 - 0.5 * u))[..., None]
    sheen = np.exp(-(((v - 0.42 * np.sign(toward)) / 0.26) ** 2)) * np.exp(-(((u - 0.45) / 0.30) ** 2))
    sheen = sheen * np.clip(0.6 + 0.8 * grain.rough(u * 9.0 + leaf.seed, v * 6.0 + 50.0, octaves=2), 0.0, 1.4)
    cool = linear((0.80, 0.88, 0.90)) * leaf.light * 0.22 * abs(toward)
    return np.asarray(light + sheen[..., None] * cool)
