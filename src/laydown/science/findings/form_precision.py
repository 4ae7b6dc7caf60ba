"""What a form's patches will tell, before anything is printed: how far off, and how much it will scatter."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from laydown.kernel.arrays import Floats, Ints
from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting, NotEnoughData
from laydown.science.colour import lab_from_reflectance
from laydown.science.findings.reading_order import as_light
from laydown.science.forms.patch_set import PatchSet
from laydown.science.forms.patch_surfaces import surface_patches
from laydown.science.gamut import (
    DeviceSurface,
    average_by_colour,
    explain_surface,
    hull_volume,
    unique_colours,
    volume,
)
from laydown.science.prints import (
    BARYTA,
    BRIGHT_MATTE,
    CANVAS,
    MATTE_COTTON,
    WAVELENGTHS_NM,
    Medium,
    Noise,
    print_sheet,
    read_sheet,
    reflectance,
)
from laydown.science.tone import grey_balance, neutral_ramp, tone_reversal

Told = Literal["gamut_volume", "black_l", "grey_balance", "tone_reversal"]
UNITS: Mapping[Told, str] = {
    "gamut_volume": "Lab units cubed",
    "black_l": "L*",
    "grey_balance": "C*",
    "tone_reversal": "L*",
}
#: Media of the model that took no part in choosing where patches are placed.
FORETELLING_MEDIA = (MATTE_COTTON, BRIGHT_MATTE, BARYTA, CANVAS)
TRUTH_LEVELS = Constant(33, "levels", "a finer surface changes its volume by less than 0.02 %", "computed")
FEWEST_SHEETS = 2


@dataclass(frozen=True, slots=True)
class Foretold:
    """One finding of one medium: its true value, and what a trial with this form will find.

    ``bias`` is how far the mean of many trials lies from the truth; ``deviation`` is the standard deviation
    of one trial's mean over its sheets. Both in ``unit``.
    """

    medium: str
    finding: Told
    unit: str
    truth: float
    bias: float
    deviation: float


@dataclass(frozen=True, slots=True)
class FormPrecision:
    """What a form of so many patches will tell from so many sheets of each medium.

    ``gamut_from`` says whether its volume is that of a closed surface or of a hull, an upper bound.
    """

    patches: int
    sheets: int
    gamut_from: Literal["surface", "hull"]
    foretold: tuple[Foretold, ...]

    def of(self, finding: Told) -> tuple[Foretold, ...]:
        """One finding, medium by medium."""
        return tuple(one for one in self.foretold if one.finding == finding)

    def largest_error(self, finding: Told) -> float:
        """Root of bias and deviation squared of the medium that is told worst, in the finding's unit."""
        return max((float(np.hypot(one.bias, one.deviation)) for one in self.of(finding)), default=np.nan)


def foretell_precision(
    patches: PatchSet,
    *,
    rng: np.random.Generator,
    noise: Noise | None = None,
    sheets: int = 3,
    media: Sequence[Medium] = FORETELLING_MEDIA,
    rounds: int = 24,
) -> FormPrecision:
    """Print and read a form many times on model media, and say how far its findings lie from the truth.

    For choosing between forms and sizes of patch. A studio's own media and printer scatter differently; give
    their spread in ``noise`` once it is known. The model prints smoothly: a print with sharper bends than any
    model medium is told less well than foretold.

    Parameters
    ----------
    patches : PatchSet
        RGB, CMYK or black alone; other inks cannot be simulated.
    rng : numpy Generator
    noise : Noise, optional
        Scatter of sheets, of patches and of the instrument (``reading``); the model's own where not given.
    sheets : int
        Sheets of each medium in a trial.
    media : sequence of Medium
    rounds : int
        Simulated sheets of each medium, 2 or more.

    Returns
    -------
    FormPrecision

    Raises
    ------
    BadSetting
        for channels that cannot be simulated, or fewer than two rounds or one sheet.

    Notes
    -----
    Truths: the surface of ``TRUTH_LEVELS`` levels, the darkest of it and of all greys, and the ramp of all
    256 greys, of a perfect sheet. CMYK is printed through the stand-in of ``as_light``. A finding whose
    patches are not there (no neutral ramp) is left out. Bias is a mean over ``rounds`` sheets, so that it is
    known no better than the deviation of as many.

    Checked against
    ---------------
    No noise: no deviation, and the bias of the perfect sheet. Deviation that shrinks with the root of the
    sheets. Forms of more levels are less biased.
    """
    if rounds < FEWEST_SHEETS or sheets < 1:
        raise BadSetting(
            f"{rounds} rounds and {sheets} sheets foretell nothing.",
            todo="Ask for 2 rounds and 1 sheet or more.",
        )
    light = as_light(patches.device, channels=patches.channels)
    if light is None:
        raise BadSetting(
            f"prints in {', '.join(patches.channels)} cannot be simulated.",
            todo="Foretell an RGB or CMYK form.",
        )
    form = _Form(patches, light)
    scatter = noise or Noise()
    foretold: list[Foretold] = []
    for medium in media:
        truth = _truth(medium)
        found = form.find(_sheets(light, medium, scatter, rounds, rng))
        for name, values in found.items():
            foretold.append(
                Foretold(
                    medium=medium.name,
                    finding=name,
                    unit=UNITS[name],
                    truth=truth[name],
                    bias=float(values.mean() - truth[name]),
                    deviation=float(values.std(ddof=1) / np.sqrt(sheets)),
                )
            )
    kind: Literal["surface", "hull"] = "surface" if form.surface is not None else "hull"
    return FormPrecision(len(patches), sheets, kind, tuple(foretold))


class _Form:
    """What is where among the colours of a form."""

    def __init__(self, patches: PatchSet, light: Floats) -> None:
        self.colours = unique_colours(patches.device)
        surface = explain_surface(self.colours.device, channels=patches.channels)
        self.surface = surface if isinstance(surface, DeviceSurface) else None
        self.light = light
        try:
            ramp = neutral_ramp(self.colours.device, channels=patches.channels)
        except NotEnoughData:
            self.neutral: Ints | None = None
        else:
            self.neutral = ramp.rows

    def find(self, labs: Floats) -> dict[Told, Floats]:
        """Findings of each of s sheets (s, n, 3), (s,) each."""
        colours = average_by_colour(labs, self.colours)
        if self.surface is None:
            found: dict[Told, Floats] = {"gamut_volume": hull_volume(colours)}
        else:
            found = {"gamut_volume": volume(colours, self.surface.triangles)}
        # The darkest is chosen from all sheets, as for a trial; chosen sheet by sheet noise would choose.
        found["black_l"] = colours[:, int(colours.mean(axis=0)[:, 0].argmin()), 0]
        if self.neutral is not None:
            ramps = colours[:, self.neutral]
            found["grey_balance"] = grey_balance(ramps).mean
            found["tone_reversal"] = tone_reversal(ramps).rise
        return found


def _sheets(light: Floats, medium: Medium, noise: Noise, count: int, rng: np.random.Generator) -> Floats:
    """Lab (count, n, 3) of so many sheets, each read once."""
    labs = []
    for _ in range(count):
        state = print_sheet(len(light), noise=noise, rng=rng)
        spectra = read_sheet(light, medium=medium, sheet_state=state, noise=noise, rng=rng)
        labs.append(lab_from_reflectance(spectra, wavelengths_nm=WAVELENGTHS_NM))
    return np.stack(labs)


def _truth(medium: Medium) -> dict[Told, float]:
    """True values of a medium."""
    step = np.linspace(1.0, 0.0, 256)
    greys = _lab(np.repeat(step[:, None], 3, axis=1), medium)
    truth: dict[Told, float] = {
        "gamut_volume": np.nan,
        "black_l": float(greys[:, 0].min()),
        "grey_balance": float(grey_balance(greys).mean),
        "tone_reversal": float(tone_reversal(greys).rise),
    }
    # A colour cube and CMYK bound the same colours of the stand-in; the cube shows them in fewer points.
    cube = surface_patches(int(TRUTH_LEVELS.value)).device
    surface = explain_surface(cube, channels=("R", "G", "B"))
    assert isinstance(surface, DeviceSurface)
    lab = _lab(cube, medium)
    truth["gamut_volume"] = float(volume(lab, surface.triangles))
    truth["black_l"] = min(truth["black_l"], float(lab[:, 0].min()))
    return truth


def _lab(light: Floats, medium: Medium) -> Floats:
    return np.asarray(lab_from_reflectance(reflectance(light, medium=medium), wavelengths_nm=WAVELENGTHS_NM))
