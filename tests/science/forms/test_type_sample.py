"""The type sample."""

import string

import numpy as np
import pytest
from drawn_elements import BLACK, drawn, inside

from laydown.kernel.errors import BadSetting
from laydown.science.forms.type_sample import SENTENCE, SIZES_PT, type_sample

AT = {"left_mm": 2.0, "top_mm": 2.0, "channels": BLACK}


def test_the_sentence_has_every_letter_and_digit():
    assert set(string.ascii_lowercase + string.digits) <= set(SENTENCE.lower())


def test_sizes_go_from_3_to_12_points():
    facts = type_sample(**AT).facts
    assert facts["sizes_pt"] == SIZES_PT
    assert (min(SIZES_PT), max(SIZES_PT)) == (3.0, 12.0)


def test_each_line_holds_the_words_it_says_and_stands_on_its_baseline():
    ppi = 720
    element = type_sample(**AT)
    ink = drawn([element], channels=BLACK, ppi=ppi)[..., 0]
    facts = element.facts
    for number, (size, base) in enumerate(
        zip(facts["sizes_pt"], facts["baselines_mm"], strict=True), start=1
    ):
        assert SENTENCE.startswith(facts[f"line_{number}"])
        # The F that begins it stands on the baseline; its height is 0.7 of the size, within a tenth, as in
        # most typefaces (common practice, no source).
        column = slice(
            round(facts["left_mm"] * ppi / 25.4), round((facts["left_mm"] + size * 0.12) * ppi / 25.4)
        )
        top = round((base - size * 25.4 / 72) * ppi / 25.4)
        rows = np.flatnonzero(ink[top : round((base + 0.6) * ppi / 25.4), column].max(axis=1) > 127) + top
        assert (rows[-1] + 1) / ppi * 25.4 == pytest.approx(base, abs=25.4 / ppi)
        assert np.ptp(rows) / ppi * 72.0 == pytest.approx(0.7 * size, rel=0.1)


def test_reversed_letters_leave_out_what_the_others_print():
    ppi = 300
    dark, light = (type_sample(reversed_out=out, **AT) for out in (False, True))
    assert dark.box == light.box
    shown = [inside(drawn([one], channels=BLACK, ppi=ppi), one.box, ppi).astype(int) for one in (dark, light)]
    assert np.abs(shown[0] + shown[1] - 255).max() <= 1  # each is rounded once for each letter


def test_each_line_begins_with_the_number_of_its_size():
    ppi = 300
    element = type_sample(**AT)
    only = type_sample(sizes_pt=(12.0,), **AT)
    assert only.facts["left_mm"] == element.facts["left_mm"]  # sentences begin below each other
    ink = drawn([element], channels=BLACK, ppi=ppi)[..., 0]
    for size, base in zip(element.facts["sizes_pt"], element.facts["baselines_mm"], strict=True):
        number = inside(ink, (4.0, base - size * 25.4 / 72 * 0.75, element.facts["left_mm"] - 1.2, base), ppi)
        assert number.any()
        gap = inside(ink, (element.facts["left_mm"] - 1.2, base - 1.0, element.facts["left_mm"], base), ppi)
        assert not gap.any()


def test_letters_may_be_coloured():
    element = type_sample(left_mm=0.0, top_mm=0.0, channels=("R", "G", "B"), colour=(0.0, 0.2, 0.6))
    assert {paint.colour for paint in element.paints} == {(0.0, 0.2, 0.6)}


def test_a_sample_too_narrow_for_a_word_is_refused():
    with pytest.raises(BadSetting, match="no word of 12 point type"):
        type_sample(width_mm=18.0, **AT)
