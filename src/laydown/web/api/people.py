"""Who asks."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter, Request

from laydown.trials.people import Role
from laydown.web.desk import desk_of
from laydown.web.forms import token_of
from laydown.web.people import person_of

router = APIRouter(tags=["people"])


@dataclass(frozen=True, slots=True)
class Me:
    """Who asks, as what, and the word their changes must carry."""

    name: str
    role: Role
    token: str


@router.get("/me")
def me(request: Request) -> Me:
    """Who asks."""
    person = person_of(request)
    return Me(person.name, person.role, token_of(desk_of(request).secret, person))
