"""The findings about colour range."""

from __future__ import annotations

from laydown.kernel.constants import Constant
from laydown.science.findings.metric import Metric

# Six sectors of 60 degrees of hue angle h_ab, with the solid inks of usual sets near their middles.
FIRST_HUE = 10.0
HUE_SECTORS = ("reds", "yellows", "greens", "cyans", "blues", "magentas")

_SECTORS = tuple(
    Metric(
        f"gamut_{name}",
        f"Gamut in {name}",
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
        echoes="gamut_volume",
    )
    for index, name in enumerate(HUE_SECTORS)
)

_VOLUME = (
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
        at_least=0.0,
    ),
)

_HULL = Metric(
    "gamut_hull",
    "Gamut convex hull",
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

GAMUT_METRICS = (*_VOLUME, *_SECTORS, _HULL)
