"""A form laid onto rolls and boxes: loads, order, what is left and lost; never beyond the printable width."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import pytest
from a_form_on_a_roll import NAMES, NOW, a_drawn_trial, a_form, arm, printed
from hypothesis import event, given, settings
from hypothesis import strategies as st

from laydown.kernel.errors import BadSetting, RefusedInput
from laydown.science.forms.blind_label import LETTERS, LONG
from laydown.science.forms.identity import identity_of
from laydown.trials.facts import TrialFacts
from laydown.trials.stock import RollUse
from laydown.trials.trial import OrderKind
from laydown.usecases.forms.blind_key import blind_key
from laydown.usecases.forms.lay_on_roll import form_in_use, lay_on_roll, what_is_missing
from laydown.usecases.forms.printable_width import widths_that_fit
from laydown.usecases.forms.roll_layout import RollLayout
from laydown.usecases.forms.roll_loads import LayOptions, LayWay


def laid(facts: TrialFacts, name: str = "rag", **options: object) -> RollLayout:
    return lay_on_roll(facts, arm(facts, name), a_form(), options=LayOptions(**options))  # type: ignore[arg-type]  # by name


def prints_of(layout: RollLayout) -> list[str]:
    """Sheet codes in the order in which they come off the roll, each once."""
    codes = [
        one.piece.sheet for one in layout.pieces if one.piece.kind == "page" and one.piece.use == "print"
    ]
    return list(dict.fromkeys(codes))


def test_sheets_lie_in_the_order_drawn_by_day_each_with_all_its_pages() -> None:
    facts = a_drawn_trial()
    layout = laid(facts)
    drawn = [one.code for one in sorted(facts.sheets_of("c-rag"), key=lambda one: one.place) if one.place]
    assert prints_of(layout) == drawn
    assert [load.title for load in layout.loads] == [
        "Setting sheet",
        "Chart",
        "Day 1, load 1",
        "Day 2, load 1",
    ]
    first = layout.loads[2]
    assert [one.piece.words for one in first.pieces] == [
        f"{code} {page}" for code in drawn[:2] for page in ("D1", "P1")
    ]
    assert first.codes == {"D1 1": f"{drawn[0]} D1", "P1 1": f"{drawn[0]} P1",
                           "D1 2": f"{drawn[1]} D1", "P1 2": f"{drawn[1]} P1"}  # fmt: skip
    for one in layout.pieces:
        told = identity_of(one.piece.code)
        assert (told.form, told.page, told.sheet) == ("F7K2", one.piece.page, one.piece.sheet)


def test_lengths_add_up_by_hand() -> None:
    """Ends of 100 mm each and gaps of 10 mm (the usual ones), pages of 300 and 180 mm."""
    layout = laid(a_drawn_trial())
    used = [load.nesting.used_mm for load in layout.loads]
    two_prints = 100 + 300 + 10 + 180 + 10 + 300 + 10 + 180 + 100
    # behind day 2: three strips of 100, one fading piece of 400, a spare of 300 + 180, three scraps of 200
    behind = 3 * (10 + 100) + (10 + 400) + (10 + 300 + 10 + 180) + 3 * (10 + 200)
    assert used == [500.0, 800.0, two_prints, two_prints + behind]
    assert layout.holds == 12192.0
    assert layout.used_mm == sum(one for one in used if one)
    assert layout.left_mm == pytest.approx(12192 - 500 - 800 - 2 * two_prints - behind)
    assert (layout.repeats_placed, layout.repeats_wanted) == (4, 4)
    # each repeat takes 300 + 10 + 180 and a gap, behind one lead and before one tail
    assert layout.more_repeats == (6642 - 200 + 10) // 500
    assert layout.without_place == ()


def test_arms_of_one_roll_are_laid_together_and_not_reloaded_between_them() -> None:
    facts = a_drawn_trial()
    bare, coated = laid(facts, "canvas"), laid(facts, "canvas coated")
    assert bare.shared_with == ("canvas coated",)
    assert coated.shared_with == ("canvas",)
    assert bare.loads == coated.loads
    assert {one.piece.candidate_id for one in bare.loads[2].pieces} == {"c-canvas", "c-canvas coated"}
    drawn = [one.code for one in sorted(facts.sheets, key=lambda one: one.place)
             if one.place and one.candidate_id != "c-rag"]  # fmt: skip
    assert prints_of(bare) == drawn
    assert [one.piece.words for one in bare.loads[0].pieces] == [f"setting (as {bare.pieces[0].piece.sheet})"]
    assert facts.sheet(f"s-{bare.pieces[0].piece.sheet}").candidate_id == "c-canvas"


def test_one_load_saves_ends_and_says_what_it_costs() -> None:
    facts = a_drawn_trial()
    apart, together = laid(facts), laid(facts, way="in one load")
    assert together.loads[-1].title == "All in one load"
    assert apart.used_mm - together.used_mm == pytest.approx(200 - 10)  # one lead and tail less, one gap more
    assert any("all prints in one load" in one for one in together.warnings)
    assert not any("in one load" in one for one in apart.warnings)
    assert prints_of(together) == prints_of(apart)


def test_order_lost_to_save_length_is_told() -> None:
    facts = a_drawn_trial(plan={"order": "randomised, blocked by day"})
    assert not any("Randomisation" in one for one in laid(facts).warnings)
    sorted_ = laid(facts, way="to save length")
    assert any("do not lie in the order that was drawn" in one for one in sorted_.warnings)


@pytest.mark.parametrize(
    ("order", "told"),
    [("as listed", True), ("randomised, grouped within day", True), ("randomised, blocked by day", False)],
)
def test_an_order_that_was_not_random_is_told(order: OrderKind, told: bool) -> None:
    warnings = laid(a_drawn_trial(plan={"order": order})).warnings
    assert any(one.startswith("Randomisation is lost in part") for one in warnings) is told


def test_prints_side_by_side_in_one_row_are_told() -> None:
    facts = a_drawn_trial(sheets=2, days=1, plan={"order": "as listed"})
    layout = lay_on_roll(facts, arm(facts, "rag"), a_form((200.0, 300.0)))
    assert any("All prints of rag lie in one row" in one for one in layout.warnings)
    wide = lay_on_roll(facts, arm(facts, "rag"), a_form((250.0, 300.0)))
    assert not any("in one row" in one for one in wide.warnings)


def test_without_scraps_or_spares_it_says_so() -> None:
    whole = laid(a_drawn_trial())
    assert not any("scraps" in one or "spare" in one for one in whole.warnings)
    bare = laid(a_drawn_trial(), without_scraps=True, without_spares=True)
    assert any("No scraps for handling tests" in one for one in bare.warnings)
    assert any("No spare is laid out" in one for one in bare.warnings)
    assert {one.piece.kind for one in bare.pieces} == {"setting", "chart", "page"}
    assert laid(a_drawn_trial(), without_setting=True).loads[0].title == "Day 1, load 1"


def test_what_others_took_is_off_the_roll_and_what_the_trial_took_only_from_the_rest() -> None:
    facts = a_drawn_trial()
    uses = [
        RollUse(id="1", roll_id="r-rag", at=NOW, length_mm=1000.0),
        RollUse(id="2", roll_id="r-rag", at=NOW, length_mm=490.0, trial_id="t"),
        RollUse(id="3", roll_id="r-canvas", at=NOW, length_mm=9000.0),
    ]
    whole = lay_on_roll(facts, arm(facts, "rag"), a_form(), uses=uses)
    assert whole.holds == 11192.0
    first = prints_of(whole)[0]
    begun = printed(facts, first)
    rest = lay_on_roll(begun, arm(begun, "rag"), a_form(), uses=uses, options=LayOptions(only_unprinted=True))
    assert rest.holds == 11192.0 - 490.0
    assert prints_of(rest) == prints_of(whole)[1:]
    assert {one.day for one in rest.loads} == {1, 2}  # setting sheet and chart lie behind it


def test_where_all_is_printed_nothing_is_laid_out() -> None:
    facts = a_drawn_trial()
    over = printed(facts, *(sheet.code for sheet in facts.sheets))
    layout = laid(over, only_unprinted=True, without_scraps=True)
    assert (layout.loads, layout.used_mm, layout.repeats_wanted) == ((), 0.0, 0)


def test_a_spoiled_sheet_is_named_where_all_is_laid_out() -> None:
    facts = a_drawn_trial()
    spoiled = prints_of(laid(facts))[1]
    begun = printed(facts, spoiled, kind="spoiled")
    assert any(spoiled in one and "Spoiled" in one for one in laid(begun).warnings)
    rest = laid(begun, only_unprinted=True)
    assert spoiled not in prints_of(rest)
    assert not any("Spoiled" in one for one in rest.warnings)


def test_a_short_roll_names_what_has_no_place_and_counts_repeats() -> None:
    layout = laid(a_drawn_trial(roll={"length_mm": 3200.0}))
    # 500 + 800 + 1190 leave 710: lead, one page of 300, a gap and 180 fit, the next print does not
    codes = prints_of(layout)
    assert (layout.repeats_placed, layout.repeats_wanted) == (3, 4)
    assert {f"{codes[3]} D1", f"{codes[3]} P1"} <= set(layout.without_place)
    assert "no place" in layout.warnings[0]
    assert layout.more_repeats == 0
    assert all(one.row == 0 for one in layout.pieces if one.piece.words in layout.without_place)


def test_a_print_is_laid_out_with_all_its_pages_or_not_at_all() -> None:
    """What 500 + 800 + 1190 leave of 3090 mm holds lead, tail and a page of 300 mm, and no second page."""
    layout = laid(a_drawn_trial(roll={"length_mm": 3090.0}))
    codes = prints_of(layout)
    assert layout.repeats_placed == 2
    placed = {one.piece.words for one in layout.pieces if one.row}
    assert not any(f"{code} {page}" in placed for code in codes[2:] for page in ("D1", "P1"))
    assert any(one.startswith("strip") for one in placed)  # the room goes to what can use it
    for load in layout.loads:
        assert sorted(load.codes) == sorted(one.label for one in load.nesting.pieces)


def test_an_unknown_length_is_laid_out_and_asked_for() -> None:
    layout = laid(a_drawn_trial(roll={"length_mm": None}))
    assert (layout.holds, layout.left_mm, layout.more_repeats) == (None, None, None)
    assert layout.repeats_placed == 4
    assert any("not stated" in one for one in layout.warnings)


def test_the_printers_own_margins_are_kept() -> None:
    facts = a_drawn_trial(printer={"side_margin_mm": 15.0, "lead_mm": 60.0, "tail_mm": 40.0})
    layout = laid(facts)
    assert layout.printable_mm == 402.0
    room = layout.loads[0].nesting.room
    assert (room.side_mm, room.lead_mm, room.tail_mm) == (15.0, 60.0, 40.0)
    assert all("as stated for Wide one" in one for one in layout.reckoned[:3])
    assert all("states none" in one for one in laid(a_drawn_trial()).reckoned[:3])


def test_a_form_wider_than_what_can_be_printed_is_refused_with_both_widths() -> None:
    facts = a_drawn_trial()
    with pytest.raises(
        BadSetting, match=r"form F7K2 is 432 mm \(17\.01 in\) wide.*422 mm \(16\.61 in\) of its"
    ):
        lay_on_roll(facts, arm(facts, "rag"), a_form((432.0, 300.0)))
    with pytest.raises(BadSetting, match=r"422\.1 mm"):
        lay_on_roll(facts, arm(facts, "rag"), a_form((422.1, 300.0)))
    lay_on_roll(facts, arm(facts, "rag"), a_form((422.0, 300.0)))
    turned = a_drawn_trial(roll={"form": "sheets", "width_mm": 329.0, "length_mm": 483.0, "sheets": 50})
    with pytest.raises(BadSetting, match="473 mm"):
        lay_on_roll(turned, arm(turned, "rag"), a_form((300.0, 480.0)))


def test_a_box_of_sheets_is_laid_out_sheet_by_sheet() -> None:
    """13 x 19 in = 329 x 483 mm; a sheet holds a page of 300 x 250 and one of 300 x 200 mm."""
    box = {"form": "sheets", "width_mm": 329.0, "length_mm": 483.0, "sheets": 40}
    facts = a_drawn_trial(roll=box)
    layout = lay_on_roll(
        facts, arm(facts, "rag"), a_form((300.0, 250.0), (300.0, 200.0)),
        options=LayOptions(without_scraps=True, without_setting=True),
    )  # fmt: skip
    assert [load.nesting.sheets_used for load in layout.loads] == [2, 3]
    assert (layout.sheets_used, layout.left_sheets, layout.used_mm) == (5, 35, None)
    assert layout.more_repeats == 35
    few = lay_on_roll(facts, arm(facts, "rag"), a_form((300.0, 250.0)), uses=[
        RollUse(id="1", roll_id="r-rag", at=NOW, sheets=38)])  # fmt: skip
    assert (few.holds, few.left_sheets, few.repeats_placed) == (2.0, 0, 0)  # setting and chart come first


@pytest.mark.parametrize(
    ("change", "of"),
    [
        ({"sheets": ()}, "order"),
        ({"rolls": ()}, "size"),
        ({"candidates": "no roll"}, "roll"),
    ],
)
def test_what_is_missing_is_named(change: dict[str, object], of: str) -> None:
    facts = a_drawn_trial()
    if change.get("candidates"):
        change = {"candidates": tuple(replace(one, roll_id=None) for one in facts.candidates)}
    facts = replace(facts, **change)  # type: ignore[arg-type]  # by name
    lacks = what_is_missing(facts, arm(facts, "rag"), a_form())
    assert [one.of for one in lacks] == [of]
    with pytest.raises(RefusedInput, match=lacks[0].words[:-1]):
        lay_on_roll(facts, arm(facts, "rag"), a_form())


def test_without_a_form_that_is_missing_and_one_set_aside_is_not_used() -> None:
    facts = a_drawn_trial()
    assert [one.of for one in what_is_missing(facts, arm(facts, "rag"), None)] == ["form"]
    old = a_form(id="old", code="A2")
    gone = a_form(
        id="gone", code="B2", made_at=NOW.replace(year=2027), set_aside_at=NOW, set_aside_why="torn"
    )
    assert form_in_use(replace(facts, forms=(old, gone))) == old
    assert form_in_use(facts) is None
    warned = lay_on_roll(facts, arm(facts, "rag"), gone).warnings
    assert "Form B2 is set aside: torn." in warned


def test_a_print_longer_than_planned_is_told() -> None:
    """490 mm against the usual 480 are within a tenth; 560 are not, side by side they are 280."""
    facts = a_drawn_trial()
    assert laid(facts).repeat_mm == 300 + 10 + 180
    assert not any("what Material says" in one for one in laid(facts).warnings)
    longer = lay_on_roll(facts, arm(facts, "rag"), a_form((220.0, 280.0), (220.0, 270.0)))
    assert longer.repeat_mm == 560.0
    assert any("560 mm (22.05 in)" in one and "what Material says" in one for one in longer.warnings)
    beside = lay_on_roll(facts, arm(facts, "rag"), a_form((200.0, 280.0), (200.0, 280.0)))
    assert beside.repeat_mm == 280.0
    assert not any("what Material says" in one for one in beside.warnings)


def test_a_gap_that_cannot_be_is_refused() -> None:
    for gap in (-1.0, 201.0, float("nan")):
        with pytest.raises(BadSetting, match="gap"):
            laid(a_drawn_trial(), gap_mm=gap)


@settings(max_examples=100, deadline=None)
@given(
    width=st.floats(100.0, 1700.0),
    length=st.one_of(st.none(), st.floats(0.0, 20_000.0)),
    side=st.floats(0.0, 40.0),
    gap=st.floats(0.0, 30.0),
    shares=st.lists(st.tuples(st.floats(0.1, 1.05), st.floats(20.0, 480.0)), min_size=1, max_size=3),
    way=st.sampled_from(("as drawn", "to save length", "in one load")),
    box=st.booleans(),
)
def test_nothing_lies_beyond_the_printable_width_or_over_another(
    width: float,
    length: float | None,
    side: float,
    gap: float,
    shares: list[tuple[float, float]],
    way: LayWay,
    box: bool,
) -> None:
    """Either the form is refused, or every piece lies within the margins and apart from all others."""
    stock = {"form": "sheets", "length_mm": length or 500.0, "sheets": 30} if box else {"length_mm": length}
    facts = a_drawn_trial(
        sheets=3, roll={"width_mm": width, **stock}, printer={"side_margin_mm": side, "widest_mm": None}
    )
    sizes = [(share * (width - 2.0 * side), long) for share, long in shares]
    fits = widths_that_fit(facts)
    longest = max(long for _, long in sizes)
    refused = bool(fits.refusals(max(wide for wide, _ in sizes), longest))
    form = a_form(*sizes)
    candidate = arm(facts, "canvas")
    if what_is_missing(facts, candidate, form):
        return
    if refused:
        event("refused")
        with pytest.raises(BadSetting):
            lay_on_roll(facts, candidate, form, options=LayOptions(way=way, gap_mm=gap))
        return
    layout = lay_on_roll(facts, candidate, form, options=LayOptions(way=way, gap_mm=gap))
    event("laid out" if layout.repeats_placed else "too short")
    for load in layout.loads:
        placed = load.nesting.pieces
        assert len(placed) == sum(one.row > 0 for one in load.pieces)
        for one in placed:
            assert one.box.left_mm >= side - 1e-6
            assert one.box.right_mm <= width - side + 1e-6
            assert not one.turned
        for one, other in combinations(placed, 2):
            assert one.sheet != other.sheet or not one.box.inset(1e-6).touches(other.box)
    if layout.used_mm is not None and layout.holds is not None:
        assert layout.used_mm <= layout.holds + 1e-6


def test_widths_of_a_trial_are_those_of_its_narrowest_medium() -> None:
    facts = a_drawn_trial(printer={"side_margin_mm": 3.0, "widest_mm": 610.0})
    rolls = (replace(facts.rolls[0], width_mm=610.0), facts.rolls[1])
    found = widths_that_fit(replace(facts, rolls=rolls))
    assert [one.printable_mm for one in found.each] == [604.0, 426.0, 426.0]
    assert (found.width_mm, found.length_mm) == (426.0, None)
    assert found.refusals(426.0) == ()
    assert [one.split(":")[0] for one in found.refusals(500.0)] == ["canvas", "canvas coated"]
    assert "426 mm (16.77 in) of its 432 mm" in found.refusals(500.0)[0]
    too_wide = widths_that_fit(
        replace(facts, rolls=(replace(facts.rolls[0], width_mm=1118.0), facts.rolls[1]))
    )
    assert too_wide.each[0].printable_mm is None
    assert "the printer takes 610 mm" in too_wide.each[0].why_not
    gone = tuple(replace(one, withdrawn_at=NOW) for one in facts.candidates)
    assert widths_that_fit(replace(facts, candidates=gone)).width_mm is None


def test_blind_codes_are_apart_and_stay_when_sheets_are_added_or_go() -> None:
    facts = a_drawn_trial(sheets=20)
    key = blind_key(facts, a_form())
    assert len(key) == len(facts.sheets) == 63
    assert all(len(code) == LONG and set(code) <= set(LETTERS) for code in key.values())
    for one, other in combinations(key.values(), 2):
        assert sum(a != b for a, b in zip(one, other, strict=True)) >= 2
    fewer = blind_key(replace(facts, sheets=facts.sheets[10:]), a_form())
    assert all(key[sheet_id] == code for sheet_id, code in fewer.items())
    other = blind_key(facts, a_form(code="G2"))
    assert sum(other[sheet_id] == code for sheet_id, code in key.items()) < 5
    odd = replace(facts, sheets=(replace(facts.sheets[0], code="Proof"),))
    assert blind_key(odd, a_form()) == {}


def test_names_of_the_trial_are_those_used_here() -> None:
    assert tuple(one.name for one in a_drawn_trial().candidates) == NAMES
