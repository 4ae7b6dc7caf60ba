"""Which readings are of one sheet: by name, and where names say nothing, by the patches."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from laydown.kernel.stated import Stated
from laydown.science.findings import gather_sheets
from laydown.science.findings.pairing import chart_key, sheet_name
from laydown.science.findings.reduction import Reduced
from laydown.science.prints import Noise, SheetState

Maker = Callable[..., Reduced]
Printer = Callable[..., SheetState]


@pytest.mark.parametrize(
    ("file", "name"),
    [
        ("Rag/sheet1-M2-read2.txt", "sheet1"),
        ("sheet1_M1.txt", "sheet1"),
        ("M1 sheet 3.cxf", "sheet 3"),
        ("sheet2 black backing.txt", "sheet2"),
        ("M1.txt", "M1"),
        ("chart-2033-M0.txt", "chart-2033"),
        ("MM1x.txt", "MM1x"),
    ],
)
def test_sheet_name(file: str, name: str) -> None:
    assert sheet_name(file) == name


def test_conditions_named_alike_are_one_sheet(reduced: Maker, printed: Printer) -> None:
    items = [reduced(f"s{n}-{m}.txt", printed(n), condition=m) for n in (1, 2) for m in ("M1", "M2")]
    sheets, problems = gather_sheets(items)
    assert [(s.name, [r.measurement for r in s.readings]) for s in sheets] == [
        ("s1", ["M1", "M2"]),
        ("s2", ["M1", "M2"]),
    ]
    assert not problems


@pytest.mark.parametrize("count", [1, 2, 3, 5])
def test_names_that_say_nothing_are_paired_by_their_patches(
    reduced: Maker, printed: Printer, count: int
) -> None:
    rng = np.random.default_rng(count)
    states = [printed(100 + n) for n in range(count)]
    shuffled = rng.permutation(count)
    lit = [reduced(f"lit{n}.txt", states[n], condition="M1") for n in range(count)]
    dark = [reduced(f"dark{k}.txt", states[n], condition="M2") for k, n in enumerate(shuffled)]
    sheets, problems = gather_sheets([*lit, *dark])
    pairs = {s.readings[0].file: s.readings[1].file for s in sheets}
    assert pairs == {f"lit{n}.txt": f"dark{k}.txt" for k, n in enumerate(shuffled)}
    assert all(p.severity == "note" and "from its patches" in p.what for p in problems)


def test_a_stranger_is_not_forced_into_a_pair(reduced: Maker, printed: Printer) -> None:
    lit = [reduced(f"lit{n}.txt", printed(n), condition="M1") for n in (1, 2, 3)]
    dark = [
        reduced("darkA.txt", printed(2), condition="M2"),
        reduced("darkB.txt", printed(99), condition="M2"),
    ]
    sheets, problems = gather_sheets([*lit, *dark])
    together = {s.readings[0].file: [r.file for r in s.readings[1:]] for s in sheets}
    assert together["lit2.txt"] == ["darkA.txt"]
    assert together.get("darkB.txt") == []
    assert any(p.severity == "warning" and p.file == "darkB.txt" for p in problems)


def test_a_copied_file_is_counted_once(reduced: Maker, printed: Printer) -> None:
    one = reduced("s1.txt", printed(1))
    again = Reduced(**{name: getattr(one, name) for name in one.__slots__} | {"file": "s2.txt"})
    sheets, problems = gather_sheets([one, again])
    assert len(sheets) == 1
    assert [(p.severity, p.file) for p in problems] == [("error", "s2.txt")]


def test_a_second_reading_is_no_second_sheet(reduced: Maker, printed: Printer) -> None:
    state = printed(1)
    items = [reduced("s1-read1.txt", state), reduced("s1-read2.txt", state), reduced("s2.txt", printed(2))]
    sheets, problems = gather_sheets(items)
    assert [(s.name, len(s.readings)) for s in sheets] == [("s1", 2), ("s2", 1)]
    assert any("counted as one" in p.what for p in problems)


def test_chart_key_ignores_order(reduced: Maker, printed: Printer) -> None:
    one = reduced("a.txt", printed(1))
    order = np.random.default_rng(3).permutation(len(one.lab))
    assert chart_key(one) == chart_key(reduced("b.txt", printed(1), order=order))
    assert chart_key(one) != chart_key(reduced("c.txt", printed(1), keep=np.arange(30)))


def test_one_file_under_each_condition_is_joined_only_on_evidence(reduced: Maker, printed: Printer) -> None:
    lit = reduced("monday.txt", printed(1))
    same, other = (reduced("tuesday.txt", printed(n), condition="M2") for n in (1, 2))
    assert len(gather_sheets([lit, same])[0]) == 1
    sheets, problems = gather_sheets([lit, other])
    assert len(sheets) == 2
    assert [p.severity for p in problems] == ["warning"]


def test_a_missing_backing_makes_no_pair(reduced: Maker, printed: Printer) -> None:
    one = reduced("sheet1.txt", printed(1))
    two = reduced("sheet2.txt", printed(1), seed=5)
    unstated = replace(two, conditions=replace(two.conditions, backing=Stated()))
    assert [s.name for s in gather_sheets([one, unstated])[0]] == ["sheet1", "sheet2"]


def test_without_a_stated_condition_nothing_is_joined(reduced: Maker, printed: Printer) -> None:
    items = [reduced("a.txt", printed(1)), reduced("b.txt", printed(1), condition="M2", stated=False)]
    assert len(gather_sheets(items)[0]) == 2


def test_white_and_black_backing_of_one_sheet_are_joined(reduced: Maker, printed: Printer) -> None:
    items = [
        reduced(f"{word}{n}.txt", printed(n), backing=backing)
        for n in (1, 2, 3)
        for word, backing in (("x", "white"), ("y", "black"))
    ]
    sheets, _ = gather_sheets(items)
    assert [[r.file for r in s.readings] for s in sheets] == [[f"x{n}.txt", f"y{n}.txt"] for n in (1, 2, 3)]


def test_strangers_of_unequal_noise_are_not_joined(reduced: Maker, printed: Printer) -> None:
    """Two quiet prints come closer to each other than to noisy ones; that does not make them one sheet."""
    joined = 0
    for n in range(12):
        loud = [printed(1000 + 10 * n + k, Noise().times(4.0)) for k in (1, 2)]
        quiet = [printed(1000 + 10 * n + k) for k in (3, 4)]
        items = [
            reduced("a.txt", quiet[0]),
            reduced("b.txt", loud[0]),
            reduced("c.txt", quiet[1], condition="M2"),
            reduced("d.txt", loud[1], condition="M2"),
        ]
        joined += 4 - len(gather_sheets(items)[0])
    assert joined == 0


def test_readings_named_for_one_sheet_stay_one_without_a_patch(reduced: Maker, printed: Printer) -> None:
    state = printed(1)
    rows = np.arange(len(reduced("a.txt", state).lab))
    items = [reduced(f"s1-read{n}.txt", state, keep=np.delete(rows, 3 * n)) for n in (1, 2, 3)]
    sheets, _ = gather_sheets(items)
    assert [(s.name, len(s.readings)) for s in sheets] == [("s1", 3)]


def test_backings_named_in_twin_files_are_believed(reduced: Maker, printed: Printer) -> None:
    def bare(name: str, backing: str) -> Reduced:
        item = reduced(name, printed(1), backing=backing)
        return replace(item, conditions=replace(item.conditions, backing=Stated()))

    (sheet,), _ = gather_sheets([bare("s1-white.txt", "white"), bare("s1-black.txt", "black")])
    assert {r.conditions.backing.value for r in sheet.readings} == {"white", "black"}
    (alone,), _ = gather_sheets([bare("black.txt", "black")])
    assert alone.readings[0].conditions.backing.value is None


def test_folders_inside_a_medium_keep_sheets_apart(reduced: Maker, printed: Printer) -> None:
    items = [reduced(f"Rag/day{n}/s1-{m}.txt", printed(n), condition=m) for n in (1, 2) for m in ("M1", "M2")]
    assert [(s.name, len(s.readings)) for s in gather_sheets(items)[0]] == [("day1/s1", 2), ("day2/s1", 2)]
