"""The truth: what a perfect sheet, printed as intended and read without error, reflects."""

from __future__ import annotations

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.kernel.errors import BadSetting
from laydown.science.prints.inks import INVENTED_INKS, InkSet, ink_densities
from laydown.science.prints.media import Medium, bare_reflectance, glow
from laydown.science.prints.neugebauer import mix, overprints
from laydown.science.prints.separation import dot_areas, separate
from laydown.science.prints.sheet import PERFECT, SheetState

#: The wavelengths most instruments report: 380-730 nm in steps of 10.
WAVELENGTHS_NM = np.arange(380.0, 731.0, 10.0)
WAVELENGTHS_NM.flags.writeable = False
#: Nearest available wavelengths to where a brightener takes its light from.
_EXCITATION_BELOW_NM = 400.0


def reflectance(
    device_rgb: Floats,
    *,
    medium: Medium,
    ink_set: InkSet = INVENTED_INKS,
    condition: str = "M1",
    backing: str = "white",
    wavelengths_nm: Floats = WAVELENGTHS_NM,
    sheet_state: SheetState = PERFECT,
    across: Floats | None = None,
) -> Floats:
    """Spectral reflectance of printed patches without any noise.

    A physical model with known true values, for demonstration, tests and planning. It looks like prints; it
    is no model of any one product, and no substitute for measuring.

    Parameters
    ----------
    device_rgb : array (n, 3), 0-1, 1 = full light
    medium : Medium
    ink_set : InkSet
    condition : "M0", "M1" or "M2"
    backing : "white" or "black"
    wavelengths_nm : array (w,), nm, ascending
    sheet_state : SheetState
        How one sheet departs from the intention; the default departs in nothing.
    across : array (n,), -1 (left edge) to 1 (right edge), or None
        Where each patch lies on the sheet; only matters with a sheet that drifts.

    Returns
    -------
    array (n, w), reflectance; above 1 where a brightener glows.

    Raises
    ------
    BadSetting
        Device values are not (n, 3), or condition or backing is unknown.

    Notes
    -----
    ``R = s + (1 - s) (mix + glow sqrt(T_uv T))``: s is the surface, mix the Yule-Nielsen-Neugebauer mixture
    over the bare medium, T the double-pass transmittance of the inks and T_uv the same below 400 nm, since
    UV crosses the ink once on its way in and the glow once on its way out.

    Checked against
    ---------------
    Limits of each part, and the figures of the trade for blacks, whites and gamut volume; see
    ``docs/methods/prints.md``.
    """
    nm = np.asarray(wavelengths_nm, dtype=np.float64)
    rgb = np.asarray(device_rgb, dtype=np.float64)
    if rgb.ndim != 2 or rgb.shape[-1] != 3:
        raise BadSetting(
            f"device values have shape {rgb.shape}.", todo="Give one row of R, G, B (0-1) per patch."
        )
    amounts = separate(rgb, ink_set=ink_set, ink_limit=medium.ink_limit)
    areas = _areas(amounts, medium=medium, ink_set=ink_set, sheet_state=sheet_state, across=across)
    bare = bare_reflectance(medium, backing=backing, wavelengths_nm=nm) * sheet_state.tint_factor(nm)
    strength = medium.ink_strength * (1.0 + np.asarray(sheet_state.ink_amount))
    strength[3] *= medium.black_strength
    solids = overprints(
        ink_densities(ink_set, wavelengths_nm=nm), bare=bare, strength=strength, trapping=ink_set.trapping
    )
    passed = mix(areas, solids / bare, n_factor=medium.n_factor)
    excess = np.maximum(medium.overdrive * amounts.sum(axis=-1) - medium.capacity, 0.0)
    sunk = excess > 0.0
    if medium.coalescence > 0.0 and sunk.any():
        keeps = np.exp(-medium.coalescence * excess[sunk])[:, None]
        passed[sunk] = passed[sunk] ** keeps
    inside = passed * bare
    light = glow(medium, condition=condition, wavelengths_nm=nm)
    if light.any():
        excitation = passed[:, nm <= max(_EXCITATION_BELOW_NM, nm[0])].mean(axis=-1, keepdims=True)
        inside += light * np.sqrt(excitation * passed)
    return medium.surface + (1.0 - medium.surface) * inside


def _areas(
    amounts: Floats, *, medium: Medium, ink_set: InkSet, sheet_state: SheetState, across: Floats | None
) -> Floats:
    """Dot areas on this sheet, including its gain and its drift from left to right."""
    gain = np.asarray(sheet_state.gain, dtype=np.float64)
    if across is not None:
        gain = gain + np.asarray(across, dtype=np.float64)[:, None] * np.asarray(sheet_state.drift)
    return dot_areas(amounts, ink_set=ink_set, overdrive=medium.overdrive, gain=gain)
