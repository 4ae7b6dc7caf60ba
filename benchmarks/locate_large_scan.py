"""How long a page takes to be found in a very large scan, and how much memory: 24 x 36 in at 1200 ppi, RGB.

    python benchmarks/locate_large_scan.py               3.7 GB, in strips as a scanner's program writes them
    python benchmarks/locate_large_scan.py --packed      deflate, in tiles

The scan is simulated at 300 ppi and each of its pixels written as 4 x 4. It goes into a temporary file, which
is removed again; writing and locating run in processes of their own, so that the memory of locating is known.
"""

from __future__ import annotations

import argparse
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import tifffile
from numpy.typing import NDArray

from laydown.science.forms.located_page import LocatedPage, locate_page
from laydown.science.forms.scan_file import TiffScan
from printed_and_scanned import SEVERITIES, form_page, scan, some_wear, source

SIZE, SOURCE_PPI, TIMES = "24 x 36 in", 300.0, 4
ROWS = 256  # of a strip or a tile
MEGABYTE = 1e6


def written(picture: NDArray[np.uint8], into: Path, *, packed: bool) -> None:
    """Write it TIMES as large each way, in three channels, part by part."""
    rows, columns = (side * TIMES for side in picture.shape)

    def band(first: int) -> NDArray[np.uint8]:
        small = picture[first // TIMES : -(-(first + ROWS) // TIMES)]
        return np.repeat(np.repeat(small, TIMES, axis=0), TIMES, axis=1)[:ROWS]

    def strips() -> Iterator[NDArray[np.uint8]]:
        for first in range(0, rows, ROWS):
            yield np.repeat(band(first)[..., None], 3, axis=2)

    def tiles() -> Iterator[NDArray[np.uint8]]:
        for strip in strips():
            whole = np.zeros((ROWS, -(-columns // ROWS) * ROWS, 3), dtype=np.uint8)
            whole[: len(strip), :columns] = strip
            yield from (whole[:, left : left + ROWS] for left in range(0, whole.shape[1], ROWS))

    ppi = SOURCE_PPI * TIMES
    told = {"resolution": (ppi, ppi), "resolutionunit": "inch", "photometric": "rgb", "bigtiff": True}
    shape, kind = (rows, columns, 3), np.uint8
    if packed:
        tifffile.imwrite(
            into, tiles(), shape=shape, dtype=kind, tile=(ROWS, ROWS), compression="zlib", **told
        )
    else:
        tifffile.imwrite(into, strips(), shape=shape, dtype=kind, rowsperstrip=ROWS, **told)


def locate_in(path: Path) -> None:
    """Locate, and say how long it took and how much memory the process held at most."""
    page = form_page(SIZE, form="F7K2", page=1)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
    begun, worked = time.perf_counter(), time.process_time()
    with path.open("rb") as file:
        large = TiffScan(file)
        found = locate_page(large, page, ppi=large.ppi)
    seconds, worked = time.perf_counter() - begun, time.process_time() - worked
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
    assert isinstance(found, LocatedPage), found
    sure = [not one.doubt for one in found.regions]
    print(f"{large.shape[1]} x {large.shape[0]} pixels, file of {path.stat().st_size / 1e9:.2f} GB")
    print(f"{len(found.placement.marks)} marks, {100 * np.mean(sure):.0f} % of {len(sure)} elements sure")
    print(f"{seconds:.0f} s ({worked:.0f} s of one core)")
    print(f"{peak / MEGABYTE:.0f} MB at most, {before / MEGABYTE:.0f} MB of these before the scan was opened")
    np.save(_found(path), [one.corners.mean(axis=0) for one in found.regions])


def main() -> int:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--packed", action="store_true", help="deflate, in tiles")
    parser.add_argument("--write", type=Path, help=argparse.SUPPRESS)
    parser.add_argument("--locate", type=Path, help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.write:
        write_scan(asked.write, packed=asked.packed)
        return 0
    if asked.locate:
        locate_in(asked.locate)
        return 0
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "scan.tif"
        for step in ("--write", "--locate"):
            options = ["--packed"] if asked.packed else []
            subprocess.run([sys.executable, __file__, step, str(path), *options], check=True)
        away = np.linalg.norm(np.load(_found(path)) / TIMES - np.load(_true(path)), axis=1)
    print(f"true error {away.max() / SOURCE_PPI * 25.4:.3f} mm at most")
    return 0


def write_scan(path: Path, *, packed: bool) -> None:
    """Simulate a careful scan, and say where the middles of all elements truly lie in it."""
    rng = np.random.default_rng(20260131)
    page = form_page(SIZE, form="F7K2", page=1)
    wear = replace(some_wear(rng, SEVERITIES[0], height_mm=page.height_mm), turn_deg=0.8)
    scanned = scan(source(SIZE, form="F7K2", page=1, blur=0.6), wear, ppi=SOURCE_PPI, rng=rng)
    written(scanned.picture, path, packed=packed)
    np.save(_true(path), scanned.to_pixels(np.array([one.box.middle_mm for one in page.elements])))


def _true(path: Path) -> Path:
    return path.with_name("true.npy")


def _found(path: Path) -> Path:
    return path.with_name("found.npy")


if __name__ == "__main__":
    raise SystemExit(main())
