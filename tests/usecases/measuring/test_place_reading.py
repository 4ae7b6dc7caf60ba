"""Moving, timing, setting aside and bringing back."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

import pytest

from laydown.kernel.errors import BadSetting, ChangedMeanwhile, RefusedInput
from laydown.trials.measured import Reading
from laydown.trials.sheets import Sheet
from laydown.usecases.measuring.attach_readings import attach_readings
from laydown.usecases.measuring.parsed_file import HandedIn
from laydown.usecases.measuring.place_reading import place_reading, time_reading
from laydown.usecases.measuring.set_aside import bring_back, set_aside
from laydown.usecases.measuring.standings import standing_of
from laydown.usecases.undo import undo

PLAIN = b"id,R,G,B,L,a,b\n1,255,255,255,95,0,1\n2,0,0,0,16,0,0\n3,255,0,0,48,66,45\n"


@pytest.fixture
def loose(bench) -> Reading:
    return attach_readings(bench.records, "spring", [HandedIn("x.csv", PLAIN)], who="Ada").thing.readings[0]


def test_a_waiting_file_gets_its_sheet_and_may_be_moved_on(bench, loose: Reading) -> None:
    placed = place_reading(bench.records, loose.id, "s-K3", who="Ada")
    moved = place_reading(bench.records, loose.id, "s-H5", who="Bob")
    with bench.records.look() as look:
        told = [look.entry(one.entry_id).words for one in (placed, moved)]
    assert told == ["x.csv: sheet K3", "x.csv: sheet H5 (before: K3)"]
    undo(bench.records, moved.entry_id, who="Bob")
    assert bench.reading(loose.id).sheet_id == "s-K3"
    assert place_reading(bench.records, loose.id, None, who="Ada").thing.sheet_id is None


def test_a_sheet_that_is_not_printed_or_not_here_is_refused(bench, loose: Reading) -> None:
    bench.keep(Sheet(id="s-L5", trial_id="spring", candidate_id="c-rag", code="L5", use="spare"))
    with pytest.raises(RefusedInput, match="L5 is not printed yet"):
        place_reading(bench.records, loose.id, "s-L5", who="Ada")
    with pytest.raises(RefusedInput, match="another trial"):
        place_reading(bench.records, loose.id, "s-elsewhere", who="Ada")


def test_two_tablets_do_not_place_over_each_other(bench, loose: Reading) -> None:
    with bench.records.look() as look:
        seen = look.revision(Reading, loose.id)
    place_reading(bench.records, loose.id, "s-K3", who="Ada", seen=seen)
    with pytest.raises(ChangedMeanwhile):
        place_reading(bench.records, loose.id, "s-K4", who="Bob", seen=seen)


def test_a_time_before_the_print_is_put_aside_when_the_sheet_is_told(bench) -> None:
    file = HandedIn("x.csv", b"CREATED: 2026-01-01T10:00:00Z\n" + PLAIN)
    loose = attach_readings(bench.records, "spring", [file], who="Ada").thing.readings[0]
    assert loose.measured_at == datetime(2026, 1, 1, 10, tzinfo=UTC)
    placed = place_reading(bench.records, loose.id, "s-K3", who="Ada").thing
    assert placed.measured_at is None
    assert "the sheet was not printed then" in placed.words


def test_a_time_may_be_told(bench, loose: Reading) -> None:
    place_reading(bench.records, loose.id, "s-K3", who="Ada")
    at = datetime(2026, 1, 15, 8, tzinfo=UTC)
    assert time_reading(bench.records, loose.id, at, who="Ada").thing.measured_at == at
    with pytest.raises(RefusedInput, match="cannot have been read then"):
        time_reading(bench.records, loose.id, datetime(2026, 1, 1, tzinfo=UTC), who="Ada")
    with pytest.raises(RefusedInput, match="cannot have been read then"):
        time_reading(bench.records, loose.id, datetime(2027, 1, 1, tzinfo=UTC), who="Ada")
    assert time_reading(bench.records, loose.id, None, who="Ada").thing.measured_at is None


def test_setting_aside_wants_a_reason_and_can_be_taken_back(bench, loose: Reading) -> None:
    place_reading(bench.records, loose.id, "s-K3", who="Ada")
    with pytest.raises(BadSetting, match="why is it set aside"):
        set_aside(bench.records, loose.id, why=" ", who="Ada")
    aside = set_aside(bench.records, loose.id, why="scratched before reading", who="Ada")
    assert standing_of(bench.facts, aside.thing).state == "set aside"
    with pytest.raises(RefusedInput, match="already"):
        set_aside(bench.records, loose.id, why="again", who="Ada")
    back = bring_back(bench.records, loose.id, who="Bob").thing
    assert (back.set_aside_at, back.set_aside_why) == (None, "")
    with pytest.raises(RefusedInput, match="not set aside"):
        bring_back(bench.records, loose.id, who="Bob")


def test_where_a_reading_stands(bench, loose: Reading, scans: Callable[..., list[HandedIn]]) -> None:
    def state() -> str:
        return standing_of(bench.facts, bench.reading(loose.id)).state

    assert state() == "no sheet"
    place_reading(bench.records, loose.id, "s-K3", who="Ada")
    assert state() == "used"
    time_reading(bench.records, loose.id, datetime(2026, 1, 12, 12, tzinfo=UTC), who="Ada")
    assert state() == "early"
    bench.happened("K3", "spoiled", datetime(2026, 1, 20, tzinfo=UTC))
    assert state() == "spoiled"
