"""A large test form drawn and written: how long, and in how much memory, beside a TIFF library alone?

    python benchmarks/draw_forms.py                                   # 44 x 60 in at 720 ppi, 8 bit
    python benchmarks/draw_forms.py --wide 64 --high 36 --ppi 360     # wider than the usual rolls
    python benchmarks/draw_forms.py --bits 16 --packing none          # above 4 GB: the large variety of TIFF

The page is filled from edge to edge with what a form is made of: thousands of patches, edges, lines, type,
waves, gradients and pictures. Each run is a process of its own, which states its time until the file is on
the disk and the most memory it ever held. Against it stands tifffile, which is handed the finished raster
band by band and does nothing but write it (as tiles that are bands, since it takes no iterator of strips);
the time it waits for the raster to be read is taken off. Both take turns, and the middle of the times
counts. Then both files are compared, pixel by pixel. Needs a little more than twice the raster on the disk:
9 GB for the page above.
"""

from __future__ import annotations

import argparse
import os
import pickle
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from itertools import cycle
from pathlib import Path

import numpy as np
import tifffile

from laydown.science.forms.bleed_targets import bleed_targets
from laydown.science.forms.drawing import BAND_ROWS, size_in_pixels
from laydown.science.forms.edge_target import CONTRASTS, edge_target
from laydown.science.forms.gradients import gradients
from laydown.science.forms.identity import Identity, identity_elements
from laydown.science.forms.length_marks import length_marks
from laydown.science.forms.line_targets import hairlines, line_pairs
from laydown.science.forms.mark_grid import mark_places
from laydown.science.forms.markers import mark_element
from laydown.science.forms.page import Block, Box, Element, Page, Paint, Picture, Shape, check_page
from laydown.science.forms.ring_target import ring_target
from laydown.science.forms.scenes.every_scene import SCENES
from laydown.science.forms.tiff import write_tiff
from laydown.science.forms.tints import tint
from laydown.science.forms.tone_steps import tone_steps
from laydown.science.forms.type_sample import type_sample
from laydown.science.forms.wave_target import wave_target
from laydown.science.forms.wear_bar import bare_window, wear_bar

RGB = ("R", "G", "B")
EDGE_MM, GAP_MM, ROW_MM = 25.0, 3.0, 232.0
LARGEST_CLASSIC = 2**32 - 2**25  # bytes
EFFORT = 4  # of deflate, the same for both


def patches(rng: np.random.Generator, number: int) -> tuple[Element, ...]:
    """A field of 16 x 16 patches of 8 mm."""
    blocks = tuple(
        Block(Box(8.0 * i, 8.0 * j, 8.0 * i + 7.5, 8.0 * j + 7.5), tuple(map(float, rng.uniform(size=3))))
        for j in range(16)
        for i in range(16)
    )
    return (Element("patches", f"{number}", Box(0.0, 0.0, 128.0, 128.0), blocks),)


def shown(name: str, pixels: np.ndarray, size_mm: tuple[float, float]) -> tuple[Element, ...]:
    """A picture of a size."""
    box = Box(0.0, 0.0, *size_mm)
    return (Element("picture", name, box, (Picture(box, pixels),)),)


def pieces(scene_ppi: float) -> Iterator[tuple[Element, ...]]:
    """What the page is made of, for ever; each at the page's corner."""
    rng = np.random.default_rng(20260131)
    at = {"left_mm": 0.0, "top_mm": 0.0, "channels": RGB}
    scenes = {
        name: make(np.random.default_rng(7), width_mm=100.0, height_mm=75.0, ppi=scene_ppi)
        for name, make in SCENES.items()
    }
    pictures = cycle(scenes.items())
    for number in cycle(range(1_000_000)):
        yield patches(rng, number)
        yield shown(*next(pictures), (150.0, 112.5))
        yield (edge_target(tuple(CONTRASTS)[number % 3], **at),)
        yield patches(rng, number)
        yield (type_sample(**at, reversed_out=bool(number % 2)),)
        yield gradients(**at)
        yield shown(*next(pictures), (100.0, 75.0))
        yield (tint(0.1 + 0.2 * (number % 5), **at),)
        yield patches(rng, number)
        yield (wave_target(**at, along=("across", "down")[number % 2]),)
        yield (hairlines("slanted", **at),)
        yield (line_pairs("upright", **at, reversed_out=True),)
        yield (ring_target(**at),)
        yield bleed_targets(**at)
        yield (tone_steps("shadows", **at),)
        yield patches(rng, number)
        yield (wear_bar(**at),)
        yield (bare_window(**at),)
        yield identity_elements(Identity("F7K2", "D1", f"{number:03d}"), **at)


def moved(element: Element, across: float, down: float, number: int) -> Element:
    """The same elsewhere on the page, with a name of its own."""
    paints: list[Paint] = []
    for one in element.paints:
        if isinstance(one, Shape):
            contours = tuple(outline + np.array([across, down]) for outline in one.contours)
            paints.append(replace(one, contours=contours))
        else:
            paints.append(replace(one, box=one.box.moved(across, down)))
    box = element.box.moved(across, down)
    return replace(element, name=f"{element.name} {number}", box=box, paints=tuple(paints))


def full_page(wide_in: float, high_in: float, *, scene_ppi: float) -> Page:
    """A page filled in rows of columns, with marks about it and length marks 500 mm apart at its corner."""
    wide, high = wide_in * 25.4, high_in * 25.4
    inner = Box(0.0, 0.0, wide, high).inset(EDGE_MM)
    made = [
        mark_element(number, left_mm=box.left_mm, top_mm=box.top_mm, size_mm=10.0, dark=(0.0, 0.0, 0.0))
        for number, box in enumerate(mark_places(wide, high))
        if min(box.left_mm, box.top_mm, wide - box.right_mm, high - box.bottom_mm) < EDGE_MM / 2.0
    ]
    made += length_marks(
        left_mm=inner.left_mm, top_mm=inner.top_mm, channels=RGB, across_mm=500.0, along_mm=500.0
    )
    inner = Box(inner.left_mm + 20.0, inner.top_mm + 20.0, inner.right_mm, inner.bottom_mm)
    column = Box(inner.left_mm, inner.top_mm, inner.left_mm, inner.top_mm)  # as far as it is filled
    for number, piece in enumerate(pieces(scene_ppi)):
        width = max(one.box.right_mm for one in piece)
        height = max(one.box.bottom_mm for one in piece)
        if width > column.width_mm or column.bottom_mm + height > column.top_mm + ROW_MM:
            left, top = column.right_mm, column.top_mm
            if left + width > inner.right_mm:
                left, top = inner.left_mm, top + ROW_MM
            if top + ROW_MM > inner.bottom_mm:
                break
            column = Box(left, top, left + width + GAP_MM, top)
        made += [moved(one, column.left_mm, column.bottom_mm, number) for one in piece]
        column = replace(column, bottom_mm=column.bottom_mm + height + GAP_MM)
    page = Page("benchmark", wide, high, RGB, tuple(made))
    check_page(page)
    return page


def kept_page(folder: Path) -> Page:
    """The page that a run before this one put together."""
    with (folder / "page.pickle").open("rb") as file:
        page: Page = pickle.load(file)  # noqa: S301 - written by this very script
    return page


def draw(folder: Path, args: argparse.Namespace) -> float:
    """Our way: from a page to a file on the disk."""
    page = kept_page(folder)
    start = time.perf_counter()
    with file_of(folder, "draw", args.packing).open("wb") as file:
        write_tiff(page, file, ppi=args.ppi, bits=args.bits, packing=args.packing)
        file.flush()
        os.fsync(file.fileno())
    return time.perf_counter() - start


def bands(path: Path, shape: tuple[int, int, int], kind: type, waited: list[float]) -> Iterator[np.ndarray]:
    """The finished raster, read band by band; how long that takes is noted."""
    with tifffile.TiffFile(path) as file:
        place = file.pages[0].dataoffsets[0]
    rows, columns, channels = shape
    with path.open("rb") as file:
        file.seek(place)
        for first in range(0, rows, BAND_ROWS):
            start = time.perf_counter()
            band = np.zeros((BAND_ROWS, columns, channels), dtype=kind)
            high = min(BAND_ROWS, rows - first)
            band[:high] = np.fromfile(file, dtype=kind, count=high * columns * channels).reshape(
                high, columns, channels
            )
            waited.append(time.perf_counter() - start)
            yield band


def write_alone(folder: Path, args: argparse.Namespace) -> float:
    """The library's way: a finished raster to a file on the disk, without what reading it took."""
    with tifffile.TiffFile(file_of(folder, "draw", "none")) as file:
        shape = file.pages[0].shape
    kind = np.uint8 if args.bits == 8 else np.uint16
    waited: list[float] = []
    packing = {"compression": "zlib", "compressionargs": {"level": EFFORT}} if args.packing != "none" else {}
    path = file_of(folder, "alone", args.packing)
    start = time.perf_counter()
    tifffile.imwrite(
        path,
        bands(file_of(folder, "draw", "none"), shape, kind, waited),
        shape=shape,
        dtype=kind,
        tile=(BAND_ROWS, shape[1]),
        photometric="rgb",
        resolution=(args.ppi, args.ppi),
        resolutionunit="INCH",
        metadata=None,
        bigtiff=int(np.prod(shape)) * args.bits // 8 > LARGEST_CLASSIC,
        **packing,
    )
    with path.open("rb+") as file:
        os.fsync(file.fileno())
    return time.perf_counter() - start - sum(waited)


def make(folder: Path, args: argparse.Namespace) -> float:
    """Put the page together and say what is on it; its pictures are made here, once."""
    start = time.perf_counter()
    page = full_page(args.wide, args.high, scene_ppi=args.scene_ppi)
    (folder / "page.pickle").write_bytes(pickle.dumps(page))
    return time.perf_counter() - start


def describe(folder: Path, args: argparse.Namespace) -> float:
    """What is on the page."""
    page = kept_page(folder)
    kinds = Counter(type(paint).__name__ for element in page.elements for paint in element.paints)
    rows, columns = size_in_pixels(page, ppi=args.ppi)
    size = rows * columns * 3 * args.bits // 8
    counted = ", ".join(f"{many} {kind}" for kind, many in kinds.most_common())
    print(f"{columns} x {rows} pixels of {args.bits} bit, {size / 1e9:.2f} GB")
    print(f"{len(page.elements)} elements: {counted}")
    free = shutil.disk_usage(folder).free
    if free < 2.2 * size:
        sys.exit(f"{free / 1e9:.0f} GB are free in {folder}; {2.2 * size / 1e9:.0f} are needed.")
    return 0.0


def compare(folder: Path, args: argparse.Namespace) -> float:
    """Whether both files hold the same pixels, band by band."""
    with (
        tifffile.TiffFile(file_of(folder, "draw", args.packing)) as one,
        tifffile.TiffFile(file_of(folder, "alone", args.packing)) as other,
    ):
        ours, theirs = one.pages[0], other.pages[0]
        for number in range(len(ours.dataoffsets)):
            band, tile = segment(one, ours, number), segment(other, theirs, number)
            if not np.array_equal(band, tile[:, : band.shape[1]]):
                sys.exit(f"band {number} differs")
    return 0.0


def segment(file: tifffile.TiffFile, page: tifffile.TiffPage, number: int) -> np.ndarray:
    """One strip or tile, unpacked."""
    file.filehandle.seek(page.dataoffsets[number])
    made = page.decode(file.filehandle.read(page.databytecounts[number]), number)[0]
    assert made is not None
    return np.asarray(made)


def file_of(folder: Path, what: str, packing: str) -> Path:
    """The file that a run writes."""
    return folder / f"{what}-{packing}.tif"


RUNS = {"make": make, "describe": describe, "draw": draw, "alone": write_alone, "compare": compare}


def in_its_own_process(what: str, args: argparse.Namespace, packing: str) -> tuple[float, float, float]:
    """Seconds by the clock, seconds of the processor, and MB at most, of one run.

    This process stays small: a new process counts the memory of the one that started it.
    """
    command = [sys.executable, __file__, "--run", what, "--packing", packing]
    for name in ("folder", "wide", "high", "ppi", "bits", "scene_ppi"):
        command += [f"--{name.replace('_', '-')}", str(getattr(args, name))]
    told = subprocess.run(command, stdout=subprocess.PIPE, text=True)
    if told.returncode:
        sys.exit(told.stdout or told.returncode)
    *said, figures = told.stdout.splitlines()
    if said:
        print(*said, sep="\n", flush=True)
    seconds, busy, most = map(float, figures.split())
    return seconds, busy, most


def main() -> None:
    """Make the page, run both ways, compare."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--wide", type=float, default=44.0, help="inches")
    asked.add_argument("--high", type=float, default=60.0, help="inches")
    asked.add_argument("--ppi", type=float, default=720.0)
    asked.add_argument("--bits", type=int, default=8)
    asked.add_argument("--packing", choices=("none", "deflate", "both"), default="both")
    asked.add_argument("--scene-ppi", type=float, default=300.0)
    asked.add_argument("--times", type=int, default=1, help="how often each way is run")
    asked.add_argument("--page", type=Path, help="keep the page here, or use the one that is kept")
    asked.add_argument("--run", choices=RUNS, help=argparse.SUPPRESS)
    asked.add_argument("--folder", type=Path, help=argparse.SUPPRESS)
    args = asked.parse_args()
    if args.run:
        seconds = RUNS[args.run](args.folder, args)
        most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000.0
        print(seconds, sum(os.times()[:2]), most)
        return
    with tempfile.TemporaryDirectory(prefix="draw-forms-") as name:
        args.folder = Path(name)
        if args.page is not None and args.page.exists():
            shutil.copy(args.page, args.folder / "page.pickle")
        else:
            in_its_own_process("make", args, "none")
        if args.page is not None and not args.page.exists():
            shutil.copy(args.folder / "page.pickle", args.page)
        in_its_own_process("describe", args, "none")
        tell(args)


def tell(args: argparse.Namespace) -> None:
    """Run both ways and print the figures; the raster comes first, since the library is fed with it."""
    print(f"{'':18}{'seconds':>10}{'of cpu':>10}{'MB at most':>12}{'GB':>8}")
    for packing in ("none",) if args.packing == "none" else ("none", "deflate"):
        times: dict[str, list[float]] = {"draw": [], "alone": []}
        worked: dict[str, list[float]] = {"draw": [], "alone": []}
        for what in args.times * ("draw", "alone"):
            seconds, busy, most = in_its_own_process(what, args, packing)
            times[what].append(seconds)
            worked[what].append(busy)
            size = file_of(args.folder, what, packing).stat().st_size / 1e9
            print(f"{what:8}{packing:10}{seconds:10.1f}{busy:10.1f}{most:12.0f}{size:8.2f}", flush=True)
        in_its_own_process("compare", args, packing)
        longer, harder = (np.median(one["draw"]) / np.median(one["alone"]) for one in (times, worked))
        print(
            f"{packing}: {longer:.2f} times as long by the clock, {harder:.2f} times the processor's work; "
            "the same pixels",
            flush=True,
        )
        file_of(args.folder, "alone", packing).unlink()


if __name__ == "__main__":
    main()
