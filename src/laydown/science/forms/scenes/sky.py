"""An evening sky: a long smooth gradient, thin cloud, hills in haze and water below them."""

from __future__ import annotations

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.science.forms.scenes.light import blend, linear, painted, step
from laydown.science.forms.scenes.noise import Hills, hills

#: Device values of the clear sky from the zenith down to the horizon: chosen here.
CLEAR = (
    (0.00, (0.13, 0.27, 0.52)),
    (0.30, (0.27, 0.45, 0.70)),
    (0.58, (0.55, 0.70, 0.83)),
    (0.80, (0.86, 0.84, 0.77)),
    (0.93, (0.98, 0.82, 0.60)),
    (1.00, (0.99, 0.76, 0.50)),
)
HORIZON = 0.72  # of the height, from the top
_SUN = (0.68, 0.655)  # shares of width and height
_RIDGES = (
    # height of the ridge over the horizon, its roughness, haze in front of it, cells across
    (0.085, 0.060, 0.72, 3.0),
    (0.055, 0.050, 0.50, 4.5),
    (0.030, 0.034, 0.26, 7.0),
)
_HILL = (0.11, 0.14, 0.22)
_HAZE = (0.88, 0.74, 0.63)


def sky_scene(rng: np.random.Generator, *, width_mm: float, height_mm: float, ppi: float) -> Floats:
    """A low sun behind thin cloud over hills and water.

    Long gradients show banding and steps, cloud and water show whether pale tones keep their drawing.

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
    Looked at; the clear sky grows lighter and warmer to the horizon; the same for the same rng.
    """
    cloud, land, sea = hills(rng), hills(rng), hills(rng)
    ratio = width_mm / height_mm

    def light_at(x: Floats, y: Floats) -> Floats:
        across, down = x / width_mm, y / height_mm
        edge = step(down, HORIZON - 0.0008, HORIZON + 0.0008)
        if not edge.any():
            return over_land(across, down)
        water = on_water(across, down)
        return water if edge.min() == 1.0 else blend(over_land(across, down), water, edge)

    def over_land(across: Floats, down: Floats) -> Floats:
        return _with_ridges(_air(across, down, ratio, cloud), across, down, land)

    def on_water(across: Floats, down: Floats) -> Floats:
        # Water mirrors what is above the horizon, drawn out and broken by waves.
        below = np.maximum(down - HORIZON, 0.0)
        mirrored = HORIZON - below * 1.05
        near = 0.030 + below
        tilt = sea.rough(across * ratio * 1.3 / near, 30.0 * np.log(near), octaves=3)
        shifted = np.clip(mirrored - np.abs(tilt) * (0.004 + 0.34 * below), 0.0, HORIZON)
        water = over_land(across, shifted)
        water = water * (0.66 - 0.35 * step(below, 0.0, 0.30))[..., None] * np.array([0.94, 0.97, 1.0])
        spark = np.exp(-(((across - _SUN[0]) / (0.025 + 0.16 * below)) ** 2)) * step(tilt, 0.08, 0.42)
        lit = (0.75 * spark * np.exp(-below / 0.16))[..., None] * linear((1.0, 0.86, 0.62))
        return np.asarray(water + lit)

    return painted(light_at, width_mm=width_mm, height_mm=height_mm, ppi=ppi, finer=2)


def _air(across: Floats, down: Floats, ratio: float, cloud: Hills) -> Floats:
    """Clear sky, glow about the sun, and cloud lit from below."""
    at = np.clip(down / HORIZON, 0.0, 1.0)
    stops = np.array([place for place, _ in CLEAR])
    colours = linear(tuple(colour for _, colour in CLEAR))
    clear = np.stack([np.interp(at, stops, colours[:, n]) for n in range(3)], axis=-1)
    away = np.hypot((across - _SUN[0]) * ratio, (down - _SUN[1]) * 1.15)
    glow = 0.55 * np.exp(-away / 0.22) + 1.1 * np.exp(-((away / 0.050) ** 2))
    clear = clear + glow[..., None] * linear((1.0, 0.80, 0.52))
    # Seen from below, a flat layer of cloud is the finer the nearer it lies to the horizon.
    depth = 1.0 / (HORIZON + 0.10 - np.minimum(down, HORIZON))
    u, v = (across - 0.5) * ratio * depth * 1.1, depth * 2.1
    bend = 0.9 * cloud.rough(u * 0.8 + 3.0, v * 0.8, octaves=2)
    body = cloud.rough(u * 0.9 + bend + 20.0, v * 2.0 + 0.7 * bend, octaves=6, gain=0.55)
    veil = cloud.rough(u * 0.35 + 71.0 + 0.5 * bend, v * 3.4 + bend, octaves=5, gain=0.6)
    thick = 0.62 * step(body, 0.02, 0.55) + 0.42 * step(veil, -0.05, 0.60)
    thick = np.clip(thick, 0.0, 1.0) * step(at, 0.99, 0.80)
    lit = cloud.rough(u * 0.9 + bend + 20.0 + 0.10, v * 2.0 + 0.7 * bend + 0.12, octaves=4) - body
    warm = step(at, 0.15, 0.95)
    shade = blend(linear((0.80, 0.83, 0.90)), linear((0.99, 0.72, 0.52)), warm)
    shade = shade * (0.86 + 0.9 * np.clip(lit, -0.25, 0.35) + 0.5 * np.exp(-away / 0.3))[..., None]
    return blend(clear, shade, thick * 0.80)


def _with_ridges(light: Floats, across: Floats, down: Floats, land: Hills) -> Floats:
    """Hills one behind the other, each with less haze before it than the one behind."""
    row = across[:1]  # a ridge is a line: the same for every row of places
    for number, (high, rough, haze, cells) in enumerate(_RIDGES):
        line = (
            HORIZON
            - high
            - rough
            * land.rough(
                row * cells + 13.0 * number, np.full_like(row, 0.37 + 5.0 * number), octaves=7, gain=0.5
            )
        )
        line = line + 0.09 * (row - 0.62) ** 2 * (1.0 if number == 1 else -0.4)
        fade = np.clip((down - line) / np.maximum(HORIZON - line, 1e-3), 0.0, 1.0)
        veil = np.clip(haze + 0.28 * fade, 0.0, 1.0)
        colour = blend(linear(_HILL), linear(_HAZE), veil)
        light = blend(light, colour, step(down - line, -0.0009, 0.0009))
    return light
