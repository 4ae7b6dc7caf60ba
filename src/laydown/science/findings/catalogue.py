"""Every number Laydown finds about a medium: what it is, its unit, its source, and the margin that matters.

Page, PDF, JSON, terminal and docs all read this list; adding a metric starts here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from laydown.kernel.constants import Constant
from laydown.science.deciding.types import Preference

Family = Literal["white", "black", "gamut", "tone", "spread"]
FAMILY_TITLES: dict[Family, str] = {
    "white": "The bare medium",
    "black": "Black",
    "gamut": "Colour range",
    "tone": "Tone",
    "spread": "Spread",
}


@dataclass(frozen=True, slots=True)
class Metric:
    """One kind of finding.

    ``margin`` is the smallest difference that matters; with ``margin_is_relative`` it is a fraction of the
    reference medium's value. ``resolution`` is the smallest step the number can take or an ordinary
    instrument can tell; spread below it is not believed. ``needs_same_chart``: media measured on different
    charts are not compared in it. ``judged``: differences in it are called. ``paired``: it needs two
    conditions of the same sheet.
    """

    id: str
    label: str
    family: Family
    unit: str
    decimals: int
    method: str
    source: str
    preference: Preference = "none"
    margin: Constant | None = None
    margin_is_relative: bool = False
    resolution: float = 0.0
    needs_same_chart: bool = False
    judged: bool = True
    colorimetry: str = "D50/2°"


def _practice(value: float, unit: str) -> Constant:
    return Constant(value, unit, "common practice, no source", "common practice, no source")


# The last digit an ordinary instrument's file gives, or its short-term repeatability on paper (about 0.1
# dE00, from memory): identical readings do not mean a spread of nothing.
_LAB_STEP = 0.05
_DENSITY_STEP = 0.005

_WHITE = (
    Metric(
        "white_l",
        "White L*",
        "white",
        "L*",
        2,
        "mean of all unprinted patches",
        "ISO 13655; CIE 15",
        margin=_practice(0.5, "L*"),
        resolution=_LAB_STEP,
    ),
    Metric(
        "white_a",
        "White a*",
        "white",
        "a*",
        2,
        "mean of all unprinted patches",
        "ISO 13655; CIE 15",
        margin=_practice(0.5, "a*"),
        resolution=_LAB_STEP,
    ),
    Metric(
        "white_b",
        "White b*",
        "white",
        "b*",
        2,
        "mean of all unprinted patches",
        "ISO 13655; CIE 15",
        margin=_practice(0.5, "b*"),
        resolution=_LAB_STEP,
    ),
    Metric(
        "whiteness_cie",
        "CIE whiteness",
        "white",
        "W",
        1,
        "W = Y + 800(xn - x) + 1700(yn - y) from spectra; an indicator on 45:0 readings",
        "CIE 15:2004; ISO 11475",
        margin=_practice(3.0, "W"),
        resolution=0.2,
        colorimetry="D65/10°",
    ),
    Metric(
        "tint_cie",
        "CIE tint",
        "white",
        "T",
        2,
        "T = 900(xn - x) - 650(yn - y) from spectra",
        "CIE 15:2004; ISO 11475",
        margin=_practice(0.5, "T"),
        resolution=_LAB_STEP,
        colorimetry="D65/10°",
    ),
    Metric(
        "r457",
        "R457",
        "white",
        "%",
        1,
        "reflectance weighted by the R457 band; not ISO brightness, which needs d/0 geometry and set UV",
        "ISO 2470-1 (band)",
        margin=_practice(1.0, "%"),
        resolution=0.1,
        colorimetry="457 nm band",
    ),
    Metric(
        "yellowness_e313",
        "Yellowness E313",
        "white",
        "YI",
        2,
        "YI = 100(Cx X - Cz Z)/Y from spectra",
        "ASTM E313 (D65/10)",
        margin=_practice(1.0, "YI"),
        resolution=0.1,
        colorimetry="D65/10°",
    ),
    Metric(
        "brightener_db",
        "Brightener, b* shift",
        "white",
        "b*",
        2,
        "white b* with UV excluded (M2) minus white b* with UV; an indicator, not an ISO 15397 class",
        "ISO 13655 conditions; common practice, no source",
        margin=_practice(0.5, "b*"),
        resolution=_LAB_STEP,
    ),
    Metric(
        "brightener_dr457",
        "Brightener, R457 shift",
        "white",
        "%",
        2,
        "R457 with UV minus R457 with UV excluded (M2); an indicator, not an ISO 15397 class",
        "ISO 13655 conditions; ISO 2470-1 (band)",
        margin=_practice(1.0, "%"),
        resolution=0.1,
        colorimetry="457 nm band",
    ),
    Metric(
        "opacity",
        "Opacity",
        "white",
        "%",
        1,
        "100 Y(black backing) / Y(white backing)",
        "ISO 13655",
        preference="higher",
        margin=_practice(1.0, "%"),
        resolution=0.1,
    ),
)

_BLACK = (
    Metric(
        "black_l",
        "Black L*",
        "black",
        "L*",
        2,
        "darkest colour found on the chart, mean of its repeats",
        "ISO 13655; CIE 15",
        preference="lower",
        margin=_practice(1.0, "L*"),
        resolution=_LAB_STEP,
    ),
    Metric(
        "black_c",
        "Black chroma",
        "black",
        "C*",
        2,
        "chroma of the darkest colour found",
        "ISO 13655; CIE 15",
        preference="lower",
        margin=_practice(1.0, "C*"),
        resolution=_LAB_STEP,
    ),
    Metric(
        "dmax_visual",
        "Dmax, visual",
        "black",
        "D",
        3,
        "visual density of the darkest colour found, absolute",
        "ISO 5-3 visual; ISO 5-4",
        preference="higher",
        margin=_practice(0.05, "D"),
        resolution=_DENSITY_STEP,
        colorimetry="ISO 5-3 visual",
    ),
    Metric(
        "dmax_status_t",
        "Dmax, Status T",
        "black",
        "D",
        3,
        "largest of the Status T densities of the darkest colour found, absolute",
        "ISO 5-3 Status T",
        preference="higher",
        margin=_practice(0.05, "D"),
        resolution=_DENSITY_STEP,
        colorimetry="ISO 5-3 Status T",
    ),
    Metric(
        "ink_limit_hook",
        "Ink-limit hook",
        "black",
        "D",
        3,
        "visual density of the darkest colour minus that of full ink; above zero, more ink gave less black",
        "common practice, no source",
        preference="lower",
        margin=_practice(0.03, "D"),
        resolution=_DENSITY_STEP,
        needs_same_chart=True,
        colorimetry="ISO 5-3 visual",
    ),
)

_GAMUT = (
    Metric(
        "gamut_volume",
        "Gamut volume",
        "gamut",
        "Lab units cubed",
        0,
        "signed tetrahedra over the triangulated device-space surface; "
        "convex hull where the chart has no surface",
        "ISO/TS 18621-11 (clause 4.4.2)",
        preference="higher",
        margin=Constant(0.05, "of the volume", "common practice, no source", "common practice, no source"),
        margin_is_relative=True,
        resolution=500.0,
        needs_same_chart=True,
    ),
)

# Six sectors of 60 degrees of hue angle h_ab, with the solid inks of usual sets near their middles.
FIRST_HUE = 10.0
HUE_SECTORS = ("reds", "yellows", "greens", "cyans", "blues", "magentas")

_SECTORS = tuple(
    Metric(
        f"gamut_{name}",
        f"Gamut volume, {name}",
        "gamut",
        "Lab units cubed",
        0,
        f"part of the gamut volume with hue angle {(FIRST_HUE + 60 * index) % 360:g}° to "
        f"{(FIRST_HUE + 60 * index + 60) % 360:g}°",
        "ISO/TS 18621-11 (clause 4.4.2), cut by hue angle",
        preference="higher",
        margin=Constant(0.1, "of the volume", "common practice, no source", "common practice, no source"),
        margin_is_relative=True,
        resolution=100.0,
        needs_same_chart=True,
    )
    for index, name in enumerate(HUE_SECTORS)
)

_HULL = Metric(
    "gamut_hull",
    "Gamut, convex hull",
    "gamut",
    "Lab units cubed",
    0,
    "volume of the convex hull of all patches; an upper bound of the gamut volume",
    "geometry; above the true volume by construction",
    preference="higher",
    resolution=500.0,
    needs_same_chart=True,
    judged=False,
)

_TONE = (
    Metric(
        "tone_reversal",
        "Tone reversal",
        "tone",
        "L*",
        2,
        "largest rise of L* from one step of the neutral ramp to the next darker one; 0 is monotone",
        "common practice, no source",
        preference="lower",
        margin=_practice(0.5, "L*"),
        resolution=0.1,
        needs_same_chart=True,
    ),
    Metric(
        "shadow_steps_lost",
        "Shadow steps lost",
        "tone",
        "steps",
        1,
        "steps in the dark part of the neutral ramp too close to the next to be told apart",
        "common practice, no source",
        preference="lower",
        margin=_practice(1.0, "steps"),
        resolution=1.0,
        needs_same_chart=True,
    ),
    Metric(
        "highlight_steps_lost",
        "Highlight steps lost",
        "tone",
        "steps",
        1,
        "steps in the light part of the neutral ramp too close to the next to be told apart",
        "common practice, no source",
        preference="lower",
        margin=_practice(1.0, "steps"),
        resolution=1.0,
        needs_same_chart=True,
    ),
    Metric(
        "grey_balance",
        "Grey balance, mean",
        "tone",
        "C*",
        2,
        "mean distance of the neutral ramp in a*b* from the line paper to black",
        "common practice, no source",
        preference="lower",
        margin=_practice(0.5, "C*"),
        resolution=_LAB_STEP,
        needs_same_chart=True,
    ),
    Metric(
        "grey_balance_p95",
        "Grey balance, 95th percentile",
        "tone",
        "C*",
        2,
        "95th percentile of that distance",
        "common practice, no source",
        preference="lower",
        margin=_practice(1.0, "C*"),
        resolution=_LAB_STEP,
        needs_same_chart=True,
        judged=False,
    ),
    Metric(
        "grey_balance_max",
        "Grey balance, largest",
        "tone",
        "C*",
        2,
        "largest of that distance",
        "common practice, no source",
        preference="lower",
        margin=_practice(1.0, "C*"),
        resolution=_LAB_STEP,
        needs_same_chart=True,
        judged=False,
    ),
)

_SPREAD = (
    Metric(
        "repeat_mcdm",
        "Repeats on a sheet, MCDM",
        "spread",
        "dE00",
        3,
        "mean dE00 of patches of one device colour from their mean, over all repeated colours",
        "ASTM E2214 (MCDM), with dE00",
        preference="lower",
        margin=_practice(0.15, "dE00"),
        resolution=0.02,
        needs_same_chart=True,
    ),
    Metric(
        "repeat_p95",
        "Repeats on a sheet, 95th percentile",
        "spread",
        "dE00",
        3,
        "95th percentile of the same distances",
        "ASTM E2214, with dE00",
        preference="lower",
        margin=_practice(0.3, "dE00"),
        resolution=0.02,
        needs_same_chart=True,
        judged=False,
    ),
    Metric(
        "repeat_max",
        "Repeats on a sheet, largest",
        "spread",
        "dE00",
        3,
        "largest of the same distances",
        "ASTM E2214, with dE00",
        preference="lower",
        margin=_practice(0.5, "dE00"),
        resolution=0.02,
        needs_same_chart=True,
        judged=False,
    ),
    Metric(
        "sheet_spread",
        "Sheet to sheet, mean",
        "spread",
        "dE00",
        3,
        "mean over sheets and colours of dE00 from the medium's mean of that colour",
        "ASTM E2214 (MCDM over sheets), with dE00",
        preference="lower",
        judged=False,
        needs_same_chart=True,
    ),
    Metric(
        "sheet_spread_p95",
        "Sheet to sheet, 95th percentile",
        "spread",
        "dE00",
        3,
        "95th percentile of the same distances",
        "ASTM E2214, with dE00",
        preference="lower",
        judged=False,
        needs_same_chart=True,
    ),
    Metric(
        "sheet_spread_max",
        "Sheet to sheet, largest",
        "spread",
        "dE00",
        3,
        "largest of the same distances",
        "ASTM E2214, with dE00",
        preference="lower",
        judged=False,
        needs_same_chart=True,
    ),
    Metric(
        "reading_spread",
        "Reading to reading, mean",
        "spread",
        "dE00",
        3,
        "mean dE00 of repeated readings of one sheet from their mean",
        "ASTM E2214 (MCDM), with dE00",
        preference="lower",
        judged=False,
        needs_same_chart=True,
    ),
)

# How well an ordinary instrument repeats on paper, by unit; shown where one sheet allows no interval.
INSTRUMENT_NOISE: dict[str, Constant] = {
    unit: Constant(size, unit, "short-term repeatability of ordinary instruments on paper", "from memory")
    for unit, size in (
        ("L*", 0.1),
        ("a*", 0.1),
        ("b*", 0.1),
        ("C*", 0.1),
        ("dE00", 0.1),
        ("D", 0.01),
        ("%", 0.1),
    )
}

METRICS: dict[str, Metric] = {
    m.id: m for m in (*_WHITE, *_BLACK, *_GAMUT, *_SECTORS, _HULL, *_TONE, *_SPREAD)
}
