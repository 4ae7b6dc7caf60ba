"""The print order: drawn again the same, spread over the days, blind, and uniform."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
from a_small_trial import MONDAY, a_trial
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import chi2, chisquare

from laydown.kernel.errors import BadSetting
from laydown.trials.print_order import (
    CODE_DIGITS,
    CODE_LETTERS,
    ORDER_WAYS,
    Share,
    Turn,
    draw_order,
    loads_of,
    order_choices,
    planned_turns,
    shares_of,
    sheet_codes,
)
from laydown.trials.trial import OrderKind

FROZEN = [
    ("L8", "canvas coated"),
    ("C5", "baryta"),
    ("C3", "house"),
    ("N2", "baryta"),
    ("C6", "baryta"),
]
FIVE = (
    Share(candidate_id="house", sheets=5, house=True),
    Share(candidate_id="rag", sheets=5),
    Share(candidate_id="baryta", sheets=5),
    Share(candidate_id="canvas", sheets=5, stock="canvas roll"),
    Share(candidate_id="canvas coated", sheets=5, stock="canvas roll"),
)
LISTS = st.lists(st.integers(0, 12), min_size=1, max_size=7)


def _shares(counts: list[int], days: int) -> tuple[Share, ...]:
    return tuple(
        Share(candidate_id=f"c{i}", sheets=max(n, days) if i == 0 else n, house=i == 0)
        for i, n in enumerate(counts)
    )


@settings(deadline=None, max_examples=80)
@given(LISTS, st.integers(1, 5), st.integers(0, 2**70), st.sampled_from(ORDER_WAYS))
def test_every_sheet_has_one_turn_and_days_are_even(
    counts: list[int], days: int, seed: int, way: OrderKind
) -> None:
    shares = _shares(counts, days)
    turns = draw_order(shares, days=days, seed=seed, way=way)
    assert [turn.place for turn in turns] == list(range(1, sum(s.sheets for s in shares) + 1))
    assert [turn.day for turn in turns] == sorted(turn.day for turn in turns)
    assert len({turn.code for turn in turns}) == len(turns)
    for share in shares:
        each_day = [
            sum(t.candidate_id == share.candidate_id and t.day == day for t in turns)
            for day in range(1, days + 1)
        ]
        assert sum(each_day) == share.sheets
        assert max(each_day) - min(each_day) <= 1
        assert not share.house or min(each_day) >= 1
    totals = [sum(turn.day == day for turn in turns) for day in range(1, days + 1)]
    assert max(totals) - min(totals) <= 1


def test_the_same_seed_draws_the_same_and_another_another() -> None:
    assert draw_order(FIVE, days=2, seed=1) == draw_order(FIVE, days=2, seed=1)
    assert draw_order(FIVE, days=2, seed=1) != draw_order(FIVE, days=2, seed=2)


def test_the_draw_follows_the_documented_recipe() -> None:
    """Written out again from the docstring: an order drawn last year must be drawn the same next year."""
    bits = np.random.PCG64(7)

    def below(bound: int) -> int:
        while (raw := int(bits.random_raw())) >= 2**64 - 2**64 % bound:
            pass
        return raw % bound

    def shuffled(items: list[str]) -> list[str]:
        for last in reversed(range(1, len(items))):
            other = below(last + 1)
            items[last], items[other] = items[other], items[last]
        return items

    shares = (Share(candidate_id="a", sheets=2), Share(candidate_id="b", sheets=2))
    for _ in shares:
        shuffled(["first", "second"])
    days = [shuffled(["a", "b"]), shuffled(["a", "b"])]
    codes = shuffled([letter + digit for letter in CODE_LETTERS for digit in CODE_DIGITS])[:4]
    expected = [(day, name) for day, names in enumerate(days, 1) for name in names]
    assert draw_order(shares, days=2, seed=7) == tuple(
        Turn(place, day, name, code)
        for place, ((day, name), code) in enumerate(zip(expected, codes, strict=True), start=1)
    )


def test_a_seed_draws_what_it_drew_in_the_first_version() -> None:
    """Computed once with this program: guards the promise that no later version draws otherwise."""
    turns = draw_order(FIVE, days=2, seed=20260131)
    assert [(turn.code, turn.candidate_id) for turn in turns[:5]] == FROZEN


def _positions(way: OrderKind, seeds: int) -> np.ndarray[tuple[int, int], np.dtype[np.int64]]:
    """How often each candidate came at each place of the first day."""
    shares = tuple(Share(candidate_id=str(i), sheets=2, house=i == 0) for i in range(5))
    seen = np.zeros((5, 5), dtype=np.int64)
    for seed in range(seeds):
        for turn in draw_order(shares, days=2, seed=seed, way=way)[:5]:
            seen[int(turn.candidate_id), turn.place - 1] += 1
    return seen


def _chance_of_such_positions(seen: np.ndarray[tuple[int, int], np.dtype[np.int64]], seeds: int) -> float:
    """The chance of counts as uneven as these if every order of n is equally likely.

    The entries of a random permutation matrix have covariance (I - J/n) x (I - J/n) / (n - 1), so that
    (n - 1)/n times the usual sum follows chi-square with (n - 1)^2 degrees of freedom (derived here).
    """
    n = len(seen)
    expected = seeds / n
    return float(chi2.sf((n - 1) / n * ((seen - expected) ** 2 / expected).sum(), (n - 1) ** 2))


@pytest.mark.parametrize("way", ["randomised, blocked by day", "randomised, grouped within day"])
def test_every_candidate_comes_equally_often_at_every_place(way: OrderKind) -> None:
    # The limit is our own choice; the seeds are fixed, so that this cannot fail by chance.
    seen = _positions(way, 4000)
    assert (seen.sum(axis=0) == 4000).all()
    assert 0.001 < _chance_of_such_positions(seen, 4000) < 0.999


def test_the_chi_square_above_would_see_a_bias() -> None:
    assert _chance_of_such_positions(_positions("as listed", 400), 400) < 1e-6


def test_a_remainder_falls_on_every_day_equally_often() -> None:
    shares = (Share(candidate_id="a", sheets=4), Share(candidate_id="b", sheets=5))
    first = Counter(
        next(
            day
            for day in (1, 2, 3)
            if sum(t.day == day and t.candidate_id == "a" for t in draw_order(shares, days=3, seed=seed)) == 2
        )
        for seed in range(900)
    )
    assert chisquare([first[day] for day in (1, 2, 3)]).pvalue > 0.001


def test_within_a_group_one_candidates_sheets_stay_together_and_arms_of_one_roll_are_neighbours() -> None:
    turns = draw_order(FIVE, days=2, seed=3, way="randomised, grouped within day")
    loads = loads_of(turns, FIVE)
    assert len(loads) == 2 * 4
    for day in (1, 2):
        names = [turn.candidate_id for turn in turns if turn.day == day]
        assert len([name for name, last in zip(names, [None, *names]) if name != last]) == 5


def test_as_listed_is_as_listed() -> None:
    names = [turn.candidate_id for turn in draw_order(FIVE, days=1, seed=3, way="as listed")]
    assert names == [share.candidate_id for share in FIVE for _ in range(5)]


def test_two_printers_keep_their_own_queues() -> None:
    shares = (
        Share(candidate_id="a", sheets=3, printer="left"),
        Share(candidate_id="b", sheets=3, printer="right"),
    )
    turns = draw_order(shares, days=1, seed=5)
    assert [(load.printer, len(load.places)) for load in loads_of(turns, shares)] in (
        [("left", 3), ("right", 3)],
        [("right", 3), ("left", 3)],
    )


def test_choices_show_what_reloading_costs_and_what_is_lost() -> None:
    free, grouped, listed = order_choices(FIVE, days=2, seed=1)
    assert free.loads > grouped.loads == listed.loads == 8
    assert grouped.minutes == 8 * 6
    assert not free.loses
    assert "cannot be told apart" in grouped.loses
    assert "no arithmetic" in listed.loses


def test_boxes_of_sheets_need_no_roll() -> None:
    shares = (Share(candidate_id="a", sheets=2, on_roll=False), Share(candidate_id="b", sheets=2))
    assert order_choices(shares, days=2, seed=1)[1].loads == 2


@settings(deadline=None, max_examples=60)
@given(st.integers(0, 700), st.integers(0, 2**32))
def test_codes_are_short_unique_and_hard_to_misread(count: int, seed: int) -> None:
    codes = sheet_codes(count, seed=seed)
    assert len(set(codes)) == count
    assert len({len(code) for code in codes}) <= 1
    assert all(len(code) == (2 if count <= 84 else 3 if count <= 588 else 4) for code in codes)
    assert not set("".join(codes)) & set("019OQDIBSZGUVWAMF")
    assert not set(codes) & {"A3", "A4", "M0", "M1", "M2", "M3", "F2"}


def test_codes_already_on_sheets_are_not_given_again() -> None:
    first = sheet_codes(60, seed=1)
    later = sheet_codes(24, seed=1, taken=[code.lower() for code in first])
    assert not set(first) & set(later)
    assert {len(code) for code in later} == {2}
    assert {len(code) for code in sheet_codes(25, seed=1, taken=first)} == {3}


def test_codes_do_not_follow_candidates() -> None:
    letters = {t.code[0] for t in draw_order(FIVE, days=2, seed=4) if t.candidate_id == "house"}
    assert len(letters) > 1


@pytest.mark.parametrize(
    ("shares", "days", "seed", "told"),
    [
        (FIVE, 0, 1, "printing days"),
        (FIVE, 2, -1, "negative"),
        ((FIVE[0], FIVE[0]), 2, 1, "listed twice"),
        ((Share(candidate_id="a", sheets=-1),), 1, 1, "negative"),
        ((Share(candidate_id="a", sheets=10**6),), 1, 1, "more than 10000"),
        ((Share(candidate_id="a", sheets=1, house=True),), 2, 1, "every day needs one"),
    ],
)
def test_what_cannot_be_ordered_is_refused(
    shares: tuple[Share, ...], days: int, seed: int, told: str
) -> None:
    with pytest.raises(BadSetting, match=told):
        draw_order(shares, days=days, seed=seed)


def test_nothing_to_print_is_no_order() -> None:
    assert draw_order((), days=2, seed=1) == ()
    assert sheet_codes(0, seed=1) == ()
    with pytest.raises(BadSetting):
        sheet_codes(-1, seed=1)


def test_a_plan_asks_for_as_many_of_every_candidate_that_is_in() -> None:
    facts = a_trial()
    gone = replace(
        facts,
        candidates=(
            *facts.candidates[:1],
            replace(facts.candidates[1], withdrawn_at=MONDAY),
            *facts.candidates[2:],
        ),
        rolls=tuple(replace(r, form="sheets") if r.id == "r-m-rag" else r for r in facts.rolls),
    )
    assert shares_of(gone) == (
        Share(candidate_id="c-rag", sheets=2, house=True, stock="r-m-rag", printer="p", on_roll=False),
        Share(candidate_id="c-canvas", sheets=2, stock="r-m-canvas", printer="p"),
        Share(candidate_id="c-canvas coated", sheets=2, stock="r-m-canvas", printer="p"),
    )
    assert shares_of(replace(facts, plan=None)) == ()


def test_without_a_roll_the_lot_and_then_the_medium_tell_what_is_loaded() -> None:
    facts = a_trial()
    no_roll = replace(facts, candidates=tuple(replace(c, roll_id=None) for c in facts.candidates))
    assert [share.stock for share in shares_of(no_roll)][2:] == ["l-m-canvas"] * 2
    no_lot = replace(facts, candidates=tuple(replace(c, roll_id=None, lot_id=None) for c in facts.candidates))
    assert [share.stock for share in shares_of(no_lot)][2:] == ["m-canvas"] * 2


def test_an_order_once_drawn_stands_whatever_the_plan_says_now() -> None:
    facts = a_trial()
    turns = planned_turns(facts)
    assert [turn.code for turn in turns] == [sheet.code for sheet in facts.sheets]
    shuffled = replace(facts, sheets=facts.sheets[::-1])
    assert planned_turns(shuffled) == turns
    open_order = replace(facts, sheets=())
    assert facts.plan is not None
    assert planned_turns(open_order) == draw_order(
        shares_of(facts), days=2, seed=facts.plan.seed, way=facts.plan.order
    )
    assert planned_turns(replace(open_order, plan=None)) == ()
    spare = replace(facts, sheets=tuple(replace(sheet, use="spare") for sheet in facts.sheets))
    assert planned_turns(spare) == planned_turns(open_order)


def test_the_most_that_can_be_ordered_is_ordered() -> None:
    assert len(draw_order((Share(candidate_id="a", sheets=10_000),), days=1, seed=1)) == 10_000


def test_sheets_of_a_candidate_that_has_no_share_any_more_are_loaded_too() -> None:
    turns = draw_order(FIVE, days=1, seed=1, way="as listed")
    assert len(loads_of(turns, FIVE[1:])) == 4
    assert loads_of(turns, FIVE[1:])[0].stock == "house"
