"""What must be true of all accounts together, whoever changes one and however."""

from __future__ import annotations

from collections import Counter

from laydown.kernel.errors import RefusedInput
from laydown.records.look import Look
from laydown.trials.people import Account

# Who acts where nobody has to sign in; an account of that name could be taken for it in the journal.
THIS_COMPUTER = "this computer"


def refuse_unsound_accounts(look: Look) -> None:
    """Ask this in the work that changes an account, after the change.

    Raises
    ------
    RefusedInput
        There would be no owner any more, or two accounts of one name.
    """
    accounts = look.find(Account)
    if not any(one.role == "owner" and one.closed_at is None for one in accounts):
        raise RefusedInput("there would be no owner any more.", todo="Make another owner first.")
    names = Counter(account_key(one.name) for one in accounts)
    for one in accounts:
        if names[account_key(one.name)] > 1:
            raise RefusedInput(f"there would be two accounts called {one.name}.", todo="Keep one of them.")


def refuse_name_taken(look: Look, name: str) -> None:
    """Refuse a name the journal could not tell from another's; tablets have names of their own, too.

    Raises
    ------
    RefusedInput
        There is an account of that name, or it stands for somebody else.
    """
    if account_key(name) == THIS_COMPUTER:
        raise RefusedInput(f"“{name}” stands for whoever sits here.", todo="Take another name.")
    if any(account_key(one.name) == account_key(name) for one in look.find(Account)):
        raise RefusedInput(f"there is an account for {name} already.", todo="Take another name.")


def account_key(name: str) -> str:
    """What a name is told apart by, however it is written."""
    return " ".join(name.split()).casefold()
