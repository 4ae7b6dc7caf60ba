"""Colour: spectra to XYZ to CIELAB, differences, densities, adaptation, and swatches for a screen.

Reflectance is 0-1 (above 1 is legal), XYZ has Y = 100 for the perfect diffuser, Lab has L* 0-100. The last
axis of a spectrum is wavelength and ``wavelengths_nm`` is always passed. Leading axes are free.
Missing is NaN.
"""

from laydown.science.colour.adaptation import adapt_bradford, bradford_matrix
from laydown.science.colour.ciede2000_in_blocks import delta_e_2000
from laydown.science.colour.cielab import (
    hue_difference,
    lab_from_reflectance,
    lab_from_xyz,
    lch_from_lab,
    media_relative,
    xyz_from_lab,
)
from laydown.science.colour.density import (
    densities,
    density_from_l_star,
    l_star_from_density,
    visual_density,
)
from laydown.science.colour.difference import delta_e_76, delta_e_94, delta_e_cmc
from laydown.science.colour.rgb import srgb_from_lab, srgb_hex
from laydown.science.colour.spectra import correct_bandpass, to_ten_nm
from laydown.science.colour.tristimulus import white_point, xyz_from_reflectance

__all__ = [
    "adapt_bradford",
    "bradford_matrix",
    "correct_bandpass",
    "delta_e_76",
    "delta_e_94",
    "delta_e_2000",
    "delta_e_cmc",
    "densities",
    "density_from_l_star",
    "hue_difference",
    "l_star_from_density",
    "lab_from_reflectance",
    "lab_from_xyz",
    "lch_from_lab",
    "media_relative",
    "srgb_from_lab",
    "srgb_hex",
    "to_ten_nm",
    "visual_density",
    "white_point",
    "xyz_from_lab",
    "xyz_from_reflectance",
]
