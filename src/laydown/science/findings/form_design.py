"""From an instrument, a size of patch and an area to placed patches and what they will tell."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from laydown.kernel.arrays import Floats, Ints
from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting
from laydown.science.findings.form_precision import FORETELLING_MEDIA, FormPrecision, foretell_precision
from laydown.science.findings.form_presses import KNOWN_INKS
from laydown.science.forms.choose_patches import MOST_PATCHES, Question, choose_patches
from laydown.science.forms.page import Box
from laydown.science.forms.patch_layout import PatchLayout, fit_patches, lay_out_patches
from laydown.science.forms.patch_set import RGB, is_light
from laydown.science.forms.reader import Reader, ReaderKind
from laydown.science.prints import Medium, Noise

READING_SCATTER: Mapping[ReaderKind, Constant] = {
    "spot": Constant(
        0.0018, "of reflectance", "reading to reading in the model, docs/methods/prints.md", "computed"
    ),
    "strip": Constant(
        0.0027,
        "of reflectance",
        "our own judgement: a patch in passing is read half as well again",
        "common practice, no source",
    ),
    "scanner": Constant(
        0.009,
        "of reflectance",
        "our own judgement: five times a spot reader; its colours are of its own scale besides",
        "common practice, no source",
    ),
}
SCANNER_DOUBT = (
    "A scanner sees no spectra and lights up its own blacks: these figures are of scatter alone, hold "
    "between media that were scanned alike, and Dmax is not to be trusted."
)
HULL_DOUBT = (
    "These channels, or this ink limit, give no closed surface: gamut volume will be that of a hull, which "
    "bridges every dent. Compare it only between media printed from this form."
)


@dataclass(frozen=True, slots=True, eq=False)
class PatchDesign:
    """Patches placed on ``pages`` like areas, what they will tell, and what there is to be said against it.

    ``precision`` is None where it cannot be foretold; ``doubts`` then says why.
    """

    layout: PatchLayout
    precision: FormPrecision | None
    doubts: tuple[str, ...]


def design_patches(
    area: Box,
    reader: Reader,
    *,
    rng: np.random.Generator,
    channels: Sequence[str] = RGB,
    question: Question = "everything",
    own: Ints | None = None,
    ink_limit: float | None = None,
    pages: int = 1,
    most: int = int(MOST_PATCHES.value),
    sheets: int = 3,
    noise: Noise | None = None,
    media: Sequence[Medium] = FORETELLING_MEDIA,
) -> PatchDesign:
    """Fill an area with the patches that tell most, place them, and foretell what they will tell.

    For asking "is a page of this size worth it?" before anything is printed; for a form that exists use
    ``foretell_precision``. The size of a patch counts by how many fit: what a larger one averages away is
    not foretold.

    Parameters
    ----------
    area : Box that patches, their labels and leads may take on each page
    reader : Reader, such as ``usual_reader("strip", patch_mm=8.0)``
    rng : numpy Generator; keep its seed with the form
    channels, question, own, ink_limit : as for ``choose_patches``
    pages : areas alike, 1 or more
    most : how many patches to place though the areas hold more
    sheets : sheets of each medium that the trial will print
    noise : scatter of sheets, patches and instrument; where not given the model's, with the scatter of
        reading that is usual for the kind of reader (``READING_SCATTER``)
    media : media of the model to foretell by

    Returns
    -------
    PatchDesign

    Raises
    ------
    BadSetting
        says what cannot be: no row fits, too few patches for the strip and the solids, a critical colour that
        no patch can have or that takes too much ink.

    Checked against
    ---------------
    Areas as a studio would give them, from one that is too small to thousands of patches; figures of
    ``foretell_precision``.
    """
    names = tuple(channels)
    if pages < 1:
        raise BadSetting(f"patches cannot lie on {pages} pages.", todo="Give 1 page or more.")
    held = fit_patches(area, reader).patches * pages
    try:
        patches = choose_patches(
            min(held, most), channels=names, question=question, own=own, ink_limit=ink_limit
        )
    except BadSetting as refusal:
        if "too few" not in refusal.what or most < held:
            raise
        raise BadSetting(
            f"{area.width_mm:g} x {area.height_mm:g} mm on {pages} page{'s' if pages > 1 else ''} hold "
            f"{held} patches of {reader.patch_width_mm:g} x {reader.patch_height_mm:g} mm, "
            f"and {refusal.what}",
            todo="Give a larger area, smaller patches or more pages.",
        ) from refusal
    layout = lay_out_patches(patches, area, reader, rng=rng)
    doubts = _doubts(layout, reader)
    if held > len(patches):
        doubts.append(f"There is room for {held} patches; {len(patches)} are used.")
    unknown = [name for name in names if name not in KNOWN_INKS and not is_light(names)]
    if unknown:
        told = f"The model has no ink {' or '.join(unknown)}, so that precision cannot be foretold."
        return PatchDesign(layout, None, (*doubts, told))
    precision = foretell_precision(
        patches,
        rng=rng,
        noise=noise or reading_noise(reader.kind),
        sheets=sheets,
        media=media,
        across=across_area(layout, area),
        ink_limit=ink_limit,
    )
    return PatchDesign(layout, precision, (*doubts, *hull_doubts(precision)))


def hull_doubts(precision: FormPrecision) -> tuple[str, ...]:
    """What is to be said where gamut volume will be that of a hull.

    Parameters
    ----------
    precision : FormPrecision

    Returns
    -------
    sentences, none where a surface closes

    Checked against
    ---------------
    Forms in RGB, and in inks with a limit.
    """
    hull = precision.gamut_from == "hull" and precision.of("gamut_volume")
    return (HULL_DOUBT,) if hull else ()


def reading_noise(kind: ReaderKind) -> Noise:
    """The model's scatter of sheets and patches, with the scatter of reading that is usual for a reader.

    Parameters
    ----------
    kind : "spot", "strip" or "scanner"

    Returns
    -------
    Noise

    Checked against
    ---------------
    ``READING_SCATTER``, which says where each figure is from.
    """
    return replace(Noise(), reading=READING_SCATTER[kind].value)


def _doubts(layout: PatchLayout, reader: Reader) -> list[str]:
    doubts = [SCANNER_DOUBT] if reader.kind == "scanner" else []
    if layout.alike:
        doubts.append(
            f"{layout.alike} neighbouring patches, or ends of rows, may look alike to a reader that has no "
            "spacers."
        )
    return doubts


def across_area(layout: PatchLayout, area: Box) -> Floats:
    """Where each patch of the set lies between the left (-1) and the right edge (1) of an area.

    Parameters
    ----------
    layout : PatchLayout
    area : Box it was laid out in

    Returns
    -------
    (n,) array, in the order of the set

    Checked against
    ---------------
    What is foretold of designed forms, sheet by sheet, in the tests.
    """
    across = np.zeros(len(layout.patches))
    middles = np.array([place.box.middle_mm[0] for place in layout.places])
    across[layout.order] = 2.0 * (middles - area.left_mm) / area.width_mm - 1.0
    return across
