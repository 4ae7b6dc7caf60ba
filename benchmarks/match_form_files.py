"""How often is a measurement file taken for the wrong page or order, and how often is the right one found?

    python benchmarks/match_form_files.py               60 files of each kind
    python benchmarks/match_form_files.py --files 10    a quick look

Files are simulated readings of pages that were chosen and laid out as forms are, on media drawn from wide
ranges, none of them the one that expected colours come from. Kinds are ways of reading a page, slips of the
reader, ways of rounding, and files that are of no page that is asked about. ``docs/methods/test-form.md``
holds the table.
"""

from __future__ import annotations

import argparse
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from laydown.kernel.arrays import Floats, Ints
from laydown.science.colour import lab_from_reflectance
from laydown.science.findings.reading_order import any_print
from laydown.science.forms.choose_patches import Question, choose_patches
from laydown.science.forms.expected_pages import ExpectedPage, expected_page
from laydown.science.forms.geometry import page_geometry
from laydown.science.forms.matched import Matched, NotMatched
from laydown.science.forms.matching import match_pages
from laydown.science.forms.page import Box, Page
from laydown.science.forms.patch_layout import lay_out_patches
from laydown.science.forms.patch_set import RGB
from laydown.science.forms.reader import STRIP_READER
from laydown.science.forms.reading_ways import every_way, order_of
from laydown.science.prints import (
    BARYTA,
    CANVAS,
    WAVELENGTHS_NM,
    Medium,
    Noise,
    print_sheet,
    read_sheet,
)

SEED = 20260302
MANY = 0.05  # share of wrong patches from which it is the page or the order that is wrong
SAME = 0.0102  # device values, of full scale: two that whole percent may not tell apart


@dataclass(frozen=True, slots=True, eq=False)
class File:
    """A file and the truth: ``truth`` (m, k) device values printed for each reading, None for no page."""

    asked: list[ExpectedPage]
    truth: Floats | None
    device: Floats | None = None
    values: Floats | None = None


Maker = Callable[[np.random.Generator], File]


def form(
    name: str, count: int, seed: int, *, high: float = 200.0, question: Question = "everything"
) -> list[ExpectedPage]:
    """The pages of a form with what any print of them looks like."""
    patches = choose_patches(count, question=question)
    laid = lay_out_patches(patches, Box(10, 10, 287, high), STRIP_READER, rng=np.random.default_rng(seed))
    pages = []
    for number, elements in enumerate(laid.pages, 1):
        page = Page(f"D{number}", 297.0, high + 10.0, RGB, elements)
        bare = expected_page(page_geometry(page, form=name, ppi=360))
        pages.append(replace(bare, values=any_print(bare.device, channels=RGB)))
    return pages


FORMS = [
    form("A", 200, 1),
    form("B", 380, 2, high=120.0),
    form("C", 150, 3, question="tone"),
    form("D", 320, 4, question="gamut"),
    form("E", 200, 5),  # the same patches as A in another arrangement
]
ALL = [page for pages in FORMS for page in pages]


def medium(rng: np.random.Generator) -> Medium:
    """A medium unlike the one that colours are expected from."""
    usual = (BARYTA, CANVAS)[int(rng.integers(2))]
    return replace(
        usual,
        white=float(rng.uniform(0.7, 0.95)),
        warmth=float(rng.uniform(0.0, 0.25)),
        brightener=float(rng.uniform(0.0, 0.25)),
        surface=float(rng.uniform(0.003, 0.03)),
        ink_strength=float(rng.uniform(0.5, 1.5)),
        ink_limit=float(rng.uniform(1.6, 3.5)),
        overdrive=float(rng.uniform(0.8, 1.5)),
        texture=float(rng.uniform(0.5, 4.0)),
    )


def colours(device: Floats, rng: np.random.Generator, *, noise: float = 1.0) -> Floats:
    """Lab of a sheet with these device values on some medium."""
    scatter = Noise().times(noise)
    state = print_sheet(len(device), noise=scatter, rng=rng)
    spectra = read_sheet(device, medium=medium(rng), sheet_state=state, noise=scatter, rng=rng)
    return np.asarray(lab_from_reflectance(spectra, wavelengths_nm=WAVELENGTHS_NM))


def some_page(rng: np.random.Generator) -> ExpectedPage:
    return ALL[int(rng.integers(len(ALL)))]


def lines_of(page: ExpectedPage) -> list[Ints]:
    return [np.flatnonzero(page.positions[:, 0] == row) for row in np.unique(page.positions[:, 0])]


def any_way(page: ExpectedPage, rng: np.random.Generator) -> Ints:
    ways = every_way()
    return order_of(ways[int(rng.integers(len(ways)))], page.positions)


def gone(page: ExpectedPage, rng: np.random.Generator) -> Ints:
    """In some way, one to three of the lines it is read along left out."""
    ways = every_way()
    way = ways[int(rng.integers(len(ways)))]
    across = page.positions[:, 0 if way.along == "rows" else 1]
    left_out = rng.choice(np.unique(across), size=int(rng.integers(1, 4)), replace=False)
    order = order_of(way, page.positions)
    return order[~np.isin(across[order], left_out)]


def twice(page: ExpectedPage, rng: np.random.Generator) -> Ints:
    lines = lines_of(page)
    again = int(rng.integers(len(lines)))
    return np.concatenate([*lines[: again + 1], *lines[again:]])


def gone_and_twice(page: ExpectedPage, rng: np.random.Generator) -> Ints:
    lines = lines_of(page)
    out, again = rng.choice(len(lines), size=2, replace=False)
    return np.concatenate([np.tile(line, 1 + (at == again)) for at, line in enumerate(lines) if at != out])


def pulled_back(page: ExpectedPage, rng: np.random.Generator) -> Ints:
    lines = lines_of(page)
    back = rng.choice(len(lines), size=int(rng.integers(1, 4)), replace=False)
    return np.concatenate([line[::-1] if at in back else line for at, line in enumerate(lines)])


def exchanged(page: ExpectedPage, rng: np.random.Generator) -> Ints:
    lines = lines_of(page)
    one, other = rng.choice(len(lines), size=2, replace=False)
    lines[one], lines[other] = lines[other], lines[one]
    return np.concatenate(lines)


def patches_slipped(page: ExpectedPage, rng: np.random.Generator) -> Ints:
    """One to three patches left out, one to three read twice."""
    order = any_way(page, rng)
    order = np.delete(order, rng.choice(len(order), size=int(rng.integers(1, 4)), replace=False))
    again = rng.choice(len(order), size=int(rng.integers(1, 4)), replace=False)
    return np.insert(order, again, order[again])


def half(page: ExpectedPage, rng: np.random.Generator) -> Ints:
    order = any_way(page, rng)
    middle = len(order) // 2
    return order[:middle] if rng.random() < 0.5 else order[middle:]


SLIPS: dict[str, Callable[[ExpectedPage, np.random.Generator], Ints]] = {
    "read in any of 16 ways": any_way,
    "and one to three rows missing": gone,
    "a row read twice": twice,
    "one row missing, one twice": gone_and_twice,
    "one to three rows the other way": pulled_back,
    "two rows exchanged": exchanged,
    "single patches missing and twice": patches_slipped,
    "half of the page": half,
}


def read(slip: Callable[[ExpectedPage, np.random.Generator], Ints], by: str, noise: float = 1.0) -> Maker:
    def make(rng: np.random.Generator) -> File:
        page = some_page(rng)
        order = slip(page, rng)
        truth = page.device[order]
        values = colours(truth, rng, noise=noise)
        if by == "colours":
            return File(ALL, truth, values=values)
        if by == "device values":
            return File(ALL, truth, device=rounded(truth, rng))
        # The measuring program took the page as read in order.
        filed = page.device[np.resize(np.arange(len(page)), len(order))]
        return File(ALL, truth, device=filed, values=values)

    return make


def rounded(device: Floats, rng: np.random.Generator) -> Floats:
    """Whole percent, 0 to 255, one decimal of 100, or one decimal of 255."""
    steps = (100.0, 255.0, 1000.0, 2550.0)[int(rng.integers(4))]
    return np.round(device * steps) / steps


def whole_form(rng: np.random.Generator) -> File:
    pages = FORMS[1] if rng.random() < 0.5 else FORMS[1][::-1]
    truth = np.concatenate([page.device[any_way(page, rng)] for page in pages])
    return File(ALL, truth, values=colours(truth, rng))


def few_colours(rng: np.random.Generator) -> File:
    """A page on which six colours come again and again."""
    page = ALL[0]
    palette = page.device[rng.choice(len(page), size=6, replace=False)]
    device = palette[rng.integers(6, size=len(page))]
    own = replace(page, form="few", device=device, values=any_print(device, channels=RGB), on_strip=None)
    truth = device[any_way(own, rng)]
    return File([own, *ALL], truth, values=colours(truth, rng))


def greys(rng: np.random.Generator) -> File:
    """A page of greys alone."""
    page = ALL[0]
    device = np.repeat(rng.integers(256, size=len(page))[:, None] / 255.0, 3, axis=1)
    own = replace(page, form="grey", device=device, values=any_print(device, channels=RGB), on_strip=None)
    truth = device[any_way(own, rng)]
    return File([own, *ALL], truth, values=colours(truth, rng))


def toned(rng: np.random.Generator) -> File:
    """A print without hues, warm in the lights."""
    page = some_page(rng)
    truth = page.device[any_way(page, rng)]
    values = colours(truth, rng)
    values[:, 1] = 1.0 + rng.normal(scale=0.3, size=len(values))
    values[:, 2] = 3.0 - 0.03 * values[:, 0] + rng.normal(scale=0.3, size=len(values))
    return File(ALL, truth, values=values)


def visual(rng: np.random.Generator) -> File:
    """Visual density and nothing else; L* stands in for it, as only ranks count."""
    asked = [replace(page, values=page.values[:, :1]) for page in ALL if page.values is not None]
    truth = (page := some_page(rng)).device[any_way(page, rng)]
    return File(asked, truth, values=colours(truth, rng)[:, :1])


def no_visual(rng: np.random.Generator) -> File:
    found, stranger = visual(rng), another_form(rng)
    assert stranger.values is not None
    titles = {page.title for page in stranger.asked}
    asked = [page for page in found.asked if page.title in titles]
    return File(asked, None, values=stranger.values[:, :1])


def random_colours(rng: np.random.Generator) -> File:
    return File(ALL, None, values=colours(rng.random((int(rng.integers(60, 400)), 3)), rng))


def another_form(rng: np.random.Generator) -> File:
    """A page of a form that is not asked about, with the same control strip, and often the same patches."""
    number = int(rng.integers(len(FORMS)))
    page = FORMS[number][int(rng.integers(len(FORMS[number])))]
    asked = [one for one in ALL if one.form != page.form]
    return File(asked, None, values=colours(page.device, rng))


def another_with_device(rng: np.random.Generator) -> File:
    found = another_form(rng)
    page = next(one for one in ALL if one.form not in {asked.form for asked in found.asked})
    return replace(found, device=page.device, values=colours(page.device, rng))


def strip_and_another(rng: np.random.Generator) -> File:
    """The control strip, followed by few patches of another form."""
    page = FORMS[0][0]
    some = page.device[: int(rng.integers(30, 60))]
    asked = [one for one in ALL if one.form not in ("A",)]
    return File(asked[:1] if rng.random() < 0.5 else asked, None, values=colours(some, rng))


def shuffled(rng: np.random.Generator) -> File:
    page = some_page(rng)
    return File(ALL, None, values=colours(rng.permutation(page.device), rng))


def new_arrangement(rng: np.random.Generator) -> File:
    """The same patches, laid out with another seed."""
    fresh = form("A2", 200, int(rng.integers(1000, 10_000)))[0]
    return File(ALL, None, values=colours(fresh.device, rng))


def ramps(rng: np.random.Generator) -> File:
    """A step wedge read again and again: smooth, and like itself from either end."""
    steps = np.linspace(0.0, 1.0, int(rng.integers(15, 40)))
    colour = rng.random(3)
    device = np.tile(steps[:, None] + (1.0 - steps[:, None]) * colour, (int(rng.integers(3, 8)), 1))
    return File(ALL, None, values=colours(device, rng))


def kinds() -> dict[str, Maker]:
    found = {f"{name}; colours": read(slip, "colours") for name, slip in SLIPS.items()}
    found |= {f"{name}; rounded device values": read(slip, "device values") for name, slip in SLIPS.items()}
    found |= {
        f"{name}; device values as if in order": read(slip, "both")
        for name, slip in SLIPS.items()
        if slip in (any_way, pulled_back, exchanged, twice)
    }
    found |= {
        "any way, four times the scatter; colours": read(any_way, "colours", 4.0),
        "rows missing, four times the scatter; colours": read(gone, "colours", 4.0),
        "two pages, each any way; colours": whole_form,
        "six colours again and again; colours": few_colours,
        "greys alone; colours": greys,
        "NO PAGE: random colours": random_colours,
        "NO PAGE: another form, same strip; colours": another_form,
        "NO PAGE: another form; device values and colours": another_with_device,
        "NO PAGE: the strip and a little of another form": strip_and_another,
        "NO PAGE: the page's patches shuffled": shuffled,
        "NO PAGE: the same patches laid out anew": new_arrangement,
        "NO PAGE: step wedges": ramps,
        "a toned print without hues; colours": toned,
        "visual density alone": visual,
        "NO PAGE: another form; visual density alone": no_visual,
    }
    return found


def judged(file: File, found: Matched | NotMatched) -> str:
    """What became of a file."""
    if isinstance(found, NotMatched):
        return "refused" if file.truth is not None else "rightly refused"
    if file.truth is None:
        return "WRONG"
    there = np.flatnonzero(found.source >= 0)
    given = found.page.device[there]
    if given.shape[1] != file.truth.shape[1]:
        return "WRONG"
    wrong = np.abs(given - file.truth[found.source[there]]).max(axis=1) > SAME
    if wrong.any():
        return "WRONG" if wrong.mean() > MANY else "a few patches wrong"
    left = len(found.doubtful)
    return (
        "right" if not left else "right, 1 to 3 patches left empty" if left <= 3 else "right, more left empty"
    )


def mistakes(file: File, found: Matched | NotMatched) -> str:
    """Which places were given a wrong reading."""
    if isinstance(found, NotMatched) or file.truth is None:
        return ""
    there = np.flatnonzero(found.source >= 0)
    apart = np.abs(found.page.device[there] - file.truth[found.source[there]]).max(axis=1)
    wrong = there[apart > SAME]
    return (
        f"WRONG IN {[(found.page.names[at], int(found.source[at]) + 1) for at in wrong]}"
        if len(wrong)
        else ""
    )


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    options.add_argument("--files", type=int, default=60, help="of each kind (default 60)")
    options.add_argument("--only", default="", help="kinds whose name holds this")
    options.add_argument("--show", action="store_true", help="print what is said of what went wrong")
    given = options.parse_args()
    total: Counter[str] = Counter()
    began = time.perf_counter()
    for number, (name, make) in enumerate(kinds().items()):
        if given.only not in name:
            continue
        tally: Counter[str] = Counter()
        for count in range(given.files):
            file = make(np.random.default_rng([SEED, number, count]))
            found = match_pages(
                file.asked,
                channels=RGB if file.device is not None else (),
                device=file.device,
                values=file.values,
            )
            verdict = judged(file, found)
            tally[verdict] += 1
            if given.show and verdict not in ("right", "rightly refused"):
                said = found.reason if isinstance(found, NotMatched) else found.words
                print(f"    {count} {verdict}: {found.score:.2f} {said} {mistakes(file, found)}")
        total += tally
        print(f"{name:64s} {', '.join(f'{count} {what}' for what, count in tally.most_common())}", flush=True)
    print(f"{sum(total.values())} files, {time.perf_counter() - began:.0f} s: {dict(total.most_common())}")


if __name__ == "__main__":
    main()
