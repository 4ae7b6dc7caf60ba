from __future__ import annotations

import json
import pickle
import subprocess
import sys
import time
from itertools import product
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from laydown.kernel.errors import BadSetting
from laydown.science.deciding import Difference, Judgement, Quantity, judge
from laydown.science.deciding.judge import call_of, pair_order
from laydown.science.numeric import not_told_apart

BLACK = Quantity("black", "L*", preference="lower", margin=0.5)
PLAIN = Quantity("plain", "x")


def pair(found: Judgement, candidate: str, against: str) -> Difference:
    return next(d for d in found.differences if (d.candidate, d.against) == (candidate, against))


def five(rng: np.random.Generator, centre: float, sd: float = 0.1) -> np.ndarray:
    return rng.normal(centre, sd, 5)


def test_a_clear_case() -> None:
    found = judge(
        {"cotton": [15.1, 15.2, 15.0], "canvas": [18.0, 18.1, 18.3]},
        BLACK,
        quantities_judged=1,
        house="canvas",
    )
    (only,) = found.differences
    assert (only.candidate, only.against, only.call, only.real) == ("cotton", "canvas", "better", True)
    assert only.difference == pytest.approx(-91 / 30)
    assert only.sheets_needed is None
    assert found.letters == {"cotton": "a", "canvas": "b"}
    assert found.pooled
    assert "share" in found.assumption or "One spread" in found.assumption


def test_shared_spread_by_hand() -> None:
    a, b, c = np.array([1.0, 2.0, 3.0]), np.array([4.0, 4.5]), np.array([2.0, 2.5, 3.5])
    found = judge({"a": a, "b": b, "c": c}, PLAIN, quantities_judged=1)
    df = 5
    pool = sum(((v - v.mean()) ** 2).sum() for v in (a, b, c)) / df
    half = stats.t.ppf(0.975, df) * np.sqrt(pool / 2)
    assert (found.estimates["b"].low, found.estimates["b"].high) == pytest.approx((4.25 - half, 4.25 + half))
    assert found.estimates["b"].sd == pytest.approx(b.std(ddof=1))
    # a varied more than the shared spread says, so the interval of its difference is not narrower than that.
    assert a.var(ddof=1) > pool > b.var(ddof=1)
    half = stats.t.ppf(0.975, df) * np.sqrt(a.var(ddof=1) / 3 + pool / 2)
    gap = pair(found, "a", "b")
    assert (gap.low, gap.high) == pytest.approx((-2.25 - half, -2.25 + half))


def test_five_sheets_use_their_own_spread(rng: np.random.Generator) -> None:
    a, b, c = five(rng, 1.0), five(rng, 2.0, 0.5), five(rng, 3.0, 2.0)
    found = judge({"a": a, "b": b, "c": c}, PLAIN, quantities_judged=4)
    assert not found.pooled
    for name, values in (("a", a), ("b", b), ("c", c)):
        expected = stats.t.interval(0.95, 4, values.mean(), values.std(ddof=1) / np.sqrt(5))
        assert (found.estimates[name].low, found.estimates[name].high) == pytest.approx(expected)
    oracle = stats.ttest_ind(a, c, equal_var=False)
    gap = pair(found, "a", "c")
    interval = oracle.confidence_interval(0.95)
    assert (gap.low, gap.high) == pytest.approx((interval.low, interval.high))
    # Welch with the larger variance doubled in the df, Sidak over 3 pairs, Bonferroni over 4 quantities.
    va, vb = a.var(ddof=1), 2 * c.var(ddof=1)
    df = 4 * (va + vb) ** 2 / (va**2 + vb**2)
    assert df < oracle.df
    plain = 2 * stats.t.sf(abs(oracle.statistic), df)
    assert gap.p_adjusted == pytest.approx(min(1.0, 4 * (1 - (1 - plain) ** 3)))


def test_nist_groups_get_their_letters(tables: Path) -> None:
    groups = json.loads((tables / "nist_tukey.json").read_text(encoding="utf-8"))["groups"]
    samples = {f"g{i + 1}": values for i, values in enumerate(groups)}
    found = judge(samples, Quantity("x", "", preference="lower"), quantities_judged=1)
    # Own spreads at five sheets: the two pairs that NIST's pooled test finds at p 0.02-0.04 stay open.
    assert [d.real for d in found.differences] == [False, True, False, False, False, True]
    assert found.letters == {"g1": "a", "g4": "a", "g2": "ab", "g3": "b"}


def test_calls_are_stricter_than_a_plain_pooled_test() -> None:
    a, b, c = [1.0, 1.2, 1.1], [1.5, 1.7, 1.6], [1.1, 1.3, 1.2]
    found = judge({"a": a, "b": b, "c": c}, PLAIN, quantities_judged=1)
    plain = stats.tukey_hsd(a, b, c).pvalue
    assert pair(found, "a", "b").p_adjusted > plain[0, 1]
    # The worst of the three cases, worked by hand: df 6 in all, 2 each; true variances 4:4:1 or 4:1:1.
    t = 0.5 / np.sqrt(0.01 * 2 / 3)
    both = stats.studentized_range.sf(t * np.sqrt(2) / np.sqrt(4 * 6 / 18), 3, 18**2 / (6 + 4 * 15))
    one = stats.studentized_range.sf(t * np.sqrt(2) / np.sqrt(2.5 * 6 / 12), 3, 12**2 / (6 + 2 * 15))
    assert pair(found, "a", "b").p_adjusted == pytest.approx(max(both, one), rel=1e-4)


@pytest.mark.parametrize(
    ("real", "same", "preference", "difference", "call"),
    [
        (True, False, "higher", 1.0, "better"),
        (True, False, "higher", -1.0, "worse"),
        (True, False, "lower", 1.0, "worse"),
        (True, False, "lower", -1.0, "better"),
        (True, False, "none", 1.0, "higher"),
        (True, False, "none", -1.0, "lower"),
        *((r, True, p, d, "same") for r, p, d in product((True, False), ("higher", "none"), (1.0, -1.0))),
        *((False, False, p, d, "cannot_tell") for p, d in product(("lower", "none"), (1.0, -1.0))),
    ],
)
def test_every_call(real: bool, same: bool, preference: str, difference: float, call: str) -> None:
    quantity = Quantity("q", "", preference=preference)  # type: ignore[arg-type]  # a parametrised literal
    assert call_of(difference, real=real, same=same, quantity=quantity) == call


def test_real_but_small_is_the_same(rng: np.random.Generator) -> None:
    samples = {"a": rng.normal(10.0, 0.01, 8), "b": rng.normal(10.1, 0.01, 8)}
    (only,) = judge(samples, BLACK, quantities_judged=20).differences
    assert only.real
    assert only.call == "same"
    assert "real but small" in only.reason
    without = Quantity("black", "L*", preference="lower")
    (open_,) = judge(samples, without, quantities_judged=20).differences
    assert open_.call == "better"
    assert np.isnan(open_.p_equivalence)


def test_same_needs_a_margin() -> None:
    samples = {"a": [10.0, 10.1, 9.9], "b": [10.0, 10.1, 9.9]}
    (told,) = judge(samples, Quantity("q", "mm", margin=5.0), quantities_judged=1).differences
    assert told.call == "same"
    assert "5 mm" in told.reason
    (untold,) = judge(samples, Quantity("q", "mm"), quantities_judged=1).differences
    assert untold.call == "cannot_tell"
    assert "no margin is set" in untold.reason
    assert untold.sheets_needed is None


def test_one_sheet_allows_no_call_even_beside_others() -> None:
    found = judge({"a": [1.0, 1.1, 0.9], "b": [9.0], "c": [2.0, 2.1]}, BLACK, quantities_judged=1)
    assert found.estimates["b"].value == 9.0
    assert found.estimates["b"].n == 1
    assert np.isnan([found.estimates["b"].low, found.estimates["b"].high, found.estimates["b"].sd]).all()
    for other in (pair(found, "a", "b"), pair(found, "b", "c")):
        assert other.call == "cannot_tell"
        assert np.isnan([other.low, other.high, other.p_adjusted, other.p_equivalence]).all()
        assert "one sheet: nothing can be said about spread; print at least two more" in other.reason
        assert other.sheets_needed == 3
    assert pair(found, "a", "c").real
    assert found.letters["b"] == ""


def test_missing_values_are_left_out_and_counted_out() -> None:
    nan = float("nan")
    with_gaps = judge({"a": [1.0, nan, 1.2, 1.1], "b": [nan, 2.0, 2.2]}, BLACK, quantities_judged=3)
    without = judge({"a": [1.0, 1.2, 1.1], "b": [2.0, 2.2]}, BLACK, quantities_judged=3)
    assert with_gaps.differences == without.differences
    assert with_gaps.estimates == without.estimates
    empty = judge({"a": [nan, nan], "b": [2.0, 2.2], "c": []}, BLACK, quantities_judged=3)
    assert empty.estimates["a"].n == 0
    assert np.isnan(empty.estimates["a"].value)
    assert pair(empty, "a", "b").reason == "No sheet of a has this number."
    assert empty.letters == {"a": "", "b": "", "c": ""}


def test_no_candidates_and_one_candidate() -> None:
    assert judge({}, BLACK, quantities_judged=1).differences == ()
    alone = judge({"a": [1.0, 2.0, 3.0]}, BLACK, quantities_judged=1)
    expected = stats.t.interval(0.95, 2, 2.0, 1.0 / np.sqrt(3))
    assert (alone.estimates["a"].low, alone.estimates["a"].high) == pytest.approx(expected)
    assert alone.letters == {"a": ""}


def test_identical_values_never_give_certainty() -> None:
    copies = {"a": [5.0, 5.0, 5.0], "b": [7.0, 7.0, 7.0]}
    found = judge(copies, BLACK, quantities_judged=1)
    (only,) = found.differences
    assert only.call == "cannot_tell"
    assert "exactly the same number" in only.reason
    assert np.isnan([only.low, only.high, found.estimates["a"].low]).all()
    counted = judge(
        copies, Quantity("count", "steps", preference="lower", resolution=1.0), quantities_judged=1
    )
    floor = stats.t.ppf(0.975, 4) * np.sqrt(1 / 12 / 3)
    assert counted.estimates["a"].high - 5.0 == pytest.approx(floor)
    assert "resolution (1 steps)" in counted.assumption


def test_mean_rounding_is_no_spread() -> None:
    found = judge({"a": [0.1, 0.1, 0.1], "b": [0.7, 0.7, 0.7]}, BLACK, quantities_judged=1)
    assert found.estimates["a"].sd == 0.0
    assert found.differences[0].call == "cannot_tell"


def test_copies_borrow_spread_and_lend_none() -> None:
    found = judge({"a": [5.0, 5.0], "b": [7.0, 7.4], "c": [1.0, 1.4]}, PLAIN, quantities_judged=1)
    half = stats.t.ppf(0.975, 2) * np.sqrt(0.08 / 2)
    assert found.estimates["a"].high - 5.0 == pytest.approx(half)
    assert "no evidence of a small spread" in found.assumption
    lender = judge({"a": [5.0, 5.0], "b": [7.0, 7.4]}, PLAIN, quantities_judged=1)
    assert np.isfinite(lender.differences[0].p_adjusted)


def test_one_candidate_far_too_wide_keeps_its_own_spread(rng: np.random.Generator) -> None:
    samples = {str(i): rng.normal(i, 0.1, 4) for i in range(5)} | {"wide": rng.normal(0.0, 10.0, 4)}
    found = judge(samples, PLAIN, quantities_judged=1)
    assert not found.pooled
    assert "wide varied too much" in found.assumption
    own = stats.t.interval(0.95, 3, np.mean(samples["wide"]), np.std(samples["wide"], ddof=1) / 2)
    assert (found.estimates["wide"].low, found.estimates["wide"].high) == pytest.approx(own)
    assert pair(found, "0", "4").real


def test_refused_pairs_give_no_numbers_whichever_way_round() -> None:
    samples = {"a": [1.0, 1.1, 1.2], "b": [5.0, 5.1, 5.2], "c": [9.0, 9.1, 9.2]}
    found = judge(
        samples, BLACK, quantities_judged=1, refused={("b", "a"): "read under M1 and M2", ("x", "y"): "?"}
    )
    kept_out = pair(found, "a", "b")
    assert kept_out.refused
    assert kept_out.call == "cannot_tell"
    assert kept_out.reason == "read under M1 and M2"
    assert kept_out.sheets_needed is None
    assert np.isnan([kept_out.difference, kept_out.low, kept_out.p_adjusted, kept_out.p_equivalence]).all()
    # What may be compared is as it would be without the refusal.
    free = judge(samples, BLACK, quantities_judged=1)
    assert pair(found, "a", "c") == pair(free, "a", "c")
    alone = judge(samples, BLACK, quantities_judged=1, refused={("a", "b"): "no", ("c", "a"): "no"})
    assert alone.letters["a"] == ""
    assert not not_told_apart(alone.letters["b"], alone.letters["c"])


def test_order_of_pairs() -> None:
    first, second = pair_order(["a", "b", "c", "d"], house="c")
    names = "abcd"
    told = [names[i] + names[j] for i, j in zip(first, second, strict=True)]
    assert told == ["ac", "bc", "dc", "ab", "ad", "bd"]
    first, second = pair_order(["a", "b", "c"], house=None)
    assert [(int(i), int(j)) for i, j in zip(first, second, strict=True)] == [(0, 1), (0, 2), (1, 2)]


def test_more_quantities_make_calls_stricter() -> None:
    samples = {"a": [1.0, 1.2, 1.1], "b": [2.5, 2.7, 2.6]}
    p = [judge(samples, PLAIN, quantities_judged=m).differences[0].p_adjusted for m in (1, 5, 25)]
    assert p[1] == pytest.approx(5 * p[0])
    assert p[2] == pytest.approx(25 * p[0])


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"quantities_judged": 0}, "quantities judged"),
        ({"quantities_judged": 1, "alpha": 0.7}, "chance of a wrong call"),
        ({"quantities_judged": 1, "confidence": 1.0}, "confidence"),
        ({"quantities_judged": 1, "house": "nobody"}, "nobody"),
    ],
)
def test_options_that_make_no_sense_are_refused(options: dict[str, object], words: str) -> None:
    with pytest.raises(BadSetting, match=words):
        judge({"a": [1.0, 2.0]}, PLAIN, **options)  # type: ignore[arg-type]  # wrong on purpose


@pytest.mark.parametrize("wrong", [{"margin": 0.0}, {"margin": float("nan")}, {"resolution": -1.0}])
def test_quantities_that_make_no_sense_are_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(BadSetting, match="plain"):
        judge({"a": [1.0, 2.0]}, Quantity("plain", "x", **wrong), quantities_judged=1)  # type: ignore[arg-type]


def test_inputs_are_not_changed_and_results_can_be_pickled() -> None:
    values = np.array([1.0, np.nan, 1.3])
    values.flags.writeable = False
    found = judge({"a": values, "b": [2.0, 2.1]}, BLACK, quantities_judged=1)
    assert pickle.loads(pickle.dumps(found)) == found  # noqa: S301 - our own bytes


@settings(deadline=None, max_examples=60)
@given(st.integers(0, 2**32 - 1), st.integers(2, 6), st.floats(-50, 50), st.floats(0.1, 20.0))
def test_calls_do_not_depend_on_origin_unit_or_direction(
    seed: int, k: int, shift: float, scale: float
) -> None:
    rng = np.random.default_rng(seed)
    samples = {str(i): rng.normal(rng.normal(0, 5), 1.0, rng.integers(1, 7)) for i in range(k)}
    plain = judge(samples, Quantity("q", "", "higher", 2.0), quantities_judged=3)
    moved = judge(
        {name: values * scale + shift for name, values in samples.items()},
        Quantity("q", "", "higher", 2.0 * scale),
        quantities_judged=3,
    )
    turned = judge(
        {name: -values for name, values in samples.items()},
        Quantity("q", "", "lower", 2.0),
        quantities_judged=3,
    )
    for other in (moved, turned):
        assert [d.call for d in other.differences] == [d.call for d in plain.differences]
        assert other.letters == plain.letters


@settings(deadline=None, max_examples=60)
@given(st.integers(0, 2**32 - 1), st.integers(2, 7))
def test_what_a_judgement_promises(seed: int, k: int) -> None:
    rng = np.random.default_rng(seed)
    samples = {str(i): rng.normal(rng.normal(0, 8), 1.0, rng.integers(0, 6)) for i in range(k)}
    found = judge(samples, Quantity("q", "", "higher", 1.5), quantities_judged=2, house="0")
    assert len(found.differences) == k * (k - 1) // 2
    assert [d.against for d in found.differences[: k - 1]] == ["0"] * (k - 1)
    for item in found.differences:
        told = item.call in {"better", "worse"}
        assert told == (item.real and not item.p_equivalence <= 0.05)
        assert (item.call == "cannot_tell") or item.sheets_needed is None
        if np.isfinite(item.p_adjusted):
            assert item.low < item.difference < item.high
            assert not_told_apart(found.letters[item.candidate], found.letters[item.against]) != item.real
        if item.real:
            assert item.low > 0 or item.high < 0


def test_sheets_needed_is_about_right(rng: np.random.Generator) -> None:
    # With the spread as seen true, the number named settles about four trials in five.
    samples = {"a": [0.0, 2.0, 1.0], "b": [2.0, 4.0, 3.0], "c": [1.0, 0.0, 2.0]}
    found = judge(samples, PLAIN, quantities_judged=2)
    needed = pair(found, "a", "b").sheets_needed
    assert needed is not None
    assert 5 <= needed < 30
    truth = {"a": 1.0, "b": 3.0, "c": 1.0}
    settled = []
    for n in (needed, needed - 2):
        calls = [
            pair(
                judge({c: rng.normal(m, 1.0, n) for c, m in truth.items()}, PLAIN, quantities_judged=2),
                "a",
                "b",
            ).real
            for _ in range(400)
        ]
        settled.append(np.mean(calls))
    assert 0.72 < settled[0] < 0.92
    assert settled[1] < settled[0]


def test_sheets_needed_for_sameness_with_few_sheets(rng: np.random.Generator) -> None:
    quantity = Quantity("q", "", margin=3.0)
    found = judge(
        {"a": [0.0, 2.0], "b": [0.1, 1.9], "c": [0.2, 2.1], "d": [0.0, 2.2]}, quantity, quantities_judged=9
    )
    needed = pair(found, "a", "b").sheets_needed
    assert needed in {3, 4, 5, 6}
    sd = np.sqrt(np.mean([2.0, 1.62, 1.805, 2.42]))
    same = [
        pair(
            judge({c: rng.normal(0.0, sd, needed) for c in "abcd"}, quantity, quantities_judged=9), "a", "b"
        ).call
        == "same"
        for _ in range(400)
    ]
    assert np.mean(same) > 0.75


def test_a_whole_comparison_takes_moments(rng: np.random.Generator) -> None:
    # 12 media x 3 sheets x 25 quantities, 1650 pairs; measured 0.25 s.
    samples = {str(i): rng.normal(i, 1.0, 3) for i in range(12)}
    judge(samples, BLACK, quantities_judged=25)
    started = time.perf_counter()
    for _ in range(25):
        judge(samples, BLACK, quantities_judged=25)
    assert time.perf_counter() - started < 2.0


def test_importing_is_light() -> None:
    script = "import sys, laydown.science.deciding; print('scipy.stats' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
