"""Every measured file at hand taken for a page of a form, and found again however it was read.

The page is built from the file's own device values, in rows of 16. It is then read in order, turned, there
and back, along columns, and with rows missing at the beginning, in the middle and at the end.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from laydown.kernel.errors import LaydownError
from laydown.science.findings.form_match import match_reading, take_mended
from laydown.science.findings.reduction import Reduced, reduce_readings
from laydown.science.forms.expected_pages import ExpectedPage
from laydown.science.forms.matched import Matched, NotMatched
from laydown.science.forms.matching import match_pages
from laydown.science.forms.patch_layout import row_letters
from laydown.science.forms.reading_ways import IN_ORDER, TURNED, Way, order_of
from laydown.science.readings import read_measurements
from laydown.science.readings.target import read_target

pytestmark = pytest.mark.shared_data

COLUMNS = 16
MOST = 480  # of a long file the first rows are taken, to keep the test short
WAYS = [IN_ORDER, TURNED, Way(turn="there and back"), Way("columns"), Way(from_last=True)]


def page_of(name: str, channels, device) -> ExpectedPage:
    place = np.arange(len(device))
    positions = np.stack([place // COLUMNS, place % COLUMNS], axis=1)
    names = tuple(f"{row_letters(int(row))}{column + 1}" for row, column in positions)
    return ExpectedPage(name, "1", tuple(channels), device, positions, names)


@pytest.fixture(scope="module")
def files(shared_data: Path) -> dict[str, tuple[ExpectedPage, Reduced | None]]:
    """Every table with device values as a page; its readings, where it has any."""
    found = {}
    for path in sorted(shared_data.rglob("*")):
        if not path.is_file():
            continue
        data, reading = path.read_bytes(), None
        try:
            table = read_target(data, file=path.name)
        except LaydownError:
            continue
        with suppress(LaydownError):  # a list of device values alone
            reading = reduce_readings(read_measurements(data, file=path.name).tables[0], check_rows=False)
        known = np.isfinite(table.device).all(axis=1)
        found[path.name] = page_of(path.stem, table.channels, table.device[known]), reading
    assert len(found) >= 38, f"only {len(found)} files with device values: {sorted(found)}"
    return found


@pytest.fixture(scope="module")
def charts(files) -> list[ExpectedPage]:
    """The first rows of every chart, each chart once: many of these files are measurements of one chart."""
    kept: list[ExpectedPage] = []
    for page, _ in files.values():
        short = page_of(page.form, page.channels, page.device[:MOST])
        if all(one.channels != short.channels or not shared(one, short) for one in kept):
            kept.append(short)
    assert len(kept) >= 7
    return kept


def shared(one: ExpectedPage, other: ExpectedPage) -> bool:
    """Whether they have a third of their colours in common."""
    mine, theirs = ({tuple(row) for row in np.round(page.device, 3)} for page in (one, other))
    return len(mine & theirs) > 0.3 * min(len(mine), len(theirs))


def test_device_values_of_every_file_are_recovered(files) -> None:
    """Every dialect as it came, down to a file of one patch: each row has the device values of its page."""
    for name, (page, reading) in files.items():
        found = match_pages([page], channels=page.channels, device=page.device)
        assert isinstance(found, Matched), (name, found)
        assert not found.needs_consent or found.also, (name, found.words)
        np.testing.assert_array_equal(found.source, np.arange(len(page)), err_msg=name)
        if reading is None or reading.device is None or len(reading.lab) != len(page):
            continue
        short = page_of(page.form, page.channels, page.device[:MOST])
        sheet = replace(
            colours_of(reading, np.arange(len(short))), device=short.device, channels=short.channels
        )
        with_colours = match_reading(sheet, [short]).found
        assert isinstance(with_colours, Matched), (name, with_colours)
        np.testing.assert_array_equal(take_mended(sheet, with_colours).device, short.device, err_msg=name)
        np.testing.assert_array_equal(take_mended(sheet, with_colours).lab, sheet.lab, err_msg=name)


def test_charts_are_recovered_however_they_are_read(charts) -> None:
    for page in charts:
        last = int(page.positions[:, 0].max())
        for way in WAYS:
            whole = order_of(way, page.positions)
            for gone in ([], [0], [last // 2], [last]):
                order = whole[~np.isin(page.positions[whole, 0], gone)]
                if len(order) < 20 or (gone and last < 4):
                    continue
                found = match_pages(charts, channels=page.channels, device=page.device[order])
                told = (page.form, way, gone)
                assert isinstance(found, Matched), (told, found)
                assert found.page.form == page.form, told
                there = found.source >= 0
                back = page.device[order][found.source[there]]
                np.testing.assert_allclose(back, page.device[there], atol=1e-6, err_msg=str(told))
                assert (~there).sum() == len(page) - len(order), told


@pytest.mark.parametrize("name", ["chart-2033-M0", "chart-3190-M2"])
def test_measured_colours_are_matched_without_device_values(files, name: str) -> None:
    """Charts in random order: any way of reading is found from the colours alone."""
    whole, reading = files[f"{name}.txt"]
    assert reading is not None
    page = page_of(name, whole.channels, whole.device[:MOST])
    other = page_of("another", whole.channels, whole.device[MOST : 2 * MOST])
    for way in WAYS:
        order = order_of(way, page.positions)
        for kept in (order, order[COLUMNS:], np.delete(order, slice(160, 176))):
            found = match_reading(colours_of(reading, kept), [page, other]).found
            assert isinstance(found, Matched), (way, found)
            assert (found.page.form, found.way) == (name, way)
            there = np.flatnonzero(found.source >= 0)
            np.testing.assert_array_equal(kept[found.source[there]], there, err_msg=str(way))
            assert len(there) >= 0.99 * len(kept)
    strange = colours_of(reading, np.arange(2 * MOST, 3 * MOST))
    assert isinstance(match_reading(strange, [page, other]).found, NotMatched)


def test_a_long_chart_with_colours_and_device_values(files) -> None:
    """The whole of the longest chart, turned though filed as if in order."""
    page, reading = files["chart-3190-M0.txt"]
    assert reading is not None
    turned = replace(
        colours_of(reading, np.arange(len(page))[::-1]), device=page.device, channels=page.channels
    )
    found = match_reading(turned, [page]).found
    assert isinstance(found, Matched)
    assert (found.way, found.told_by) == (TURNED, "colours against device values")
    there = np.flatnonzero(found.source >= 0)
    np.testing.assert_array_equal(found.source[there], np.arange(len(page))[::-1][there])
    assert len(there) >= 0.999 * len(page)


def colours_of(reading: Reduced, rows) -> Reduced:
    """Some rows of a reading as a file of colours alone."""
    return replace(
        reading,
        ids=tuple(reading.ids[row] for row in rows),
        lines=reading.lines[rows],
        lab=reading.lab[rows],
        status_t=reading.status_t[rows],
        visual=reading.visual[rows],
        device=None,
        channels=(),
        positions=None,
        suspects=(),
    )
