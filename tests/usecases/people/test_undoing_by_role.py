"""Who may undo what: the owner everything, the bench what it did itself, nobody what was taken from them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from laydown.kernel.errors import NotAllowed, RefusedInput
from laydown.records.ledger import Records
from laydown.records.sign_ins import SignIns
from laydown.records.tables import NOUNS
from laydown.trials.people import BENCH_CHANGES, Account, Role
from laydown.trials.remarks import Note
from laydown.trials.stock import Lot, Medium, Roll
from laydown.usecases.people.accounts import change_role, close_account, make_account
from laydown.usecases.people.sign_in import offer_pairing
from laydown.usecases.stock.amend import amend
from laydown.usecases.stock.book_in import book_in
from laydown.usecases.trial.begin_trial import begin_trial
from laydown.usecases.trial.keep_note import keep_note
from laydown.usecases.undo import undo

PASSWORD = "heron kettle seven paving"


@pytest.fixture(autouse=True)
def quick_hashes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Hashing is slow on purpose, and nobody signs in here."""
    monkeypatch.setattr("laydown.usecases.people.accounts.hash_password", lambda word, **_: word)


def _account(records: Records, name: str, role: Role) -> Account:
    return make_account(records, name=name, role=role, password=PASSWORD, who="Ada").thing


@pytest.fixture
def roll(records: Records) -> Roll:
    book_in(records, Medium(id="m", name="Fenland Rag"), who="Ada")
    book_in(records, Lot(id="l", medium_id="m", code="FR-1"), who="Ada")
    return book_in(
        records, Roll(id="r", lot_id="l", code="1", form="roll", price=120.0, currency="EUR"), who="Ada"
    ).thing


def test_who_was_the_owner_does_not_get_back_by_undoing(records: Records) -> None:
    _account(records, "Ada", "owner")
    bo = _account(records, "Bo", "owner")
    by_another = change_role(records, bo.id, role="bench", who="Ada")
    with pytest.raises(NotAllowed, match="not yours to undo"):
        undo(records, by_another.entry_id, who="Bo", role="bench")
    undo(records, by_another.entry_id, who="Ada")
    by_himself = change_role(records, bo.id, role="bench", who="Bo")
    with pytest.raises(NotAllowed, match="not yours to undo"):
        undo(records, by_himself.entry_id, who="Bo", role="bench")


def test_the_bench_undoes_what_it_did_and_nobody_elses(records: Records) -> None:
    trial = begin_trial(records, "A week", who="Ada").thing
    own = keep_note(records, trial.id, "a streak", who="Bo")
    of_ada = keep_note(records, trial.id, "no streak", who="Ada")
    with pytest.raises(NotAllowed):
        undo(records, of_ada.entry_id, who="Bo", role="bench")
    again = undo(records, undo(records, own.entry_id, who="Bo", role="bench"), who="Bo", role="bench")
    with pytest.raises(NotAllowed):
        undo(records, again, who="Cy", role="judge")
    with records.look() as look:
        assert {note.words for note in look.find(Note)} == {"a streak", "no streak"}


def test_a_price_is_not_put_back_by_the_bench(records: Records, roll: Roll) -> None:
    entry = amend(records, replace(roll, price=150.0), who="Bo").entry_id
    with pytest.raises(NotAllowed):
        undo(records, entry, who="Bo", role="bench")
    with records.look() as look:
        assert look.get(Roll, roll.id).price == 150.0


def test_of_every_noun_it_is_decided_whether_the_bench_changes_it() -> None:
    """Prices, accounts, settings, briefs and plans are the owner's (docs/guide/network.md)."""
    owners = {
        "Studio", "Account", "Supplier", "Medium", "Lot", "Roll", "Certificate", "Printer", "PrinterEvent",
        "Brief", "BriefChange", "Plan", "TestForm",
    }  # fmt: skip
    assert set(NOUNS) - owners == BENCH_CHANGES
    assert not owners & BENCH_CHANGES


def test_undoing_leaves_an_owner(records: Records) -> None:
    ada = make_account(records, name="Ada", role="owner", password=PASSWORD, who="this computer")
    with pytest.raises(RefusedInput, match="no owner"):
        undo(records, ada.entry_id, who="Ada")
    bo = _account(records, "Bo", "bench")
    raised = change_role(records, bo.id, role="owner", who="Ada")
    close_account(records, ada.thing.id, who="Bo")
    with pytest.raises(RefusedInput, match="no owner"):
        undo(records, raised.entry_id, who="Bo")


def test_undoing_makes_no_two_accounts_of_one_name(records: Records) -> None:
    _account(records, "Ada", "owner")
    made = make_account(records, name="Bo", role="bench", password=PASSWORD, who="Ada")
    undone = undo(records, made.entry_id, who="Ada")
    _account(records, "BO", "bench")
    with pytest.raises(RefusedInput, match="two accounts"):
        undo(records, undone, who="Ada")


@pytest.mark.parametrize("name", ["Ada", " aDA ", "This Computer"])
def test_a_tablet_is_not_named_for_somebody(records: Records, name: str) -> None:
    """Its acts could not be told from theirs, nor whose they are to undo."""
    _account(records, "Ada", "owner")
    with pytest.raises(RefusedInput, match="Take another name"):
        offer_pairing(records, name=name, role="bench", who="Ada")
    with pytest.raises(RefusedInput, match="Take another name"):
        make_account(records, name=name, role="owner", password=PASSWORD, who="Ada")
    assert SignIns(records.engine).running(now=records.now()) == ()
