from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.science.numeric import compact_letters, not_told_apart, order_by


def symmetric(k: int, pairs: list[tuple[int, int]]) -> np.ndarray:
    out = np.zeros((k, k), dtype=bool)
    for i, j in pairs:
        out[i, j] = out[j, i] = True
    return out


def test_nist_groups() -> None:
    # NIST/SEMATECH 7.4.7.1: 1 and 4 differ from 2 and 3; lowest mean first.
    different = symmetric(4, [(0, 1), (0, 2), (3, 1), (3, 2)])
    assert compact_letters(different, order=[0, 3, 1, 2]) == ("a", "b", "b", "a")


def test_smallest_case_with_an_overlap() -> None:
    assert compact_letters(symmetric(3, [(1, 2)]), order=[1, 0, 2]) == ("ab", "a", "b")


def test_nothing_different_all_different_nobody() -> None:
    assert compact_letters(symmetric(3, []), order=[2, 1, 0]) == ("a", "a", "a")
    every = symmetric(3, [(0, 1), (0, 2), (1, 2)])
    assert compact_letters(every, order=[2, 0, 1]) == ("b", "c", "a")
    assert compact_letters(np.zeros((0, 0), dtype=bool), order=[]) == ()


@settings(deadline=None, max_examples=200)
@given(st.integers(1, 9), st.data())
def test_share_a_letter_exactly_when_not_different(k: int, data: st.DataObject) -> None:
    # The defining property (Piepho 2004).
    pairs = [(i, j) for i in range(k) for j in range(i + 1, k)]
    chosen = data.draw(st.lists(st.sampled_from(pairs), unique=True)) if pairs else []
    order = data.draw(st.permutations(range(k)))
    different = symmetric(k, chosen)
    letters = compact_letters(different, order=order)
    assert letters[order[0]].startswith("a")
    for i, j in pairs:
        assert not_told_apart(letters[i], letters[j]) != different[i, j]


def test_more_letters_than_the_alphabet_has() -> None:
    k = 30
    every = ~np.eye(k, dtype=bool)
    letters = compact_letters(every, order=range(k))
    assert len(set(letters)) == k
    assert letters[26] == "(aa)"
    assert not any(not_told_apart(letters[i], letters[j]) for i in range(k) for j in range(i))


def test_order_by_value() -> None:
    values = [2.0, float("nan"), 5.0, 2.0]
    assert order_by(values, highest_first=True) == [2, 0, 3, 1]
    assert order_by(values, highest_first=False) == [0, 3, 2, 1]
