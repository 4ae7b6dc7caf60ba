"""Is a page found where it lies? Simulated prints and scans with everything that goes wrong, the truth known.

    python benchmarks/locate_scans.py                 500 scans
    python benchmarks/locate_scans.py --cases 40      a quick look
    python benchmarks/locate_scans.py --each          a line for every scan

Scans are careful, usual or rough (``SEVERITIES`` in ``printed_and_scanned``). One in six is not of the
page: another page of the form, another form with marks in the same places or with the very marks and another
code, a mirrored scan, a negative, two prints, a blank sheet, a picture. The tables are in
``docs/methods/test-form.md``.
"""

from __future__ import annotations

import argparse
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.kernel.errors import NotEnoughData
from laydown.science.forms.length_error import LengthError, length_error
from laydown.science.forms.located_page import LocatedPage, locate_page
from laydown.science.forms.page import Box, Element, Page
from laydown.science.forms.placing import FEWEST_MARKS, NotPlaced
from printed_and_scanned import (
    BLURS,
    SEVERITIES,
    SIZES_IN,
    Scanned,
    Severity,
    Wear,
    form_page,
    scan,
    some_wear,
    source,
)

WANTED_MM = 0.1
FORM, PAGE = "F7K2", 1
OTHERS = (
    "another page", "another form", "other code", "mirrored", "negative", "two prints", "blank", "picture",
)  # fmt: skip
SHARE_OF_OTHERS = 1 / 6
SHARE_BESIDE = 0.04  # of scans that show another page of the form beside this one
# How often each size is scanned, and at which resolutions: large scans take long to make.
SCANS = (
    ("8 x 10 in", 0.56, (150, 200, 300)),
    ("13 x 19 in", 0.26, (150, 200)),
    ("17 x 22 in", 0.10, (150, 200)),
    ("24 x 36 in", 0.08, (150,)),
)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of one scan.

    Errors are in mm over all places that are said to be sure; ``claimed_mm`` is the largest that was claimed
    for any of them, ``held`` the share of them that lie within their own claim, ``sure`` the share of places
    shown that are sure, ``not_shown`` the share of sure ones that the scan does not show.
    """

    severity: str
    size: str
    ppi: float
    kind: str
    marks: int
    marks_shown: int
    reason: str
    worst_mm: float
    claimed_mm: float
    held: float
    sure: float
    not_shown: float
    code: str
    seconds: float
    length: LengthError | None
    truth: tuple[float, float]

    @property
    def placed(self) -> bool:
        """Whether the page was said to be found."""
        return not self.reason


def one_case(number: int, *, seed: int) -> Outcome:
    """Print, wear, scan and locate once."""
    rng = np.random.default_rng([seed, number])
    chosen = rng.choice(len(SCANS), p=[share for _, share, _ in SCANS])
    size, _, resolutions = SCANS[chosen]
    return case(SEVERITIES[number % len(SEVERITIES)], size, float(rng.choice(resolutions)), rng)


def case(
    severity: Severity, size: str, ppi: float, rng: np.random.Generator, *, kind: str | None = None
) -> Outcome:
    """One scan of one size and resolution; of the page, or of any kind if none is asked for."""
    if kind is None:
        kind = str(rng.choice(OTHERS)) if rng.random() < SHARE_OF_OTHERS else "the page"
    page = _probed(form_page(size, form=FORM, page=PAGE))
    wear = some_wear(rng, severity, height_mm=page.height_mm)
    if kind != "the page":
        wear = replace(wear, shown=(0.0, 0.0, 1.0, 1.0), torn=0.0)
    scanned = _scanned(size, kind, wear, ppi=ppi, rng=rng)
    marks = page.of_kind("mark")
    shown = sum(bool(scanned.shows(one.box.inset(1.25).corners()).all()) for one in marks)
    begun = time.process_time()
    found = locate_page(scanned.picture, page)
    seconds = time.process_time() - begun
    start = (severity.name, size, ppi, kind, len(marks), shown)
    if isinstance(found, NotPlaced):
        nothing = (np.nan, np.nan, np.nan, 0.0, np.nan, "")
        return Outcome(*start, found.reason, *nothing, seconds, None, (np.nan, np.nan))
    try:
        length = length_error(found.placement, scan_ppi=ppi) if wear.slant == (0.0, 0.0) else None
    except NotEnoughData:
        length = None
    code = found.identity.text if found.identity else ""
    truth = true_lengths(scanned, page.box)
    return Outcome(*start, "", *_judged(found, scanned, page), code, seconds, length, truth)


def _probed(page: Page) -> Page:
    """The page with places all over it that are looked at, 6 mm wide."""
    x, y = np.meshgrid(np.linspace(8.0, page.width_mm - 8.0, 15), np.linspace(8.0, page.height_mm - 8.0, 21))
    places = zip(x.ravel().tolist(), y.ravel().tolist(), strict=True)
    probes = [
        Element("probe", f"{x:.1f}, {y:.1f}", Box(x - 3.0, y - 3.0, x + 3.0, y + 3.0), ()) for x, y in places
    ]
    return replace(page, elements=(*page.elements, *probes))


def _scanned(size: str, kind: str, wear: Wear, *, ppi: float, rng: np.random.Generator) -> Scanned:
    if kind in ("blank", "picture"):
        rows, columns = (int(side * 300) for side in SIZES_IN[size][::-1])
        grey = rng.uniform(120.0, 250.0, (rows // 60, columns // 60))
        printed = np.full((rows, columns), 240, dtype=np.uint8)
        if kind == "picture":
            printed = np.kron(grey, np.ones((60, 60))).astype(np.uint8)
        return scan(printed, wear, ppi=ppi, rng=rng)
    form, page = (
        ("F7K3", PAGE) if kind == "another form" else (FORM, PAGE + 1 if kind == "another page" else PAGE)
    )
    blur = wear.blur if kind == "the page" else BLURS[0]  # others need not be drawn at each sharpness
    says = "F7K9" if kind == "other code" else ""
    printed = source(size, form=form, page=page, blur=blur, says=says)
    scanned = scan(printed, wear, ppi=ppi, rng=rng, mirrored=kind == "mirrored")
    if kind == "negative":
        return replace(scanned, picture=255 - scanned.picture)
    if kind == "two prints":
        return _beside(scanned, scan(printed, wear, ppi=ppi, rng=rng))
    if kind == "the page" and rng.random() < SHARE_BESIDE:
        return _beside(scanned, scan(source(size, form=FORM, page=2, blur=BLURS[0]), wear, ppi=ppi, rng=rng))
    return scanned


def _beside(one: Scanned, other: Scanned) -> Scanned:
    """Two prints in one scan, the second to the right of the first."""
    rows = min(len(one.picture), len(other.picture))
    return replace(one, picture=np.concatenate([one.picture[:rows], other.picture[:rows]], axis=1))


def _judged(found: LocatedPage, scanned: Scanned, page: Page) -> tuple[float, float, float, float, float]:
    places: Floats = np.array([one.box.middle_mm for one in page.of_kind("probe")])
    regions = [one for one in found.regions if one.kind == "probe"]
    shows = scanned.shows(places)
    sure = np.array([not one.doubt for one in regions])
    if not sure.any():
        return np.nan, np.nan, np.nan, 0.0, np.nan
    claimed = np.array([one.error_mm for one in regions])[sure]
    put = np.array([one.corners.mean(axis=0) for one in regions])[sure]
    away = np.linalg.norm(put - scanned.to_pixels(places[sure]), axis=1) / scanned.ppi * 25.4
    return (
        float(away.max()),
        float(claimed.max()),
        float((away <= claimed).mean()),
        float(sure[shows].mean()) if shows.any() else 0.0,
        float((~shows[sure]).mean()),
    )


def true_lengths(scanned: Scanned, box: Box) -> tuple[float, float]:
    """By how many per cent the page is longer across and along, by least squares over all of it."""
    x, y = np.meshgrid(np.linspace(box.left_mm, box.right_mm, 41), np.linspace(box.top_mm, box.bottom_mm, 41))
    at = np.column_stack([x.ravel(), y.ravel(), np.ones(x.size)])
    map_, *_ = np.linalg.lstsq(at, scanned.to_pixels(at[:, :2]), rcond=None)
    across, along = 100.0 * (np.linalg.norm(map_[:2], axis=1) / scanned.ppi * 25.4 - 1.0)
    return float(across), float(along)


def table(outcomes: Sequence[Outcome]) -> list[str]:
    """What the documentation shows."""
    genuine = [one for one in outcomes if one.kind == "the page"]
    named = [severity.name for severity in SEVERITIES]
    groups = {name: [one for one in genuine if one.severity == name] for name in named}
    groups |= {size: [one for one in genuine if one.size == size] for size in SIZES_IN}
    groups["all"] = genuine
    heads = (
        "scans of the page", "n", "refused", "placed, nothing sure", "located", "within 0.1 mm, %",
        "median, mm", "99 of 100, mm", "worst, mm", "claimed, mm", "within its claim, %", "places sure, %",
        "code read, %", "s each",
    )  # fmt: skip
    lines = ["| " + " | ".join(heads) + " |", "|" + "---|" * len(heads)]
    lines += [_row(name, chosen) for name, chosen in groups.items() if chosen]
    reasons = Counter(_said(one.reason) for one in genuine if not one.placed)
    few = sum(one.marks_shown < FEWEST_MARKS for one in genuine if not one.placed)
    told = "; ".join(f"{said} {n}" for said, n in reasons.most_common())
    lines += [
        "",
        f"Refused, of the page: {told or 'none'}. {few} of them show fewer than {FEWEST_MARKS} marks.",
    ]
    lines += ["", "| not of the page | n | placed | what is said |", "|---|---|---|---|"]
    for kind in OTHERS:
        chosen = [one for one in outcomes if one.kind == kind]
        said = Counter(_said(one.reason) for one in chosen if not one.placed)
        told = "; ".join(f"{what} {n}" for what, n in said.most_common())
        lines.append(f"| {kind} | {len(chosen)} | {sum(one.placed for one in chosen)} | {told} |")
    return lines + _lengths(genuine) + _missing(genuine)


def _row(name: str, chosen: Sequence[Outcome]) -> str:
    located = [one for one in chosen if one.placed and np.isfinite(one.worst_mm)]
    refused = sum(not one.placed for one in chosen)
    start = (
        f"| {name} | {len(chosen)} | {refused} | {len(chosen) - refused - len(located)} | {len(located)} | "
    )
    if not located:
        return start + "- | " * 9
    worst = np.array([one.worst_mm for one in located])
    cells = (
        f"{100 * np.mean(worst <= WANTED_MM):.1f}",
        *(f"{value:.3f}" for value in (np.median(worst), np.quantile(worst, 0.99), worst.max())),
        f"{np.median([one.claimed_mm for one in located]):.3f}",
        f"{100 * np.mean([one.held for one in located]):.1f}",
        f"{100 * np.mean([one.sure for one in located]):.1f}",
        f"{100 * np.mean([bool(one.code) for one in located]):.0f}",
        f"{np.mean([one.seconds for one in chosen]):.2f}",
    )
    return start + " | ".join(cells) + " |"


def _lengths(genuine: Sequence[Outcome]) -> list[str]:
    judged = [(one.truth, one.length) for one in genuine if one.length is not None]
    across = [(truth[0], at.across_low, at.across, at.across_high) for truth, at in judged]
    along = [(truth[1], at.along_low, at.along, at.along_high) for truth, at in judged]
    lines = [
        "",
        "| length error | n | truth, % | interval held, % | half width, % | off by (SD), % | most, % |",
    ]
    lines.append("|" + "---|" * 7)
    for name, figures in (("across the feed", across), ("along the feed", along)):
        true, low, value, high = np.array(figures).T
        held, most = 100 * np.mean((low <= true) & (true <= high)), np.abs(value - true).max()
        lines.append(
            f"| {name} | {len(judged)} | {true.min():.2f} to {true.max():.2f} | {held:.1f} | "
            f"{np.median(high - low) / 2:.3f} | {(value - true).std():.4f} | {most:.3f} |"
        )
    return lines


def _missing(genuine: Sequence[Outcome]) -> list[str]:
    part = [
        one for one in genuine if one.placed and one.marks_shown < one.marks and np.isfinite(one.worst_mm)
    ]
    if not part:
        return []
    gone = 100 * np.mean([one.not_shown for one in part])
    return [
        "",
        f"With a part missing: {len(part)} located; {gone:.1f} % of the places called sure are not shown.",
    ]


def _said(reason: str) -> str:
    for words in (
        "negative", "mirror", "two prints", "its code says", "another page", "no mark", "agree", "one line",
        "the least",
    ):  # fmt: skip
        if words in reason:
            return f'"{words}"'
    return reason


def wrong(outcomes: Sequence[Outcome]) -> list[Outcome]:
    """Silent wrong answers: something else that was placed, or a place said to be sure that is not."""
    return [one for one in outcomes if one.placed and (one.kind != "the page" or one.worst_mm > WANTED_MM)]


def main() -> int:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--cases", type=int, default=500)
    parser.add_argument("--seed", type=int, default=20260202)
    parser.add_argument("--each", action="store_true", help="a line for every scan")
    asked = parser.parse_args()
    begun = time.process_time()
    outcomes = []
    for number in range(asked.cases):
        outcomes.append(one_case(number, seed=asked.seed))
        if asked.each:
            print(number, outcomes[-1], flush=True)
    print("\n".join(table(outcomes)))
    for one in wrong(outcomes):
        print("wrong:", one)
    print(f"\nSilent wrong answers: {len(wrong(outcomes))} of {len(outcomes)}; seed {asked.seed}.")
    print(f"{time.process_time() - begun:.0f} s on one core")
    return 1 if wrong(outcomes) else 0


if __name__ == "__main__":
    raise SystemExit(main())
