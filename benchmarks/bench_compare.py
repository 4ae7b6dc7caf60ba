"""Time a whole comparison: 12 media x 5 sheets x 2 033 patches x 2 conditions, from files to the answer.

    python benchmarks/bench_compare.py            # both sizes, as separate processes
    python benchmarks/bench_compare.py --media 12 --sheets 5

Each run is a process of its own (start-up included); memory is the largest resident size of any process in
it, and of all added up. Twice the sheets must not need twice the memory. Aim: under 5 s on 2 cores.
"""

from __future__ import annotations

import argparse
import json
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from laydown.kernel.stated import Stated
from laydown.science.prints import (
    BARYTA,
    BRIGHT_MATTE,
    CANVAS,
    MATTE_COTTON,
    WAVELENGTHS_NM,
    Noise,
    print_sheet,
    read_sheet,
    surface_colours,
)
from laydown.science.readings.types import Conditions, Readings
from laydown.science.readings.write_cgats import write_cgats

PATCHES = 2033
KINDS = (MATTE_COTTON, BRIGHT_MATTE, BARYTA, CANVAS)


def chart(rng: np.random.Generator) -> np.ndarray:
    """Cube faces with 13 levels, 65 greys, and the rest inside the cube: 2 033 patches."""
    surface = surface_colours(13)
    greys = np.repeat(np.rint(np.linspace(0, 255, 65))[:, None], 3, axis=1)
    inside = rng.integers(1, 255, size=(PATCHES - len(surface) - len(greys), 3))
    return rng.permutation(np.concatenate([surface, greys, inside]), axis=0) / 255.0


def write_trial(folder: Path, *, media: int, sheets: int) -> None:
    rng = np.random.default_rng(7)
    device = chart(rng)
    for number in range(media):
        name = f"Medium {number + 1:02d} (invented)"
        (folder / name).mkdir()
        for sheet in range(sheets):
            state = print_sheet(len(device), noise=Noise(), rng=rng)
            for condition in ("M1", "M2"):
                read = read_sheet(
                    device,
                    medium=KINDS[number % 4],
                    sheet_state=state,
                    noise=Noise(),
                    rng=rng,
                    condition=condition,
                )
                data = write_cgats(_readings(device, read, condition))
                (folder / name / f"sheet{sheet + 1}-{condition}.txt").write_bytes(data)


def _readings(device: np.ndarray, spectra: np.ndarray, condition: str) -> Readings:
    return Readings(
        file="",
        ids=tuple(str(row + 1) for row in range(len(device))),
        names=("",) * len(device),
        lines=np.zeros(len(device), dtype=np.int64),
        channels=("R", "G", "B"),
        device=device,
        device_scale=Stated(255.0, "made here"),
        wavelengths_nm=WAVELENGTHS_NM,
        reflectance=spectra,
        conditions=Conditions(
            measurement=Stated(condition, "made here"), backing=Stated("white", "made here")
        ),
    )


def run(folder: Path) -> tuple[float, float, float, dict[str, object]]:
    """Seconds, MB of the largest process, MB of this process's children's largest, and the answer."""
    answer = folder.parent / f"{folder.name}.json"
    code = (
        "import resource,sys\n"
        "from laydown.cli.main import main\n"
        "sys.argv=['laydown','compare',sys.argv[1],'--plain','--json',sys.argv[2]]\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        "own=resource.getrusage(resource.RUSAGE_SELF).ru_maxrss\n"
        "kin=resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss\n"
        "print(own,kin,file=sys.stderr)\n"
    )
    began = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-c", code, str(folder), str(answer)], capture_output=True, text=True, check=True
    )
    seconds = time.perf_counter() - began
    own, kin = (float(part) / 1024 for part in done.stderr.split()[-2:])
    return seconds, own, kin, json.loads(answer.read_text(encoding="utf-8"))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--media", type=int, default=12)
    parser.add_argument("--sheets", type=int, nargs="*", default=[5, 10, 20])
    options = parser.parse_args()
    print(f"{options.media} media x {PATCHES} patches x 2 conditions, {resource.getpagesize()} B pages")
    for sheets in options.sheets:
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name) / "trial"
            folder.mkdir()
            write_trial(folder, media=options.media, sheets=sheets)
            size = sum(p.stat().st_size for p in folder.rglob("*") if p.is_file()) / 1e6
            runs = [run(folder) for _ in range(3)]
            assert len(runs[0][3]["candidates"]) == options.media  # type: ignore[arg-type]
            seconds = sorted(r[0] for r in runs)[1]
            own, kin = max(r[1] for r in runs), max(r[2] for r in runs)
            print(
                f"{sheets:3d} sheets each, {size:6.0f} MB of files: {seconds:5.2f} s (median of 3), "
                f"{own:4.0f} MB in the main process, {kin:4.0f} MB in the largest worker"
            )


if __name__ == "__main__":
    main()
