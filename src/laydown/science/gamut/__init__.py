"""Gamuts: the colours a medium can print, as closed meshes in Lab; how large, where, and how two meet.

From a chart to a number: ``unique_colours`` and ``average_by_colour`` tidy the readings, ``device_surface``
finds the outside of the chart, ``volume`` measures it. Where a chart has no such surface ``hull_volume`` is
an honest upper bound. Nothing here compares media; that is for others, with sheets enough to judge.
"""

from laydown.science.gamut.mesh import is_closed, outward, signed_volume
from laydown.science.gamut.rgb_spaces import (
    ADOBE_RGB_1998,
    SRGB,
    RgbSpace,
    cube_faces,
    rgb_space_mesh,
    rgb_to_lab,
)
from laydown.science.gamut.surface import DeviceSurface, NoSurface, device_surface, explain_surface
from laydown.science.gamut.unique import UniqueColours, average_by_colour, unique_colours
from laydown.science.gamut.volume import hull_triangles, hull_volume, volume

__all__ = [
    "ADOBE_RGB_1998",
    "SRGB",
    "DeviceSurface",
    "NoSurface",
    "RgbSpace",
    "UniqueColours",
    "average_by_colour",
    "cube_faces",
    "device_surface",
    "explain_surface",
    "hull_triangles",
    "hull_volume",
    "is_closed",
    "outward",
    "rgb_space_mesh",
    "rgb_to_lab",
    "signed_volume",
    "unique_colours",
    "volume",
]
