"""Blind codes by number: all different in two places at least, and the same for ever."""

import numpy as np
import pytest

from laydown.kernel.errors import BadSetting
from laydown.science.forms.blind_label import LETTERS, LONG, NUMBERED, blind_label, numbered_code


def chance(seed=5):
    return np.random.Generator(np.random.PCG64(seed))


def test_every_two_numbers_have_codes_that_differ_twice():
    codes = [numbered_code(number, rng=chance()) for number in range(NUMBERED)]
    assert len(set(codes)) == NUMBERED == 13**3
    for place in range(LONG):  # without any one letter all are still told apart
        assert len({code[:place] + code[place + 1 :] for code in codes}) == NUMBERED
    assert all(set(code) <= set(LETTERS) for code in codes)
    # Letters confused with digits or with each other when read in haste or upside down: our own judgement.
    assert not set(LETTERS) & set("AEIOUBGQSZVWF")
    blind_label(codes[0])


def test_the_same_chance_gives_the_same_code_for_ever():
    # Printed labels outlive versions: these were given by the first one.
    assert [numbered_code(number, rng=chance()) for number in range(3)] == ["RHDJ", "CJXC", "TMCR"]
    assert numbered_code(0, rng=chance(6)) != numbered_code(0, rng=chance())


@pytest.mark.parametrize("number", [-1, NUMBERED])
def test_other_numbers_have_none(number):
    with pytest.raises(BadSetting, match="no blind code"):
        numbered_code(number, rng=chance())
