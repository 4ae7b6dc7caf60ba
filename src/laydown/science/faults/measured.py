"""Evidence from the measurement of a sheet, from numbers that others have reckoned."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Literal

from laydown.kernel.constants import Certainty, Constant
from laydown.science.faults.evidence import Evidence, evidence_named
from laydown.science.faults.sheet_shift import SheetShift

Surface = Literal["matte", "gloss", "canvas", "coated canvas"]

_PRACTICE: Certainty = "common practice, no source"
HOOK = Constant(0.7, "L*", "common practice, no source: 0.03 D near D 1.6", _PRACTICE)
NO_HOOK = Constant(0.2, "L*", "our judgement: within the scatter of two dark patches", _PRACTICE)
BLOCKED = Constant(0.15, "of the dark steps", "our judgement: the first 20 of 128 levels", _PRACTICE)
FEWEST_LOST = Constant(2.0, "steps", "our judgement: one step is lost by chance", _PRACTICE)
WEAK_BY = Constant(0.1, "D", "our judgement: twice the margin that matters for Dmax", _PRACTICE)
USUAL_DMAX: dict[Surface, Constant] = {
    "matte": Constant(1.5, "D", "lower end of matte papers with pigment inks", "from memory"),
    "gloss": Constant(
        2.0, "D", "lower end of gloss and satin papers in a published survey of 2010 inks", "from memory"
    ),
    "canvas": Constant(1.4, "D", "lower end of bare canvas in the same survey", "from memory"),
    "coated canvas": Constant(1.9, "D", "lower end of canvas under a gloss coat", "from memory"),
}
CAST = Constant(1.5, "C*", "usual demand on greys, upper end", _PRACTICE)
NO_CAST = Constant(1.0, "C*", "usual demand on greys, lower end", _PRACTICE)
DARK_BY = Constant(3.0, "L*", "our judgement: seen without a comparison print", _PRACTICE)
CHROMA_BY = Constant(0.1, "of chroma", "our judgement: seen in saturated colours", _PRACTICE)
SAME_L = Constant(1.0, "L*", "margin that matters for tones", _PRACTICE)
SAME_CHROMA = Constant(0.04, "of chroma", "our judgement: within what repeats of a print give", _PRACTICE)
OTHER_WHITE = Constant(1.0, "dE00", "just visible side by side to a trained eye", _PRACTICE)
SAME_WHITE = Constant(0.5, "dE00", "our judgement: within one lot and one instrument", _PRACTICE)

_MEASURED = "measured on this sheet; the limit is common practice or our judgement"


def measured_evidence(
    *,
    hook_l: float | None = None,
    lost_shadow_steps: int | None = None,
    shadow_steps: int | None = None,
    dmax: float | None = None,
    sibling_dmax: Sequence[float] = (),
    surface: Surface | None = None,
    grey_lean: tuple[float, float] | None = None,
    shift: SheetShift | None = None,
    white_difference: float | None = None,
) -> tuple[Evidence, ...]:
    """Evidence from what was measured on the bad print, or on a chart printed with it.

    Numbers come from `laydown.science.tone` and the like; this only weighs them. What is not known is left
    out and says nothing. A measurement that finds nothing amiss is evidence, too: against.

    Parameters
    ----------
    hook_l : float or None
        L* by which full ink is lighter than the darkest patch. Not for charts whose full ink is every ink at
        once, where a small hook is ordinary.
    lost_shadow_steps, shadow_steps : int or None
        Dark steps of the neutral ramp that are not told from the next, and how many dark steps there are.
    dmax : float or None
        Visual density of the darkest patch, absolute.
    sibling_dmax : sequence of float
        The same of good sheets of this medium, or of the house medium of the same surface.
    surface : str or None
        Kind of surface, for the range that is usual.
    grey_lean : pair or None
        Mean a* and b* of the neutral ramp away from the line paper to black, of a print made through its
        profile.
    shift : SheetShift or None
        Against good sheets of the same medium and chart, printed in the same way.
    white_difference : float or None
        dE00 of bare white against other sheets of this medium, read in the same way.

    Returns
    -------
    tuple of Evidence
        In a fixed order.

    Notes
    -----
    Likelihood ratios are our judgement.

    Checked against
    ---------------
    Values on both sides of each limit (``test_measured_evidence.py``).
    """
    return (
        *_hook(hook_l),
        *_blocked(lost_shadow_steps, shadow_steps),
        *_black(dmax, sibling_dmax, surface),
        *_greys(grey_lean),
        *_shift(shift),
        *_white(white_difference),
    )


def _hook(hook_l: float | None) -> Iterator[Evidence]:
    why = "Beyond what a coating holds, more ink gives less black."
    if hook_l is None or not math.isfinite(hook_l):
        return
    if hook_l >= HOOK.value:
        yield _piece("hook-found", f"Full ink is {hook_l:.1f} L* lighter than the darkest patch.", why)
    elif hook_l <= NO_HOOK.value:
        yield _piece("hook-none", "Full ink is the darkest patch.", why)


def _blocked(lost: int | None, steps: int | None) -> Iterator[Evidence]:
    why = "Too much ink, or a correction applied twice, runs the darkest steps together."
    if lost is None or not steps:
        return
    if lost >= FEWEST_LOST.value and lost / steps >= BLOCKED.value:
        yield _piece("shadows-blocked", f"{lost} of {steps} dark steps cannot be told from the next.", why)
    elif lost == 0:
        yield _piece("shadows-open", "Every dark step can be told from the next.", why)


def _black(dmax: float | None, siblings: Sequence[float], surface: Surface | None) -> Iterator[Evidence]:
    why = "Black is weak where too little ink, the wrong black or the wrong side is printed."
    if dmax is None or not math.isfinite(dmax):
        return
    against = [value for value in siblings if math.isfinite(value)]
    if against:
        usual = math.fsum(against) / len(against)
        weak, told = dmax <= usual - WEAK_BY.value, f"good sheets of its kind have D {usual:.2f}"
    elif surface is not None:
        low = USUAL_DMAX[surface].value
        weak, told = dmax < low, f"{surface} media seldom have less than D {low:.1f}"
    else:
        return
    yield _piece("black-weak" if weak else "black-usual", f"Black measures D {dmax:.2f}; {told}.", why)


def _greys(lean: tuple[float, float] | None) -> Iterator[Evidence]:
    why = "Through the right profile greys follow the line from paper to black."
    if lean is None or not all(math.isfinite(part) for part in lean):
        return
    size = math.hypot(*lean)
    if size >= CAST.value:
        yield _piece("greys-lean", f"Greys lean {size:.1f} C* towards {_hue(*lean)}.", why)
    elif size <= NO_CAST.value:
        words = f"Greys stay within {NO_CAST.value:g} C* of the line from paper to black."
        yield _piece("greys-straight", words, why)


def _shift(shift: SheetShift | None) -> Iterator[Evidence]:
    if shift is None or not math.isfinite(shift.middle_l):
        return
    chroma = shift.chroma_ratio - 1.0 if math.isfinite(shift.chroma_ratio) else 0.0
    cast = math.hypot(shift.grey_a, shift.grey_b)
    cast = cast if math.isfinite(cast) else 0.0
    coloured = cast >= CAST.value or abs(chroma) >= CHROMA_BY.value
    same = abs(shift.middle_l) <= SAME_L.value and cast <= NO_CAST.value and abs(chroma) <= SAME_CHROMA.value
    if shift.middle_l <= -DARK_BY.value and coloured:
        known = "shift-darker"
        why = "A correction applied twice darkens every mid-tone and turns greys and colours with it."
    elif shift.middle_l >= DARK_BY.value:
        known, why = "shift-paler", "Paler all over: less ink, or the correction is missing."
    elif same:
        known = "shift-none"
        why = "A sheet that prints like its good siblings was made with the same settings, medium and ink."
    elif coloured:
        known = "shift-coloured"
        why = "Greys or colours moved while tones did not: channels, inks or the medium have changed."
    else:
        return
    side, more = ("darker" if shift.middle_l < 0 else "lighter"), ("higher" if chroma >= 0 else "lower")
    words = (
        f"Against good sheets, mid-tones are {abs(shift.middle_l):.1f} L* {side},"
        f" chroma is {abs(chroma):.0%} {more} and greys moved by {cast:.1f} C*."
    )
    yield _piece(known, words, why)


def _white(difference: float | None) -> Iterator[Evidence]:
    why = "Another white means another lot, another medium, or the other side of the sheet."
    if difference is None or not math.isfinite(difference):
        return
    words = f"Bare white is {difference:.1f} dE00 from other sheets of this medium."
    if difference >= OTHER_WHITE.value:
        yield _piece("white-other", words, why)
    elif difference <= SAME_WHITE.value:
        yield _piece("white-same", words, why)


def _piece(known: str, words: str, why: str) -> Evidence:
    return evidence_named(known, words, why=why, source=_MEASURED)


def _hue(a: float, b: float) -> str:
    """The nearest of eight hue words to a direction in a*b*."""
    names = ("red", "orange", "yellow", "green-yellow", "green", "cyan", "blue", "magenta")
    return names[round(math.degrees(math.atan2(b, a)) / 45.0) % 8]
