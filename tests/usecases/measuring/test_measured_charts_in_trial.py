"""Real charts of one pigment inkjet on one matte paper, handed in as sheets of a trial."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from laydown.usecases.measuring.attach_readings import attach_readings
from laydown.usecases.measuring.chart_of_trial import chart_from_reading
from laydown.usecases.measuring.parsed_file import HandedIn
from laydown.usecases.measuring.standings import standing_of
from spring_trial import Spring

pytestmark = pytest.mark.shared_data


@pytest.fixture
def charts(shared_data: Path) -> dict[str, bytes]:
    return {path.stem: path.read_bytes() for path in sorted((shared_data / "inkjet-matte").glob("*.txt"))}


def test_two_conditions_of_a_real_chart_are_two_readings_without_a_question(
    bench: Spring, charts: dict[str, bytes]
) -> None:
    drop = [
        HandedIn(f"K2 {name[-2:]}.txt", content)
        for name, content in charts.items()
        if name.startswith("chart-2033")
    ]
    taken = attach_readings(
        bench.records, "spring", drop, who="Ada", measured_at=datetime(2026, 1, 20, tzinfo=UTC)
    ).thing
    assert taken.not_taken == ()
    assert sorted((one.conditions, one.patches) for one in taken.readings) == [
        (("M0",), 2033),
        (("M2",), 2033),
    ]
    assert [one.doubts for one in taken.readings] == [(), ()]


def test_another_real_chart_is_noticed(bench: Spring, charts: dict[str, bytes]) -> None:
    first = attach_readings(
        bench.records, "spring", [HandedIn("K2.txt", charts["chart-2033-M0"])], who="Ada"
    ).thing.readings[0]
    chart_from_reading(bench.records, first.id, who="Ada")
    other = attach_readings(
        bench.records, "spring", [HandedIn("K3.txt", charts["chart-3190-M0"])], who="Ada"
    ).thing.readings[0]
    assert [doubt.kind for doubt in other.doubts] == ["wrong_chart"]
    assert "It has 3190 patches, K2.txt has 2033" in other.doubts[0].words


def test_the_age_a_real_file_states_is_used(bench: Spring, charts: dict[str, bytes]) -> None:
    """Its header says "read 23 h after printing", an hour less than this studio waits; its date is 2025."""
    reading = attach_readings(
        bench.records, "spring", [HandedIn("K2.txt", charts["chart-2033-M0"])], who="Ada"
    ).thing.readings[0]
    printed = next(event.at for event in bench.facts.events if event.sheet_id == "s-K2")
    assert reading.measured_at == printed + timedelta(hours=23)
    assert "the sheet was not printed then" in reading.words
    standing = standing_of(bench.facts, reading)
    assert (standing.state, standing.words) == ("early", "read 23.0 h after it was printed, 24 h are wanted")
