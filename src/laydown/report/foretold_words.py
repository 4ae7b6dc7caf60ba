"""What a form is foretold to tell, in words with unit, condition and number."""

from __future__ import annotations

from dataclasses import dataclass

from laydown.report.wording import unit_words
from laydown.science.findings.form_precision import Foretold, FormPrecision, Told

_LABELS: dict[Told, str] = {
    "gamut_volume": "Gamut volume",
    "dmax_visual": "Dmax visual",
    "black_l": "Lightness of the black",
    "neutral_l": "Lightness of greys",
    "grey_balance": "Grey balance",
    "tone_reversal": "Tone reversal",
}
_MEANS: dict[Told, str] = {
    "gamut_volume": "how many colours can be printed",
    "dmax_visual": "the deepest black, as density",
    "black_l": "the deepest black, as lightness",
    "neutral_l": "the grey of all 256 that is told worst",
    "grey_balance": "how far greys stray from neutral",
    "tone_reversal": "steps that turn lighter on the way to black",
}
_TWICE = 2.0  # standard deviations: 19 trials of 20 where errors are normal
CAUTION = (
    "A forecast from a model of printing, not a measurement: your media, printer and instrument scatter in "
    "their own way, and a print with sharper bends than any model medium is told less well."
)


@dataclass(frozen=True, slots=True)
class ForetoldLine:
    """One finding: how far off it may be for one medium, and for a difference of two."""

    label: str
    means: str
    one: str
    two: str


def foretold_lines(precision: FormPrecision) -> tuple[ForetoldLine, ...]:
    """Each finding the form tells, of the medium it tells worst.

    What is said holds in about 19 trials of 20: what is off in every trial, and twice the standard deviation
    of one. Of two media the part that is off for both drops out.
    """
    return tuple(
        ForetoldLine(
            _LABELS[finding] + _upper_bound(finding, precision),
            _MEANS[finding],
            one_medium(precision, finding),
            _two_media(precision, finding),
        )
        for finding in _LABELS
        if precision.of(finding)
    )


def one_medium(precision: FormPrecision, finding: Told) -> str:
    """How far off one medium's value may be, such as "0.7 %"; "" where the form does not tell it."""
    every = precision.of(finding)
    if not every:
        return ""
    if finding == "gamut_volume":
        return _per_cent(max(_off(one) / one.truth for one in every))
    return f"{_rounded(max(map(_off, every)))} {unit_words(every[0].unit)}"


def foretold_basis(precision: FormPrecision, *, patches: bool = True) -> str:
    """What the forecast rests on, in a sentence or two; the number of patches only where asked for."""
    media = len({one.medium for one in precision.foretold})
    sheets = f"{precision.sheets} sheet{'' if precision.sheets == 1 else 's'} of each medium"
    counted = f", {precision.patches} patches" if patches else ""
    return (
        f"From {sheets}, {precision.condition}{counted}, on {media} invented model media (simulated, "
        f"{precision.rounds} sheets of each). Of the medium told worst, and in about 19 trials of 20; itself "
        f"known within about {100.0 * precision.deviation_known_to:.0f} %."
    )


def _two_media(precision: FormPrecision, finding: Told) -> str:
    bias, deviation = precision.between_media(finding)
    off = bias + _TWICE * deviation
    if finding == "gamut_volume":
        return _per_cent(off / min(one.truth for one in precision.of(finding)))
    return f"{_rounded(off)} {unit_words(precision.of(finding)[0].unit)}"


def _upper_bound(finding: Told, precision: FormPrecision) -> str:
    hull = finding == "gamut_volume" and precision.gamut_from == "hull"
    return ", an upper bound" if hull else ""


def _off(one: Foretold) -> float:
    return abs(one.bias) + _TWICE * one.deviation


def _per_cent(share: float) -> str:
    return f"{_rounded(100.0 * share)} %"


def _rounded(value: float) -> str:
    """Two figures are more than a forecast knows; never as 1e-05."""
    if value < 5e-4:
        return "0.001"
    return f"{float(f'{value:.2g}'):.6f}".rstrip("0").rstrip(".")
