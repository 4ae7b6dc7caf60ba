"""Accounts: made, given another role or password, closed and opened again."""

from __future__ import annotations

from dataclasses import replace

from laydown.kernel.errors import RefusedInput
from laydown.records.ledger import Records
from laydown.records.look import Look
from laydown.records.sign_ins import end_sittings, keep_password
from laydown.records.trial_facts import STUDIO_ID
from laydown.trials.people import Account, Role
from laydown.trials.studio import Studio
from laydown.usecases.acted import Acted
from laydown.usecases.people.account_rules import account_key, refuse_name_taken, refuse_unsound_accounts
from laydown.usecases.people.passwords import hash_password

_LONGEST_NAME = 60


def make_account(records: Records, *, name: str, role: Role, password: str, who: str) -> Acted[Account]:
    """Make an account.

    Raises
    ------
    RefusedInput
        The name is taken or empty, or the password is no good one.
    """
    name = " ".join(name.split())
    if not 0 < len(name) <= _LONGEST_NAME or not name.isprintable():
        raise RefusedInput(f"a name has 1 to {_LONGEST_NAME} letters.", todo="Write another.")
    hashed = hash_password(password, known_words=_known(records, name))
    with records.work("made an account for", who=who, words=f"{name} ({role})") as work:
        refuse_name_taken(work, name)
        account = work.add(Account(id=records.new_id(), name=name, role=role, made_at=work.now))
        keep_password(work, account.id, hashed)
        return Acted(account, work.entry_id)


def change_role(records: Records, account_id: str, *, role: Role, who: str) -> Acted[Account]:
    """Give an account another role; whoever is signed in with it must sign in again.

    Raises
    ------
    RefusedInput
        The last owner would be gone.
    """
    with records.work("changed the role of", who=who) as work:
        account = replace(work.get(Account, account_id), role=role)
        work.say(f"{account.name} to {role}")
        work.change(account)
        refuse_unsound_accounts(work)
        end_sittings(work, account_id)
        return Acted(account, work.entry_id)


def close_account(records: Records, account_id: str, *, who: str) -> Acted[Account]:
    """Close an account: nobody signs in with it any more, and whoever is signed in is signed out.

    Raises
    ------
    RefusedInput
        The last owner would be gone.
    """
    with records.work("closed the account of", who=who) as work:
        account = replace(work.get(Account, account_id), closed_at=work.now)
        work.say(account.name)
        work.change(account)
        refuse_unsound_accounts(work)
        end_sittings(work, account_id)
        return Acted(account, work.entry_id)


def change_password(records: Records, account_id: str, *, password: str, who: str) -> None:
    """Give an account another password; every sitting of it ends.

    Raises
    ------
    RefusedInput
        The password is no good one.
    """
    with records.look() as look:
        name = look.get(Account, account_id).name
    hashed = hash_password(password, known_words=_known(records, name))
    with records.work("changed the password of", who=who, words=name, final=True) as work:
        work.change(replace(work.get(Account, account_id), password_changed_at=work.now))
        keep_password(work, account_id, hashed)


def account_named(look: Look, name: str) -> Account | None:
    """The account of that name, however it is written."""
    wanted = account_key(name)
    return next((one for one in look.find(Account) if account_key(one.name) == wanted), None)


def owners(look: Look) -> int:
    """How many accounts there are that may do everything."""
    return look.count(Account, role="owner", closed_at=None)


def _known(records: Records, name: str) -> list[str]:
    with records.look() as look:
        studio = look.seek(Studio, STUDIO_ID)
    return ["laydown", *name.split(), *(studio.name.split() if studio else ())]
