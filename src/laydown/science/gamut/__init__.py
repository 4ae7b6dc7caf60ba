"""Gamuts: the colours a medium can print, as closed meshes in Lab; how large, where, and how two meet.

From a chart to a number: ``unique_colours`` and ``average_by_colour`` tidy the readings, ``device_surface``
finds the outside of the chart, ``volume`` measures it. Where a chart has no such surface ``hull_volume`` is
an honest upper bound, and says so.

Where it is large: ``hue_sector_volumes`` and ``slice_outline``. How two meet: ``columns`` of each, then
``overlap``. What to hold it against: ``reference_bodies``. Whether a colour is in it: ``inside``.

Nothing here says which of two media is better; that takes several sheets and an interval.
"""

from laydown.science.gamut.columns import Columns, OverlapVolume, columns, overlap
from laydown.science.gamut.hue_sectors import HueSectors, hue_sector_volumes
from laydown.science.gamut.inside import inside
from laydown.science.gamut.mesh import is_closed, outward, signed_volume
from laydown.science.gamut.print_conditions import CRPC2, CRPC3, CRPC6, PrintCondition, print_condition_mesh
from laydown.science.gamut.reference_bodies import reference_bodies
from laydown.science.gamut.rgb_spaces import (
    ADOBE_RGB_1998,
    SRGB,
    RgbSpace,
    cube_faces,
    rgb_space_mesh,
    rgb_to_lab,
)
from laydown.science.gamut.slices import outline_area, slice_outline
from laydown.science.gamut.surface import DeviceSurface, NoSurface, device_surface, explain_surface
from laydown.science.gamut.unique import UniqueColours, average_by_colour, unique_colours
from laydown.science.gamut.volume import hull_triangles, hull_volume, volume

__all__ = [
    "ADOBE_RGB_1998",
    "CRPC2",
    "CRPC3",
    "CRPC6",
    "SRGB",
    "Columns",
    "DeviceSurface",
    "HueSectors",
    "NoSurface",
    "OverlapVolume",
    "PrintCondition",
    "RgbSpace",
    "UniqueColours",
    "average_by_colour",
    "columns",
    "cube_faces",
    "device_surface",
    "explain_surface",
    "hue_sector_volumes",
    "hull_triangles",
    "hull_volume",
    "inside",
    "is_closed",
    "outline_area",
    "outward",
    "overlap",
    "print_condition_mesh",
    "reference_bodies",
    "rgb_space_mesh",
    "rgb_to_lab",
    "signed_volume",
    "slice_outline",
    "unique_colours",
    "volume",
]
