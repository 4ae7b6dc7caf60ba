"""What a form's patches will tell, before anything is printed: how far off, and how much it will scatter."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Literal

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.kernel.errors import BadSetting, NotEnoughData
from laydown.science.colour import lab_from_reflectance, visual_density
from laydown.science.findings.form_presses import Press
from laydown.science.findings.form_truths import CODES, Bound, true_values
from laydown.science.forms.patch_set import PatchSet
from laydown.science.gamut import (
    DeviceSurface,
    average_by_colour,
    explain_surface,
    hull_volume,
    unique_colours,
    volume,
)
from laydown.science.prints import BARYTA, BRIGHT_MATTE, CANVAS, MATTE_COTTON, WAVELENGTHS_NM, Medium, Noise
from laydown.science.tone import Ramp, grey_balance, neutral_ramp, tone_reversal

Told = Literal["gamut_volume", "dmax_visual", "black_l", "neutral_l", "grey_balance", "tone_reversal"]
UNITS: Mapping[Told, str] = {
    "gamut_volume": "Lab units cubed",
    "dmax_visual": "D",
    "black_l": "L*",
    "neutral_l": "L*",
    "grey_balance": "C*",
    "tone_reversal": "L*",
}
#: What the words beside a foretold number have to say of how it was read.
CONDITION = "M1, white backing, D50/2°"
#: The invented media of the model. They kept the levels of the surface from being placed otherwise, see
#: docs/methods/patch-sets.md; media that had no part in it are in benchmarks/compare_patch_sets.py.
FORETELLING_MEDIA = (MATTE_COTTON, BRIGHT_MATTE, BARYTA, CANVAS)
FEWEST_SHEETS = 2
_ROUNDS, _FEWEST_ROUNDS = 24, 8
_PATCHES_IN_ALL = 20_000  # of one medium; what a page can wait for
_INKS_AT_EASE = 6


@dataclass(frozen=True, slots=True)
class Foretold:
    """One finding of one medium: its true value, and what a trial with this form will find.

    ``bias`` is how far the mean of many trials lies from the truth; ``deviation`` is the standard deviation
    of one trial's mean over its sheets; ``bias_known_to`` the standard error of the forecast's own bias. All
    in ``unit``. Of "neutral_l" it is the grey, of all 256, whose lightness the ramp tells worst.
    """

    medium: str
    finding: Told
    unit: str
    truth: float
    bias: float
    deviation: float
    bias_known_to: float

    @property
    def error(self) -> float:
        """Root of bias and deviation squared: how far off one trial is likely to be."""
        return float(np.hypot(self.bias, self.deviation))


@dataclass(frozen=True, slots=True)
class FormPrecision:
    """What a form of so many ``patches`` will tell from so many ``sheets`` of each medium.

    ``gamut_from`` says whether its volume is that of a closed surface or of a hull, an upper bound;
    ``gamut_truth`` what it was held against: of more inks than CMYK only the hull is known. ``rounds`` sheets
    of each medium were simulated; ``condition`` is how they were read.
    """

    patches: int
    sheets: int
    rounds: int
    condition: str
    gamut_from: Bound
    gamut_truth: Bound
    foretold: tuple[Foretold, ...]

    def of(self, finding: Told) -> tuple[Foretold, ...]:
        """One finding, medium by medium."""
        return tuple(one for one in self.foretold if one.finding == finding)

    def largest_error(self, finding: Told) -> float:
        """The error of the medium that is told worst, in the finding's unit; NaN where it is not told."""
        return max((one.error for one in self.of(finding)), default=np.nan)

    def between_media(self, finding: Told) -> tuple[float, float]:
        """What a difference of two media suffers: how unlike their biases are, and its standard deviation.

        The first is the largest difference of two of the model's media: what of a bias is shared by all media
        drops out. The second is of the two media that scatter most. NaN where it is not told.
        """
        every = self.of(finding)
        if not every:
            return np.nan, np.nan
        biases = [one.bias for one in every]
        most = sorted(one.deviation for one in every)[-2:]
        return max(biases) - min(biases), float(np.hypot(most[0], most[-1]))

    @property
    def deviation_known_to(self) -> float:
        """Relative standard error of each foretold deviation, as a fraction: 0.15 for 24 rounds."""
        return float(1.0 / np.sqrt(2.0 * (self.rounds - 1)))


def foretell_precision(
    patches: PatchSet,
    *,
    rng: np.random.Generator,
    noise: Noise | None = None,
    sheets: int = 3,
    media: Sequence[Medium] = FORETELLING_MEDIA,
    rounds: int | None = None,
    across: Floats | None = None,
    ink_limit: float | None = None,
) -> FormPrecision:
    """Print and read a form many times on model media, and say how far its findings lie from the truth.

    For choosing between forms and sizes of patch. A studio's own media and printer scatter differently; give
    their spread in ``noise`` once it is known. The model prints smoothly: a print with sharper bends than any
    model medium is told less well than foretold.

    Parameters
    ----------
    patches : PatchSet
        RGB, or inks that the model knows (``form_presses.KNOWN_INKS``).
    rng : numpy Generator
    noise : Noise, optional
        Scatter of sheets, of patches and of the instrument (``reading``); the model's own where not given.
    sheets : int
        Sheets of each medium in a trial.
    media : sequence of Medium
    rounds : int, optional
        Simulated sheets of each medium, 2 or more; where not given 24, and fewer for very large forms
        or many inks, so that a page can wait for it (``FormPrecision.rounds`` says how many).
    across : (n,) -1 (left) to 1 (right edge), optional
        Where each patch lies, for media and printers that drift over the page.
    ink_limit : float, optional
        As the patches were chosen with: nothing beyond it counts as printable.

    Returns
    -------
    FormPrecision

    Raises
    ------
    BadSetting
        for inks that cannot be simulated, or fewer than two rounds or one sheet.

    Notes
    -----
    Truths are those of a perfect sheet (``form_truths``). RGB is printed through the driver of the model,
    inks ink by ink. A finding whose patches are not there (no neutral ramp) is left out. The darkest patch is
    chosen from the mean of all rounds, as a trial chooses it from all its sheets.

    Checked against
    ---------------
    No noise: no deviation, and the bias of the perfect sheet. Deviation that shrinks with the root of the
    sheets. Forms of more levels are less biased. The spread of trials that were simulated sheet by sheet and
    went through reading, charts and findings as measured ones do.
    """
    count = rounds if rounds is not None else _usual_rounds(patches)
    if count < FEWEST_SHEETS or sheets < 1:
        raise BadSetting(
            f"{count} rounds and {sheets} sheets foretell nothing.",
            todo="Ask for 2 rounds and 1 sheet or more.",
        )
    form = _Form(patches)
    scatter = noise or Noise()
    foretold: list[Foretold] = []
    for medium in media:
        press = Press(patches.channels, medium)
        truth = true_values(medium, patches.channels, ink_limit)
        known: dict[Told, float | Floats] = {
            "gamut_volume": truth.gamut_volume,
            "dmax_visual": truth.dmax_visual,
            "black_l": truth.black_l,
            "neutral_l": truth.neutral_l,
            "grey_balance": truth.grey_balance,
            "tone_reversal": truth.tone_reversal,
        }
        read = [press.read(patches.device, noise=scatter, rng=rng, across=across) for _ in range(count)]
        for name, values in form.find([_seen(one) for one in read]).items():
            foretold.append(_foretold(medium.name, name, values, known[name], sheets))
    kind: Bound = "surface" if form.surface is not None else "hull"
    against = true_values(media[0], patches.channels, ink_limit).gamut_from if media else kind
    return FormPrecision(len(patches), sheets, count, CONDITION, kind, against, tuple(foretold))


def _usual_rounds(patches: PatchSet) -> int:
    """As many as a page can wait for; every ink beyond six doubles the overprints, and with them the work."""
    work = len(patches) * max(1.0, 2.0 ** (len(patches.channels) - _INKS_AT_EASE))
    return int(np.clip(_PATCHES_IN_ALL // max(work, 1.0), _FEWEST_ROUNDS, _ROUNDS))


def _seen(spectra: Floats) -> Floats:
    """L*, a*, b* and visual density (n, 4)."""
    lab = lab_from_reflectance(spectra, wavelengths_nm=WAVELENGTHS_NM)
    return np.column_stack([lab, visual_density(spectra, wavelengths_nm=WAVELENGTHS_NM)])


def _foretold(medium: str, name: Told, values: Floats, truth: float | Floats, sheets: int) -> Foretold:
    """Sum up what was found on r sheets (r,), or of a whole curve (r, m) its worst place."""
    found, true = values.reshape(len(values), -1), np.atleast_1d(np.asarray(truth, dtype=np.float64))
    bias, spread = found.mean(axis=0) - true, found.std(axis=0, ddof=1)
    deviation = spread / np.sqrt(sheets)
    at = int(np.argmax(np.hypot(bias, deviation)))
    return Foretold(
        medium=medium,
        finding=name,
        unit=UNITS[name],
        truth=float(true[at]),
        bias=float(bias[at]),
        deviation=float(deviation[at]),
        bias_known_to=float(spread[at] / np.sqrt(len(values))),
    )


class _Form:
    """What is where among the colours of a form."""

    def __init__(self, patches: PatchSet) -> None:
        self.channels = patches.channels
        self.colours = unique_colours(patches.device)
        surface = explain_surface(self.colours.device, channels=patches.channels)
        self.surface = surface if isinstance(surface, DeviceSurface) else None
        self.neutral: Ramp | None = None
        with suppress(NotEnoughData):  # a form of solids alone has none
            self.neutral = neutral_ramp(self.colours.device, channels=patches.channels)

    def find(self, seen: Sequence[Floats]) -> dict[Told, Floats]:
        """Findings of each of r sheets (r,), and the lightness of every grey (r, 256)."""
        colours = average_by_colour(np.stack(seen), self.colours)
        lab = colours[..., :3]
        # The darkest is chosen from all sheets, as for a trial; chosen sheet by sheet noise would choose.
        darkest = int(lab.mean(axis=0)[:, 0].argmin())
        found: dict[Told, Floats] = {"dmax_visual": colours[:, darkest, 3], "black_l": lab[:, darkest, 0]}
        if len(self.channels) > 2:  # one ink encloses nothing, two next to nothing
            found["gamut_volume"] = self._volume(lab)
        if self.neutral is not None:
            ramps = lab[:, self.neutral.rows]
            greys = [np.interp(CODES, self.neutral.steps, one) for one in ramps[..., 0]]
            found["neutral_l"] = np.stack(greys)
            found["grey_balance"] = grey_balance(ramps).mean
            found["tone_reversal"] = tone_reversal(ramps).rise
        return found

    def _volume(self, lab: Floats) -> Floats:
        return hull_volume(lab) if self.surface is None else volume(lab, self.surface.triangles)
