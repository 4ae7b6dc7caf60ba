"""Letters that show which of several means differ: insert and absorb."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from laydown.kernel.arrays import Bools

_ALPHABET = "abcdefghijklmnopqrstuvwxyz"


def compact_letters(different: Bools, *, order: Sequence[int]) -> tuple[str, ...]:
    """Give every item letters so that two items share a letter exactly when they are not told apart.

    Parameters
    ----------
    different : (k, k) bool array
        True where two items differ; symmetric, False on the diagonal.
    order : sequence of int
        All items, the one to carry the first letter first.

    Returns
    -------
    tuple of str
        The letters of each item, in item order; "a" belongs to the first item of ``order``. After z the
        letters go on as aa, ab ... in round brackets.

    Notes
    -----
    Start with one column holding every item. For each difference, every column holding both items splits in
    two, one without each; a column contained in another is absorbed. Columns are then sorted by their items.

    References
    ----------
    H.-P. Piepho, J. Comput. Graph. Stat. 13 (2004) 456-466.

    Checked against
    ---------------
    NIST/SEMATECH 7.4.7.1 (groups a, b, b, a) and the defining property on random tables.

    Examples
    --------
    >>> import numpy as np
    >>> compact_letters(np.array([[0, 0, 0], [0, 0, 1], [0, 1, 0]], dtype=bool), order=[1, 0, 2])
    ('ab', 'a', 'b')
    """
    count = different.shape[0]
    columns: list[frozenset[int]] = [frozenset(range(count))] if count else []
    for i in range(count):
        for j in range(i + 1, count):
            if different[i, j]:
                split = [part for column in columns for part in _split(column, i, j)]
                columns = _absorb(split)
    rank = {item: place for place, item in enumerate(order)}
    columns.sort(key=lambda column: sorted(rank[item] for item in column))
    return tuple(
        "".join(_letter(place) for place, column in enumerate(columns) if item in column)
        for item in range(count)
    )


def not_told_apart(letters_a: str, letters_b: str) -> bool:
    """Whether two sets of letters share one.

    Parameters
    ----------
    letters_a, letters_b : str
        As given by :func:`compact_letters`.

    Returns
    -------
    bool
        True where at least one letter is common.

    Checked against
    ---------------
    The table the letters were made from.
    """
    return not _separate(letters_a).isdisjoint(_separate(letters_b))


def _split(column: frozenset[int], i: int, j: int) -> list[frozenset[int]]:
    """A column, or its two parts where it holds both items."""
    return [column - {i}, column - {j}] if i in column and j in column else [column]


def _absorb(columns: list[frozenset[int]]) -> list[frozenset[int]]:
    """Columns that are not contained in another."""
    unique = list(dict.fromkeys(columns))
    return [column for column in unique if not any(column < other for other in unique)]


def _letter(place: int) -> str:
    """a to z, then (aa), (ab) ..."""
    if place < len(_ALPHABET):
        return _ALPHABET[place]
    first, second = divmod(place - len(_ALPHABET), len(_ALPHABET))
    return f"({_ALPHABET[first % len(_ALPHABET)]}{_ALPHABET[second]})"


def _separate(letters: str) -> set[str]:
    """The letters of one item as a set; bracketed ones stay whole."""
    found: set[str] = set()
    rest = letters
    while rest:
        end = rest.index(")") + 1 if rest[0] == "(" else 1
        found.add(rest[:end])
        rest = rest[end:]
    return found


def order_by(values: Sequence[float], *, highest_first: bool) -> list[int]:
    """Item numbers sorted by value, NaN last, ties in the order given.

    Parameters
    ----------
    values : sequence of float
        One number per item.
    highest_first : bool
        Whether large values come first.

    Returns
    -------
    list of int
        All item numbers.

    Checked against
    ---------------
    Lists by hand.
    """
    array = np.asarray(values, dtype=np.float64)
    return [int(item) for item in np.argsort(-array if highest_first else array, kind="stable")]
