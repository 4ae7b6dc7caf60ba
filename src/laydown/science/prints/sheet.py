"""How one sheet departs from the intention, and how much sheets and readings scatter."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from laydown.kernel.arrays import Floats


@dataclass(frozen=True, slots=True)
class Noise:
    """How much prints and readings scatter; every number is a standard deviation.

    From sheet to sheet: ``ink_amount`` (relative density, all inks together), ``ink_amount_each`` (each ink
    by itself), ``gain`` (extra dot area at half coverage, all together), ``gain_each``, ``tint`` (relative
    reflectance of the bare medium: level, and tilt over the visible range). Within a sheet: ``drift`` (change
    of dot area at half coverage from the middle to the right edge), ``patch`` (relative reflectance, patch to
    patch, multiplied by the medium's texture). Between readings of one patch: ``reading`` (relative
    reflectance). ``dark`` is the reflectance at which the relative scatter has risen to sqrt(2) times its
    value in the lights: instruments and prints scatter more, relatively, where there is little light.

    Defaults are set so that two prints of one matte medium differ, and patches of one sheet scatter, as much
    as on a real matte inkjet print; see ``docs/methods/prints.md``.
    """

    ink_amount: float = 0.005
    ink_amount_each: float = 0.0035
    gain: float = 0.0035
    gain_each: float = 0.002
    tint: float = 0.0015
    drift: float = 0.0012
    patch: float = 0.0027
    reading: float = 0.0018
    dark: float = 0.14

    def times(self, factor: float) -> Noise:
        """The same pattern of scatter, ``factor`` times as large (0 = none)."""
        return Noise(
            **{
                name: getattr(self, name) * (1.0 if name == "dark" else factor)
                for name in self.__dataclass_fields__
            }
        )


@dataclass(frozen=True, slots=True, eq=False)
class SheetState:
    """What came out differently on one sheet; all readings of that sheet share it.

    ``ink_amount`` (4,) relative change of each ink's density; ``gain`` (4,) extra dot area at half coverage;
    ``tint`` (level, tilt) relative change of the bare medium; ``drift`` (4,) extra dot area at half coverage
    at the right edge (minus that at the left); ``patch`` (n, 3) scatter of each patch in units of its
    standard deviation, or None.
    """

    ink_amount: tuple[float, ...] = (0.0, 0.0, 0.0, 0.0)
    gain: tuple[float, ...] = (0.0, 0.0, 0.0, 0.0)
    tint: tuple[float, float] = (0.0, 0.0)
    drift: tuple[float, ...] = (0.0, 0.0, 0.0, 0.0)
    patch: Floats | None = field(default=None)

    def tint_factor(self, wavelengths_nm: Floats) -> Floats:
        """Factor on the bare medium's reflectance, (w,)."""
        level, tilt = self.tint
        return np.asarray(1.0 + level + tilt * (wavelengths_nm - 555.0) / 175.0)


#: A sheet that came out exactly as intended.
PERFECT = SheetState()


def print_sheet(patches: int, *, noise: Noise, rng: np.random.Generator) -> SheetState:
    """Print one more sheet: draw how it departs from the intention.

    Parameters
    ----------
    patches : int
        How many patches the chart has.
    noise : Noise
    rng : numpy Generator

    Returns
    -------
    SheetState, to be shared by every reading of this sheet.

    Checked against
    ---------------
    Scatter of two real matte prints.
    """
    amount = noise.ink_amount * rng.standard_normal() + noise.ink_amount_each * rng.standard_normal(4)
    gain = noise.gain * rng.standard_normal() + noise.gain_each * rng.standard_normal(4)
    level, tilt = noise.tint * rng.standard_normal(2)
    drift = noise.drift * (rng.standard_normal() + 0.5 * rng.standard_normal(4))
    return SheetState(
        ink_amount=tuple(float(value) for value in amount),
        gain=tuple(float(value) for value in gain),
        tint=(float(level), float(tilt)),
        drift=tuple(float(value) for value in drift),
        patch=rng.standard_normal((patches, 3)),
    )


def scatter(
    reflectance: Floats, deviates: Floats, *, size: float, dark: float, wavelengths_nm: Floats
) -> Floats:
    """Scatter spectra smoothly: mostly in level, less in tilt and in curvature, relatively more in the darks.

    Parameters
    ----------
    reflectance : array (n, w), 0-1
    deviates : array (n, 3), standard normal
    size : float
        Standard deviation of the relative reflectance of a light patch.
    dark : float
        Reflectance at which the relative scatter has risen to sqrt(2) times that.
    wavelengths_nm : array (w,), nm

    Returns
    -------
    array (n, w), reflectance.

    Notes
    -----
    ``R exp(size sqrt(1 + (dark / R)^2) shape)``. Repeat variation of reflectance is close to a constant
    coefficient of variation over wavelength, and worse in the darks (ASTM E2214 literature, from memory).

    Checked against
    ---------------
    Scatter of whites and blacks on a real matte chart.
    """
    u = (np.asarray(wavelengths_nm) - 555.0) / 175.0
    shapes = np.stack([np.ones_like(u), 0.45 * u, 0.45 * (1.5 * u * u - 0.5)])
    level = np.maximum(reflectance.mean(axis=-1, keepdims=True), 1e-4)
    return np.asarray(reflectance * np.exp(size * np.hypot(1.0, dark / level) * (deviates @ shapes)))
