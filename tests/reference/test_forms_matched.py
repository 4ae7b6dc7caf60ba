"""Every measured file at hand taken for a page of a form, and found again however it was read.

The page is built from the file's own device values, in rows of 16. It is then read in order, turned, there and
back, along columns, and with rows missing at the beginning, in the middle and at the end.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from laydown.kernel.errors import LaydownError
from laydown.science.findings.form_match import match_reading
from laydown.science.findings.reduction import Reduced, reduce_readings
from laydown.science.forms.matching import ExpectedPage, Matched, NotMatched
from laydown.science.forms.reading_ways import IN_ORDER, TURNED, Way, order_of
from laydown.science.readings import read_measurements
from laydown.science.readings.target import read_target

pytestmark = pytest.mark.shared_data

COLUMNS = 16
MOST = 480  # of a long file the first rows are taken, to keep the test short
WAYS = [IN_ORDER, TURNED, Way(turn="there and back"), Way("columns"), Way(from_last=True)]


def files(folder: Path) -> list[tuple[str, ExpectedPage, Reduced | None]]:
    """Every table with device values; its readings, where it has any."""
    found = []
    for path in sorted(folder.rglob("*")):
        if not path.is_file():
            continue
        data = path.read_bytes()
        try:
            table = read_target(data, file=path.name)
        except LaydownError:
            continue
        reading = None
        try:
            reading = reduce_readings(read_measurements(data, file=path.name).tables[0], check_rows=False)
        except LaydownError:
            pass  # a list of device values alone
        device = table.device[np.isfinite(table.device).all(axis=1)][:MOST]
        if len(device) < 2:
            continue
        place = np.arange(len(device))
        positions = np.stack([place // COLUMNS, place % COLUMNS], axis=1)
        names = tuple(f"{chr(65 + row % 26) * (1 + row // 26)}{column + 1}" for row, column in positions)
        page = ExpectedPage(path.stem, "1", tuple(table.channels), device, positions, names)
        found.append((path.name, page, reading))
    return found


def only_device(page: ExpectedPage, order: np.ndarray, reading: Reduced) -> Reduced:
    """A file of device values and nothing else."""
    nothing = np.full((len(order), 3), np.nan)
    return replace(
        reading,
        device=page.device[order],
        channels=page.channels,
        lab=nothing,
        status_t=nothing,
        visual=nothing[:, 0],
    )


def test_device_values_of_every_file_are_recovered(shared_data: Path) -> None:
    every = files(shared_data)
    blank = next(reading for _, _, reading in every if reading is not None)
    pages = [page for _, page, _ in every]
    dialects = {name for name, _, _ in every}
    assert len(every) >= 30, f"only {len(every)} files with device values: {sorted(dialects)}"
    for name, page, _ in every:
        last = int(page.positions[:, 0].max())
        for way in WAYS:
            whole = order_of(way, page.positions)
            for gone in ([], [0], [last // 2], [last]):
                order = whole[~np.isin(page.positions[whole, 0], gone)]
                if len(order) < 20 or (gone and last < 4):
                    continue
                # Some of these files share one chart; which of them it is cannot be told from device values.
                alike = [other for other in pages if _same_chart(other, page)]
                others = [other for other in pages if not _same_chart(other, page)][:6]
                found = match_reading(only_device(page, order, blank), [page, *others]).found
                assert isinstance(found, Matched), (name, way, gone, found)
                assert found.page.form == page.form, (name, alike)
                back = page.device[order][found.source[found.source >= 0]]
                np.testing.assert_allclose(back, page.device[found.source >= 0], atol=1e-6, err_msg=name)
                assert (found.source < 0).sum() == len(page) - len(order), (name, way, gone)


def _same_chart(one: ExpectedPage, other: ExpectedPage) -> bool:
    if one.channels != other.channels:
        return False
    shared = {tuple(row) for row in np.round(one.device, 3)} & {tuple(row) for row in np.round(other.device, 3)}
    return len(shared) > 0.3 * min(len(one), len(other))


@pytest.mark.parametrize("name", ["chart-2033-M0", "chart-3190-M2"])
def test_measured_colours_are_matched_without_device_values(shared_data: Path, name: str) -> None:
    """Charts in random order: any way of reading is found from the colours alone."""
    data = (shared_data / "inkjet-matte" / f"{name}.txt").read_bytes()
    reading = reduce_readings(read_measurements(data, file=name).tables[0], check_rows=False)
    place = np.arange(MOST)
    positions = np.stack([place // COLUMNS, place % COLUMNS], axis=1)
    assert reading.device is not None
    page = ExpectedPage(
        name, "1", ("R", "G", "B"), reading.device[:MOST], positions, tuple(str(number) for number in place)
    )
    other = replace(page, form="another", device=reading.device[MOST : 2 * MOST])
    for way in WAYS:
        order = order_of(way, positions)
        for kept in (order, order[COLUMNS:], np.delete(order, slice(160, 176))):
            sheet = replace(
                reading,
                lab=reading.lab[kept],
                status_t=reading.status_t[kept],
                visual=reading.visual[kept],
                device=None,
                channels=(),
            )
            found = match_reading(sheet, [page, other]).found
            assert isinstance(found, Matched), (way, found)
            assert (found.page.form, found.way) == (name, way)
            taken = found.source >= 0
            right = (kept[found.source[taken]] == np.flatnonzero(taken)).mean()
            assert right > 0.98, (way, right)
        strange = replace(sheet, lab=reading.lab[2 * MOST : 3 * MOST])
        assert isinstance(match_reading(strange, [page, other]).found, NotMatched)
