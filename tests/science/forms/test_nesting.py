"""Pieces on rolls and sheets: layouts by hand, and what must hold of any."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.kernel.errors import BadSetting
from laydown.science.forms.nested import Piece, RollMedia, SheetMedia
from laydown.science.forms.nesting import nest, nesting_words
from laydown.trials.material import GAP_MM, LEAD_MM, SIDE_MM, TAIL_MM

ROLL = RollMedia(432.0, 6096.0)  # 17 in x 20 ft
TEST = Piece("test", 200.0, 480.0, n=5)
SPARE = Piece("spare", 200.0, 480.0, use="spare")
SCRAP = Piece("scrap", 100.0, 150.0, n=5, use="scrap")


def boxes(nesting, row):
    return [(one.box.left_mm, one.box.top_mm) for one in nesting.rows[row].pieces]


def test_a_trial_on_a_17_inch_roll_is_laid_out_as_by_hand():
    # 432 - 2 x 5 = 422 mm can be printed: 200 + 10 + 200 fit, and of the scraps 3 x 100 + 2 x 10.
    found = nest([TEST, SPARE, SCRAP], media=ROLL)
    assert [boxes(found, row) for row in range(5)] == [
        [(5.0, 100.0), (215.0, 100.0)],
        [(5.0, 590.0), (215.0, 590.0)],
        [(5.0, 1080.0), (215.0, 1080.0)],
        [(5.0, 1570.0), (115.0, 1570.0), (225.0, 1570.0)],
        [(5.0, 1730.0), (115.0, 1730.0)],
    ]
    assert [one.label for one in found.rows[2].pieces] == ["test 5", "spare 1"]
    assert found.used_mm == 1880.0 + 100.0
    assert found.left_mm == 6096.0 - 1980.0
    # from 1890 to 5996 eight more rows of 480 + 10 (8 x 490 = 3920 of 4116), two in each
    assert found.more == (("test", 16),)
    assert found.left_out == found.warnings == ()
    assert nesting_words(found) == (
        "11 pieces in 5 rows on a roll of 432 mm: 1980 mm go, lead and tail included; 4116 mm are left over."
    )


def test_cuts_lie_half_way_between_pieces_and_begin_at_the_far_end():
    found = nest([TEST, SPARE, SCRAP], media=ROLL)
    across = [cut.at_mm for cut in found.cuts if cut.row is None]
    # from the far end on, so that what is left keeps its leading edge to be measured from
    assert across == [1885.0, 1725.0, 1565.0, 1075.0, 585.0, 95.0]
    along = [(cut.row, cut.at_mm) for cut in found.cuts if cut.way == "along"]
    # 17 mm beside the second print stay on; 107 and 217 mm beside the scraps are cut off
    assert along == [
        (0, 210.0),
        (1, 210.0),
        (2, 210.0),
        (3, 330.0),
        (3, 220.0),
        (3, 110.0),
        (4, 220.0),
        (4, 110.0),
    ]


def test_scraps_go_below_one_another_into_what_would_be_waste():
    # Beside a print of 250 there are 162 mm: a column of 100, three times 150 + 10 in 480.
    found = nest([Piece("test", 250.0, 480.0, n=2), SCRAP], media=ROLL)
    assert len(found.rows) == 2
    assert boxes(found, 0) == [(5.0, 100.0), (265.0, 100.0), (265.0, 260.0), (265.0, 420.0)]
    assert boxes(found, 1)[1:] == [(265.0, 590.0), (265.0, 750.0)]
    inner = [
        (cut.at_mm, cut.from_mm, cut.to_mm) for cut in found.cuts if cut.way == "across" and cut.row == 0
    ]
    assert inner == [(575.0, 260.0, 370.0), (415.0, 260.0, 370.0), (255.0, 260.0, 370.0)]


def test_prints_stay_in_their_order_unless_length_is_to_be_saved():
    mixed = [Piece(f"{high:.0f}", 150.0, high) for high in (300.0, 400.0, 300.0, 400.0)]
    kept = nest(mixed, media=ROLL)
    assert [one.name for one in kept.pieces] == ["300", "400", "300", "400"]
    assert len(kept.rows) == 4
    assert not any("order" in words for words in kept.warnings)
    saved = nest(mixed, media=ROLL, order="to save length")
    assert [one.name for one in saved.pieces] == ["400", "400", "300", "300"]
    assert [len(row.pieces) for row in saved.rows] == [2, 2]
    assert saved.used_mm < kept.used_mm
    assert any("order" in words for words in saved.warnings)


def test_the_sourced_example_of_orientation():
    # common practice, worked out by hand: a piece of 30 x 42 in on a 44 in roll takes 30 in of it lying
    # across, 42 in the other way.
    inch = 25.4
    piece = Piece("wrap", 30 * inch, 42 * inch, may_turn=True)
    roll = RollMedia(44 * inch, 40 * 12 * inch)
    across = nest([piece], media=roll, side_mm=10.0, lead_mm=0.0, tail_mm=0.0)
    assert across.pieces[0].turned
    assert across.used_mm == pytest.approx(30 * inch)
    assert across.covered == pytest.approx(42 / 44)
    upright = nest([Piece("wrap", 30 * inch, 42 * inch)], media=roll, side_mm=10.0, lead_mm=0.0, tail_mm=0.0)
    assert upright.used_mm == pytest.approx(42 * inch)
    assert upright.covered == pytest.approx(30 / 44)


def test_a_group_is_turned_as_a_whole_or_not_at_all():
    wide, small = (
        Piece("wide", 500.0, 300.0, group="a", may_turn=True),
        Piece("small", 100.0, 120.0, group="a"),
    )
    with pytest.raises(BadSetting, match=r"wide .*Turned with all others of its group it would fit"):
        nest([wide, small], media=ROLL)
    long = Piece("long", 100.0, 600.0, group="a", may_turn=True)
    with pytest.raises(BadSetting, match=r"wide .*not all others of its group: take it out"):
        nest([wide, long], media=ROLL)
    small = Piece("small", 100.0, 120.0, n=3, group="a", may_turn=True)
    found = nest([wide, small], media=ROLL)
    assert all(one.turned for one in found.pieces)


def test_a_piece_too_wide_is_refused_with_what_to_do():
    with pytest.raises(
        BadSetting, match=r"wide \(500 x 300 mm\) is too large: 422 mm of its 432 mm .*Turned it"
    ):
        nest([Piece("wide", 500.0, 300.0)], media=ROLL)
    with pytest.raises(BadSetting, match="smaller or take a wider medium"):
        nest([Piece("wide", 500.0, 600.0, may_turn=True)], media=ROLL)
    with pytest.raises(BadSetting, match="319 x 473 mm of a sheet"):
        nest([Piece("high", 300.0, 480.0)], media=SheetMedia(329.0, 483.0, 5))


def test_sheets_of_a_box_are_filled_one_after_the_other():
    # A3+ is 329 x 483 mm; less 5 mm all round 319 x 473: two rows of 230 + 10, two of 150 + 10 in each.
    piece = Piece("quarter", 150.0, 230.0, n=9)
    found = nest([piece], media=SheetMedia(329.0, 483.0, 5))
    assert [one.sheet for one in found.pieces] == [0] * 4 + [1] * 4 + [2]
    assert found.sheets_used == 3
    assert (found.used_mm, found.left_mm) == (None, None)
    # 483 - 475 = 8 mm behind the second row stay on: one cut a sheet between the rows; one behind the ninth
    assert [(cut.sheet, cut.at_mm) for cut in found.cuts if cut.row is None] == [
        (0, 240.0),
        (1, 240.0),
        (2, 240.0),
    ]
    # on the third sheet one more row of two, on the fourth and fifth four each
    assert found.more == (("quarter", 10),)
    assert "on 3 of 5 sheets of 329 x 483 mm" in nesting_words(found)


def test_what_finds_no_place_is_named():
    found = nest([Piece("test", 200.0, 480.0, n=30)], media=ROLL)
    # 100 + 12 x 480 + 11 x 10 = 5970 of 5996: twelve rows of two
    assert len(found.pieces) == 24
    ((left_out),) = found.left_out
    assert (left_out.name, left_out.n, left_out.reason) == ("test", 6, "the roll is not long enough")
    assert "Without a place: 6 x test (the roll is not long enough)" in nesting_words(found)
    assert found.more == (("test", 0),)


def test_a_roll_of_unknown_length_is_as_long_as_it_must_be():
    found = nest([Piece("test", 200.0, 480.0, n=30)], media=RollMedia(432.0, None))
    assert len(found.pieces) == 30
    assert found.left_mm is None
    assert found.more == ()
    assert any("not stated" in words for words in found.warnings)


@pytest.mark.parametrize(
    ("pieces", "media", "words"),
    [
        ([TEST], ROLL, "No scraps for handling tests"),
        ([TEST], ROLL, "No spare"),
        ([Piece("test", 200.0, 480.0, n=2)], ROLL, "All 2 of test lie in one row"),
        ([TEST], RollMedia(432.0, 1800.0), "The 140 mm left over are too short"),
    ],
)
def test_what_a_trial_loses_is_said(pieces, media, words):
    assert any(words in told for told in nest(pieces, media=media).warnings)


def test_the_edges_are_those_of_the_material_budget():
    # trials/material.py reckons with the same constants, and as many pieces across.
    assert (LEAD_MM.value, TAIL_MM.value, GAP_MM.value, SIDE_MM.value) == (100.0, 100.0, 10.0, 5.0)
    room = nest([TEST], media=ROLL).room
    assert (room.lead_mm, room.tail_mm, room.gap_mm, room.side_mm) == (100.0, 100.0, 10.0, 5.0)
    for width in (100.0, 137.0, 200.0, 206.0, 207.0, 422.0):
        assert room.across(width) == int((432.0 - 2 * 5.0 + 10.0) // (width + 10.0))


@pytest.mark.parametrize(
    "changes",
    [{"side_mm": -1.0}, {"gap_mm": -0.1}, {"lead_mm": -5.0}, {"side_mm": 216.0}],
)
def test_lengths_that_make_no_sense_are_refused(changes):
    with pytest.raises(BadSetting):
        nest([TEST], media=ROLL, **changes)


@pytest.mark.parametrize("pieces", [[], [Piece("none", 0.0, 10.0)], [Piece("many", 5.0, 5.0, n=3000)]])
def test_pieces_that_make_no_sense_are_refused(pieces):
    with pytest.raises(BadSetting):
        nest(pieces, media=ROLL)


SIDES = st.floats(20.0, 400.0)
PIECES = st.lists(
    st.builds(
        Piece,
        name=st.sampled_from("abcdef"),
        width_mm=SIDES,
        height_mm=SIDES,
        n=st.integers(0, 6),
        use=st.sampled_from(("print", "spare", "scrap")),
        group=st.sampled_from(("", "", "one")),
        may_turn=st.just(True),  # 400 mm fit either way, so that nothing is refused
    ),
    min_size=1,
    max_size=8,
)
MEDIA = st.one_of(
    st.builds(RollMedia, st.floats(430.0, 1500.0), st.one_of(st.none(), st.floats(300.0, 5000.0))),
    st.builds(SheetMedia, st.floats(430.0, 700.0), st.floats(430.0, 900.0), st.integers(1, 4)),
)


@given(
    pieces=PIECES,
    media=MEDIA,
    gap=st.floats(0.0, 15.0),
    side=st.floats(0.0, 15.0),
    ends=st.floats(0.0, 15.0),
    order=st.sampled_from(("as given", "to save length")),
)
@settings(max_examples=250, deadline=None)
def test_whatever_is_laid_out_can_be_printed_and_cut(pieces, media, gap, side, ends, order):
    found = nest(pieces, media=media, side_mm=side, gap_mm=gap, lead_mm=ends, tail_mm=ends, order=order)
    placed, tiny = found.pieces, 1e-5
    # every piece is placed or named
    for name in {piece.name for piece in pieces}:
        n = sum(piece.n for piece in pieces if piece.name == name)
        without = sum(one.n for one in found.left_out if one.name == name)
        assert sum(one.name == name for one in placed) + without == n
        assert len({one.label for one in placed if one.name == name}) == n - without
    length = found.room.length_mm
    for one in placed:
        assert one.box.left_mm >= side - tiny
        assert one.box.right_mm <= media.width_mm - side + tiny
        assert one.box.top_mm >= ends - tiny
        assert one.box.bottom_mm <= length - ends + tiny
    # gaps are kept
    for number, one in enumerate(placed):
        for other in placed[number + 1 :]:
            if one.sheet == other.sheet:
                across = max(one.box.left_mm - other.box.right_mm, other.box.left_mm - one.box.right_mm)
                down = max(one.box.top_mm - other.box.bottom_mm, other.box.top_mm - one.box.bottom_mm)
                assert max(across, down) >= gap - tiny
    # pieces of a group lie the same way
    grouped = {piece.name for piece in pieces if piece.group} - {
        piece.name for piece in pieces if not piece.group
    }
    assert len({one.turned for one in placed if one.name in grouped}) <= 1
    # no cut crosses a piece, and every two pieces are cut apart
    for cut in found.cuts:
        for one in placed:
            if one.sheet == cut.sheet:
                low, high = ("top_mm", "bottom_mm") if cut.way == "across" else ("left_mm", "right_mm")
                start, end = ("left_mm", "right_mm") if cut.way == "across" else ("top_mm", "bottom_mm")
                beside = (
                    getattr(one.box, end) <= cut.from_mm + tiny or getattr(one.box, start) >= cut.to_mm - tiny
                )
                assert beside or not getattr(one.box, low) + tiny < cut.at_mm < getattr(one.box, high) - tiny
    assert_taken_apart(found)
    assert 0.0 <= found.covered <= 1.0 + tiny
    if found.used_mm is not None and found.left_mm is not None:
        assert found.used_mm + found.left_mm == pytest.approx(media.length_mm, abs=1e-3)


def assert_taken_apart(found):
    """Cut in the order of the list, each cut right through what is there: at the end a piece to a part."""
    parts = [
        (sheet, 0.0, 0.0, found.room.media.width_mm, found.room.length_mm)
        for sheet in {one.sheet for one in found.pieces}
    ]
    tiny = 1e-4
    for cut in found.cuts:
        after = []
        for sheet, left, top, right, bottom in parts:
            across = cut.way == "across"
            low, high, start, end = (top, bottom, left, right) if across else (left, right, top, bottom)
            inside = low + tiny < cut.at_mm < high - tiny
            if sheet == cut.sheet and inside and cut.from_mm < end - tiny and cut.to_mm > start + tiny:
                # a straight cut goes right through the part, from edge to edge
                assert cut.from_mm <= start + tiny
                assert cut.to_mm >= end - tiny
                if across:
                    after += [(sheet, left, top, right, cut.at_mm), (sheet, left, cut.at_mm, right, bottom)]
                else:
                    after += [(sheet, left, top, cut.at_mm, bottom), (sheet, cut.at_mm, top, right, bottom)]
            else:
                after.append((sheet, left, top, right, bottom))
        parts = after
    for sheet, left, top, right, bottom in parts:
        held = [
            one
            for one in found.pieces
            if one.sheet == sheet
            and left - tiny <= (one.box.left_mm + one.box.right_mm) / 2 <= right + tiny
            and top - tiny <= (one.box.top_mm + one.box.bottom_mm) / 2 <= bottom + tiny
        ]
        assert len(held) <= 1
