"""Smooth forms in tones of skin, from fair to dark, in soft light from the side."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Bools, Floats
from laydown.science.forms.scenes.light import blend, linear, painted, step
from laydown.science.forms.scenes.noise import Hills, hills

#: Device values of evenly lit skin-like tones, fair to dark: chosen here, between many skins.
TONES = (
    (0.93, 0.80, 0.72),
    (0.88, 0.71, 0.59),
    (0.76, 0.56, 0.43),
    (0.56, 0.38, 0.28),
    (0.37, 0.24, 0.18),
)
_EYE, _AIM, _ZOOM = np.array([0.0, 1.9, 6.4]), np.array([0.0, 0.72, 0.0]), 4.1
_KEY = np.array([-0.78, 0.55, 0.42])
_KEY_COLOUR = np.array([1.0, 0.94, 0.86])
_SKY, _FLOOR = np.array([0.21, 0.22, 0.245]), np.array([0.21, 0.165, 0.13])
_WALL = (0.74, 0.72, 0.70)
_WRAP = np.array(
    [0.34, 0.16, 0.10]
)  # red light goes deepest into skin and comes out beyond the shadow's border
_PORES_PER_UNIT = 55.0


@dataclass(frozen=True, slots=True, eq=False)
class _Form:
    """An ellipsoid: its middle, half axes, how it is turned (3, 3), and its tone."""

    middle: Floats
    axes: Floats
    turn: Floats
    tone: Floats

    def inside(self, points: Floats) -> Floats:
        """Places as seen from a unit ball."""
        return np.asarray((points - self.middle) @ self.turn.T / self.axes)

    def along(self, ways: Floats) -> Floats:
        """Directions as seen from a unit ball, not of unit length."""
        return np.asarray(ways @ self.turn.T / self.axes)


def skin_scene(rng: np.random.Generator, *, width_mm: float, height_mm: float, ppi: float) -> Floats:
    """Five smooth forms on a pale ground: even tones, soft borders of shadow, and highlights on them.

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
    Looked at; tones of the five forms in order of lightness; the same for the same rng.
    """
    grain = hills(rng)
    forms = _forms(rng)
    key = _KEY / np.linalg.norm(_KEY)

    def light_at(x: Floats, y: Floats) -> Floats:
        ways = _ways(x / width_mm - 0.5, (y / height_mm - 0.5) * height_mm / width_mm)
        light = _ground(ways, forms, key)
        nearest = np.full(x.shape, np.inf)
        for form in forms:
            hit, far = _met(form, _EYE, ways)
            shown = hit & (far < nearest)
            if shown.any():
                light[shown] = _skin(form, forms, ways[shown], far[shown], key, grain)
                nearest[shown] = far[shown]
        return light

    return painted(light_at, width_mm=width_mm, height_mm=height_mm, ppi=ppi, finer=2)


def _forms(rng: np.random.Generator) -> tuple[_Form, ...]:
    """Placed by hand, a little turned by chance."""
    placed = (
        ((-1.42, -0.35), (0.74, 0.92, 0.72), 9.0),
        ((0.02, -1.0), (0.86, 1.16, 0.80), -6.0),
        ((0.42, 0.55), (0.74, 0.42, 0.56), 10.0),
        ((1.55, -0.3), (0.68, 0.84, 0.68), -12.0),
        ((-0.72, 0.75), (0.46, 0.34, 0.42), -5.0),
    )
    made = []
    for (middle, axes, lean), tone in zip(placed, TONES, strict=True):
        roll = np.radians(lean + rng.uniform(-3.0, 3.0))
        turn = np.array(
            [[np.cos(roll), np.sin(roll), 0.0], [-np.sin(roll), np.cos(roll), 0.0], [0.0, 0.0, 1.0]]
        )
        half = np.array(axes)
        # It stands on the ground: its lowest point is its middle less the length of the turned axes.
        up = float(np.linalg.norm(half * turn[:, 1]))
        made.append(_Form(np.array([middle[0], up, middle[1]]), half, turn, linear(tone)))
    return tuple(made)


def _ways(across: Floats, down: Floats) -> Floats:
    """Directions in which the eye looks through each pixel."""
    ahead = (_AIM - _EYE) / np.linalg.norm(_AIM - _EYE)
    right = np.array([1.0, 0.0, 0.0])
    up = np.cross(right, ahead)
    ways = ahead * (_ZOOM / 2.0) + across[..., None] * right * 2.0 - down[..., None] * up * 2.0
    return np.asarray(ways / np.linalg.norm(ways, axis=-1, keepdims=True))


def _met(form: _Form, start: Floats, ways: Floats) -> tuple[Bools, Floats]:
    """Whether a ray meets a form, and how far away."""
    begin, way = form.inside(start), form.along(ways)
    a = np.sum(way * way, axis=-1)
    b = np.sum(way * begin, axis=-1)
    c = np.sum(begin * begin, axis=-1) - 1.0
    inner = b * b - a * c
    far = (-b - np.sqrt(np.maximum(inner, 0.0))) / a
    return (inner > 0.0) & (far > 1e-3), far


def _lit(points: Floats, forms: tuple[_Form, ...], key: Floats, skip: _Form | None) -> Floats:
    """The share of a soft lamp that a place sees past the forms."""
    seen = np.ones(points.shape[:-1])
    for form in forms:
        if form is skip:
            continue
        begin, way = form.inside(points), form.along(key)
        length = float(np.linalg.norm(way))
        way = way / length
        b = begin @ way
        near = np.sqrt(np.maximum(np.sum(begin * begin, axis=-1) - b * b, 0.0)) - 1.0
        # How far the ray passes from the form, over how far away that is: as a lamp of some size is hidden.
        seen = np.where(b < 0.0, seen * step(near / np.maximum(-b, 1e-6), -0.18, 0.22), seen)
    return seen


def _open(points: Floats, normals: Floats, forms: tuple[_Form, ...], skip: _Form | None) -> Floats:
    """The share of the sky that a place sees."""
    free = np.ones(points.shape[:-1])
    for form in forms:
        if form is skip:
            continue
        toward = form.middle - points
        far = np.linalg.norm(toward, axis=-1)
        size = float(np.mean(form.axes))
        facing = np.clip(np.sum(toward * normals, axis=-1) / far, 0.0, 1.0)
        free *= 1.0 - np.clip(facing * (size / np.maximum(far, size)) ** 2, 0.0, 0.85)
    return free


def _ground(ways: Floats, forms: tuple[_Form, ...], key: Floats) -> Floats:
    """A pale sheet that rises into a wall without an edge."""
    falling = np.minimum(ways[..., 1], -1e-4)
    far = np.minimum(-_EYE[1] / falling, 60.0)
    points = _EYE + far[..., None] * ways
    sheet = linear(_WALL)
    up = np.broadcast_to(np.array([0.0, 1.0, 0.0]), points.shape)
    lamp = _lit(points, forms, key, None)[..., None] * _KEY_COLOUR * 0.80 * key[1] * 1.5
    sky = _open(points, up, forms, None)[..., None] * _SKY * 1.1
    floor = sheet * (lamp + sky)
    away = step(points[..., 2], -2.0, -9.0)
    glow = np.exp(-(((ways[..., 0] + 0.06) / 0.30) ** 2) - ((ways[..., 1] + 0.10) / 0.22) ** 2)
    wall = sheet * (0.20 + 0.55 * glow[..., None]) * np.array([1.0, 0.98, 0.96])
    return blend(floor, wall, away)


def _skin(
    form: _Form, forms: tuple[_Form, ...], ways: Floats, far: Floats, key: Floats, grain: Hills
) -> Floats:
    points = _EYE + far[:, None] * ways
    inner = form.inside(points)
    normals = _unit(inner / form.axes @ form.turn)
    relief = _relief(inner, form, grain)
    bumpy = _unit(normals + relief)
    facing = np.sum(normals * key, axis=-1)[:, None]
    shade = _lit(points, forms, key, form)[:, None]
    wrapped = np.clip((facing + _WRAP) / (1.0 + _WRAP), 0.0, 1.0) ** 1.6
    lamp = wrapped * _KEY_COLOUR * 1.5 * (shade + (1.0 - shade) * np.array([0.10, 0.03, 0.02]))
    height = (normals[:, 1:2] + 1.0) / 2.0
    free = _open(points, normals, forms, form)[:, None]
    around = (_FLOOR * (1.0 - height) + _SKY * height) * 0.95
    near_ground = step(points[:, 1:2], -0.25, 0.35)
    mottled = 1.0 + 0.07 * grain.rough(inner[:, :1] * 3.0 + 40.0, inner[:, 1:2] * 3.0, octaves=3)
    flushed = 1.0 + np.array([0.05, -0.03, -0.05]) * grain.at(inner[:, :1] * 1.7, inner[:, 1:2] * 1.7 + 9.0)
    body = form.tone * mottled * flushed * (lamp + around * free * near_ground)
    return np.asarray(body + _gloss(normals, bumpy, ways, key) * shade * (facing > -0.2))


def _gloss(normals: Floats, bumpy: Floats, ways: Floats, key: Floats) -> Floats:
    """A lamp mirrored in a thin film: a soft broad sheen, and a small bright spot broken by the relief."""
    half = _unit(key - ways)
    edge = (1.0 - np.clip(-np.sum(normals * ways, axis=-1), 0.0, 1.0)) ** 5
    film = (0.03 + 0.35 * edge)[:, None]
    sheen = np.clip(np.sum(normals * half, axis=-1), 0.0, 1.0)[:, None] ** 14
    spot = np.clip(np.sum(bumpy * half, axis=-1), 0.0, 1.0)[:, None] ** 130
    return np.asarray(film * (1.6 * sheen + 17.0 * spot) * _KEY_COLOUR)


def _relief(inner: Floats, form: _Form, grain: Hills) -> Floats:
    """Pores and fine lines, as a small lean of the surface."""
    scale = _PORES_PER_UNIT * float(np.mean(form.axes))
    x, y, z = (inner * scale).T
    lean = np.stack(
        [grain.at(y, z + 31.0), grain.at(z, x + 57.0), grain.at(x, y + 83.0)], axis=-1
    ) + 0.6 * np.stack(
        [grain.at(2.1 * y, 2.1 * z), grain.at(2.1 * z, 2.1 * x), grain.at(2.1 * x, 2.1 * y)], -1
    )
    return np.asarray(0.055 * lean)


def _unit(vectors: Floats) -> Floats:
    return np.asarray(vectors / np.linalg.norm(vectors, axis=-1, keepdims=True))
