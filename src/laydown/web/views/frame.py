"""What is around every page: who is here, what was just done, and the word forms carry."""

from __future__ import annotations

from dataclasses import dataclass

from starlette.requests import Request

from laydown.kernel.errors import LaydownError
from laydown.usecases.undo import may_undo
from laydown.web.forms import token_of
from laydown.web.people import Person


@dataclass(frozen=True, slots=True)
class Done:
    """What was just done, in words; ``entry_id`` is empty where it cannot be undone (any more)."""

    words: str
    entry_id: str


@dataclass(frozen=True, slots=True)
class Frame:
    """Around a page. ``person`` is None before sign-in; ``here`` is this page's own address."""

    person: Person | None
    lan: bool
    token: str
    done: Done | None
    here: str


def frame_of(request: Request) -> Frame:
    """The frame of the page a request asks for."""
    desk = request.app.state.desk
    found = getattr(request.state, "person", None)
    person = found if isinstance(found, Person) else None
    return Frame(
        person=person,
        lan=desk.lan,
        token=token_of(desk.secret, person) if person else "",
        done=_done(request, person, request.query_params.get("done", "")) if person else None,
        here=request.url.path,
    )


def _done(request: Request, person: Person, entry_id: str) -> Done | None:
    """What was done, to whoever may know of it: the journal is the owner's, to others what they did."""
    if not entry_id:
        return None
    try:
        with request.app.state.desk.records.look() as look:
            entry = look.entry(entry_id)
            undone = bool(look.undone_by([entry_id]))
    except LaydownError:
        return None
    if person.role != "owner" and entry.who != person.name:
        return None
    stays = entry.final or undone or not may_undo(entry, who=person.name, role=person.role)
    words = f"{entry.who} {entry.action} {entry.words}".strip()
    return Done(words[:1].upper() + words[1:], "" if stays else entry_id)
