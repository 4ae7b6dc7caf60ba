"""What the pages of signing in and pairing show."""

from __future__ import annotations

from dataclasses import dataclass

from laydown.trials.people import ROLE_WORDS, Role


@dataclass(frozen=True, slots=True)
class SignInView:
    """The sign-in form; ``after`` is the page that was asked for."""

    after: str
    name: str
    trouble: str


@dataclass(frozen=True, slots=True)
class PairView:
    """What a tablet would become."""

    token: str
    name: str
    role: Role

    @property
    def may(self) -> str:
        """What the role may do."""
        return ROLE_WORDS[self.role]
