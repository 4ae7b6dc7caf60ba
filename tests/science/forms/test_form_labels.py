"""Words beside what is measured."""

import itertools

import numpy as np
import pytest

from laydown.science.forms.labels import label, line_height_mm, turned, turned_points, wrapped
from laydown.science.forms.lettering import text_width_mm

RGB = ("R", "G", "B")
EVERY = "".join(chr(code) for code in range(33, 127))


@pytest.mark.parametrize("size", [3.0, 5.0, 12.0])
def test_letters_stay_within_the_height_of_their_line(size):
    shape = label(EVERY, left_mm=1.0, top_mm=2.0, channels=RGB, size_pt=size)
    every = np.concatenate(shape.contours)
    assert every[:, 1].min() >= 2.0
    assert every[:, 1].max() <= 2.0 + line_height_mm(size)


def test_a_label_begins_ends_or_is_centred_where_it_is_told():
    wide = text_width_mm("half way", size_pt=5.0)
    lefts = [
        np.concatenate(label("half way", left_mm=50.0, top_mm=0.0, channels=RGB, align=align).contours)[
            :, 0
        ].min()
        for align in (0.0, 0.5, 1.0)
    ]
    assert np.diff(lefts) == pytest.approx([-wide / 2.0] * 2)


def test_lines_are_as_long_as_asked_and_no_word_is_lost():
    text = "a bar that is cut up for rub tape and fold tests of extraordinarilylongwordsthatstaywhole here"
    lines = wrapped(text, width_mm=30.0, size_pt=9.0)
    assert " ".join(lines) == text
    for line in lines:
        assert " " not in line or text_width_mm(line, size_pt=9.0) <= 30.0
    for line, following in itertools.pairwise(lines):
        assert text_width_mm(f"{line} {following.split()[0]}", size_pt=9.0) > 30.0  # none is broken too early


def test_a_quarter_turn_is_exact_and_clockwise():
    points = np.array([[1.0, 0.0], [0.3, 0.7]])
    quarter = turned_points(points, about_mm=(0.0, 0.0), degrees=90.0)
    assert (quarter == [[0.0, 1.0], [-0.7, 0.3]]).all()  # right goes down; y grows downwards
    assert (turned_points(points, about_mm=(0.0, 0.0), degrees=180.0) == -points).all()
    back = turned_points(
        turned_points(points, about_mm=(2.0, 5.0), degrees=5.0), about_mm=(2.0, 5.0), degrees=-5
    )
    assert back == pytest.approx(points, abs=1e-12)


def test_a_turned_shape_keeps_its_colour_and_size():
    shape = label("feed", left_mm=0.0, top_mm=0.0, channels=RGB)
    other = turned(shape, about_mm=(0.0, 0.0), degrees=90.0)
    assert other.colour == shape.colour
    before, after = np.concatenate(shape.contours), np.concatenate(other.contours)
    assert np.ptp(after, axis=0) == pytest.approx(np.ptp(before, axis=0)[::-1])
