"""How much longer or shorter a page was printed than it was drawn, from where its marks lie in a scan."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.kernel.constants import Constant
from laydown.kernel.errors import NotEnoughData
from laydown.science.forms.page import MM_PER_INCH, Direction
from laydown.science.forms.placing import Placement

CONFIDENCE = 0.95
SLANT_PERCENT = Constant(
    0.1, "%", "chosen here: a tenth of what canvas may shrink by; a flat scan has none", "computed"
)
SCANNER_CAUTION = (
    "The scanner's own scale is in these figures: scan a steel rule both ways on the same glass, or measure "
    "the length marks of the print with one, before acting on them."
)
SLANT_CAUTION = (
    "The page was seen from a slant, as a photograph sees it: its scale differs from end to end, and lengths "
    "say little. Use a flat scan."
)
BENT_CAUTION = (
    "Marks do not agree on where the page lies: it is bent, folded or curled, and lengths say little. "
    "Scan it flat, under weight."
)
_BENT_MM = 0.05  # what marks are off where a flat page has 0.02 mm (simulated scans)
_LEAST_MARKS = 6


@dataclass(frozen=True, slots=True)
class LengthError:
    """By how many per cent printed lengths differ from drawn ones; above 0 they are longer.

    ``across`` is at right angles to the feed, ``along`` in its direction; each with an interval at 95 % from
    how well ``n`` marks agree. ``cautions`` belong beside the figures wherever they are shown.
    """

    across: float
    across_low: float
    across_high: float
    along: float
    along_low: float
    along_high: float
    n: int
    cautions: tuple[str, ...]


def length_error(placement: Placement, *, scan_ppi: float, feed: Direction = "down") -> LengthError:
    """How much longer or shorter than drawn the page was printed, across and along the feed.

    Marks are compared with their drawn places by one scale for each direction. What bends or sways within the
    page widens the interval. The scanner's own error is in the figures and cannot be told from the print's:
    never judge a printer by them without a rule.

    Parameters
    ----------
    placement : from a flat scan
    scan_ppi : what the scanner says its resolution is
    feed : which way of the page runs along the feed

    Returns
    -------
    LengthError

    Raises
    ------
    NotEnoughData
        if fewer than six marks were used.

    Notes
    -----
    An affine map from mm to pixels by least squares over the middles of the marks; its two columns are the
    scales. The interval takes what marks are off for independent; a bend is not, so that it is a little too
    narrow on a page that bends.

    Checked against
    ---------------
    Simulated pages of known length error: ``docs/methods/test-form.md`` says how often the interval held.
    """
    from scipy.stats import t as student

    n = len(placement.middles)
    if n < _LEAST_MARKS:
        raise NotEnoughData(
            f"{n} marks were found; a length needs {_LEAST_MARKS}.", todo="Scan more of the page."
        )
    at = np.column_stack([placement.middles_mm - placement.middles_mm.mean(axis=0), np.ones(n)])
    map_, *_ = np.linalg.lstsq(at, placement.middles, rcond=None)
    off = placement.middles - at @ map_
    variance = float(np.sum(off**2)) / (2 * n - 6)
    spread = np.sqrt(variance * np.diag(np.linalg.inv(at.T @ at))[:2])
    scales = np.linalg.norm(map_[:2], axis=1)
    per_mm = scan_ppi / MM_PER_INCH
    error = 100.0 * (scales / per_mm - 1.0)
    half = 100.0 * float(student.ppf(0.5 + CONFIDENCE / 2.0, 2 * n - 6)) * spread / per_mm
    across, along = (0, 1) if feed == "down" else (1, 0)
    cautions = [SCANNER_CAUTION]
    if _slant_percent(placement) > SLANT_PERCENT.value:
        cautions.append(SLANT_CAUTION)
    if placement.left_out or placement.spread_mm > _BENT_MM:
        cautions.append(BENT_CAUTION)
    return LengthError(
        across=float(error[across]),
        across_low=float(error[across] - half[across]),
        across_high=float(error[across] + half[across]),
        along=float(error[along]),
        along_low=float(error[along] - half[along]),
        along_high=float(error[along] + half[along]),
        n=n,
        cautions=tuple(cautions),
    )


def _slant_percent(placement: Placement) -> float:
    """By how much the scale differs over the marks, as the projective part has it."""
    depth: Floats = placement.hull_mm @ placement.plane[2, :2] + placement.plane[2, 2]
    return float(100.0 * (depth.max() / depth.min() - 1.0))
