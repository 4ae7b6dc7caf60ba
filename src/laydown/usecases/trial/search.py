"""Search everything that somebody may see, grouped by what it is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from laydown.kernel.errors import NotAllowed
from laydown.records.ledger import Records
from laydown.records.references_query import things_with_ids
from laydown.records.search_kinds import ALL_KINDS, KINDS, FoundKind
from laydown.records.search_query import Found
from laydown.records.search_query import search as search_kind
from laydown.records.text_match import words_of
from laydown.records.trial_facts import STUDIO_ID
from laydown.trials.people import Role
from laydown.trials.stock import Certificate, Lot, Medium, Roll, Supplier
from laydown.trials.studio import Printer, Studio

SHOWN_OF_EACH = 8
PAGE_LENGTH = 50
# Where the bench has no business (stock, its prices, the journal), it is told nothing.
OF_THE_OWNER: frozenset[FoundKind] = frozenset(
    {"medium", "lot", "roll", "use", "printer", "upkeep", "supplier", "certificate", "entry"}
)
NOUNS_OF_THE_OWNER = (Medium, Lot, Roll, Supplier, Certificate, Printer)


@dataclass(frozen=True, slots=True)
class FoundGroup:
    """Everything of one kind that was found, as far as it is shown; ``more`` says that there is more."""

    kind: FoundKind
    found: tuple[Found, ...]
    more: bool


@dataclass(frozen=True, slots=True)
class Finds:
    """What a search found. ``about`` holds what notes, events and the like are found at, by id."""

    words: tuple[str, ...]
    groups: tuple[FoundGroup, ...]
    about: dict[str, Any]
    time_zone: str


def kinds_for(role: Role) -> tuple[FoundKind, ...]:
    """What somebody may look for; the journal is among it and yet looked through only when asked for.

    A judge is to judge prints without knowing what they are, so a judge finds nothing.
    """
    allowed = {"owner": frozenset(ALL_KINDS), "bench": frozenset(ALL_KINDS) - OF_THE_OWNER}
    return tuple(kind for kind in ALL_KINDS if kind in allowed.get(role, frozenset()))


def search(
    records: Records, text: str, *, role: Role, kind: FoundKind | None = None, number: int = 1
) -> Finds:
    """Look for words everywhere, some of each kind; or, where one kind is wanted, page by page.

    Every word must stand in the thing, whatever the case of its letters; no words find nothing.

    Raises
    ------
    NotAllowed
        The role may not look for anything, or not for this.
    """
    allowed = kinds_for(role)
    if not allowed or (kind is not None and kind not in allowed):
        raise NotAllowed("your role does not allow looking for this.", todo="Ask the studio's owner.")
    wanted = (kind,) if kind is not None else tuple(one for one in KINDS if one in allowed)
    length = SHOWN_OF_EACH if kind is None else PAGE_LENGTH
    words = words_of(text)
    groups = []
    with records.look() as look:
        for one in wanted if words else ():
            found = search_kind(
                look,
                words,
                one,
                limit=length + 1,
                offset=(number - 1) * length if kind is not None else 0,
                nothing_about=() if role == "owner" else NOUNS_OF_THE_OWNER,
            )
            if found:
                groups.append(FoundGroup(one, found[:length], len(found) > length))
        named = {one.about for group in groups for one in group.found if one.about}
        studio = look.seek(Studio, STUDIO_ID) or Studio(id=STUDIO_ID)
        return Finds(words, tuple(groups), things_with_ids(look, named), studio.time_zone)
