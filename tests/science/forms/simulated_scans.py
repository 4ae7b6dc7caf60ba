"""Scans of a simulated print whose true place is known, for tests; the benchmark's own simulation."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from laydown.science.forms.located_page import LocatedPage, locate_page
from laydown.science.forms.locating import marks_of
from laydown.science.forms.page import Box, Element
from laydown.science.forms.placing import NotPlaced

with pytest.MonkeyPatch.context() as _patch:
    _patch.syspath_prepend(str(Path(__file__).resolve().parents[3] / "benchmarks"))
    import locate_scans
    import printed_and_scanned as printing

benchmark = locate_scans
SMALL = "8 x 10 in"
SMALL_MM = (203.2, 254.0)
CAREFUL = {
    "turn_deg": 0.7,
    "shrink": (0.0005, 0.004),
    "sway_mm": (0.03, 0.03),
    "slip_mm": 0.005,
    "slant": (0.0, 0.0),
    "noise": 3.0,
    "texture": 0.0,
    "black": 25.0,
    "white": 235.0,
    "gamma": 1.0,
    "uneven": (0.05, -0.05),
    "jpeg": None,
    "shown": (0.0, 0.0, 1.0, 1.0),
    "torn": 0.0,
    "covered": 0.0,
    "lid": 250.0,
    "cast": None,
    "curl_mm": 0.0,
    "taped_mm": (0.0, 0.0),
}


def a_scan(*, ppi=150.0, page=1, says="", mirrored=False, seed=1, **changes):
    """A careful scan of an 8 x 10 in page, with what the test is about changed."""
    wear = replace(printing.some_wear(np.random.default_rng(0)), **(CAREFUL | changes))
    printed = printing.source(SMALL, form="F7K2", page=page, blur=0.6, says=says)
    return printing.scan(printed, wear, ppi=ppi, rng=np.random.default_rng(seed), mirrored=mirrored)


def a_page(*, page=1):
    """The page as it was drawn, with places to look at all over it."""
    drawn = printing.form_page(SMALL, form="F7K2", page=page)
    x, y = (
        part.ravel()
        for part in np.meshgrid(
            *(np.linspace(8, side - 8, n) for side, n in zip(SMALL_MM, (11, 13), strict=True))
        )
    )
    probes = [
        Element("probe", f"{x} {y}", Box(x - 3, y - 3, x + 3, y + 3), ()) for x, y in zip(x, y, strict=True)
    ]
    return replace(drawn, elements=(*drawn.elements, *probes))


def squares(*, page=1):
    """The marks of the page."""
    return marks_of(printing.form_page(SMALL, form="F7K2", page=page))


def located(scanned, *, ppi=None):
    """What is found in it."""
    return locate_page(scanned.picture, a_page(), ppi=ppi)


def worst_sure_mm(found: LocatedPage | NotPlaced, scanned) -> float:
    """The largest true error over all elements that may be measured; 0 where there are none."""
    if isinstance(found, NotPlaced):
        return 0.0
    drawn = {(one.kind, one.name): np.array([one.box.middle_mm]) for one in a_page().elements}
    away = [
        np.linalg.norm(one.corners.mean(axis=0) - scanned.to_pixels(drawn[one.kind, one.name])[0])
        for one in found.regions
        if not one.doubt
    ]
    return max(away, default=0.0) / scanned.ppi * 25.4


def sure_share(found: LocatedPage) -> float:
    """The share of elements that may be measured."""
    return float(np.mean([not one.doubt for one in found.regions]))
