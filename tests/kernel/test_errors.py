from __future__ import annotations

import pickle

import pytest

from laydown.kernel import errors
from laydown.kernel.errors import LaydownError


def _all_kinds(kind: type[LaydownError] = LaydownError) -> list[type[LaydownError]]:
    return [kind, *(k for sub in kind.__subclasses__() for k in _all_kinds(sub))]


@pytest.mark.parametrize("kind", _all_kinds())
def test_every_error_survives_a_process_border(kind: type[LaydownError]) -> None:
    error = kind("the number 'x' is not one.", todo="Mend it.", file="a.txt", line=7, patch="B3")
    back = pickle.loads(pickle.dumps(error))  # noqa: S301 - our own bytes
    assert type(back) is kind
    assert str(back) == str(error) == "a.txt, line 7, patch B3: the number 'x' is not one. Mend it."
    assert (back.file, back.line, back.patch, back.todo) == ("a.txt", 7, "B3", "Mend it.")


def test_without_a_place_only_the_sentence_is_left() -> None:
    assert str(LaydownError("Nothing is here.")) == "Nothing is here."


def test_the_tree_in_the_docstring_is_the_tree() -> None:
    told = errors.__doc__ or ""
    for kind in _all_kinds():
        assert kind.__name__ in told
