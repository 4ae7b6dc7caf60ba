"""A physical model of inkjet prints whose true values are known.

For the demonstration, for tests of everything that judges prints, and for planning ("what would five sheets
have shown?"). Inks and media are invented; no measurement went into their spectra. ``reflectance`` is the
truth; ``print_sheet`` and ``read_sheet`` make sheets and readings that scatter as real ones do; ``misread``
adds the mistakes made at a strip reader; ``demonstration_chart`` is a chart to print.

>>> import numpy as np
>>> from laydown.science.prints import MATTE_COTTON, reflectance
>>> reflectance(np.array([[1.0, 1.0, 1.0]]), medium=MATTE_COTTON).shape
(1, 36)
"""

from laydown.science.prints.chart import (
    ANCHORS,
    Chart,
    demonstration_chart,
    neutral_levels,
    primary_ramp_colours,
    surface_colours,
)
from laydown.science.prints.inks import INKS, INVENTED_INKS, Band, InkSet, ink_densities
from laydown.science.prints.media import (
    BARYTA,
    BRIGHT_MATTE,
    CANVAS,
    MATTE_COTTON,
    UV_SHARE,
    Medium,
    bare_reflectance,
    glow,
)
from laydown.science.prints.neugebauer import PRIMARIES, demichel_weights, mix, overprints
from laydown.science.prints.reading import Misreads, misread, read_sheet
from laydown.science.prints.reflectance import WAVELENGTHS_NM, reflectance
from laydown.science.prints.separation import dot_areas, separate
from laydown.science.prints.sheet import PERFECT, Noise, SheetState, print_sheet, scatter

__all__ = [
    "ANCHORS",
    "BARYTA",
    "BRIGHT_MATTE",
    "CANVAS",
    "INKS",
    "INVENTED_INKS",
    "MATTE_COTTON",
    "PERFECT",
    "PRIMARIES",
    "UV_SHARE",
    "WAVELENGTHS_NM",
    "Band",
    "Chart",
    "InkSet",
    "Medium",
    "Misreads",
    "Noise",
    "SheetState",
    "bare_reflectance",
    "demichel_weights",
    "demonstration_chart",
    "dot_areas",
    "glow",
    "ink_densities",
    "misread",
    "mix",
    "neutral_levels",
    "overprints",
    "primary_ramp_colours",
    "print_sheet",
    "read_sheet",
    "reflectance",
    "scatter",
    "separate",
    "surface_colours",
]
