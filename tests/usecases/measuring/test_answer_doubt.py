"""What looks wrong is asked, and every answer does what it says; the file handed in is never altered."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from laydown.kernel.errors import BadSetting, ChangedMeanwhile, RefusedInput
from laydown.science.findings.reduction import reduce_readings
from laydown.science.readings import read_measurements
from laydown.trials.measured import Doubt, Reading
from laydown.usecases.measuring.answer_doubt import answer_doubt
from laydown.usecases.measuring.answers import act_of, code_of, words_of
from laydown.usecases.measuring.attach_readings import attach_readings
from laydown.usecases.measuring.chart_of_trial import chart_from_reading, check_again, set_chart
from laydown.usecases.measuring.mended_file import mended_file
from laydown.usecases.measuring.parsed_file import HandedIn
from laydown.usecases.measuring.place_reading import place_reading
from laydown.usecases.measuring.standings import standings
from laydown.usecases.undo import undo

Scans = Callable[..., list[HandedIn]]


def turned(file: HandedIn) -> HandedIn:
    """The file a strip reader writes when the sheet lies upside down: good readings of the wrong patches."""
    tables = read_measurements(file.content, file=file.name).tables
    backwards = np.arange(len(tables[0]))[::-1]
    return HandedIn(file.name, mended_file(tables, backwards, words="read upside down"))


def lab(content: bytes) -> np.ndarray:
    return reduce_readings(read_measurements(content, file="x").tables[0], check_rows=False).lab


def doubt_of(reading: Reading, kind: str) -> Doubt:
    return next(doubt for doubt in reading.doubts if doubt.kind == kind)


def answer_like(doubt: Doubt, act: str, code: str = "") -> str:
    return next(one for one in doubt.answers if act_of(one) == act and code_of(one) == code)


@pytest.fixture
def two_rags(bench, scans: Scans) -> list[HandedIn]:
    """K2 and K3 are there; the file of K4 is handed back."""
    files = scans(("M1",))
    attach_readings(bench.records, "spring", [files[0], files[1]], who="Ada")
    return files


def test_good_files_raise_no_question(bench, scans: Scans) -> None:
    attach_readings(bench.records, "spring", scans(), who="Ada")
    assert [doubt for reading in bench.facts.readings for doubt in reading.doubts] == []


def test_a_sheet_read_upside_down_is_asked_about_and_mended(bench, two_rags) -> None:
    right = two_rags[2]
    taken = attach_readings(bench.records, "spring", [turned(right)], who="Ada").thing.readings[0]
    doubt = doubt_of(taken, "upside_down")
    assert "upside down" in doubt.words
    assert doubt.question == "Was the sheet turned round?"
    assert [act_of(one) for one in doubt.answers] == ["mend", "leave_out", "keep"]
    done = answer_doubt(
        bench.records, taken.id, kind="upside_down", answer=answer_like(doubt, "mend"), who="Ada"
    )
    assert done.thing.file_sha256 == taken.file_sha256
    with bench.records.look() as look:
        mended = look.read_file(done.thing.mended_sha256)
        assert look.entry(done.entry_id).words.startswith("“Turn the sheet round” about scan K4-M1.txt")
    np.testing.assert_allclose(lab(mended), lab(right.content), atol=1e-3)  # six decimals of reflectance
    answered = doubt_of(done.thing, "upside_down")
    assert (words_of(answered.answer), answered.answered_by) == ("Turn the sheet round", "Ada")
    undo(bench.records, done.entry_id, who="Ada")
    assert bench.reading(taken.id) == replace(taken)


def test_both_conditions_of_a_file_are_mended(bench, demo_files: dict[str, bytes]) -> None:
    """A CxF file with M1 and M2 in it becomes a CGATS file with two tables."""
    kept = [HandedIn(f"K{n + 1}.cxf", demo_files[f"Tidemill Cotton/sheet{n}.cxf"]) for n in (1, 2)]
    third = HandedIn("K4.cxf", demo_files["Tidemill Cotton/sheet3.cxf"])
    attach_readings(bench.records, "spring", kept, who="Ada")
    taken = attach_readings(bench.records, "spring", [turned(third)], who="Ada").thing.readings[0]
    assert taken.conditions == ("M1", "M2")
    doubt = doubt_of(taken, "upside_down")
    done = answer_doubt(
        bench.records, taken.id, kind="upside_down", answer=answer_like(doubt, "mend"), who="Ada"
    )
    with bench.records.look() as look:
        tables = read_measurements(look.read_file(done.thing.mended_sha256), file="m").tables
    right = read_measurements(third.content, file="r").tables
    assert [table.conditions.measurement.value for table in tables] == ["M1", "M2"]
    for one, other in zip(tables, right, strict=True):
        assert one.reflectance is not None
        assert other.reflectance is not None
        np.testing.assert_allclose(one.reflectance, other.reflectance, atol=2e-6)


def test_a_sheet_of_another_medium_is_moved(bench, scans: Scans) -> None:
    """The file named for K4 holds the gloss's third sheet; K and H each have two sheets by then."""
    files = scans(("M1",))
    attach_readings(bench.records, "spring", [*files[:2], *files[3:5]], who="Ada")
    stray = HandedIn("K4.txt", files[5].content)
    taken = attach_readings(bench.records, "spring", [stray], who="Ada").thing.readings[0]
    doubt = doubt_of(taken, "swapped_sheet")
    assert "Samphire Gloss" in doubt.words
    # The one sheet of the gloss that was not measured yet is offered first.
    assert code_of(doubt.answers[0]) == "H7"
    assert words_of(doubt.answers[0]) == "It belongs to Samphire Gloss, sheet H7"
    done = answer_doubt(
        bench.records, taken.id, kind="swapped_sheet", answer=answer_like(doubt, "move", "H7"), who="Ada"
    )
    assert done.thing.sheet_id == "s-H7"
    assert [one.answer for one in done.thing.doubts] == [answer_like(doubt, "move", "H7")]


def test_leaving_out_sets_aside_with_the_reason(bench, two_rags) -> None:
    taken = attach_readings(bench.records, "spring", [turned(two_rags[2])], who="Ada").thing.readings[0]
    doubt = doubt_of(taken, "upside_down")
    done = answer_doubt(
        bench.records, taken.id, kind="upside_down", answer=answer_like(doubt, "leave_out"), who="Ada"
    )
    assert done.thing.set_aside_at is not None
    assert done.thing.set_aside_why == doubt.words


def test_keeping_keeps_and_is_not_asked_again(bench, two_rags) -> None:
    taken = attach_readings(bench.records, "spring", [turned(two_rags[2])], who="Ada").thing.readings[0]
    doubt = doubt_of(taken, "upside_down")
    answer_doubt(bench.records, taken.id, kind="upside_down", answer=answer_like(doubt, "keep"), who="Ada")
    assert check_again(bench.records, "spring", who="Ada").thing == 0
    kept = bench.reading(taken.id)
    assert [one.kind for one in kept.doubts if not one.answer] == []
    with pytest.raises(RefusedInput, match="answered already"):
        answer_doubt(bench.records, taken.id, kind="upside_down", answer=doubt.answers[0], who="Ada")


def test_only_an_answer_that_was_offered_counts(bench, two_rags) -> None:
    taken = attach_readings(bench.records, "spring", [turned(two_rags[2])], who="Ada").thing.readings[0]
    with pytest.raises(BadSetting, match="none of the answers"):
        answer_doubt(bench.records, taken.id, kind="upside_down", answer="move K2: x", who="Ada")


def test_two_tablets_do_not_answer_over_each_other(bench, two_rags) -> None:
    taken = attach_readings(bench.records, "spring", [turned(two_rags[2])], who="Ada").thing.readings[0]
    with bench.records.look() as look:
        seen = look.revision(Reading, taken.id)
    place_reading(bench.records, taken.id, None, who="Bob")
    doubt = doubt_of(taken, "upside_down")
    with pytest.raises((ChangedMeanwhile, RefusedInput)):
        answer_doubt(
            bench.records, taken.id, kind="upside_down", answer=doubt.answers[0], who="Ada", seen=seen
        )


def test_a_reading_of_another_chart_stays_out_until_somebody_says(bench, scans: Scans) -> None:
    files = scans(("M1",))
    first = attach_readings(bench.records, "spring", files[:2], who="Ada").thing.readings[0]
    chart = chart_from_reading(bench.records, first.id, who="Ada").thing
    assert chart.chart_name == "scan K2-M1.txt"
    other = b"id,R,G,B,L,a,b\n" + b"".join(
        f"{n},{n * 7 % 256},{n * 31 % 256},{n * 57 % 256},{20 + n},{n % 9},{n % 7}\n".encode()
        for n in range(40)
    )
    taken = attach_readings(bench.records, "spring", [HandedIn("K4.csv", other)], who="Ada").thing.readings[0]
    doubt = doubt_of(taken, "wrong_chart")
    assert "scan K2-M1.txt has" in doubt.words
    standing = {one.reading.id: one for one in standings(bench.facts)}
    assert standing[taken.id].state == "in question"
    answer_doubt(bench.records, taken.id, kind="wrong_chart", answer=answer_like(doubt, "keep"), who="Ada")
    assert {one.state for one in standings(bench.facts)} == {"used"}


def test_a_chart_is_taken_from_its_reference_and_holds_for_what_is_there(bench, scans: Scans) -> None:
    files = scans(("M1",))
    attach_readings(bench.records, "spring", files[:2], who="Ada")
    reference = HandedIn("target.txt", b"id,R,G,B\n" + b"".join(b"%d,%d,0,0\n" % (n, n) for n in range(30)))
    done = set_chart(bench.records, "spring", reference, who="Ada")
    assert done.thing.chart_name == "target.txt"
    assert [doubt.kind for one in bench.facts.readings for doubt in one.doubts] == ["wrong_chart"] * 2
    undo(bench.records, done.entry_id, who="Ada")
    assert bench.facts.trial.chart_sha256 == ""
    assert [doubt for one in bench.facts.readings for doubt in one.doubts] == []


def test_moving_asks_anew(bench, scans: Scans) -> None:
    files = scans(("M1",))
    attach_readings(bench.records, "spring", [*files[:2], *files[3:5]], who="Ada")
    taken = attach_readings(bench.records, "spring", [files[5]], who="Ada").thing.readings[0]
    assert taken.doubts == ()
    moved = place_reading(bench.records, taken.id, "s-K4", who="Ada")
    assert [doubt.kind for doubt in moved.thing.doubts] == ["swapped_sheet"]
    back = place_reading(bench.records, taken.id, "s-H7", who="Ada")
    assert back.thing.doubts == ()
    undo(bench.records, back.entry_id, who="Ada")
    assert bench.reading(taken.id).sheet_id == "s-K4"
