"""Sign in and out, and pair a tablet; guessing is slowed down."""

from __future__ import annotations

import hashlib
import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta

from laydown.kernel.constants import Constant
from laydown.kernel.errors import NotAllowed, TooManyAttempts
from laydown.records.ledger import Records
from laydown.records.sign_ins import Pairing, SignIns, Sitting
from laydown.trials.people import Account, Role
from laydown.usecases.people.account_rules import refuse_name_taken
from laydown.usecases.people.accounts import account_named
from laydown.usecases.people.passwords import password_fits

FREE_ATTEMPTS = Constant(5, "attempts", "chosen here", "computed")
FREE_ATTEMPTS_OF_ADDRESS = Constant(30, "attempts", "chosen here: tablets may share an address", "computed")
LONGEST_WAIT = Constant(900, "s", "chosen here: 15 min", "computed")
_REMEMBERED = timedelta(hours=1)
_IDLE: dict[Role, timedelta] = {
    "owner": timedelta(hours=2),
    "bench": timedelta(hours=12),
    "judge": timedelta(hours=4),
}
_AT_MOST: dict[Role, timedelta] = {
    "owner": timedelta(hours=12),
    "bench": timedelta(days=7),
    "judge": timedelta(days=1),
}
_PAIRING = timedelta(minutes=5)
_SEEN_EVERY = timedelta(minutes=1)
_TOKEN_BYTES = 32


@dataclass(frozen=True, slots=True)
class Begun:
    """A sitting that has begun, and the word its browser keeps."""

    token: str
    sitting: Sitting


def sign_in(records: Records, *, name: str, password: str, address: str) -> Begun:
    """Sign in with a name and a password from a network address.

    Raises
    ------
    TooManyAttempts
        It failed too often; says how long to wait.
    NotAllowed
        Name and password do not go together, or the account is closed.
    """
    signs = SignIns(records.engine)
    keys = (f"name {' '.join(name.split()).casefold()[:200]}", f"address {address}")
    now = records.now()
    free = {keys[0]: FREE_ATTEMPTS.value, keys[1]: FREE_ATTEMPTS_OF_ADDRESS.value}
    attempt = signs.attempt(
        keys,
        now=now,
        remembered=_REMEMBERED,
        wait=lambda key, count, last: _left_to_wait(count, last, free=int(free[key]), now=now),
    )
    if attempt.wait_s > 0:
        raise TooManyAttempts(
            "that failed too often.", todo=f"Wait {max(1, round(attempt.wait_s))} s, then try again."
        )
    with records.look() as look:
        account = account_named(look, name)
    hashed = signs.password_of(account.id) if account else None
    fits = password_fits(password, hashed)
    if account is None or not fits or account.closed_at is not None:
        raise NotAllowed("name and password do not go together.", todo="Try again, or ask the owner.")
    signs.succeeded(attempt, keys[0])
    return _begin(signs, records, account.name, account.role, account_id=account.id)


def sign_out(records: Records, token: str) -> None:
    """End the sitting of a word."""
    SignIns(records.engine).end(token=_hash(token))


def sitting_of(records: Records, token: str) -> Sitting | None:
    """Who sits at the browser that brings this word; None where the sitting has ended."""
    signs, now, hashed = SignIns(records.engine), records.now(), _hash(token)
    sitting = signs.sitting(hashed, now=now)
    if sitting is None:
        return None
    if sitting.account_id is not None:
        with records.look() as look:
            account = look.seek(Account, sitting.account_id)
        if account is None or account.closed_at is not None or account.role != sitting.role:
            return None
    if now - sitting.seen_at >= _SEEN_EVERY:
        signs.seen(hashed, now=now, idle=_IDLE[sitting.role])
    return sitting


def offer_pairing(records: Records, *, name: str, role: Role, who: str) -> str:
    """Offer a tablet to become ``name`` with this role; the word to show as a code, good once and briefly.

    Raises
    ------
    NotAllowed
        A tablet is not made an owner: owners sign in with their password.
    RefusedInput
        Its name is that of an account.
    """
    if role == "owner":
        raise NotAllowed("a tablet cannot be paired as owner.", todo="Pair it for the bench or for judging.")
    token = secrets.token_urlsafe(_TOKEN_BYTES)
    pairing = Pairing(" ".join(name.split())[:60] or f"{role} tablet", role, who)
    with records.look() as look:
        refuse_name_taken(look, pairing.name)
    SignIns(records.engine).offer(_hash(token), pairing, ends_at=records.now() + _PAIRING)
    return token


def offered_pairing(records: Records, token: str) -> Pairing | None:
    """What a shown code offers, while it is good."""
    return SignIns(records.engine).offered(_hash(token), now=records.now())


def pair(records: Records, token: str) -> Begun:
    """Take an offer.

    Raises
    ------
    NotAllowed
        It was taken already, or too long ago.
    """
    signs = SignIns(records.engine)
    pairing = signs.take(_hash(token), now=records.now())
    if pairing is None:
        raise NotAllowed("this code is not good any more.", todo="Ask the owner to show a new one.")
    return _begin(signs, records, pairing.name, pairing.role, account_id=None)


def _begin(signs: SignIns, records: Records, name: str, role: Role, *, account_id: str | None) -> Begun:
    token, now = secrets.token_urlsafe(_TOKEN_BYTES), records.now()
    sitting = Sitting(
        records.new_id(), account_id, name, role, now, now, now + _IDLE[role], now + _AT_MOST[role]
    )
    signs.tidy(now=now, keep=_REMEMBERED)
    signs.begin(_hash(token), sitting)
    return Begun(token, sitting)


def _left_to_wait(count: int, last: datetime | None, *, free: int, now: datetime) -> float:
    """Seconds; beyond the free attempts each failure doubles the wait."""
    if count < free or last is None:
        return 0.0
    wait = min(2.0 ** min(count - free, 20), LONGEST_WAIT.value)
    return min(wait, wait - (now - last).total_seconds())


def _hash(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()
