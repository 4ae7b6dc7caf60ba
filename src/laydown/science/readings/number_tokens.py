"""Decimal numbers in a byte buffer, read many at a time and rounded exactly as ``float`` would.

A token of up to sixteen characters is fetched as one or two 64-bit words and its digits are combined inside
the word, for all tokens at once. A token with a point has at most fifteen
digits, so its mantissa stays below 2**53 and the single division by a power of ten is correctly rounded:
both roads, this one and ``parse_cell``, give the same number.
"""

from __future__ import annotations

import re
from typing import Final

import numpy as np
from numpy.typing import NDArray

from laydown.kernel.arrays import Bools, Floats, Ints
from laydown.science.readings.limits import MAX_CELL_CHARACTERS

_Words = NDArray[np.uint64]
_NUMBER = re.compile(r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d{1,4})?", re.ASCII)
WORD: Final = 8
"""Bytes of one machine word, and the longest token the quick roads take."""


def _u(value: int) -> np.uint64:
    return np.uint64(value)


_ZEROS = _u(0x3030303030303030)
_DOTS = _u(0x2E2E2E2E2E2E2E2E)
_LOW7 = _u(0x7F7F7F7F7F7F7F7F)
_TOPS = _u(0x8080808080808080)
_TO_TOP = _u(0x7676767676767676)
_ONE, _SEVEN, _EIGHT, _SIXTEEN, _THIRTYTWO, _FIFTYSIX = (_u(v) for v in (1, 7, 8, 16, 32, 56))
_TEN, _ZERO, _DIGIT_ZERO, _BYTE = _u(10), _u(0), _u(0x30), _u(0xFF)
_PAIRS, _WEIGH_HIGH, _WEIGH_LOW = _u(0x000000FF000000FF), _u(0x000F424000000064), _u(0x0000271000000001)
# Bytes of a word that belong to a token of 0..8 characters ending at the word's last byte.
_KEEP = np.array([0, *(((1 << 64) - 1) ^ ((1 << (8 * (8 - n))) - 1) for n in range(1, 9))], dtype=np.uint64)
# Power of ten of the fraction, looked up by the number of bits before the decimal point (64 = no point).
_SCALE = np.ones(65)
_SCALE[0:64:8] = [10.0**n for n in range(7, -1, -1)]
_SCALE_HIGH = np.ones(65)
_SCALE_HIGH[0:64:8] = [10.0**n for n in range(15, 7, -1)]


def parse_cell(cell: str) -> float:
    """Read one decimal number, with point or comma; NaN where the text is anything else or not finite.

    Parameters
    ----------
    cell : the text of one cell, blanks trimmed.

    Returns
    -------
    The number, or NaN.

    Checked against
    ---------------
    Python's ``float``, which it calls.
    """
    if len(cell) > MAX_CELL_CHARACTERS.value or _NUMBER.fullmatch(cell) is None:
        return float("nan")
    value = float(cell.replace(",", "."))
    return value if np.isfinite(value) else float("nan")


def parse_tokens(buffer: NDArray[np.uint8], starts: Ints, ends: Ints) -> tuple[Floats, Bools]:
    """Read the tokens ``buffer[start:end]`` as numbers written with a decimal point.

    Parameters
    ----------
    buffer : (b,) bytes, with at least ``FRONT_PADDING`` bytes before the first token.
    starts, ends : (n,) positions of each token, blanks already trimmed.

    Returns
    -------
    values : (n,) the numbers; 0 where not read.
    read : (n,) whether the token was read. What is not read (an exponent, more than sixteen
        characters, a word) is for ``parse_cell`` to judge.

    Notes
    -----
    Cost is about 30 array operations for each token whatever its length.

    Checked against
    ---------------
    Python's ``float`` on random decimals, equal to the last bit.
    """
    first = buffer[np.minimum(starts, buffer.size - 1)]
    negative = first == 45
    signed = negative | (first == 43)
    bare = starts + signed if signed.any() else starts
    length = ends - bare
    words = np.ndarray((buffer.size - WORD + 1,), dtype="<u8", buffer=buffer, strides=(1,))
    values, read = _short(words, ends, np.clip(length, 0, WORD))
    read &= length > 0
    long = np.flatnonzero(length > WORD)
    if long.size:
        values[long], read[long] = _long(words, ends[long], length[long])
    if negative.any():
        np.negative(values, out=values, where=negative)
    values[~read] = 0.0
    return values, read


def parse_alike(buffer: NDArray[np.uint8], starts: Ints, ends: Ints) -> Floats | None:
    """Read tokens that all have a decimal point at the same distance from their end, and no sign.

    The common case of a column block written with one number format, at a third of the work of
    ``parse_tokens``.

    Parameters
    ----------
    buffer : as for ``parse_tokens``.
    starts, ends : (..., n) positions of each token.

    Returns
    -------
    The numbers, in the shape of ``starts``; None where any token is longer than eight characters or written
    otherwise, so that nothing is read by halves.

    Checked against
    ---------------
    Python's ``float``, equal to the last bit.
    """
    if not starts.size:
        return np.empty(starts.shape)
    length = ends - starts
    shortest, longest = int(length.min()), int(length.max())
    if shortest < 1 or longest > WORD:
        return None
    first = buffer[starts.flat[0] : ends.flat[0]].tobytes()
    point = first.rfind(b".")
    places = len(first) - 1 - point if point >= 0 else 0
    words = np.ndarray((buffer.size - WORD + 1,), dtype="<u8", buffer=buffer, strides=(1,))
    word = words[ends - WORD]
    return combine_alike(
        word, length=shortest if shortest == longest else length, places=places if point >= 0 else -1
    )


def combine_alike(word: _Words, *, length: int | Ints, places: int) -> Floats | None:
    """Make numbers of words that end with tokens of one format.

    Parameters
    ----------
    word : words whose last bytes are the tokens; used as working space.
    length : characters of the tokens, 1 to 8; more than ``places`` + 1.
    places : digits after the decimal point, -1 where there is none.

    Returns
    -------
    The numbers; None where any token is not digits with the point in that place.

    Checked against
    ---------------
    Python's ``float``, equal to the last bit.
    """
    if places >= 0 and np.min(length) <= places + 1:
        return None
    pattern, allowed, high, low = _PATTERNS[places]
    word ^= pattern
    word &= _KEEP[length]
    # From here on in place: the working arrays of one chunk stay in the processor's cache.
    spare = word + allowed
    spare |= word
    if np.bitwise_or.reduce(spare, axis=None) & _TOPS:
        return None
    if places >= 0:
        np.bitwise_and(word, low, out=spare)
        spare <<= _EIGHT
        word &= high
        word |= spare
    _combine_in_place(word, spare)
    values: Floats = word.astype(np.float64)
    if places > 0:
        values /= 10.0**places
    return values


def _combine_in_place(word: _Words, spare: _Words) -> None:
    """As ``_combine``, leaving the result in ``word``."""
    np.right_shift(word, _EIGHT, out=spare)
    word *= _TEN
    word += spare
    np.right_shift(word, _SIXTEEN, out=spare)
    spare &= _PAIRS
    spare *= _WEIGH_LOW
    word &= _PAIRS
    word *= _WEIGH_HIGH
    word += spare
    word >>= _THIRTYTWO


def _pattern(places: int) -> tuple[np.uint64, np.uint64, np.uint64, np.uint64]:
    """For a point before the last ``places`` digits (-1: none): the signs expected, what each byte may be
    off by, and masks of the bytes after and before the point."""
    if places < 0:
        return _ZEROS, _TO_TOP, ~_ZERO, _ZERO
    at = 8 * (WORD - 1 - places)
    byte = 0xFF << at
    pattern = (int(_ZEROS) & ~byte) | (0x2E << at)
    allowed = (int(_TO_TOP) & ~byte) | (0x7F << at)
    low = (1 << at) - 1
    return _u(pattern), _u(allowed), ~_u(low | byte), _u(low)


_PATTERNS = {places: _pattern(places) for places in range(-1, WORD)}


def _short(words: NDArray[np.uint64], ends: Ints, length: Ints) -> tuple[Floats, Bools]:
    """Tokens of one to eight characters, sign taken off."""
    keep = _KEEP[length]
    word = words[ends - WORD]
    word = (word & keep) | (_ZEROS & ~keep)
    point = _point(word)
    below = (point >> _SEVEN) - _ONE
    dotted = point != _ZERO
    closed = (word & ~(below | (_BYTE * (point >> _SEVEN)))) | ((word & below) << _EIGHT) | _DIGIT_ZERO
    word = np.where(dotted, closed, word) ^ _ZEROS
    read = (((word + _TO_TOP) | word) & _TOPS) == _ZERO
    read &= (point & (point - _ONE)) == _ZERO
    read &= ~(dotted & (length == 1))
    return _combine(word).astype(np.float64) / _SCALE[np.bitwise_count(below)], read


def _long(words: NDArray[np.uint64], ends: Ints, length: Ints) -> tuple[Floats, Bools]:
    """Tokens of nine to sixteen characters, sign taken off; longer ones are not read."""
    keep = _KEEP[np.clip(length - WORD, 0, WORD)]
    high = words[np.maximum(ends - 2 * WORD, 0)]
    high = (high & keep) | (_ZEROS & ~keep)
    low = words[ends - WORD]
    low_point, high_point = _point(low), _point(high)
    below = (low_point >> _SEVEN) - _ONE
    above = (high_point >> _SEVEN) - _ONE
    in_low, in_high = low_point != _ZERO, high_point != _ZERO
    shifted = (
        (low & ~(below | (_BYTE * (low_point >> _SEVEN)))) | ((low & below) << _EIGHT) | (high >> _FIFTYSIX)
    )
    closed = (high & ~(above | (_BYTE * (high_point >> _SEVEN)))) | ((high & above) << _EIGHT) | _DIGIT_ZERO
    new_high = np.where(in_low, (high << _EIGHT) | _DIGIT_ZERO, np.where(in_high, closed, high)) ^ _ZEROS
    new_low = np.where(in_low, shifted, low) ^ _ZEROS
    read = ((((new_high + _TO_TOP) | new_high) | ((new_low + _TO_TOP) | new_low)) & _TOPS) == _ZERO
    read &= (low_point & (low_point - _ONE)) == _ZERO
    read &= (high_point & (high_point - _ONE)) == _ZERO
    read &= ~(in_low & in_high) & (length <= 2 * WORD)
    mantissa = _combine(new_high) * _u(10**8) + _combine(new_low)
    scale = np.where(in_high, _SCALE_HIGH[np.bitwise_count(above)], _SCALE[np.bitwise_count(below)])
    return mantissa.astype(np.float64) / scale, read


def _point(word: _Words) -> _Words:
    """0x80 in every byte that is a decimal point."""
    other = word ^ _DOTS
    return ~(((other & _LOW7) + _LOW7) | other | _LOW7)


def _combine(digits: _Words) -> _Words:
    """Eight digits, one a byte and the first in the lowest byte, as one whole number."""
    pairs = digits * _TEN + (digits >> _EIGHT)
    high = (pairs & _PAIRS) * _WEIGH_HIGH
    low = ((pairs >> _SIXTEEN) & _PAIRS) * _WEIGH_LOW
    return (high + low) >> _THIRTYTWO
