"""Sheets that are not what they are filed as, put as questions; and peace for those that are."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from laydown.kernel.arrays import Floats
from laydown.kernel.stated import Stated
from laydown.science.colour import lab_from_reflectance
from laydown.science.findings.mix_ups import ExpectedChart, MixUp, mend, suspect_mix_ups
from laydown.science.findings.reduction import Reduced
from laydown.science.prints import (
    BARYTA,
    CANVAS,
    MATTE_COTTON,
    WAVELENGTHS_NM,
    Medium,
    Noise,
    print_sheet,
    read_sheet,
)
from laydown.science.readings.types import Conditions

COLUMNS = 8


def a_chart(patches: int = 48, *, seed: int = 5) -> ExpectedChart:
    rng = np.random.default_rng(seed)
    device = np.round(255.0 * rng.random((patches, 3))) / 255.0
    device[[0, patches // 2]] = 1.0
    device[patches - 1] = 0.0
    place = np.arange(patches)
    positions = np.stack([place // COLUMNS, place % COLUMNS], axis=1)
    return ExpectedChart("the chart", ("R", "G", "B"), device, positions)


CHART = a_chart()


def as_reading(
    lab: Floats,
    *,
    file: str,
    device: Floats | None = CHART.device,
    positions: Any = None,
    condition: str = "M1",
) -> Reduced:
    n = len(lab)
    return Reduced(
        file=file,
        ids=tuple(str(number + 1) for number in range(n)),
        lines=np.zeros(n, dtype=np.int64),
        positions=positions,
        channels=("R", "G", "B") if device is not None else (),
        device=device,
        lab=np.array(lab),
        visual=np.full(n, np.nan),
        status_t=np.full((n, 3), np.nan),
        white=None,
        wavelengths_nm=None,
        colorimetry="D50/2°",
        visual_from="",
        conditions=Conditions(measurement=Stated(condition, "made up")),
        suspects=(),
    )


Printer = Callable[..., Reduced]


@pytest.fixture
def printed(rng: np.random.Generator) -> Printer:
    """``printed(file, medium=..., chart=..., noise=1.0)`` -> one more sheet, read in order."""

    def make(
        file: str,
        medium: Medium = MATTE_COTTON,
        *,
        chart: ExpectedChart = CHART,
        times: float = 1.0,
        **kw: Any,
    ) -> Reduced:
        noise = Noise().times(times)
        state = print_sheet(len(chart.device), noise=noise, rng=rng)
        spectra = read_sheet(chart.device, medium=medium, sheet_state=state, noise=noise, rng=rng)
        lab = lab_from_reflectance(spectra, wavelengths_nm=WAVELENGTHS_NM)
        kw.setdefault("device", chart.device)
        return as_reading(lab, file=file, **kw)

    return make


def only(found: tuple[MixUp, ...]) -> MixUp:
    assert len(found) == 1, [item.sentence for item in found]
    return found[0]


def turned(item: Reduced) -> Reduced:
    return replace(item, lab=item.lab[::-1])


def test_good_sheets_are_left_in_peace_alone_and_in_company(printed: Printer) -> None:
    for medium in (MATTE_COTTON, BARYTA, CANVAS):
        for _ in range(15):
            it = printed("it", medium)
            siblings = [printed("s1", medium), printed("s2", medium)]
            others = {"rag": [printed("r1")], "gloss": [printed("g1", BARYTA), printed("g2", BARYTA)]}
            assert suspect_mix_ups(it, medium="x", chart=CHART) == ()
            assert suspect_mix_ups(it, medium="x", chart=CHART, siblings=siblings[:1]) == ()
            assert suspect_mix_ups(it, medium="x", chart=CHART, siblings=siblings, others=others) == ()


def test_a_sheet_read_upside_down_is_asked_about(printed: Printer) -> None:
    it = printed("Rag/s3.txt")
    for siblings in ([], [printed("s1")], [printed("s1"), printed("s2"), printed("s4")]):
        found = only(suspect_mix_ups(turned(it), medium="Rag", chart=CHART, siblings=siblings))
        assert found.kind == "upside_down"
        assert found.sentence.startswith("The sheet looks as if it was read upside down. Put right, ")
        assert found.question == "Was the sheet turned round?"
        assert [(answer.act, answer.words) for answer in found.answers] == [
            ("mend", "Turn the sheet round"),
            ("leave_out", "Leave it out and read the sheet again"),
            ("keep", "Keep it as it is"),
        ]
        assert found.mending is not None
        np.testing.assert_array_equal(mend(turned(it).lab, found.mending), it.lab)
        assert found.ratio > 3
    assert "the other 3 sheets of Rag" in found.sentence


def test_rows_come_from_the_chart_the_file_or_the_names_of_patches(printed: Printer) -> None:
    it = printed("it")
    lab = it.lab.copy()
    lab[16:24] = lab[16:24][::-1]
    names = tuple(f"{chr(65 + place % COLUMNS)}{place // COLUMNS + 1}" for place in range(48))
    by_chart = suspect_mix_ups(replace(it, lab=lab), medium="Rag", chart=CHART)
    by_file = suspect_mix_ups(replace(it, lab=lab, positions=CHART.positions), medium="Rag")
    by_name = suspect_mix_ups(replace(it, lab=lab, ids=names), medium="Rag")
    for found in (by_chart, by_file, by_name):
        assert only(found).kind == "reversed_rows"
        assert only(found).rows == (2,)
        assert "Row 3 looks as if read backwards" in only(found).sentence
        assert only(found).answers[0].words == "Turn row 3 round"
    assert suspect_mix_ups(replace(it, lab=lab), medium="Rag") == ()


def test_a_shuffled_file_is_no_slip(printed: Printer, rng: np.random.Generator) -> None:
    it, order = printed("it"), rng.permutation(48)
    assert it.device is not None
    mixed = replace(it, lab=it.lab[order], device=it.device[order])
    assert suspect_mix_ups(mixed, medium="Rag", chart=CHART, siblings=[printed("s")]) == ()


def test_rows_lost_or_read_twice_say_what_stays_empty(printed: Printer) -> None:
    it = printed("it")
    early = it.lab.copy()
    early[8:40] = early[16:48]
    found = only(suspect_mix_ups(replace(it, lab=early), medium="Rag", chart=CHART))
    assert found.sentence.startswith(
        "Row 2 looks as if it was left out, and each later row filed one too early"
    )
    assert found.answers[0].words == (
        "Move the later rows to their places; 8 patches were not read and stay empty"
    )
    again = it.lab.copy()
    again[24:32] = again[16:24]
    found = only(suspect_mix_ups(replace(it, lab=again), medium="Rag", chart=CHART))
    assert found.sentence.startswith(
        "Row 3 looks as if it was read twice: what is filed as row 4 is row 3 again. "
    )
    assert found.answers[0].words == "Empty row 4; 8 patches were not read and stay empty"
    late = it.lab.copy()
    late[24:] = it.lab[16:40]
    found = only(suspect_mix_ups(replace(it, lab=late), medium="Rag", chart=CHART))
    assert "is row 3 again, and each later row is filed one too late. " in found.sentence
    swapped = it.lab.copy()
    swapped[0:8], swapped[32:40] = it.lab[32:40], it.lab[0:8]
    found = only(suspect_mix_ups(replace(it, lab=swapped), medium="Rag", chart=CHART))
    assert found.sentence.startswith("Rows 1 and 5 look exchanged. ")
    patch = it.lab.copy()
    patch[20:47] = it.lab[21:48]
    found = only(suspect_mix_ups(replace(it, lab=patch), medium="Rag"))
    assert found.sentence.startswith("Patches 21 to 47 of the list look filed one too early. ")
    assert found.answers[0].words.startswith("Move them one place on")


def test_a_sibling_that_was_misread_does_not_accuse_the_good_sheet(printed: Printer) -> None:
    good, wrong = printed("good"), turned(printed("wrong"))
    assert suspect_mix_ups(good, medium="Rag", chart=CHART, siblings=[wrong]) == ()
    assert only(suspect_mix_ups(wrong, medium="Rag", chart=CHART)).kind == "upside_down"
    # Without device values nothing but the sibling is there to go by, and the words say so.
    bare = [replace(item, device=None, channels=()) for item in (good, wrong)]
    found = only(suspect_mix_ups(bare[0], medium="Rag", siblings=bare[1:]))
    assert found.sentence.endswith("Or that sheet is the one that was misread.")


def test_without_device_values_the_charts_are_taken(printed: Printer) -> None:
    bare = replace(turned(printed("it")), device=None, channels=())
    assert only(suspect_mix_ups(bare, medium="Rag", chart=CHART)).kind == "upside_down"
    assert suspect_mix_ups(bare, medium="Rag") == ()


def test_a_sheet_of_another_medium_is_asked_about(printed: Printer) -> None:
    rag = [printed("r1"), printed("r2")]
    gloss = [printed("g1", BARYTA), printed("g2", BARYTA)]
    canvas = [printed("c1", CANVAS)]
    stray = printed("r3", BARYTA)
    found = only(
        suspect_mix_ups(
            stray, medium="Rag", chart=CHART, siblings=rag, others={"Gloss": gloss, "Canvas": canvas}
        )
    )
    assert found.kind == "swapped_sheet"
    assert found.belongs_to == "Gloss"
    assert found.mending is None
    assert [answer.words for answer in found.answers] == [
        "It belongs to Gloss",
        "Keep it with Rag",
        "Leave it out",
    ]
    assert found.as_read > 4 * found.mended
    one = only(suspect_mix_ups(stray, medium="Rag", siblings=rag[:1], others={"Gloss": gloss}))
    assert one.sentence.endswith("that one may be the stray.")
    assert suspect_mix_ups(stray, medium="Rag", others={"Gloss": gloss}) == ()


def test_a_stray_among_the_other_mediums_sheets_does_not_hide_the_exchange(printed: Printer) -> None:
    rag = [printed("r1"), printed("r2"), printed("r3", BARYTA)]
    gloss = [printed("g1", BARYTA), printed("g2", BARYTA), printed("g3")]
    for at, medium, own, other in ((2, "Rag", rag, gloss), (2, "Gloss", gloss, rag)):
        name = "Gloss" if medium == "Rag" else "Rag"
        found = suspect_mix_ups(own[at], medium=medium, siblings=own[:at], others={name: other})
        assert only(found).belongs_to == name
        assert suspect_mix_ups(own[0], medium=medium, siblings=own[1:], others={name: other}) == ()


def test_two_lots_of_one_medium_are_not_called_exchanged(printed: Printer) -> None:
    # Four times the usual spread from sheet to sheet; rates in docs/methods/mix-ups.md, here none of 120.
    stock = [printed(f"s{number}", times=4.0) for number in range(60)]
    for first in range(60):
        it, *rest = (stock[(first + step) % 60] for step in range(7))
        others = {"b": rest[2:4], "c": rest[4:6]}
        for siblings in (rest[:1], rest[:2]):
            assert suspect_mix_ups(it, medium="a", chart=CHART, siblings=siblings, others=others) == ()


def test_sheets_under_another_condition_are_not_compared(printed: Printer) -> None:
    rag = [printed("r1", condition="M2"), printed("r2", condition="M2")]
    gloss = [printed("g1", BARYTA), printed("g2", BARYTA)]
    assert suspect_mix_ups(printed("x", BARYTA), medium="Rag", siblings=rag, others={"Gloss": gloss}) == ()


def test_upside_down_and_of_another_medium_are_both_said(printed: Printer) -> None:
    stray = turned(printed("r3", BARYTA))
    found = suspect_mix_ups(
        stray,
        medium="Rag",
        chart=CHART,
        siblings=[printed("r1"), printed("r2")],
        others={"Gloss": [printed("g1", BARYTA)]},
    )
    assert [item.kind for item in found] == ["upside_down", "swapped_sheet"]


def test_a_file_that_repeats_another_is_asked_about(printed: Printer) -> None:
    it = printed("Rag/s3.txt")
    sibling, stranger = replace(it, file="Rag/s1.txt"), replace(it, file="Gloss/s1.txt")
    found = only(suspect_mix_ups(it, medium="Rag", siblings=[sibling]))
    assert found.kind == "same_readings"
    assert found.same_as == "Rag/s1.txt"
    assert "as those of Rag/s1.txt. Two readings never are." in found.sentence
    found = only(suspect_mix_ups(it, medium="Rag", others={"Gloss": [stranger]}))
    assert found.belongs_to == "Gloss"
    assert [answer.act for answer in found.answers] == ["leave_out", "keep"]


@pytest.mark.parametrize(
    ("patches", "seed", "words"),
    [
        (48, 6, "It has 48 patches, the chart has 48; "),
        (40, 5, "It has 40 patches, the chart has 48; "),
    ],
)
def test_another_chart_is_asked_about(patches: int, seed: int, words: str, printed: Printer) -> None:
    it = printed("it", chart=a_chart(patches, seed=seed))
    found = only(suspect_mix_ups(it, medium="Rag", chart=CHART))
    assert found.kind == "wrong_chart"
    assert found.sentence.startswith(words)
    assert found.agree is not None
    assert found.agree < patches
    assert np.isnan(found.ratio)
    assert found.answers[0].act == "leave_out"


def test_how_many_patches_agree_is_counted_with_repeats() -> None:
    half = np.concatenate([CHART.device[:24], np.full((24, 3), 0.37)])
    found = only(
        suspect_mix_ups(as_reading(np.full((48, 3), 50.0), file="it", device=half), medium="x", chart=CHART)
    )
    assert found.agree == 24
    whites = np.ones((48, 3))  # the chart has two white patches
    found = only(
        suspect_mix_ups(as_reading(np.full((48, 3), 95.0), file="it", device=whites), medium="x", chart=CHART)
    )
    assert found.agree == 2


def test_charts_in_other_channels_and_without_device_values(printed: Printer) -> None:
    inks = ExpectedChart("the ink chart", tuple("CMYK"), np.zeros((48, 4)))
    found = suspect_mix_ups(printed("it"), medium="x", chart=inks)
    assert "its device values are R/G/B, those of the chart C/M/Y/K" in only(found).sentence
    bare = replace(printed("it"), device=None, channels=())
    assert suspect_mix_ups(bare, medium="x", chart=CHART) == ()
    assert only(suspect_mix_ups(bare, medium="x", chart=a_chart(56))).kind == "wrong_chart"


def test_a_patch_or_two_lost_is_still_the_chart(printed: Printer) -> None:
    it = printed("it")
    assert it.device is not None
    short = replace(it, lab=it.lab[:-2], device=it.device[:-2], ids=it.ids[:-2])
    assert suspect_mix_ups(short, medium="x", chart=CHART) == ()


def test_eight_typed_patches_never_lead_to_a_claim(printed: Printer) -> None:
    few = a_chart(8)
    it = printed("it", chart=few)
    for reading in (it, turned(it), printed("x", BARYTA, chart=few), replace(it, device=None, channels=())):
        found = suspect_mix_ups(
            reading, medium="x", chart=CHART, siblings=[it], others={"y": [printed("y", BARYTA, chart=few)]}
        )
        assert found == ()


def test_readings_without_colour_lead_to_no_claim(printed: Printer) -> None:
    it = printed("it")
    nothing = replace(it, lab=np.full_like(it.lab, np.nan))
    assert suspect_mix_ups(nothing, medium="x", chart=CHART, siblings=[it], others={"y": [nothing]}) == ()
    assert suspect_mix_ups(it, medium="x", chart=CHART, siblings=[nothing], others={"y": [nothing]}) == ()
