"""Woven cloth in folds: threads that lie over and under each other, in several colours and finenesses."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import Literal

import numpy as np
from scipy.ndimage import map_coordinates

from laydown.kernel.arrays import Bools, Floats, Ints
from laydown.science.forms.scenes.light import linear, painted, step
from laydown.science.forms.scenes.noise import Hills, hills

Weave = Literal["plain", "twill", "herringbone"]


@dataclass(frozen=True, slots=True)
class _Cloth:
    """How it is woven: threads per mm, colours of warp and weft with the number of threads of each."""

    weave: Weave
    threads_per_mm: float
    turn_deg: float
    warp: tuple[tuple[int, tuple[float, float, float]], ...]
    weft: tuple[tuple[int, tuple[float, float, float]], ...]
    sheen: float


_NAVY, _INK, _RED = (0.13, 0.19, 0.36), (0.07, 0.09, 0.17), (0.66, 0.13, 0.13)
_OCHRE, _CREAM, _WHITE = (0.83, 0.62, 0.24), (0.90, 0.86, 0.77), (0.95, 0.94, 0.91)
_GREEN, _PLUM, _GREY = (0.12, 0.32, 0.26), (0.40, 0.13, 0.30), (0.36, 0.37, 0.39)
#: From the lowest cloth to the uppermost.
_CLOTHS = (
    _Cloth("herringbone", 2.4, 8.0, ((1, _GREY),), ((1, _CREAM),), 0.05),
    _Cloth(
        "twill",
        2.2,
        -14.0,
        ((22, _RED), (3, _OCHRE), (10, _NAVY), (2, _CREAM), (10, _NAVY), (3, _OCHRE)),
        ((22, _RED), (3, _OCHRE), (10, _INK), (2, _CREAM), (10, _INK), (3, _OCHRE)),
        0.06,
    ),
    _Cloth("plain", 4.2, 21.0, ((2, _NAVY), (2, _WHITE)), ((2, _NAVY), (2, _WHITE)), 0.06),
    _Cloth("twill", 3.2, -30.0, ((1, _GREEN),), ((1, (0.20, 0.44, 0.36)),), 0.35),
    _Cloth("plain", 2.0, 38.0, ((1, _PLUM),), ((1, (0.56, 0.20, 0.36)),), 0.28),
)
_LEAST_PPI = 600.0  # threads of a quarter mm need six places each
_FOLD_MAP_MM = 0.25
_LIGHT = np.array([-0.62, -0.46, 0.64])


def fabric_scene(rng: np.random.Generator, *, width_mm: float, height_mm: float, ppi: float) -> Floats:
    """Five cloths laid over each other in folds; the blue and white one beats with too coarse a raster.

    Threads are as fine as in life, whatever the size of the picture.

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
    Looked at; the threads' fineness in the picture's spectrum; the same for the same rng.
    """
    soft = hills(rng)
    finer = min(max(2, ceil(_LEAST_PPI / ppi)), 4)
    folds = [_fold_map(cloth, number, width_mm, height_mm, soft) for number, cloth in enumerate(_CLOTHS)]

    def light_at(x: Floats, y: Floats) -> Floats:
        light = np.zeros((*x.shape, 3))
        borders = [_border(number, x / width_mm, y / height_mm, soft) for number in range(len(_CLOTHS))]
        for number, cloth in enumerate(_CLOTHS):
            edge, shadow = borders[number]
            light *= (1.0 - 0.75 * shadow)[..., None]
            covered = np.any([above >= 1.0 for above, _ in borders[number + 1 :]], axis=0)
            here = (edge > 0.0) & ~covered
            if here.any():
                shown = _cloth(cloth, folds[number], x[here], y[here], soft)
                part = edge[here][:, None]
                light[here] = light[here] * (1.0 - part) + shown * part
        return light

    return painted(light_at, width_mm=width_mm, height_mm=height_mm, ppi=ppi, finer=finer)


_BORDERS = (
    # a place on the border (shares of width and height), and the way in
    (0.50, -0.20, 0.0, 1.0),
    (0.34, 0.22, -0.55, 0.84),
    (0.40, 0.56, 0.34, 0.94),
    (0.74, 0.30, 0.97, 0.24),
    (0.22, 0.80, -0.66, 0.75),
)


def _border(number: int, across: Floats, down: Floats, soft: Hills) -> tuple[Floats, Floats]:
    """Where a cloth lies, and the shadow that its border throws on what lies below."""
    at_x, at_y, way_x, way_y = _BORDERS[number]
    inward = (across - at_x) * way_x + (down - at_y) * way_y
    along = (across - at_x) * way_y - (down - at_y) * way_x
    inward = inward + 0.045 * soft.rough(along * 3.0 + 11.0 * number, np.full_like(along, 0.3), octaves=2)
    edge = step(inward, -0.0008, 0.0008)
    return edge, np.where(inward < 0.0, np.exp(inward / 0.022), 0.0) * (1.0 - edge)


def _cloth(cloth: _Cloth, folds: Floats, x: Floats, y: Floats, soft: Hills) -> Floats:
    """Light from the threads of a cloth at places in mm."""
    at = np.stack([y, x]) / _FOLD_MAP_MM
    lean_x, lean_y, high = (map_coordinates(one, at, order=1, mode="nearest") for one in folds)
    # Cloth on a slope is seen foreshortened: its threads lie closer there.
    turn = np.radians(cloth.turn_deg)
    moved_x, moved_y = x + 1.5 * lean_x * high, y + 1.5 * lean_y * high
    u = (np.cos(turn) * moved_x + np.sin(turn) * moved_y) * cloth.threads_per_mm
    v = (-np.sin(turn) * moved_x + np.cos(turn) * moved_y) * cloth.threads_per_mm
    v = v + 0.06 * soft.at(u * 0.11, v * 0.6)
    u = u + 0.06 * soft.at(u * 0.6, v * 0.11 + 40.0)
    warp_up = _up(cloth.weave, np.floor(u).astype(np.int64), np.floor(v).astype(np.int64))
    warp, weft = _threads(cloth.warp, u), _threads(cloth.weft, v)
    colour = np.where(warp_up[:, None], warp, weft)
    across = np.where(warp_up, u % 1.0, v % 1.0) - 0.5
    along = np.where(warp_up, v % 1.0, u % 1.0) - 0.5
    body = np.cos(across * 2.5) * (0.80 + 0.20 * np.cos(along * 2.6))
    tilt = 0.55 * across
    tilt_x = np.where(warp_up, np.cos(turn), -np.sin(turn)) * tilt
    tilt_y = np.where(warp_up, np.sin(turn), np.cos(turn)) * tilt
    fleck = 1.0 + 0.14 * soft.rough(u * 0.33 + 5.0, v * 0.33, octaves=3)
    nx, ny = -lean_x - tilt_x, -lean_y - tilt_y
    length = np.sqrt(nx * nx + ny * ny + 1.0)
    key = _LIGHT / np.linalg.norm(_LIGHT)
    facing = np.clip((nx * key[0] + ny * key[1] + key[2]) / length, 0.0, None)
    hollow = 0.62 + 0.38 * step(high, -0.55, 0.45)
    half = np.array([key[0], key[1], key[2] + 1.0])
    half = half / np.linalg.norm(half)
    gloss = np.clip((nx * half[0] + ny * half[1] + half[2]) / length, 0.0, 1.0) ** 16
    light = colour * ((0.14 + 1.25 * facing) * hollow * body * fleck)[:, None]
    shine = 0.35 + 0.65 * colour / colour.max()
    return np.asarray(light + (cloth.sheen * 0.40 * gloss * hollow * body)[:, None] * shine)


def _fold_map(cloth: _Cloth, number: int, width_mm: float, height_mm: float, soft: Hills) -> Floats:
    """Slopes and height of the folds at the corners of a coarse grid: folds are smooth and slow to reckon."""
    size = width_mm * 0.19
    x, y = np.meshgrid(
        np.arange(0.0, width_mm + 2.0 * _FOLD_MAP_MM, _FOLD_MAP_MM) / size,
        np.arange(0.0, height_mm + 2.0 * _FOLD_MAP_MM, _FOLD_MAP_MM) / size,
    )
    return np.stack(_folds(x + 23.0 * number, y, cloth.turn_deg, soft))


def _folds(x: Floats, y: Floats, turn_deg: float, soft: Hills) -> tuple[Floats, Floats, Floats]:
    """Slopes and height of soft folds that run one way and fade out the other."""
    turn = np.radians(turn_deg + 62.0)
    along, aside = np.cos(turn) * x + np.sin(turn) * y, -np.sin(turn) * x + np.cos(turn) * y

    def height(p: Floats, q: Floats) -> Floats:
        wander = 0.55 * soft.rough(p * 0.45, q * 0.45 + 9.0, octaves=2)
        ridge = soft.at(p * 0.28 + 3.0, (q + wander) * 1.25)
        return np.asarray(1.25 * ridge + 0.35 * soft.at(p * 0.8, q * 2.3 + 30.0))

    tiny = 1e-3
    high = height(along, aside)
    slope_along = (height(along + tiny, aside) - high) / tiny
    slope_aside = (height(along, aside + tiny) - high) / tiny
    steep = 0.62
    lean_x = steep * (np.cos(turn) * slope_along - np.sin(turn) * slope_aside)
    lean_y = steep * (np.sin(turn) * slope_along + np.cos(turn) * slope_aside)
    return lean_x, lean_y, high


def _threads(colours: tuple[tuple[int, tuple[float, float, float]], ...], at: Floats) -> Floats:
    """The colour of the thread at a place across the threads."""
    order = np.concatenate([np.tile(linear(colour), (many, 1)) for many, colour in colours])
    return np.asarray(order[np.floor(at).astype(np.int64) % len(order)])


def _up(weave: Weave, column: Ints, row: Ints) -> Bools:
    """Whether the warp lies above the weft where they cross."""
    if weave == "plain":
        return np.asarray((column + row) % 2 == 0)
    if weave == "herringbone":
        back = (column // 16) % 2 == 1
        return np.asarray(np.where(back, row - column, row + column) % 4 < 2)
    return np.asarray((column + row) % 4 < 2)
