"""Turned and brushed metal: long highlights, deep neighbours, and fine lines along them."""

from __future__ import annotations

from math import ceil

import numpy as np
from scipy.ndimage import gaussian_filter1d

from laydown.kernel.arrays import Floats
from laydown.science.forms.scenes.light import blend, linear, painted, step
from laydown.science.forms.scenes.noise import Hills, hills

#: Light mirrored straight back by steel, brass and copper, as device values: chosen here.
STEEL, BRASS, COPPER = (0.80, 0.81, 0.83), (0.90, 0.76, 0.46), (0.90, 0.62, 0.50)
_PARTS = (
    # from and to (shares of the width), radii at both ends (shares of the height), metal, finish
    (-0.02, 0.07, 0.120, 0.120, STEEL, "brushed"),
    (0.07, 0.10, 0.120, 0.215, STEEL, "bright"),
    (0.10, 0.34, 0.215, 0.215, STEEL, "brushed"),
    (0.34, 0.36, 0.170, 0.170, STEEL, "bright"),
    (0.36, 0.50, 0.300, 0.300, BRASS, "knurled"),
    (0.50, 0.52, 0.300, 0.240, BRASS, "bright"),
    (0.52, 0.66, 0.240, 0.160, BRASS, "bright"),
    (0.66, 0.68, 0.130, 0.130, STEEL, "bright"),
    (0.68, 0.86, 0.255, 0.255, COPPER, "brushed"),
    (0.86, 0.89, 0.255, 0.150, COPPER, "bright"),
    (0.89, 1.02, 0.110, 0.110, STEEL, "brushed"),
)
_AXIS = 0.47
_CHAMFER = 0.004
_LEAST_PPI = 400.0  # the sides of a knurl mirror quite different parts of the room
_KNURL = 62.0  # of its points across the width of the picture


def metal_scene(rng: np.random.Generator, *, width_mm: float, height_mm: float, ppi: float) -> Floats:
    """A turned spindle of steel, brass and copper on a dark bench.

    Highlights next to deep tones show how gloss, bronzing and the black of a medium work together; fine
    turning marks show what it holds of low contrast at high fineness.

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
    Looked at; highlights and deep tones lie side by side; the same for the same rng.
    """
    grain = hills(rng)

    def light_at(x: Floats, y: Floats) -> Floats:
        across, down = x / width_mm, y / height_mm
        radius, slope, tint, finish = _profile(across[0], width_mm / height_mm)
        sine = (down - _AXIS) / radius
        metal = _metal(across, sine, slope, tint, finish, x, grain)
        inside = np.abs(sine) < 1.0
        return np.where(inside[..., None], metal, _bench(across, down, radius, grain))

    finer = min(max(2, ceil(_LEAST_PPI / ppi)), 6)
    return painted(light_at, width_mm=width_mm, height_mm=height_mm, ppi=ppi, finer=finer)


def _profile(across: Floats, ratio: float) -> tuple[Floats, Floats, Floats, Floats]:
    """Radius, its slope, the metal's tint (columns, 3) and how much of each finish (columns, 2)."""
    radius = np.full(across.shape, 0.1)
    tint, finish = np.zeros((len(across), 3)), np.zeros((len(across), 2))
    for start, end, first, last, metal, kind in _PARTS:
        here = (across >= start) & (across < end)
        share = (across[here] - start) / (end - start)
        size = first + (last - first) * (share if first < last else np.sqrt(share * (2.0 - share)))
        # Edges are broken a little, as a turner does; they catch the light.
        edge = np.minimum(across[here] - start, end - across[here])
        radius[here] = size - 0.6 * np.maximum(_CHAMFER - edge, 0.0)
        tint[here] = linear(metal)
        finish[here] = (float(kind == "brushed"), float(kind == "knurled"))
    slope = np.gradient(radius, across * ratio)
    return radius, np.clip(slope, -3.0, 3.0), tint, finish


def _metal(
    across: Floats, sine: Floats, slope: Floats, tint: Floats, finish: Floats, x: Floats, grain: Hills
) -> Floats:
    brushed, knurled = finish[:, 0], finish[:, 1]
    round_ = np.clip(sine, -0.9999, 0.9999)
    angle = np.arcsin(round_)
    # Turning marks: a lean of the surface along the axis that is the same nearly all the way round.
    marks = grain.rough(x * 6.3, angle * 0.5 + 7.0, octaves=3, gain=0.8)
    lean = slope + (0.03 + 0.14 * brushed) * marks
    around = angle + 0.012 * brushed * grain.rough(x * 5.0, angle * 3.0, octaves=2)
    u, v = across * _KNURL, angle * _KNURL / 6.2
    ridge_u, ridge_v = np.abs(((u + v) % 1.0) - 0.5) * 2.0, np.abs(((u - v) % 1.0) - 0.5) * 2.0
    side_u, side_v = np.sign(((u + v) % 1.0) - 0.5), np.sign(((u - v) % 1.0) - 0.5)
    first = ridge_u < ridge_v
    lean = lean + knurled * 0.75 * np.where(first, side_u, side_v)
    around = around + knurled * 0.60 * np.where(first, side_u, -side_v)
    nx, ny, nz = -lean, np.sin(around), np.cos(around)
    length = np.sqrt(nx * nx + ny * ny + nz * nz)
    nx, ny, nz = nx / length, ny / length, nz / length
    facing = np.clip(nz, 0.0, 1.0)
    seen = _room(2.0 * nz * nx, 2.0 * nz * ny, 2.0 * nz * nz - 1.0, brushed)
    edge = (1.0 - facing)[..., None] ** 5
    coloured = tint + (1.0 - tint) * edge * 0.8
    deep = (1.0 - 0.55 * knurled * step(np.minimum(ridge_u, ridge_v), 0.30, 0.0)) * (
        1.0 - 0.5 * step(np.abs(round_), 0.90, 1.0)
    )
    return np.asarray(coloured * seen * (deep * (1.0 + 0.20 * brushed * marks))[..., None])


def _room(x: Floats, y: Floats, z: Floats, blurred: Floats) -> Floats:
    """Light from a direction: a large lamp above, a narrow one behind, a pale card below, dark between."""
    up = np.degrees(np.arctan2(-y, z))
    soft = 4.0 + 14.0 * blurred
    lamp = step(up, 18.0 - soft, 18.0 + soft) * step(up, 66.0 + soft, 66.0 - soft)
    sidelong = np.exp(-((x / 0.75) ** 2))
    strip = np.exp(-(((up - 104.0) / (4.0 + 6.0 * blurred)) ** 2))
    card = step(up, -28.0 + soft, -62.0) * step(up, -140.0, -96.0)
    warm, cool = np.array([1.0, 0.95, 0.88]), np.array([0.82, 0.92, 1.08])
    light = (0.035 + 0.05 * step(np.abs(up), 10.0, 120.0))[..., None] * cool
    light = light + (1.45 * lamp * (0.25 + 0.75 * sidelong))[..., None] * warm
    light = light + (0.9 * strip)[..., None] * cool + (0.26 * card)[..., None] * warm
    return np.asarray(light)


def _bench(across: Floats, down: Floats, radius: Floats, grain: Hills) -> Floats:
    """A dark bench with the spindle's soft shadow on it, and a wall that fades away."""
    wall = 0.030 + 0.075 * np.exp(-(((across - 0.36) / 0.45) ** 2) - ((down - 0.10) / 0.40) ** 2)
    bench = (
        0.085
        * (1.0 - 0.55 * (down - 0.66))
        * (1.0 + 0.16 * grain.rough(across * 9.0, down * 160.0, octaves=3))
    )
    wide = gaussian_filter1d(0.06 + 0.30 * radius, sigma=0.02 * len(radius), mode="nearest")
    shadow = 0.90 * np.exp(-((np.abs(down - 0.845) / wide) ** 2.6))
    share = step(down, 0.615, 0.70)
    tone = wall * (1.0 - share) + bench * (1.0 - shadow) * share
    return np.asarray(blend(np.zeros(3), np.array([0.92, 0.98, 1.08]), tone))
