"""Taking plain quotes off changes no cell that the careful road would read."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.science.readings.line_splitting import Separator, split_line
from laydown.science.readings.plain_quotes import without_plain_quotes

SEPARATORS: tuple[Separator, ...] = ("blank", "\t", ",", ";")


def _strip(text: str, separator: Separator, comments: bool) -> tuple[list[str], list[bool]]:
    buffer = np.frombuffer(f"\n{text}\n".encode(), np.uint8)
    breaks = np.flatnonzero(buffer == 10)[1:]
    out, ends, careful = without_plain_quotes(buffer, breaks, separator=separator, comments=comments)
    assert (out[ends] == 10).all()
    lines = out.tobytes().decode().split("\n")[1:-1]
    return lines, careful.tolist()


@pytest.mark.parametrize(
    ("text", "separator", "line", "careful"),
    [
        ('"A1"\t0.5', "\t", "A1\t0.5", False),
        ('"A 1"\t0.5', "\t", "A 1\t0.5", False),
        ('"A 1" 0.5', "blank", '"A 1" 0.5', True),
        ('"A1" "B2" 7', "blank", "A1 B2 7", False),
        ('""\t0.5', "\t", '""\t0.5', True),
        ('" "\t0.5', "\t", '" "\t0.5', True),
        ('"A\t1"\t0.5', "\t", '"A\t1"\t0.5', True),
        ('"A""1"\t0.5', "\t", '"A""1"\t0.5', True),
        ('x"A"\t0.5', "\t", 'x"A"\t0.5', True),
        ('"A\t0.5', "\t", '"A\t0.5', True),
        ('1,"2,5",3', ",", '1,"2,5",3', True),
    ],
)
def test_kinds_of_quotes(text: str, separator: Separator, line: str, careful: bool) -> None:
    assert _strip(text, separator, False) == ([line], [careful])


def test_a_comment_sign_marks_its_line_only() -> None:
    lines, careful = _strip('"A"\t1\n"B"\t2 # no\n"C"\t3', "\t", True)
    assert lines == ["A\t1", '"B"\t2 # no', "C\t3"]
    assert careful == [False, True, False]


pieces = st.lists(st.sampled_from(['"', '"', "A1", "7", " ", "\t", ",", ";", "#", "\n"]), max_size=24).map(
    "".join
)


@settings(max_examples=400, deadline=None)
@given(text=pieces, separator=st.sampled_from(SEPARATORS), comments=st.booleans())
def test_unmarked_lines_split_into_the_same_cells(text: str, separator: Separator, comments: bool) -> None:
    lines, careful = _strip(text, separator, comments)
    before = text.split("\n")
    assert len(lines) == len(before)
    for line, original, marked in zip(lines, before, careful, strict=True):
        if marked:
            assert line == original
        else:
            cells = [
                split_line(each, separator=separator, fields=1, comments=comments)
                for each in (line, original)
            ]
            assert cells[0] == cells[1]
