"""Who asks: the owner at this computer, or somebody signed in from the studio's network."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from starlette.requests import Request

from laydown.kernel.errors import NotAllowed
from laydown.trials.people import Role
from laydown.usecases.people.account_rules import THIS_COMPUTER


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who uses the workbench. ``session`` tells sittings apart; "" at this computer."""

    name: str
    role: Role
    session: str = ""


OWNER_HERE = Person(THIS_COMPUTER, "owner")


def person_of(request: Request) -> Person:
    """Who asks.

    Raises
    ------
    NotAllowed
        Nobody is signed in where sign-in is needed.
    """
    person = getattr(request.state, "person", None)
    if isinstance(person, Person):
        return person
    raise NotAllowed("nobody is signed in.", todo="Sign in first.")


def own_address(address: str) -> str:
    """An address of this workbench; the first page where it is another's."""
    safe = address.startswith("/") and not address.startswith(("//", "/\\")) and address.isprintable()
    return address if safe else "/"


def allow(*roles: Role) -> Callable[[Request], None]:
    """A dependency of routes: lets the owner and these roles pass, and nobody else."""

    def check(request: Request) -> None:
        if person_of(request).role not in {"owner", *roles}:
            raise NotAllowed("your role does not allow this.", todo="Ask the studio's owner.")

    return check
