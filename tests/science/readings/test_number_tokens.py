"""Numbers read many at a time equal Python's ``float`` to the last bit."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.science.readings.byte_windows import FRONT_PADDING
from laydown.science.readings.number_tokens import parse_alike, parse_cell, parse_tokens


def _buffer(tokens: list[str]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    data, starts, ends = bytearray(b"\n" * FRONT_PADDING), [], []
    for token in tokens:
        starts.append(len(data))
        data += token.encode("latin-1")
        ends.append(len(data))
        data += b"\t"
    return np.frombuffer(bytes(data), dtype=np.uint8), np.array(starts), np.array(ends)


_LETTERS = st.text(alphabet="0123456789.+-eE_ x/:\x00\xff", min_size=0, max_size=20)
_DECIMALS = st.builds(
    lambda sign, whole, part, dot: f"{sign}{whole}{'.' + part if dot else ''}",
    st.sampled_from(["", "-", "+"]),
    st.text(alphabet="0123456789", max_size=10),
    st.text(alphabet="0123456789", max_size=10),
    st.booleans(),
)


@settings(max_examples=300, deadline=None)
@given(st.lists(_DECIMALS | _LETTERS, min_size=1, max_size=40))
def test_tokens_are_read_as_float_would_or_not_at_all(tokens: list[str]) -> None:
    values, read = parse_tokens(*_buffer(tokens))
    for token, value, known in zip(tokens, values.tolist(), read.tolist()):
        if known:
            assert value == float(token)
            assert math.copysign(1.0, value) == math.copysign(1.0, float(token))
            assert parse_cell(token) == float(token)


@settings(max_examples=200, deadline=None)
@given(st.lists(_DECIMALS, min_size=1, max_size=40))
def test_plain_decimals_of_fifteen_digits_are_never_left(tokens: list[str]) -> None:
    _, read = parse_tokens(*_buffer(tokens))
    for token, known in zip(tokens, read.tolist()):
        digits = sum(letter.isdigit() for letter in token)
        if 0 < digits <= 15:
            assert known, token


@settings(max_examples=200, deadline=None)
@given(st.integers(0, 6), st.lists(st.integers(0, 9_999_999), min_size=1, max_size=30))
def test_alike_tokens_equal_float(places: int, numbers: list[int]) -> None:
    tokens = [f"{number / 10**places:.{places}f}" for number in numbers]
    values = parse_alike(*_buffer(tokens))
    if all(len(token) <= 8 for token in tokens):
        assert values is not None
        assert values.tolist() == [float(token) for token in tokens]
    else:
        assert values is None


@pytest.mark.parametrize(
    "odd", ["-0.45", "0.4575", "0,45", ".4", "4", "1e-2", "0.4 ", "..45", "", "0.4x", "0.45\x00"]
)
def test_alike_refuses_whole_blocks_with_one_odd_token(odd: str) -> None:
    assert parse_alike(*_buffer(["0.12", odd, "0.99"])) is None


@pytest.mark.parametrize(
    "text", ["", ".", "-", "nan", "inf", "1e400", "1_0", "0x10", "1.2.3", "1 2", "١", "9" * 65]
)
def test_what_is_no_number_is_nan(text: str) -> None:
    assert math.isnan(parse_cell(text))


@pytest.mark.parametrize(
    ("text", "value"), [("0,5", 0.5), ("-1.2e-3", -0.0012), ("+7", 7.0), (".5", 0.5), ("5.", 5.0)]
)
def test_cells_with_comma_sign_and_exponent(text: str, value: float) -> None:
    assert parse_cell(text) == value


def test_inputs_are_not_changed() -> None:
    buffer, starts, ends = _buffer(["0.45", "0.50"])
    before = buffer.copy(), starts.copy(), ends.copy()
    parse_tokens(buffer, starts, ends)
    parse_alike(buffer, starts, ends)
    for now, then in zip((buffer, starts, ends), before):
        assert (now == then).all()
