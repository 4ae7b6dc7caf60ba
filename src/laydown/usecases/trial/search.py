"""Search everything that is kept, grouped by what it is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from laydown.records.ledger import Records
from laydown.records.references_query import things_with_ids
from laydown.records.search_query import KINDS, Found, FoundKind
from laydown.records.search_query import search as search_kind
from laydown.records.text_match import words_of

SHOWN_OF_EACH = 8
PAGE_LENGTH = 50


@dataclass(frozen=True, slots=True)
class FoundGroup:
    """Everything of one kind that was found, as far as it is shown; ``more`` says that there is more."""

    kind: FoundKind
    found: tuple[Found, ...]
    more: bool


@dataclass(frozen=True, slots=True)
class Finds:
    """What a search found. ``about`` holds what notes and files are about, by id."""

    words: tuple[str, ...]
    groups: tuple[FoundGroup, ...]
    about: dict[str, Any]


def search(records: Records, text: str, *, kinds: Sequence[FoundKind] = KINDS, number: int = 1) -> Finds:
    """Look for words everywhere, some of each kind; or, where one kind is wanted, page by page.

    Every word must stand in the thing, whatever the case of its letters; no words find nothing.
    """
    words = words_of(text)
    if not words:
        return Finds((), (), {})
    paged = len(kinds) == 1
    length = PAGE_LENGTH if paged else SHOWN_OF_EACH
    offset = (number - 1) * length if paged else 0
    groups = []
    with records.look() as look:
        for one in kinds:
            found = search_kind(look, words, one, limit=length + 1, offset=offset)
            if found:
                groups.append(FoundGroup(one, found[:length], len(found) > length))
        named = {one.about for group in groups for one in group.found if one.about}
        return Finds(words, tuple(groups), things_with_ids(look, named))
