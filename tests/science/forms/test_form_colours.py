"""Plain names of colours as device values."""

import pytest

from laydown.kernel.errors import BadSetting
from laydown.science.forms.device_colours import NAMES, bare, grey, known_names, pure

RGB, CMYK = ("R", "G", "B"), ("C", "M", "Y", "K")


def test_the_seven_colours_of_light_and_of_ink():
    # Written out by hand: light adds, ink takes away.
    assert [pure(name, RGB) for name in NAMES] == [
        (1, 0, 0),
        (0, 1, 0),
        (0, 0, 1),
        (0, 1, 1),
        (1, 0, 1),
        (1, 1, 0),
        (0, 0, 0),
    ]
    assert [pure(name, CMYK) for name in NAMES] == [
        (0, 1, 1, 0),
        (1, 0, 1, 0),
        (1, 1, 0, 0),
        (1, 0, 0, 0),
        (0, 1, 0, 0),
        (0, 0, 1, 0),
        (0, 0, 0, 1),
    ]


def test_strength_goes_from_bare_to_the_colour():
    assert pure("C", RGB, strength=0.25) == (0.75, 1.0, 1.0)
    assert pure("G", CMYK, strength=0.25) == (0.25, 0.0, 0.25, 0.0)
    for channels in (RGB, CMYK):
        assert pure("M", channels, strength=0.0) == bare(channels)


def test_greys():
    assert grey(0.3, RGB) == (0.3, 0.3, 0.3)
    assert grey(0.25, CMYK) == (0, 0, 0, 0.75)
    assert grey(0.25, ("C", "M", "Y")) == (0.75, 0.75, 0.75)
    for channels in (RGB, CMYK, ("K",), ("C", "M", "Y")):
        assert grey(1.0, channels) == bare(channels)


def test_an_ink_of_the_name_goes_before_a_mixture():
    inks = ("C", "M", "Y", "K", "R", "O")
    assert pure("R", inks) == (0, 0, 0, 0, 1, 0)
    assert pure("O", inks) == (0, 0, 0, 0, 0, 1)
    assert pure("G", inks) == (1, 0, 1, 0, 0, 0)
    assert bare(("C", "M", "Y", "K", "R", "G", "B")) == (0,) * 7  # inks, although R, G and B are among them


def test_which_colours_there_are():
    assert known_names(RGB) == known_names(CMYK) == NAMES
    assert known_names(("K",)) == ("K",)
    assert known_names(("C", "M", "Y")) == ("R", "G", "B", "C", "M", "Y")


def test_what_cannot_be_made_is_refused():
    with pytest.raises(BadSetting, match='"O" is no colour of an RGB page'):
        pure("O", RGB)
    with pytest.raises(BadSetting, match='"R" cannot be made of K'):
        pure("R", ("K",))
    with pytest.raises(BadSetting, match='"X" cannot be made'):
        pure("X", CMYK)
