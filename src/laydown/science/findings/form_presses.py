"""Model prints of a form in whatever channels it has: through the model's RGB driver, or ink by ink."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.kernel.errors import BadSetting
from laydown.science.forms.patch_set import is_light
from laydown.science.prints import (
    INKS,
    INVENTED_INKS,
    PERFECT,
    WAVELENGTHS_NM,
    Band,
    InkSet,
    Medium,
    Noise,
    SheetState,
    bare_reflectance,
    demichel_weights,
    glow,
    ink_densities,
    reflectance,
    scatter,
)

# Invented, like the four of the model: the shape that such pigments have, and no product's.
_FURTHER_INKS: Mapping[str, tuple[Band, ...]] = {
    "O": (Band(1.6, 0.0, 555.0, 12.0, 9.0), Band(0.02, 0.0, 2000.0)),
    "R": (Band(1.6, 0.0, 588.0, 12.0, 8.0), Band(0.02, 0.0, 2000.0)),
    "G": (Band(1.4, 575.0, 2000.0, 14.0), Band(1.4, 0.0, 470.0, 12.0, 14.0), Band(0.06, 0.0, 2000.0)),
    "B": (Band(1.5, 505.0, 2000.0, 16.0), Band(0.08, 0.0, 2000.0)),
    "V": (Band(1.5, 495.0, 655.0, 14.0, 18.0), Band(0.06, 0.0, 2000.0)),
}
#: Diluted inks: which ink, and how much of its density.
_LIGHT_INKS: Mapping[str, tuple[str, float]] = {
    "LC": ("C", 0.35),
    "LM": ("M", 0.35),
    "LK": ("K", 0.4),
    "LLK": ("K", 0.15),
}
KNOWN_INKS = (*INKS, *_FURTHER_INKS, *_LIGHT_INKS)
_EXCITATION_BELOW_NM = 400.0
_AT_ONCE = 4096  # patches whose every overprint is worked out together, so that eight inks fit in memory


@dataclass(frozen=True, slots=True)
class Press:
    """A printer that takes device values in ``channels`` and prints them on ``medium`` with ``ink_set``.

    RGB goes through the driver of ``laydown.science.prints``, with its separation and ink limit. Anything
    else is taken as ink amounts, each laid down as asked for: what a form in inks does, whose limit is its
    own. Dots of all inks mix as in the same model (Yule-Nielsen, Neugebauer, Demichel). M1, white backing.

    Raises
    ------
    BadSetting
        for an ink that the model has not.
    """

    channels: tuple[str, ...]
    medium: Medium
    ink_set: InkSet = INVENTED_INKS

    def __post_init__(self) -> None:
        unknown = [name for name in self.channels if name not in KNOWN_INKS]
        if unknown and not is_light(self.channels):
            raise BadSetting(
                f"prints in {', '.join(self.channels)} cannot be simulated: the model has no ink "
                f"{' and no ink '.join(unknown)}.",
                todo=f"It knows RGB and the inks {', '.join(KNOWN_INKS)}.",
            )

    def spectra(self, device: Floats, *, sheet: SheetState = PERFECT, across: Floats | None = None) -> Floats:
        """Reflectance (n, w) of patches on one sheet, without the scatter of patches; M1, white backing."""
        if is_light(self.channels):
            return reflectance(
                device, medium=self.medium, ink_set=self.ink_set, sheet_state=sheet, across=across
            )
        areas = self._areas(device, sheet, across)
        solids = self._solids(sheet)
        blocks = range(0, max(len(device), 1), _AT_ONCE)
        passed = np.concatenate([self._mixed(areas[at : at + _AT_ONCE], solids) for at in blocks])
        return self._seen(self._sunk_in(passed, device), sheet)

    def read(
        self, device: Floats, *, noise: Noise, rng: np.random.Generator, across: Floats | None = None
    ) -> Floats:
        """Print one more sheet and read it once: (n, w), with all scatter."""
        sheet = self.sheet(noise=noise, rng=rng)
        printed = self.spectra(device, sheet=sheet, across=across)
        for size in (noise.patch * self.medium.texture, noise.reading):
            deviates = rng.standard_normal((len(device), 3))
            printed = scatter(printed, deviates, size=size, dark=noise.dark, wavelengths_nm=WAVELENGTHS_NM)
        return printed

    def sheet(self, *, noise: Noise, rng: np.random.Generator) -> SheetState:
        """Draw how one more sheet departs from the intention; ``prints.print_sheet`` for any inks."""
        inks = len(INKS) if is_light(self.channels) else len(self.channels)
        amount = noise.ink_amount * rng.standard_normal() + noise.ink_amount_each * rng.standard_normal(inks)
        gain = noise.gain * rng.standard_normal() + noise.gain_each * rng.standard_normal(inks)
        level, tilt = noise.tint * rng.standard_normal(2)
        drift = noise.drift * (rng.standard_normal() + 0.5 * rng.standard_normal(inks))
        return SheetState(
            ink_amount=tuple(amount.tolist()),
            gain=tuple(gain.tolist()),
            tint=(float(level), float(tilt)),
            drift=tuple(drift.tolist()),
        )

    def _areas(self, device: Floats, sheet: SheetState, across: Floats | None) -> Floats:
        """Dot areas (n, k), as ``prints.dot_areas``; an ink that is not of its four has a straight curve."""
        four = [INKS.index(name) if name in INKS else None for name in self.channels]
        light = np.array([1.0 if at is None else self.ink_set.tone_light[at] for at in four])
        dark = np.array([1.0 if at is None else self.ink_set.tone_dark[at] for at in four])
        gain = _per_ink(sheet.gain, len(four))
        if across is not None:
            gain = gain + across[:, None] * _per_ink(sheet.drift, len(four))
        full = np.minimum(
            self.medium.overdrive * (1.0 - (1.0 - np.clip(device, 0.0, 1.0) ** light) ** dark), 1.0
        )
        return np.asarray(np.clip(full + gain * 4.0 * full * (1.0 - full), 0.0, 1.0))

    def _solids(self, sheet: SheetState) -> Floats:
        """What every overprint lets through (2^k, w), as ``prints.overprints``."""
        inks = len(self.channels)
        strength = self.medium.ink_strength * (1.0 + _per_ink(sheet.ink_amount, inks))
        strength[[name == "K" for name in self.channels]] *= self.medium.black_strength
        lying = np.array([[float(row >> ink & 1) for ink in range(inks)] for row in range(2**inks)])
        kept = self.ink_set.trapping ** np.maximum(lying.sum(axis=1) - 1.0, 0.0)
        densities = np.stack([_ink_density(name, self.ink_set) for name in self.channels])
        return np.asarray(10.0 ** -((lying * strength) @ densities * kept[:, None]))

    def _mixed(self, areas: Floats, solids: Floats) -> Floats:
        n = self.medium.n_factor
        return np.asarray((demichel_weights(areas) @ solids ** (1.0 / n)) ** n)

    def _sunk_in(self, passed: Floats, amounts: Floats) -> Floats:
        """Ink beyond what the medium holds loses density."""
        excess = np.maximum(self.medium.overdrive * amounts.sum(axis=1) - self.medium.capacity, 0.0)
        return np.asarray(passed ** np.exp(-self.medium.coalescence * excess)[:, None])

    def _seen(self, passed: Floats, sheet: SheetState) -> Floats:
        """Reflectance of what lets so much through, the medium's glow and surface with it."""
        nm, medium = WAVELENGTHS_NM, self.medium
        bare = bare_reflectance(medium, backing="white", wavelengths_nm=nm) * sheet.tint_factor(nm)
        excitation = passed[:, nm <= _EXCITATION_BELOW_NM].mean(axis=1, keepdims=True)
        light = glow(medium, condition="M1", wavelengths_nm=nm) * np.sqrt(excitation * passed)
        return np.asarray(medium.surface + (1.0 - medium.surface) * (passed * bare + light))


def _ink_density(name: str, ink_set: InkSet) -> Floats:
    """Density spectrum (w,) of an ink at full."""
    four = ink_densities(ink_set, wavelengths_nm=WAVELENGTHS_NM)
    if name in INKS:
        return np.asarray(four[INKS.index(name)])
    if name in _LIGHT_INKS:
        whose, share = _LIGHT_INKS[name]
        return np.asarray(share * four[INKS.index(whose)])
    one_of_them = replace(ink_set, cyan=_FURTHER_INKS[name])
    return np.asarray(ink_densities(one_of_them, wavelengths_nm=WAVELENGTHS_NM)[0])


def _per_ink(values: tuple[float, ...], inks: int) -> Floats:
    """Values of a sheet, one per ink; ``PERFECT`` holds zeros for four inks."""
    found = np.zeros(inks)
    found[: len(values)] = values[:inks]
    return found
