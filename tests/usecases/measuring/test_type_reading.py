"""Typed readings: what can be, what looks mistyped, and that a file comes of it like any other."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest

from laydown.kernel.errors import BadSetting, RefusedInput
from laydown.science.findings.reduction import ABOVE_PAPER, reduce_readings
from laydown.science.readings import read_measurements
from laydown.trials.sheets import Sheet
from laydown.usecases.compare_media import compare_media
from laydown.usecases.measuring.trial_comparison import trial_request
from laydown.usecases.measuring.type_reading import type_reading
from laydown.usecases.measuring.typed_patches import Typed, doubtful, refuse_impossible, typed_file
from laydown.usecases.undo import undo

# A densitometer's display on a matte print, invented.
MATTE = {"white": {"V": 0.07}, "black": {"V": 1.62}}
COLOURS = {
    "white": {"L": 96.1, "a": -0.2, "b": 1.4},
    "black": {"L": 17.2, "a": 0.1, "b": -0.3},
    "cyan": {"L": 55.0, "a": -33.1, "b": -44.0},
    "yellow": {"L": 88.0, "a": -5.0, "b": 91.0},
}
DENSITIES = Typed(kind="densities", values=MATTE, measurement="M0", backing="white", status="T")
LAB = Typed(kind="Lab", values=COLOURS, measurement="M1", colorimetry="D50/2", instrument='hand "meter"')


def test_densities_become_a_file_the_reader_knows() -> None:
    (table,) = read_measurements(typed_file(DENSITIES, code="K2"), file="K2.txt").tables
    assert table.ids == ("white", "black")
    np.testing.assert_allclose(table.densities["visual"], [0.07, 1.62])
    conditions = table.conditions
    assert (conditions.measurement.value, conditions.backing.value) == ("M0", "white")
    assert (conditions.density_status.value, conditions.density_zero.value) == ("T", "absolute")
    assert reduce_readings(table).visual_from == "density in the file"


def test_lab_keeps_its_conditions() -> None:
    typed = replace(LAB, measured_at=datetime(2026, 1, 14, 9, 30, tzinfo=UTC))
    (table,) = read_measurements(typed_file(typed, code="K2"), file="K2.txt").tables
    reduced = reduce_readings(table)
    assert table.lab is not None
    np.testing.assert_allclose(table.lab[2], [55.0, -33.1, -44.0])
    assert table.device is not None
    np.testing.assert_allclose(table.device[2], [0.0, 1.0, 1.0])
    assert reduced.condition == "M1, backing not stated, D50/2°"
    assert table.conditions.instrument.value == "hand 'meter'"
    assert table.conditions.date.value == "2026-01-14T09:30:00Z"


def test_above_the_paper_stays_so_where_the_paper_is_not_known() -> None:
    typed = replace(DENSITIES, zero="paper", values={"black": {"V": 1.55}, "cyan": {"V": 0.6}})
    refuse_impossible(typed)
    (table,) = read_measurements(typed_file(typed, code="K2"), file="K2.txt").tables
    assert reduce_readings(table).visual_from == ABOVE_PAPER
    assert (table.ids, table.densities["visual"].tolist()) == (("black", "cyan"), [1.55, 0.6])


def test_black_alone_above_the_paper_is_a_file_too() -> None:
    typed = replace(DENSITIES, zero="paper", values={"black": {"V": 1.55}})
    read = read_measurements(typed_file(typed, code="K2"), file="K2.txt")
    assert read.problems == ()
    assert read.tables[0].device is None


def test_above_the_paper_becomes_absolute_where_the_paper_is_known() -> None:
    typed = replace(DENSITIES, zero="paper", values={"white": {"V": 0.07}, "black": {"V": 1.55}})
    (table,) = read_measurements(typed_file(typed, code="K2"), file="K2.txt").tables
    np.testing.assert_allclose(table.densities["visual"], [0.07, 1.62])
    assert table.conditions.density_zero.value == "absolute"


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        (replace(DENSITIES, values={"white": {"V": 0.07}}), "the bare medium and black are needed"),
        (replace(LAB, values={"black": COLOURS["black"]}), "the bare medium and black are needed"),
        (
            replace(LAB, zero="paper", values={"black": COLOURS["black"]}),
            "the bare medium and black are needed",
        ),
        (replace(DENSITIES, values={"white": {"V": 1.62}, "black": {"V": 0.07}}), "black .* is not darker"),
        (
            replace(LAB, values={**COLOURS, "black": {"L": 97.0, "a": 0.0, "b": 0.0}}),
            "black .* is not darker",
        ),
        (replace(LAB, values={**COLOURS, "red": {"L": 40.0}}), "Red: a, b is missing"),
        (
            replace(LAB, values={**COLOURS, "red": {"L": 140.0, "a": 1.0, "b": 1.0}}),
            "Red: L 140 is not from 0",
        ),
        (replace(DENSITIES, values={**MATTE, "cyan": {"V": 12.0}}), "Cyan: V 12 is not from"),
        (replace(DENSITIES, values={**MATTE, "cyan": {"V": 0.6, "C": 1.2}}), "Cyan: C was not read on black"),
        (
            replace(DENSITIES, zero="paper", values={"white": {"V": 0.07}, "black": {"V": 1.5, "C": 1.5}}),
            "Bare medium: C is missing",
        ),
    ],
)
def test_what_cannot_be_is_refused_and_named(typed: Typed, why: str) -> None:
    with pytest.raises(BadSetting, match=why) as refusal:
        refuse_impossible(typed)
    assert refusal.value.todo


def test_what_looks_mistyped_is_asked_about() -> None:
    assert doubtful(LAB) == ()
    assert doubtful(DENSITIES) == ()
    swapped = {**COLOURS, "cyan": COLOURS["yellow"], "yellow": COLOURS["cyan"]}
    told = doubtful(replace(LAB, values=swapped))
    assert told == ("Cyan has b* 91; below 0 is usual.", "Yellow has b* -44; above 0 is usual.")
    greys = {**MATTE, "grey-191": {"V": 0.6}, "grey-128": {"V": 0.3}}
    assert doubtful(replace(DENSITIES, values=greys)) == ("Middle grey is not darker than light grey.",)
    assert (
        "little for a print"
        in doubtful(replace(DENSITIES, values={"white": {"V": 0.07}, "black": {"V": 0.4}}))[0]
    )


def test_a_typed_reading_is_kept_like_any_other(bench) -> None:
    done = type_reading(bench.records, "s-K2", DENSITIES, who="Ada")
    reading = done.thing
    assert (reading.source, reading.sheet_id, reading.file_name) == ("typed in", "s-K2", "K2 typed in.txt")
    assert (reading.conditions, reading.patches, reading.doubts) == (("M0",), 2, ())
    # Another sheet may well read the same.
    type_reading(bench.records, "s-K3", DENSITIES, who="Ada")
    with pytest.raises(RefusedInput, match="here already"):
        type_reading(bench.records, "s-K2", DENSITIES, who="Ada")
    undo(bench.records, done.entry_id, who="Ada")
    assert bench.readings("K2") == ()


def test_a_sheet_that_is_not_printed_cannot_be_read(bench) -> None:
    bench.keep(Sheet(id="s-L5", trial_id="spring", candidate_id="c-rag", code="L5", use="spare"))
    with pytest.raises(RefusedInput, match="L5 is not printed yet"):
        type_reading(bench.records, "s-L5", DENSITIES, who="Ada")


def test_what_looks_mistyped_is_kept_once_it_is_confirmed(bench) -> None:
    odd = replace(DENSITIES, values={"white": {"V": 0.5}, "black": {"V": 1.62}})
    with pytest.raises(BadSetting, match="please look again"):
        type_reading(bench.records, "s-K2", odd, who="Ada")
    assert type_reading(bench.records, "s-K2", odd, who="Ada", confirmed=True).thing.patches == 2


def test_a_studio_with_a_densitometer_gets_its_answer(bench) -> None:
    """Three sheets each, blacks of 1.62 and 2.20 on average: Dmax is called, all else stays unsaid."""
    for code, dark in zip(
        ("K2", "K3", "K4", "H5", "H6", "H7"), (1.61, 1.62, 1.63, 2.19, 2.20, 2.21), strict=True
    ):
        typed = replace(DENSITIES, values={"white": {"V": 0.07}, "black": {"V": dark}})
        type_reading(bench.records, f"s-{code}", typed, who="Ada")
    with bench.records.look() as look:
        told = trial_request(look, bench.facts, by="medium")
    comparison = compare_media(told.files, options=told.options)
    (difference,) = comparison.differences
    assert (difference.finding, difference.call) == ("dmax_visual", "better")
    assert difference.difference == pytest.approx(0.58)
    shown = {finding.id for one in comparison.candidates for finding in one.findings}
    assert shown == {"dmax_visual", "dmax_over_paper"}
    assert comparison.condition == "M0, white backing, densities only"
