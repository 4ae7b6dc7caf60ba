"""A nesting drawn to scale, and its cut list on paper."""

import io
import re
from datetime import UTC, datetime

import pytest
from lxml import etree
from pypdf import PdfReader

from laydown.kernel.errors import BadSetting
from laydown.report.cut_list_paper import Cutting, cut_list, cut_list_pdf, cut_lists_pdf
from laydown.report.nesting_drawing import WIDTH, both_units, nesting_svg, nesting_svgs
from laydown.science.forms.nested import Piece, RollMedia, SheetMedia
from laydown.science.forms.nesting import nest, nesting_words
from laydown.trials.checklist import BLADE
from laydown.trials.studio import Studio

NOW = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)
STUDIO = Studio(id="studio", time_zone="UTC")
TESTS = [Piece("K7", 200.0, 480.0, n=3), Piece("M2", 200.0, 480.0, n=3)]
SCRAPS = Piece("scrap", 100.0, 150.0, n=5, use="scrap")


def on_roll(length=6096.0):
    return nest([*TESTS, Piece("spare", 200.0, 480.0, use="spare"), SCRAPS], media=RollMedia(432.0, length))


def on_sheets():
    return nest([Piece("quarter", 150.0, 230.0, n=9), SCRAPS], media=SheetMedia(329.0, 483.0, 5))


def long_roll():
    return nest([Piece("long", 400.0, 900.0, n=8), SCRAPS], media=RollMedia(432.0, None))


NESTINGS = [
    on_roll,
    on_sheets,
    long_roll,
    lambda: nest([Piece("a", 50.0, 50.0, n=0)], media=RollMedia(432.0, 900.0)),
]


def shapes(nesting):
    return [one for one in etree.fromstring(nesting_svg(nesting).encode()).iter() if isinstance(one.tag, str)]


def words(nesting):
    return [one.text for one in shapes(nesting) if one.tag.endswith("text")]


@pytest.mark.parametrize("nesting", NESTINGS)
def test_a_drawing_is_neutral_and_safe_on_a_strict_page(nesting):
    for one in shapes(nesting()):
        assert not {"style", "id", "class", "href"} & set(one.attrib)
        assert one.tag.rsplit("}")[-1] in {"svg", "title", "rect", "line", "path", "polygon", "text"}
        for name in ("fill", "stroke"):
            if one.get(name) not in (None, "none"):
                red, green, blue = re.fullmatch(r"#(..)(..)(..)", one.get(name)).groups()
                assert red == green == blue


@pytest.mark.parametrize("nesting", NESTINGS)
def test_everything_lies_on_the_drawing(nesting):
    root = etree.fromstring(nesting_svg(nesting()).encode())
    _, _, width, height = map(float, root.get("viewBox").split())
    assert width == WIDTH
    for one in root.iter("{*}rect"):
        assert float(one.get("x")) >= 0.0
        assert float(one.get("x")) + float(one.get("width")) <= width + 0.01
        assert float(one.get("y")) + float(one.get("height")) <= height + 0.01
    for one in root.iter("{*}text"):
        assert 0.0 <= float(one.get("x")) <= width
        assert 0.0 <= float(one.get("y")) <= height


def test_pieces_are_drawn_to_scale():
    # 0.36 units for each mm: 480 x 200 mm are 172.8 x 72 on the page, feed from left to right
    drawn = [
        (float(one.get("width")), float(one.get("height")))
        for one in shapes(on_roll())
        if one.tag.endswith("rect") and one.get("stroke") == "#1b1b1b"
    ]
    scale = 0.36
    assert sum(size == pytest.approx((480 * scale, 200 * scale), abs=0.02) for size in drawn) == 7
    assert sum(size == pytest.approx((150 * scale, 100 * scale), abs=0.02) for size in drawn) == 5


def test_lengths_stand_there_in_both_units():
    told = words(on_roll())
    # 585 / 25.4 = 23.03
    assert {"585 mm", "23.03 in", "200 x 480 mm", "7.87 x 18.9 in"} <= set(told)
    assert both_units(432.0) in told
    assert f"left: {both_units(3946.0)}" in told
    assert {f"{name} {number}" for name in ("K7", "M2") for number in (1, 2, 3)} <= set(told)
    assert etree.fromstring(nesting_svg(on_roll()).encode())[0].text == nesting_words(on_roll())


def test_a_long_roll_goes_on_in_further_lines():
    told = words(long_roll())
    starts = [one for one in told if one.startswith("on from")]
    # 824 units at 0.36 hold 2.29 m: two prints of 910 a line, so four lines
    assert starts == [f"on from {both_units(at)}" for at in (1915.0, 3735.0, 5555.0)]
    assert "left: not stated" in told
    assert [one for one in told if one.startswith("long")] == [f"long {number}" for number in range(1, 9)]


def test_sheets_laid_out_alike_are_drawn_once():
    told = words(on_sheets())
    assert "Sheets 1 to 2, alike" in told
    assert "Sheet 3" in told
    assert told.count("quarter") == 4  # without numbers, since it stands for both sheets
    assert "quarter 9" in told


def test_a_name_cannot_become_markup():
    drawing = nesting_svg(nest([Piece('<b>&"x"', 200.0, 300.0)], media=RollMedia(432.0, 900.0)))
    assert "<b>" not in drawing
    etree.fromstring(drawing.encode())


def told_of(nesting, **options):
    return cut_list(nesting, title="Spring trial", studio=STUDIO, now=NOW, **options)


def test_cuts_are_listed_from_the_far_end_on_in_both_units():
    cuts = told_of(on_roll()).cuts
    assert [(one.where, one.way, one.metric) for one in cuts[:5]] == [
        ("roll", "across, off the roll", "2055 mm"),
        ("roll", "across", "1565 mm"),
        ("roll", "across", "1075 mm"),
        ("roll", "across", "585 mm"),
        ("roll", "across", "95 mm"),
    ]
    assert cuts[0].inch == "80.91 in"  # 2055 / 25.4
    assert (cuts[5].where, cuts[5].way, cuts[5].metric, cuts[5].measured) == (
        "rows 1 to 3",
        "along",
        "210 mm",
        "the left edge",
    )
    # scraps lie below one another in row 4, from 1565 on: 150 + 5 behind its cut
    inner = [one for one in cuts if one.where == "row 4" and one.way == "across"]
    assert inner[-1].metric == "160 mm"
    assert inner[-1].measured.startswith("the row's leading cut, in the part from 320 mm")


def test_sheets_that_are_cut_alike_stand_in_one_line():
    cuts = told_of(on_sheets()).cuts
    assert next((one.where, one.metric) for one in cuts if one.where.startswith("sheet")) == (
        "sheets 1 to 2",
        "240 mm",
    )


def test_every_piece_has_its_label_and_none_names_a_medium():
    labels = told_of(on_roll(), codes={"K7 1": "S-104"}).labels
    assert len(labels) == 12
    assert [one.code for one in labels][:2] == ["S-104", "K7 2"]
    assert labels[0].line == "200 x 480 mm"
    assert labels[0].where == "row 1"


def test_the_paper_holds_caution_cuts_and_labels():
    content = cut_list_pdf(on_roll(), title="Spring trial", studio=STUDIO, now=NOW)
    assert content == cut_list_pdf(on_roll(), title="Spring trial", studio=STUDIO, now=NOW)
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(content)).pages]
    assert len(pages) == 2
    first = " ".join(pages[0].split())
    assert "Spring trial" in first
    assert BLADE in first
    assert "across, off the roll" in first
    assert "2055 mm" in first
    assert all(f"scrap {number}" in pages[1] for number in range(1, 6))


def test_what_was_lost_is_on_the_paper():
    nesting = nest([Piece("a", 200.0, 480.0, n=30)], media=RollMedia(432.0, 6096.0))
    content = cut_list_pdf(nesting, title="Spring trial", studio=STUDIO, now=NOW)
    first = " ".join(PdfReader(io.BytesIO(content)).pages[0].extract_text().split())
    assert "Without a place: 6 x a" in first
    assert "No scraps for handling tests" in first


def test_codes_stand_on_the_pieces_they_belong_to():
    told = [
        one.text
        for one in etree.fromstring(nesting_svg(on_roll(), codes={"K7 2": "S-104"}).encode()).iter("{*}text")
    ]
    assert "S-104" in told
    assert "K7 2" not in told
    assert {"K7 1", "K7 3"} <= set(told)


def test_a_piece_shorter_than_its_size_in_words_has_it_turned():
    # 180 mm at 0.36 are 65 units, and "400 x 180 mm" takes 67 at 10 units a letter
    told = words(nest([Piece("K7 P1", 400.0, 180.0)], media=RollMedia(432.0, 6096.0)))
    assert {"400 x 180 mm", "15.75 x 7.09 in"} <= set(told)


def test_a_long_drawing_comes_apart_for_paper():
    nesting = nest([Piece("long", 400.0, 900.0, n=22)], media=RollMedia(432.0, None))
    whole, parts = nesting_svg(nesting), nesting_svgs(nesting, lines=4)
    assert len(parts) == 3  # two prints on each of 11 lines
    told = [one.text for part in parts for one in etree.fromstring(part.encode()).iter("{*}text")]
    assert [one for one in told if one and one.startswith("long")] == [f"long {n}" for n in range(1, 23)]
    for part in parts:
        width, height = map(float, etree.fromstring(part.encode()).get("viewBox").split()[2:])
        assert height < 1.4 * width  # A4 without its margins is 178 x 263 mm
    assert nesting_svgs(on_roll()) == (nesting_svg(on_roll()),)
    assert whole not in parts


def test_several_loads_begin_on_pages_of_their_own_without_labels():
    cuttings = [Cutting(nesting=on_roll(), heading="Day 1, load 1", codes={"K7 1": "S-104"}),
                Cutting(nesting=long_roll(), heading="Day 2, load 1")]  # fmt: skip
    content = cut_lists_pdf(cuttings, title="Spring trial", studio=STUDIO, now=NOW,
                            summary="Roll 21-7.", warnings=("Randomisation is lost.",))  # fmt: skip
    pages = [" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(content)).pages]
    starts = [page for page in pages if "CUT LIST" in page]
    assert len(starts) == 2
    assert all(BLADE in page for page in starts)
    assert "Roll 21-7." in starts[0]
    assert "Randomisation is lost." in starts[0]
    assert "Randomisation is lost." not in starts[1]
    assert "Day 2, load 1" in starts[1]
    assert not any("Labels for the backs" in page for page in pages)
    with pytest.raises(BadSetting, match="nothing to cut"):
        cut_lists_pdf([], title="Spring trial", studio=STUDIO, now=NOW)
