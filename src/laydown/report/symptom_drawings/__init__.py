"""Small achromatic pictures of every symptom of a bad print, as SVG.

`symptom_drawing` gives one by its id; `DRAWINGS` lists the ids. Importing this loads no drawing library.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from laydown.report.symptom_drawings import coats_and_shape as coats
from laydown.report.symptom_drawings import colour_and_tone as colour
from laydown.report.symptom_drawings import ink_and_lines as ink
from laydown.report.symptom_drawings import specks_and_surface as surface
from laydown.report.symptom_drawings.strokes import LIGHT, WHITE, landscape, picture, rect

__all__ = ["DRAWINGS", "symptom_drawing"]

_DRAWN: Mapping[str, tuple[str, Callable[[], str]]] = {
    "dark-dull-cast": ("Two prints, the second dark, flat and tinged all over", colour.dark_dull_cast),
    "colours-far-off": ("Three patterns, each printed as another pattern", colour.colours_far_off),
    "slightly-off-everywhere": ("A chart, every patch a little off", colour.slightly_off_everywhere),
    "grey-dusty-black": ("A grey, dusty black that rubs off", ink.grey_dusty_black),
    "blocked-shadows": ("A row of steps, the last three all black", colour.blocked_shadows),
    "hook": ("A curve of darkness that turns back at its end", colour.hook),
    "weak-black-and-colour": ("Two rows of steps, the second ending in grey", colour.weak_black),
    "ink-beads": ("Beads of ink standing on a sheet", ink.ink_beads),
    "feathered-lines": ("Lines that grow hairs, each in a halo", ink.feathered_lines),
    "mottle": ("A dark area that looks cloudy", ink.mottle),
    "fine-light-lines": ("Thin white lines across a print, under the moving head", ink.fine_light_lines),
    "regular-bands": ("Broad dark bands, and broad light bands", ink.regular_bands),
    "grain-double-edges": ("Upright bars seen twice, over grain", ink.grain_double_edges),
    "left-right-difference": ("One colour, darker from left to right", colour.left_right_difference),
    "first-print-differs": ("Three prints in a row, the first paler", colour.first_print_differs),
    "smear-at-one-place": ("A picture with a dark smear near its edge", ink.smear_at_one_place),
    "wavy-while-printing": ("A sheet rising in waves under the head", coats.wavy_while_printing),
    "sharp-white-specks": ("White specks, one under a loupe", surface.sharp_white_specks),
    "white-craters": ("Craters in the ink, one cut open to the base", surface.white_craters),
    "dark-hairs": ("A light picture with dark hairs in it", surface.dark_hairs),
    "row-of-dots": ("A toothed wheel and the row of dots under it", surface.row_of_dots),
    "parallel-scratches": ("Straight scratches down a print", surface.parallel_scratches),
    "not-square": ("A picture askew on its sheet, beside a square", coats.not_square),
    "wrong-length": ("A print shorter than asked, beside a rule", coats.wrong_length),
    "curls-toward-image": ("A sheet from the side, its ends curled up", coats.curls_toward_image),
    "curl-near-core": ("A roll and three sheets, more and more curled", coats.curl_near_core),
    "bronze-sheen": ("A tilted dark print with a metallic streak under a lamp", surface.bronze_sheen),
    "gloss-difference": ("A tilted print that shines only where it is bare", surface.gloss_difference),
    "greys-change-with-light": (
        "One grey, unlike by a window and under a bulb",
        colour.greys_change_with_light,
    ),
    "pair-differs-at-home": ("Two patches alike in a booth, unlike in a house", colour.pair_differs_at_home),
    "too-dark-for-client": ("A bright screen, and a dark print on a dim wall", colour.too_dark_for_client),
    "darker-tomorrow": ("A wet patch, a clock, and the patch darker", colour.darker_tomorrow),
    "fog-inside-glass": ("A framed dark picture behind fog, one stroke wiped", coats.fog_inside_glass),
    "bubbles-under-laminate": ("Bubbles under a film", coats.bubbles_under_laminate),
    "silver-pinpoints": ("Bright points in a dark area under a film", coats.silver_pinpoints),
    "rub-marks": ("Dull streaks on a matte black", surface.rub_marks),
    "finger-marks": ("Finger prints on a dark sheet", surface.finger_marks),
    "comes-off-damp": ("A cotton bud with ink on it, and a pale streak", surface.comes_off_damp),
    "tide-ring": ("A drop of water and the ring it left", surface.tide_ring),
    "cracks-at-wrap": ("The edge of a wrapped canvas, cracked white", coats.cracks_at_wrap),
    "flakes-at-corner": ("A corner that has shed flakes of ink", surface.flakes_at_corner),
    "slack-canvas": ("A stretched canvas hanging in ripples", coats.slack_canvas),
    "orange-skin": ("A coat dimpled all over", coats.orange_skin),
    "sandy-overspray": ("A spray gun far away, and sand on the sheet", coats.sandy_overspray),
    "foam-pinholes": ("Bubbles and dark pin-holes in a coat", coats.foam_pinholes),
    "milky-patches": ("Milky patches over a dark picture", coats.milky_patches),
    "gloss-stripes": ("Shiny stripes across a picture, as wide as a roller", coats.gloss_stripes),
    "fish-eyes": ("Round craters with a rim in a coat", coats.fish_eyes),
    "whites-warmer-coated": ("A bright sheet, duller where the roller passed", colour.whites_warmer_coated),
    "yellow-on-wall": ("A framed print in sunlight, white only under its mat", colour.yellow_on_wall),
    "yellow-in-drawer": ("A stained sheet in an open drawer", colour.yellow_in_drawer),
    "reorder-does-not-match": (
        "A framed print and a new one that is not the same",
        colour.reorder_does_not_match,
    ),
    "fuzzy-edges": ("A bar with a spray of dots along one edge", ink.fuzzy_edges),
    "solid-fades": ("A long solid that fades and streaks", ink.solid_fades),
    "steps-in-gradation": ("A smooth gradation, and one in steps", colour.steps_in_gradation),
    "reads-off-looks-right": ("A content eye, and a target that is missed", colour.reads_off_looks_right),
}

DRAWINGS: tuple[str, ...] = tuple(_DRAWN)
"""Ids of the pictures there are."""


def symptom_drawing(drawing_id: str) -> str:
    """The picture of a symptom as an SVG document; a plain print where there is no picture of that id.

    Parameters
    ----------
    drawing_id
        One of `DRAWINGS`, as a symptom's ``drawing`` names it; a studio's own symptoms may name none.

    Returns
    -------
    str
        SVG, 96 by 72 units, neutral greys only, with a title; without style, script or ids.
    """
    if drawing_id not in _DRAWN:
        return picture("A print", rect(16, 8, 64, 56, WHITE, stroke=LIGHT), landscape(22, 14, 52, 38))
    title, draw = _DRAWN[drawing_id]
    return picture(title, draw())
