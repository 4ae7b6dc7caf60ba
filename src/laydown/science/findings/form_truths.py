"""True values of model media: what endless patches, printed and read without scatter, would find."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.kernel.constants import Constant
from laydown.science.colour import lab_from_reflectance, visual_density
from laydown.science.findings.form_presses import Press
from laydown.science.forms.patch_levels import placed_levels
from laydown.science.forms.patch_set import CMYK, FULL_CODE, is_light
from laydown.science.gamut import DeviceSurface, explain_surface, hull_volume, volume
from laydown.science.prints import WAVELENGTHS_NM, Medium
from laydown.science.tone import grey_balance, tone_reversal

Bound = Literal["surface", "hull"]
TRUTH_LEVELS = Constant(33, "levels", "a finer surface changes its volume by less than 0.02 %", "computed")
#: Every grey an 8-bit file can ask for, from paper (0) to full ink (1).
CODES = np.linspace(0.0, 1.0, FULL_CODE + 1)
CODES.flags.writeable = False
_BLACK_LEVELS = 9  # of each channel, between the last fifth and full
_PAIR_LEVELS, _TRIPLE_LEVELS = 17, 7  # of inks beyond CMYK, whose hull hangs on solids and strong tints


@dataclass(frozen=True, slots=True, eq=False)
class TrueValues:
    """What is true of a medium printed in some channels; ``neutral_l`` (256,) is of ``CODES``.

    ``gamut_from`` says whether ``gamut_volume`` is of the body itself or of its hull; NaN for one ink or two.
    """

    gamut_volume: float
    gamut_from: Bound
    dmax_visual: float
    black_l: float
    neutral_l: Floats
    grey_balance: float
    tone_reversal: float


@lru_cache(maxsize=64)
def true_values(medium: Medium, channels: tuple[str, ...], ink_limit: float | None = None) -> TrueValues:
    """The true values of a medium, kept once they are worked out.

    Of the model alone, which prints more smoothly than a printer; no substitute for measuring.

    Parameters
    ----------
    medium : Medium
    channels : RGB, or inks that the model knows
    ink_limit : largest sum of inks; None for no limit. What is beyond it counts as printed at the limit

    Returns
    -------
    TrueValues

    Raises
    ------
    BadSetting
        for inks that the model has not.

    Notes
    -----
    Volume: the surface of ``TRUTH_LEVELS`` levels for three channels and for CMYK, each of its points brought
    back to the ink limit, so that the mesh stays closed; otherwise the hull of every plane of two and a
    lattice of every three inks. Black: the darkest of these, of all greys and of a lattice about full ink.

    Checked against
    ---------------
    Twice as many levels; a limit of all inks together, which is none; the truth of every patch of a form.
    """
    press = Press(channels, medium)
    outside = dense_outside(channels)
    body = explain_surface(outside, channels=channels)
    lab, density = _seen(press, _held(outside, channels, ink_limit))
    size, kind = np.nan, "hull"
    if isinstance(body, DeviceSurface):
        size, kind = float(volume(lab, body.triangles)), "surface"
    elif len(channels) > 2:
        size = float(hull_volume(lab))
    greys, grey_density = _seen(press, _held(_greys(channels), channels, ink_limit))
    dark, dark_density = _seen(press, _held(_about_black(channels), channels, ink_limit))
    return TrueValues(
        gamut_volume=size,
        gamut_from="surface" if kind == "surface" else "hull",
        dmax_visual=float(max(density.max(), grey_density.max(), dark_density.max())),
        black_l=float(min(lab[:, 0].min(), greys[:, 0].min(), dark[:, 0].min())),
        neutral_l=greys[:, 0],
        grey_balance=float(grey_balance(greys).mean),
        tone_reversal=float(tone_reversal(greys).rise),
    )


def _seen(press: Press, device: Floats) -> tuple[Floats, Floats]:
    spectra = press.spectra(device)
    lab = lab_from_reflectance(spectra, wavelengths_nm=WAVELENGTHS_NM)
    return np.asarray(lab), visual_density(spectra, wavelengths_nm=WAVELENGTHS_NM)


def dense_outside(channels: tuple[str, ...]) -> Floats:
    """Device values all over the outside, as finely as truth needs.

    Parameters
    ----------
    channels : RGB, CMYK or other inks

    Returns
    -------
    (n, k) device values 0 to 1, each once: the faces of ``gamut.device_surface`` in ``TRUTH_LEVELS`` levels;
    for inks that have none, planes of two inks and lattices of three

    Checked against
    ---------------
    ``gamut.device_surface`` closes over three channels and CMYK; twice as many levels.
    """
    steps = placed_levels(int(TRUTH_LEVELS.value), light=is_light(channels)) / FULL_CODE
    if len(channels) == 3:
        cube = _grid(steps, steps, steps)
        return np.asarray(cube[((cube == 0.0) | (cube == 1.0)).any(axis=1)])
    if channels == CMYK:
        return _cmyk_outside(steps)
    parts = []
    for together, levels in ((2, _PAIR_LEVELS), (3, _TRIPLE_LEVELS)):
        few = placed_levels(levels, light=False) / FULL_CODE
        for inks in itertools.combinations(range(len(channels)), min(together, len(channels))):
            part = np.zeros((len(few) ** len(inks), len(channels)))
            part[:, inks] = _grid(*[few] * len(inks))
            parts.append(part)
    return np.unique(np.concatenate(parts), axis=0)


def _cmyk_outside(steps: Floats) -> Floats:
    """The twelve faces of ``gamut.device_surface``, all alike fine."""
    none, full = np.zeros(1), np.ones(1)
    parts = []
    for fixed, black in itertools.product(range(3), (none, full)):
        axes = [steps, steps, steps, black]
        axes[fixed] = black  # light faces lack an ink, dark ones have it full
        parts.append(_grid(*axes))
    for low, high in itertools.permutations(range(3), 2):
        axes = [steps] * 4
        axes[low], axes[high] = none, full
        parts.append(_grid(*axes))
    return np.unique(np.concatenate(parts), axis=0)


def _greys(channels: tuple[str, ...]) -> Floats:
    """From paper to full ink, as ``patch_ramps.neutral_patches``."""
    if is_light(channels):
        return np.repeat(1.0 - CODES[:, None], 3, axis=1)
    greys = np.zeros((len(CODES), len(channels)))
    moving = [channels.index("K")] if "K" in channels else list(range(len(channels)))
    greys[:, moving] = CODES[:, None]
    return greys


def _about_black(channels: tuple[str, ...]) -> Floats:
    """A lattice about full ink in three channels, with and without full black."""
    ends = np.linspace(0.0, 0.2, _BLACK_LEVELS)
    if is_light(channels):
        return _grid(ends, ends, ends)
    lattice = np.zeros((_BLACK_LEVELS**3, len(channels)))
    others = [at for at, name in enumerate(channels) if name != "K"][:3]
    steps = np.linspace(0.0, 1.0, _BLACK_LEVELS)
    lattice[:, others] = _grid(*[steps] * 3)[:, : len(others)]
    lattice[:, [name == "K" for name in channels]] = 1.0
    return lattice


def _held(device: Floats, channels: tuple[str, ...], ink_limit: float | None) -> Floats:
    """Black keeps its amount and the others give way alike, as ``forms.ink_limit`` does it in codes."""
    if ink_limit is None or is_light(channels):
        return device
    black = np.array([name == "K" for name in channels])
    room = np.maximum(ink_limit - device[:, black].sum(axis=1), 0.0)
    share = np.minimum(room / np.maximum(device[:, ~black].sum(axis=1), 1e-12), 1.0)
    return np.where(black, device, device * share[:, None])


def _grid(*axes: Floats) -> Floats:
    return np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, len(axes))
