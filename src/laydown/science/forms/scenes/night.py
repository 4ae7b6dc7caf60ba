"""A harbour at night: dark shapes before each other, hardly lighter one than the next, and a few lamps."""

from __future__ import annotations

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.science.forms.scenes.light import blend, linear, painted, step
from laydown.science.forms.scenes.noise import Hills, hills

#: Device values of the shapes from the farthest to the nearest: all within 0 to 15 %, steps of 2 to 3 %.
SHAPES = (0.135, 0.110, 0.085, 0.060, 0.035, 0.012)
HORIZON = 0.66
_TINTS = (
    (0.86, 0.98, 1.20),
    (0.88, 0.98, 1.16),
    (0.92, 0.99, 1.10),
    (0.96, 1.00, 1.05),
    (1.00, 1.00, 1.00),
    (1.00, 1.00, 1.00),
)
_WARM, _WHITE, _RED, _GREEN = (1.0, 0.72, 0.36), (0.92, 0.96, 1.0), (1.0, 0.25, 0.16), (0.3, 0.95, 0.6)


def night_scene(rng: np.random.Generator, *, width_mm: float, height_mm: float, ppi: float) -> Floats:
    """Hills, houses and trees by the water under the last light.

    What a medium makes of it is whether the shapes part from each other, and whether lamps stay clean.

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
    Looked at; device values of the shapes lie within 0 to 15 % and in order; the same for the same rng.
    """
    land, ripple = hills(rng), hills(rng)
    pixel = 25.4 / ppi / height_mm
    houses, windows = _town(rng)
    lamps = _lamps(rng)

    def light_at(x: Floats, y: Floats) -> Floats:
        across, down = x / width_mm, y / height_mm
        below = np.maximum(down - HORIZON, 0.0)
        tilt = ripple.rough(across * 2.2 / (0.05 + below), 34.0 * np.log(0.05 + below), octaves=3)
        mirrored = HORIZON - below * 0.92 - (0.012 + 0.10 * below) * tilt
        place = np.where(down > HORIZON, np.clip(mirrored, 0.0, HORIZON), down)
        aside = across + 0.06 * tilt * below
        light = _scene(aside, place, pixel, land, houses, windows)
        wet = step(down, HORIZON - pixel, HORIZON + pixel)
        light = light * (1.0 - 0.42 * wet)[..., None]
        for lamp in lamps:
            light = light + _lamp(lamp, across, down, below, tilt, wet)
        return _shore(light, across, down, pixel, land)

    return painted(light_at, width_mm=width_mm, height_mm=height_mm, ppi=ppi)


Boxes = list[tuple[float, float, float, int]]


def _town(rng: np.random.Generator) -> tuple[Boxes, Boxes]:
    """Houses (left, right, height, which shape) and lit windows (middle, height, size, colour)."""
    houses: Boxes = []
    windows: Boxes = []
    for row, (first, last, tall) in enumerate(((0.02, 0.98, 0.115), (0.08, 0.92, 0.085)), start=3):
        at = first
        while at < last:
            wide = float(rng.uniform(0.028, 0.075))
            high = tall * float(rng.uniform(0.50, 1.0)) * (1.0 - 0.35 * abs(at - 0.45))
            houses.append((at, at + wide, high, row))
            for level in np.arange(0.010, high - 0.018, 0.0125):
                for middle in np.arange(at + 0.008, at + wide - 0.006, 0.0085):
                    if rng.uniform() < 0.13:
                        windows.append((float(middle), float(level), 0.0016, int(rng.integers(0, 5))))
            at += wide + float(rng.uniform(0.0, 0.022)) * (row - 2)
    return houses, windows


def _lamps(rng: np.random.Generator) -> list[tuple[float, float, float, tuple[float, float, float]]]:
    """Place, height over the water, strength and colour."""
    made = [
        (0.115, 0.030, 1.0, _WARM),
        (0.275, 0.026, 0.8, _WARM),
        (0.445, 0.030, 1.0, _WARM),
        (0.610, 0.024, 0.8, _WHITE),
        (0.735, 0.030, 0.9, _WARM),
        (0.880, 0.072, 0.7, _RED),
        (0.905, 0.014, 0.5, _GREEN),
    ]
    return [(at + float(rng.uniform(-0.008, 0.008)), high, power, colour) for at, high, power, colour in made]


def _tone(number: int) -> Floats:
    return np.asarray(linear((SHAPES[number],) * 3) * np.array(_TINTS[number]))


def _scene(across: Floats, down: Floats, pixel: float, land: Hills, houses: Boxes, windows: Boxes) -> Floats:
    """All above the water line; the same rows upside down make the mirrored picture."""
    up = np.clip(down / HORIZON, 0.0, 1.0)[..., None]
    sky = linear((0.075, 0.095, 0.145)) * (1.0 - up) ** 1.5 + linear((0.23, 0.25, 0.31)) * up**1.7
    light = sky + _moon(across, down)
    for number, (high, rough, cells) in enumerate(
        ((0.21, 0.13, 2.2), (0.125, 0.10, 3.3), (0.065, 0.06, 5.0))
    ):
        line = (
            HORIZON
            - high
            - rough
            * land.rough(across * cells + 31.0 * number, np.full_like(across, 0.41 + 3.0 * number), octaves=6)
        )
        light = blend(light, _tone(number), step(down - line, -pixel, pixel))
    for left, right, high, row in houses:
        top = HORIZON - high
        steep = 0.9 if right - left < 0.045 else 0.0
        roof = top + steep * np.abs(across - (left + right) / 2.0)
        inside = step(down - roof, -pixel, pixel)
        inside = inside * step(across - left, -pixel, pixel) * step(right - across, -pixel, pixel)
        light = blend(light, _tone(row), inside)
    colours = (_WARM, _WARM, (1.0, 0.80, 0.52), (0.95, 0.66, 0.30), _WHITE)
    for middle, level, size, which in windows:
        inside = step(size - np.abs(across - middle), -pixel, pixel)
        inside = inside * step(1.5 * size - np.abs(down - (HORIZON - level)), -pixel, pixel)
        light = blend(light, 0.45 * linear(colours[which]), inside)
    return light


def _moon(across: Floats, down: Floats) -> Floats:
    """A young moon's glow, low and faint."""
    away = np.hypot((across - 0.80) * 4.0 / 3.0, down - 0.20)
    disc = step(away, 0.0250, 0.0235) * step(
        np.hypot((across - 0.791) * 4.0 / 3.0, down - 0.194), 0.0225, 0.0245
    )
    glow = 0.022 * np.exp(-away / 0.07)
    return np.asarray((0.80 * disc + glow)[..., None] * linear((0.98, 0.97, 0.92)))


def _lamp(
    lamp: tuple[float, float, float, tuple[float, float, float]],
    across: Floats,
    down: Floats,
    below: Floats,
    tilt: Floats,
    wet: Floats,
) -> Floats:
    """A lamp, the glow in the air about it, and its broken track on the water."""
    at, high, power, colour = lamp
    away = np.hypot((across - at) * 4.0 / 3.0, down - (HORIZON - high))
    shine = (
        2.2 * np.exp(-((away / 0.0034) ** 2)) + 0.05 * np.exp(-away / 0.018) + 0.006 * np.exp(-away / 0.07)
    )
    wide = 0.0045 + 0.030 * below
    track = np.exp(-(((across - at + 0.020 * tilt * below) / wide) ** 2)) * step(tilt, -0.10, 0.45)
    track = 0.55 * track * np.exp(-below / 0.13) * wet
    return np.asarray(power * (shine * (1.0 - 0.9 * wet) + track)[..., None] * linear(colour))


def _shore(light: Floats, across: Floats, down: Floats, pixel: float, land: Hills) -> Floats:
    """The bank one stands on, with reeds, nearly black before black."""
    row = across[:1]  # the bank is a line: the same for every row of places
    bank = 0.93 - 0.10 * row + 0.03 * land.rough(row * 4.0, np.full_like(row, 60.5), octaves=4)
    reeds = 0.11 * step(across, 0.48, 0.05) * np.maximum(land.at(across * 150.0, down * 2.5 + 9.0), 0.0)
    reeds = reeds + 0.05 * np.maximum(land.at(across * 90.0 + 40.0, down * 2.0), 0.0)
    light = blend(light, _tone(4), step(down - bank + reeds * 1.3, -pixel, 4.0 * pixel))
    front = bank + 0.045 + 0.02 * land.at(row * 6.0, np.full_like(row, 3.3))
    return blend(light, _tone(5), step(down - front + 0.5 * reeds, -pixel, 4.0 * pixel))
