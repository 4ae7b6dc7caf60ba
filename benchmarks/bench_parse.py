"""Time to read a table of measurements, beside ``pandas.read_csv`` on the same bytes.

Run ``python benchmarks/bench_parse.py``; prints medians of interleaved runs and their ratio, for
the rows alone (what pandas reads too) and for the whole file with its conditions, scales and row checks.
"""

from __future__ import annotations

import argparse
import io
import statistics
import time
from collections.abc import Callable

import numpy as np
import pandas as pd

from laydown.science.readings import read_measurements
from laydown.science.readings.decoding import Text
from laydown.science.readings.number_grid import Layout, read_grid

BANDS = [f"SPECTRAL_NM{nm}" for nm in range(380, 740, 10)]
NAMES = ["SAMPLE_ID", "SAMPLE_NAME", "RGB_R", "RGB_G", "RGB_B", *BANDS]


def invented_rows(rows: int, *, padded: bool, seed: int = 7) -> bytes:
    """Tab-separated rows as instruments write them: id, name, three device values, 36 reflectances."""
    rng = np.random.default_rng(seed)
    device = rng.integers(0, 256, (rows, 3))
    spectra = rng.uniform(0.02, 1.05, (rows, len(BANDS)))
    d, s = ("%8.2f", "%10.4f") if padded else ("%.2f", "%.4f")
    line = "\t".join(["%d", "%s", *[d] * 3, *[s] * len(BANDS)])
    return (
        "\n".join(line % (i + 1, f"A{i + 1}", *device[i], *spectra[i]) for i in range(rows)).encode() + b"\n"
    )


def as_cgats(rows: bytes) -> bytes:
    """The rows inside a CGATS frame."""
    count = rows.count(b"\n")
    head = [
        "CGATS.17",
        'INSTRUMENTATION\t"spectrophotometer, 45:0"',
        'MEASUREMENT_SOURCE\t"MeasurementCondition=M1"',
    ]
    head += [f"NUMBER_OF_FIELDS\t{len(NAMES)}", "BEGIN_DATA_FORMAT", "\t".join(NAMES), "END_DATA_FORMAT"]
    head += [f"NUMBER_OF_SETS\t{count}", "BEGIN_DATA", ""]
    return "\n".join(head).encode() + rows + b"END_DATA\n"


def seconds(run: Callable[[], object]) -> float:
    start = time.perf_counter()
    run()
    return time.perf_counter() - start


def compare(rows: int, *, padded: bool, repeats: int) -> None:
    body = invented_rows(rows, padded=padded)
    file = as_cgats(body)
    layout = Layout(len(NAMES), "\t", (0, 1), ((2, 3, 4), tuple(range(5, len(NAMES)))), comments=True)
    whole = Text(body, "utf-8")
    ours, rows_only, theirs = [], [], []
    for _ in range(repeats):
        ours.append(seconds(lambda: read_measurements(file, file="bench.txt")))
        rows_only.append(
            seconds(lambda: read_grid(whole, start=0, end=len(body), first_line=1, layout=layout))
        )
        theirs.append(seconds(lambda: pd.read_csv(io.BytesIO(body), sep="\t", header=None, names=NAMES)))
    table = read_measurements(file, file="bench.txt").tables[0]
    frame = pd.read_csv(io.BytesIO(body), sep="\t", header=None, names=NAMES, skipinitialspace=True)
    assert table.reflectance is not None
    assert np.allclose(table.reflectance, frame[BANDS].to_numpy(), rtol=1e-14, atol=0.0)
    a, r, b = statistics.median(ours), statistics.median(rows_only), statistics.median(theirs)
    shape = "padded with blanks" if padded else "plain"
    print(f"{rows:>7} rows x {len(NAMES)} columns, {len(file) / 1e6:.1f} MB, {shape}:")
    print(f"    rows       laydown {r * 1e3:8.1f} ms   pandas.read_csv {b * 1e3:8.1f} ms   ratio {r / b:.2f}")
    print(f"    whole file laydown {a * 1e3:8.1f} ms   (with conditions, scales, checks)   ratio {a / b:.2f}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=200_000)
    parser.add_argument("--repeats", type=int, default=5)
    options = parser.parse_args()
    for rows in (2033, options.rows):
        for padded in (True, False):
            compare(rows, padded=padded, repeats=options.repeats)


if __name__ == "__main__":
    main()
