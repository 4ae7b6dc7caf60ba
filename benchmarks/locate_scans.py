"""Is a page found where it lies? Simulated prints and scans with everything that goes wrong, the truth known.

    python benchmarks/locate_scans.py                 500 scans
    python benchmarks/locate_scans.py --cases 40      a quick look

One scan in six is not of the page: another page of the form, another form with marks in the same places, a
mirrored scan, a blank sheet, a picture. The others are of it: turned, shrunk, swaying, from a slant, blurred,
noisy, faded, unevenly lit, packed as JPEG, torn, covered or in part beyond the scan (``some_wear`` in
``printed_and_scanned.py``). The table is in ``docs/methods/test-form.md``.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.kernel.errors import NotEnoughData
from laydown.science.forms.length_error import LengthError, length_error
from laydown.science.forms.locating import locate, marks_of
from laydown.science.forms.page import Box
from laydown.science.forms.placing import FEWEST_MARKS, NotPlaced, Placement
from printed_and_scanned import BLURS, SIZES_IN, Scanned, Wear, form_page, scan, some_wear, source

WANTED_MM = 0.1
FORM, PAGE = "F7K2", 1
OTHERS = ("another page", "another form", "mirrored", "blank", "picture")
SHARE_OF_OTHERS = 1 / 6
# How often each size is scanned, and at which resolutions: large scans take long to make.
SCANS = (
    ("8 x 10 in", 0.48, (150, 200, 300)),
    ("13 x 19 in", 0.28, (150, 200)),
    ("17 x 22 in", 0.14, (150, 200)),
    ("24 x 36 in", 0.10, (150,)),
)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of one scan. Errors are in mm over all places that it shows and is said to be sure of."""

    size: str
    ppi: float
    kind: str
    marks: int
    marks_shown: int
    reason: str
    worst_mm: float
    sure: float
    seconds: float
    length: LengthError | None
    true_along: float

    @property
    def placed(self) -> bool:
        """Whether the page was said to be found."""
        return not self.reason


def one_case(number: int, *, seed: int) -> Outcome:
    """Print, wear, scan and locate once."""
    rng = np.random.default_rng([seed, number])
    chosen = rng.choice(len(SCANS), p=[share for _, share, _ in SCANS])
    size, _, resolutions = SCANS[chosen]
    return _case(size, float(rng.choice(resolutions)), rng)


def small_case(number: int, *, seed: int) -> Outcome:
    """The same with the smallest page, coarsely scanned: quick enough for a test."""
    return _case("8 x 10 in", 150.0, np.random.default_rng([seed, number]))


def _case(size: str, ppi: float, rng: np.random.Generator) -> Outcome:
    kind = str(rng.choice(OTHERS)) if rng.random() < SHARE_OF_OTHERS else "the page"
    wear = some_wear(rng)
    scanned = _scanned(size, kind, wear, ppi=ppi, rng=rng)
    page = form_page(size, form=FORM, page=PAGE)
    squares = marks_of(page)
    begun = time.process_time()
    found = locate(scanned.picture, squares)
    seconds = time.process_time() - begun
    shown = sum(bool(scanned.shows(box.corners()).all()) for box in squares.values())
    if isinstance(found, NotPlaced):
        return Outcome(size, ppi, kind, len(squares), shown, found.reason, np.nan, 0.0, seconds, None, np.nan)
    worst, sure = _errors(found, scanned, page.width_mm, page.height_mm)
    try:
        length = length_error(found, scan_ppi=ppi) if wear.slant == (0.0, 0.0) else None
    except NotEnoughData:
        length = None
    return Outcome(
        size, ppi, kind, len(squares), shown, "", worst, sure, seconds, length, -100.0 * wear.shrink[1]
    )


def _scanned(size: str, kind: str, wear: Wear, *, ppi: float, rng: np.random.Generator) -> Scanned:
    form, page = (
        ("F7K3", PAGE) if kind == "another form" else (FORM, PAGE + 1 if kind == "another page" else PAGE)
    )
    if kind in ("blank", "picture"):
        rows, columns = (int(side * 300) for side in SIZES_IN[size][::-1])
        grey = rng.uniform(120.0, 250.0, (rows // 60, columns // 60))
        printed = np.full((rows, columns), 240, dtype=np.uint8)
        if kind == "picture":
            printed = np.kron(grey, np.ones((60, 60))).astype(np.uint8)
        return scan(printed, wear, ppi=ppi, rng=rng)
    blur = wear.blur if kind == "the page" else BLURS[0]  # others need not be drawn at each sharpness
    printed = source(size, form=form, page=page, blur=blur)
    return scan(printed, wear, ppi=ppi, rng=rng, mirrored=kind == "mirrored")


def _errors(found: Placement, scanned: Scanned, width: float, height: float) -> tuple[float, float]:
    """The worst error over places that are said to be sure, and the share of places shown that are."""
    x, y = np.meshgrid(np.linspace(8.0, width - 8.0, 15), np.linspace(8.0, height - 8.0, 21))
    places: Floats = np.column_stack([x.ravel(), y.ravel()])
    places = places[scanned.shows(places)]
    sure = np.array([found.sure_of(Box(x - 3.0, y - 3.0, x + 3.0, y + 3.0)) for x, y in places], dtype=bool)
    if not sure.any():
        return np.nan, 0.0
    away = found.to_pixels(places[sure]) - scanned.to_pixels(places[sure])
    return float(np.linalg.norm(away, axis=1).max() / scanned.ppi * 25.4), float(sure.mean())


def table(outcomes: Sequence[Outcome]) -> list[str]:
    """What the documentation shows."""
    heads = (
        "scans of the page",
        "n",
        "placed, %",
        "sure of it, %",
        "of these within 0.1 mm, %",
        "median, mm",
        "99 of 100, mm",
        "worst, mm",
        "places sure, %",
        "s each",
    )
    lines = ["| " + " | ".join(heads) + " |", "|" + "---|" * len(heads)]
    genuine = [one for one in outcomes if one.kind == "the page"]
    enough = [one for one in genuine if one.marks_shown >= FEWEST_MARKS]
    whole = [one for one in enough if one.marks_shown == one.marks]
    groups = {
        **{f"whole, {size}": [one for one in whole if one.size == size] for size in SIZES_IN},
        "whole, all": whole,
        "part missing": [one for one in enough if one.marks_shown < one.marks],
        "all": enough,
    }
    lines += [_row(name, chosen) for name, chosen in groups.items() if chosen]
    few = [one for one in genuine if one.marks_shown < FEWEST_MARKS]
    lines += [
        "",
        f"Fewer than {FEWEST_MARKS} marks shown: {len(few)} scans, {sum(one.placed for one in few)} placed.",
        "",
        "| not of the page | n | placed | what is said |",
        "|---|---|---|---|",
    ]
    for kind in OTHERS:
        chosen = [one for one in outcomes if one.kind == kind]
        said = sorted({_said(one.reason) for one in chosen if not one.placed})
        lines.append(f"| {kind} | {len(chosen)} | {sum(one.placed for one in chosen)} | {'; '.join(said)} |")
    return lines + _lengths(genuine)


def _row(name: str, chosen: Sequence[Outcome]) -> str:
    worst = np.array([one.worst_mm for one in chosen if one.placed and np.isfinite(one.worst_mm)])
    if not len(worst):
        return f"| {name} | {len(chosen)} | - | - | - | - | - | - | - | - |"
    cells = (
        name,
        f"{len(chosen)}",
        f"{100 * np.mean([one.placed for one in chosen]):.1f}",
        f"{100 * len(worst) / len(chosen):.1f}",
        f"{100 * np.mean(worst <= WANTED_MM):.1f}",
        *(f"{value:.3f}" for value in (np.median(worst), np.quantile(worst, 0.99), worst.max())),
        f"{100 * np.mean([one.sure for one in chosen]):.1f}",
        f"{np.mean([one.seconds for one in chosen]):.2f}",
    )
    return "| " + " | ".join(cells) + " |"


def _lengths(genuine: Sequence[Outcome]) -> list[str]:
    judged = [(one, one.length) for one in genuine if one.length is not None]
    if not judged:
        return []
    held = [length.along_low <= one.true_along <= length.along_high for one, length in judged]
    off = np.array([length.along - one.true_along for one, length in judged])
    words = (
        f"Length along the feed: {len(judged)} scans without slant; the interval held the truth in "
        f"{100 * np.mean(held):.0f} %; off by {off.std():.4f} % (SD), {np.abs(off).max():.3f} % at most."
    )
    return ["", words]


def _said(reason: str) -> str:
    for words in ("mirror", "another page", "no mark", "agree", "one line", "the least"):
        if words in reason:
            return words
    return reason


def wrong(outcomes: Sequence[Outcome]) -> list[Outcome]:
    """Silent wrong matches: something else that was placed, or a place said to be sure that is 1 mm off."""
    return [one for one in outcomes if one.placed and (one.kind != "the page" or (one.worst_mm or 0.0) > 1.0)]


def main() -> int:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--cases", type=int, default=500)
    parser.add_argument("--seed", type=int, default=20260131)
    parser.add_argument("--each", action="store_true", help="a line for every scan")
    asked = parser.parse_args()
    begun = time.process_time()
    outcomes = []
    for number in range(asked.cases):
        outcomes.append(one_case(number, seed=asked.seed))
        if asked.each:
            print(number, outcomes[-1], flush=True)
    print("\n".join(table(outcomes)))
    print(f"\nSilent wrong matches: {len(wrong(outcomes))} of {len(outcomes)}; seed {asked.seed}.")
    print(f"{time.process_time() - begun:.0f} s on one core")
    return 1 if wrong(outcomes) else 0


if __name__ == "__main__":
    raise SystemExit(main())
