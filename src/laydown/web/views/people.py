"""What the page of people shows: accounts, who is signed in, and a code for a tablet."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from laydown.records.look import Look
from laydown.records.sign_ins import SignIns
from laydown.records.trial_facts import STUDIO_ID
from laydown.report.moments import moment_words
from laydown.trials.people import ROLE_WORDS, ROLES, Account
from laydown.trials.studio import Studio


@dataclass(frozen=True, slots=True)
class AccountLine:
    """One account."""

    id: str
    name: str
    role: str
    may: str
    made: str
    closed: bool


@dataclass(frozen=True, slots=True)
class SittingLine:
    """Somebody signed in on one device."""

    id: str
    name: str
    role: str
    begun: str
    seen: str
    ends: str
    own: bool


@dataclass(frozen=True, slots=True)
class CodeView:
    """A code for a tablet: drawn, as an address to type, what it makes of the tablet."""

    svg: str
    address: str
    name: str
    role: str


@dataclass(frozen=True, slots=True)
class PeopleView:
    """Accounts, sittings, roles; ``typed`` and ``trouble`` after a refused form."""

    lan: bool
    accounts: tuple[AccountLine, ...]
    sittings: tuple[SittingLine, ...]
    roles: tuple[tuple[str, str], ...]
    code: CodeView | None
    typed: dict[str, str]
    trouble: str


def people_view(
    look: Look,
    signs: SignIns,
    *,
    now: datetime,
    lan: bool,
    session: str,
    code: CodeView | None = None,
    typed: dict[str, str] | None = None,
    trouble: str = "",
) -> PeopleView:
    """The page as it is now."""
    zone = (look.seek(Studio, STUDIO_ID) or Studio(id=STUDIO_ID)).time_zone

    def said(at: datetime) -> str:
        return moment_words(at, time_zone=zone)

    return PeopleView(
        lan=lan,
        accounts=tuple(
            AccountLine(
                one.id, one.name, one.role, ROLE_WORDS[one.role], said(one.made_at), one.closed_at is not None
            )
            for one in look.find(Account, order=("name",))
        ),
        sittings=tuple(
            SittingLine(
                one.id,
                one.name,
                one.role,
                said(one.begun_at),
                said(one.seen_at),
                said(min(one.ends_at, one.idle_ends_at)),
                one.id == session,
            )
            for one in signs.running(now=now)
        ),
        roles=tuple((role, f"{role}: {ROLE_WORDS[role]}") for role in reversed(ROLES)),
        code=code,
        typed=typed or {},
        trouble=trouble,
    )
