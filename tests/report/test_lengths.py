"""Lengths as a studio says them; an inch is 25.4 mm by definition (international inch, 1959)."""

from __future__ import annotations

import pytest

from laydown.report.lengths import length_words, parse_length, run_words


@pytest.mark.parametrize(
    ("mm", "told"),
    [
        (432.0, "17 in"),  # sold as 17 in, which is 431.8 mm
        (610.0, "24 in"),  # 609.6 mm
        (1118.0, "44 in"),  # 1117.6 mm
        (216.0, "8.5 in"),  # 215.9 mm
        (431.8, "17 in"),
        (329.0, "12.95 in"),  # 13 in are 330.2 mm: more than the last place of a size in millimetres
        (433.0, "17.05 in"),
        (3.0, "0.12 in"),
        (0.3, "0.01 in"),
        (None, "not stated"),
    ],
)
def test_inches_are_those_of_the_label_where_millimetres_cannot_tell(mm: float | None, told: str) -> None:
    assert length_words(mm, units="inch") == told


@pytest.mark.parametrize(("mm", "told"), [(432.0, "432 mm"), (431.8, "432 mm"), (76.2, "76.2 mm")])
def test_millimetres_stay_millimetres(mm: float, told: str) -> None:
    assert length_words(mm, units="metric") == told


def test_what_is_shown_is_read_back() -> None:
    assert parse_length(length_words(432.0, units="inch"), units="inch") == pytest.approx(431.8)
    assert parse_length(run_words(6096.0, units="inch"), units="inch") == pytest.approx(6096.0)
