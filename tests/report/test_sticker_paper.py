"""Stickers: on their labels, read back from the paper, black only; label sheets that fit their paper."""

from __future__ import annotations

import io
from itertools import combinations

import numpy as np
import pytest
from pypdf import PdfReader

from laydown.kernel.errors import BadSetting
from laydown.report.label_sheets import LABEL_SHEETS, LabelSheet, label_sheet
from laydown.report.sticker_paper import Sticker, sticker_pages, stickers_pdf
from laydown.science.forms.drawing import draw_bands
from laydown.science.forms.identity import find_codes
from laydown.science.forms.page import MM_PER_INCH, Page, check_page

STICKERS = [
    Sticker(
        code=f"F7K2/{page}/{sheet}",
        name=f"{sheet} {page}",
        lines=(f"Form F7K2 page {page}", "400 x 300 mm", "day 1, load 2, row 3"),
        blind="DCHT" if sheet == "K7" else "XYRP",
    )
    for sheet in ("K7", "E3")
    for page in ("D1", "P1")
]
LONG = Sticker(code="F7K2ABCD/SET12/K2345678", name="handling 3, as K2345678", lines=("long " * 40,))


def drawn(page: Page, ppi: float = 200.0) -> np.ndarray:
    return np.concatenate([np.asarray(band) for band in draw_bands(page, ppi=ppi)])[..., 0]


@pytest.mark.parametrize("sheet", LABEL_SHEETS, ids=lambda one: one.name)
def test_labels_lie_on_their_paper_and_beside_each_other(sheet: LabelSheet) -> None:
    wide, high = sheet.size_mm
    boxes = [sheet.box(place) for place in range(sheet.labels)]
    for box in boxes:
        assert box.left_mm >= 0.0
        assert box.top_mm >= 0.0
        assert box.right_mm <= wide
        assert box.bottom_mm <= high
    assert not any(one.touches(other) for one, other in combinations(boxes, 2))
    # what is bare on the left is bare on the right, within a millimetre: such sheets may be fed either way
    assert boxes[0].left_mm == pytest.approx(wide - max(box.right_mm for box in boxes), abs=1.0)
    assert boxes[0].top_mm == pytest.approx(high - boxes[-1].bottom_mm, abs=1.0)


@pytest.mark.parametrize("sheet", LABEL_SHEETS, ids=lambda one: one.name)
def test_everything_stays_on_its_label_on_every_sheet(sheet: LabelSheet) -> None:
    for page in sticker_pages([*STICKERS, LONG] * 5, sheet=sheet, skip=1):
        check_page(page)


def test_codes_are_read_from_the_drawn_paper_in_their_places() -> None:
    sheet = label_sheet("a4-21")
    (page,) = sticker_pages(STICKERS, sheet=sheet, skip=2)
    found = {code.text: code.corners.mean(axis=0) / 200.0 * MM_PER_INCH for code in find_codes(drawn(page))}
    assert set(found) == {one.code for one in STICKERS}
    for number, one in enumerate(STICKERS):
        x, y = found[one.code]
        box = sheet.box(2 + 2 * number)  # each is followed by its blind one
        assert box.left_mm < x < box.right_mm
        assert box.top_mm < y < box.bottom_mm


def test_blind_stickers_hold_nothing_but_their_code() -> None:
    (page,) = sticker_pages(STICKERS, sheet=label_sheet("a4-24"))
    assert [one.name for one in page.of_kind("blind code")] == ["DCHT", "DCHT", "XYRP", "XYRP"]
    assert all(set(one.facts) == {"text"} for one in page.of_kind("blind code"))
    (without,) = sticker_pages(STICKERS, sheet=label_sheet("a4-24"), blind=False)
    assert without.of_kind("blind code") == ()
    assert len(without.of_kind("sticker")) == 4


def test_stickers_go_on_on_further_sheets() -> None:
    sheet = label_sheet("a4-8")
    pages = sticker_pages(STICKERS * 3, sheet=sheet, skip=7)
    assert [len(page.elements) for page in pages] == [1, 8, 8, 7]


def test_lines_to_cut_along_only_on_plain_paper() -> None:
    plain, cut = (
        drawn(sticker_pages(STICKERS, sheet=label_sheet(name))[0], ppi=100.0)
        for name in ("a4-plain", "a4-21")
    )
    edge = label_sheet("a4-plain").box(0)
    x = round(edge.left_mm / MM_PER_INCH * 100.0)
    y0, y1 = (round(mm / MM_PER_INCH * 100.0) for mm in (edge.top_mm + 5.0, edge.top_mm + 8.0))
    assert plain[y0:y1, x - 1 : x + 2].min(axis=1).max() < 220  # a line all along
    assert cut[y0:y1, :20].min() == 255


def test_the_file_has_the_size_of_its_paper_and_is_the_same_each_time() -> None:
    content = stickers_pdf(STICKERS, sheet=label_sheet("letter-30"), title="Stickers for F7K2")
    assert content == stickers_pdf(STICKERS, sheet=label_sheet("letter-30"), title="Stickers for F7K2")
    page = PdfReader(io.BytesIO(content)).pages[0]
    # US Letter: 8.5 x 11 in = 612 x 792 pt
    assert [float(one) for one in page.mediabox[2:]] == pytest.approx([612.0, 792.0], abs=0.2)


@pytest.mark.parametrize("skip", [-1, 21])
def test_a_sheet_without_a_label_left_is_refused(skip: int) -> None:
    with pytest.raises(BadSetting, match="labels of the first sheet"):
        stickers_pdf(STICKERS, sheet=label_sheet("a4-21"), skip=skip)


def test_nothing_to_stick_and_unknown_sheets_are_refused() -> None:
    with pytest.raises(BadSetting, match="nothing to put a sticker on"):
        stickers_pdf([], sheet=LABEL_SHEETS[0])
    with pytest.raises(BadSetting, match=r"no label sheets .*a4-21"):
        label_sheet("a5")
