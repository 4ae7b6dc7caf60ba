"""The order in which the sheets of a trial are printed, drawn so that anybody can draw it again."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import TypeVar, get_args

import numpy as np

from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting
from laydown.trials.facts import TrialFacts
from laydown.trials.trial import OrderKind

ORDER_WAYS: tuple[OrderKind, ...] = get_args(OrderKind)

# Left out because they are mistaken for another sign: B 8, G 6, I 1, O Q D 0, S 5, Z 2, U V, W an M upside
# down, 9 a 6 upside down, 1 a 7; and because they would read as something else: A3 A4 (sheet sizes),
# M0 to M3 (measuring conditions), F2 F11 (lamps).
CODE_LETTERS = "CEHJKLNPRTXY"
CODE_DIGITS = "2345678"
LOAD_MINUTES = Constant(6.0, "min", "to load or change a roll: 4 to 8 minutes", "common practice, no source")
MOST_TURNS = 10_000  # more is a slip of the keyboard, not a trial

GAINS: dict[OrderKind, str] = {
    "randomised, blocked by day": (
        "Every candidate is spread over every day and over the hours of a day, so that a drift of printer or "
        "room falls on all alike. Rolls are changed often."
    ),
    "randomised, grouped within day": (
        "Each day is a fresh draw of who comes first, and a roll is loaded once a day."
    ),
    "as listed": "The fewest surprises at the bench: the same order every day, a roll loaded once a day.",
}
LOSSES: dict[OrderKind, str] = {
    "randomised, blocked by day": "",
    "randomised, grouped within day": (
        "Within a day, order and candidate cannot be told apart: what drifts during the day looks like a "
        "difference between media. With few days this does not even out."
    ),
    "as listed": (
        "Whoever comes first comes first every day: warm-up, drift and tiredness look like differences "
        "between media, and no arithmetic can take them out again."
    ),
}

Item = TypeVar("Item")


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """How many sheets one candidate has in the order, and what has to be loaded for them.

    Candidates on the same ``stock`` (two arms of one roll) need no change of roll between them; ``printer``
    keeps queues of different printers apart. Empty means: its own stock, the only printer.
    """

    candidate_id: str
    sheets: int
    house: bool = False
    stock: str = ""
    printer: str = ""
    on_roll: bool = True


@dataclass(frozen=True, slots=True)
class Turn:
    """One turn at the printer: ``place`` in the order (from 1), day (from 1), whose sheet, and its code."""

    place: int
    day: int
    candidate_id: str
    code: str


@dataclass(frozen=True, slots=True)
class Load:
    """Sheets printed one after another without changing what is loaded."""

    day: int
    printer: str
    stock: str
    on_roll: bool
    places: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class OrderChoice:
    """One way of ordering and its price: how often a roll is loaded, minutes, what it gives and loses."""

    way: OrderKind
    turns: tuple[Turn, ...]
    loads: int
    minutes: float
    gains: str
    loses: str


def draw_order(
    shares: Sequence[Share],
    *,
    days: int,
    seed: int,
    way: OrderKind = "randomised, blocked by day",
    taken: Collection[str] = (),
) -> tuple[Turn, ...]:
    """The print order: each candidate spread over the days as evenly as its count allows.

    Randomised orders keep drift from favouring a candidate. "As listed" is for a bench that cannot reload;
    it cannot be told from drift afterwards.

    Parameters
    ----------
    shares
        Candidates in their listed order, with how many sheets each.
    days
        Number of printing days, from 1.
    seed
        From 0. The same shares, days, way and seed give the same order with every version.
    way
        How to order; see `GAINS` and `LOSSES`.
    taken
        Codes already written on sheets of this trial.

    Returns
    -------
    tuple of Turn
        In print order, places from 1. Days are nearly equally long: their sheets differ by one at most.

    Raises
    ------
    BadSetting
        No days, a negative seed or count, a candidate listed twice, or a house medium that has too few
        sheets to be in every day.

    Notes
    -----
    Draws are taken from the raw 64-bit output of PCG64, which NumPy promises never to change for a seed
    (its shuffles carry no such promise), by rejection below the largest multiple of n, and shuffled after
    Fisher and Yates from the last item down. Order of draws: days that get a sheet more, candidate by
    candidate; then the order within each day; then the codes.
    """
    _refuse(shares, days, seed)
    stream = _Stream(seed)
    by_day = _spread(shares, days, stream, at_random=way != "as listed")
    ordered = [(day, owner) for day, owners in enumerate(by_day, 1) for owner in _within(owners, way, stream)]
    codes = _codes(len(ordered), stream, taken)
    return tuple(
        Turn(place, day, owner.candidate_id, code)
        for place, ((day, owner), code) in enumerate(zip(ordered, codes, strict=True), start=1)
    )


def sheet_codes(count: int, *, seed: int, taken: Collection[str] = ()) -> tuple[str, ...]:
    """Codes for sheets outside the order (setting sheets, spares): short, unique, telling nothing.

    A code is a letter and a digit, such as K7; with many sheets two digits or more. Signs that are mistaken
    for one another are left out. Raises BadSetting where count or seed is negative.
    """
    if count < 0 or seed < 0:
        raise BadSetting("a number of codes or a seed cannot be negative.", todo="Give a number from 0.")
    return _codes(count, _Stream(seed), taken)


def shares_of(facts: TrialFacts) -> tuple[Share, ...]:
    """What the plan of a trial asks for: a share for each candidate that has not been withdrawn.

    Arms on the same roll, or without a roll on the same lot or medium, share a stock. Empty without a plan.
    """
    if facts.plan is None:
        return ()
    forms = {roll.id: roll.form for roll in facts.rolls}
    return tuple(
        Share(
            candidate_id=candidate.id,
            sheets=facts.plan.sheets_per_candidate,
            house=candidate.house,
            stock=candidate.roll_id or candidate.lot_id or candidate.medium_id,
            printer=candidate.printer_id or "",
            on_roll=forms.get(candidate.roll_id or "", "roll") == "roll",
        )
        for candidate in facts.candidates
        if candidate.withdrawn_at is None
    )


def planned_turns(facts: TrialFacts) -> tuple[Turn, ...]:
    """The order of a trial as kept with its sheets, or else as its plan would draw it; empty without a plan.

    Raises BadSetting where the plan cannot be drawn.
    """
    kept = [sheet for sheet in facts.sheets if sheet.use == "test" and sheet.place > 0]
    if kept:
        in_turn = sorted(kept, key=lambda sheet: sheet.place)
        return tuple(Turn(sheet.place, sheet.day, sheet.candidate_id, sheet.code) for sheet in in_turn)
    plan = facts.plan
    if plan is None:
        return ()
    return draw_order(shares_of(facts), days=plan.days, seed=plan.seed, way=plan.order)


def loads_of(turns: Sequence[Turn], shares: Sequence[Share]) -> tuple[Load, ...]:
    """What has to be loaded, in order of its first sheet; every day begins with a load.

    A roll left on the printer overnight takes a curl at its edge and strikes the head (common practice, no
    source), so that it comes off in the evening. Each printer keeps its own queue.
    """
    named = {share.candidate_id: share for share in shares}
    owners = {
        turn.candidate_id: named.get(turn.candidate_id) or Share(candidate_id=turn.candidate_id, sheets=0)
        for turn in turns
    }

    def printer(turn: Turn) -> str:
        return owners[turn.candidate_id].printer

    def stock(turn: Turn) -> tuple[int, str]:
        return turn.day, owners[turn.candidate_id].stock or turn.candidate_id

    found = []
    for name in sorted({printer(turn) for turn in turns}):
        queue = [turn for turn in turns if printer(turn) == name]
        for (day, loaded), group in groupby(queue, key=stock):
            sheets = tuple(group)
            on_roll = owners[sheets[0].candidate_id].on_roll
            found.append(Load(day, name, loaded, on_roll, tuple(turn.place for turn in sheets)))
    return tuple(sorted(found, key=lambda load: load.places[0]))


def order_choices(
    shares: Sequence[Share], *, days: int, seed: int, taken: Collection[str] = ()
) -> tuple[OrderChoice, ...]:
    """Every way of ordering side by side, with its loads, minutes and what it loses."""
    return tuple(
        _choice(shares, draw_order(shares, days=days, seed=seed, way=way, taken=taken), way)
        for way in ORDER_WAYS
    )


def _choice(shares: Sequence[Share], turns: tuple[Turn, ...], way: OrderKind) -> OrderChoice:
    rolls = [load for load in loads_of(turns, shares) if load.on_roll]
    return OrderChoice(way, turns, len(rolls), len(rolls) * LOAD_MINUTES.value, GAINS[way], LOSSES[way])


class _Stream:
    """Whole numbers from a seed, the same with every version of NumPy."""

    def __init__(self, seed: int) -> None:
        self._bits = np.random.PCG64(seed)

    def below(self, bound: int) -> int:
        """A number from 0 to bound - 1, each equally likely."""
        limit = 2**64 - 2**64 % bound
        while (raw := int(self._bits.random_raw())) >= limit:
            pass
        return raw % bound

    def shuffled(self, items: Sequence[Item]) -> list[Item]:
        """The items in random order, every order equally likely."""
        mixed = list(items)
        for last in range(len(mixed) - 1, 0, -1):
            other = self.below(last + 1)
            mixed[last], mixed[other] = mixed[other], mixed[last]
        return mixed


def _refuse(shares: Sequence[Share], days: int, seed: int) -> None:
    if days < 1:
        raise BadSetting(f"{days} printing days.", todo="Give at least one.")
    if seed < 0:
        raise BadSetting(f"the seed {seed} is negative.", todo="Give a whole number from 0.")
    if len({share.candidate_id for share in shares}) != len(shares):
        raise BadSetting("a candidate is listed twice in the order.", todo="Add its sheets together.")
    if any(share.sheets < 0 for share in shares):
        raise BadSetting("a candidate has a negative number of sheets.", todo="Give a number from 0.")
    if sum(share.sheets for share in shares) > MOST_TURNS:
        raise BadSetting(f"more than {MOST_TURNS} sheets.", todo="Give fewer sheets for each candidate.")
    for share in shares:
        if share.house and share.sheets < days:
            raise BadSetting(
                f"the house medium has {share.sheets} sheets for {days} days; every day needs one.",
                todo="Give more sheets, or print on fewer days.",
            )


def _spread(shares: Sequence[Share], days: int, stream: _Stream, *, at_random: bool) -> list[list[Share]]:
    """The sheets of each day, in listed order; a remainder goes to the days with the fewest sheets so far."""
    by_day: list[list[Share]] = [[] for _ in range(days)]
    for share in shares:
        every, more = divmod(share.sheets, days)
        numbers = stream.shuffled(range(days)) if at_random else list(range(days))
        emptiest = sorted(numbers, key=lambda day: len(by_day[day]))[:more]
        for day in range(days):
            by_day[day].extend([share] * (every + (day in emptiest)))
    return by_day


def _within(owners: Sequence[Share], way: OrderKind, stream: _Stream) -> list[Share]:
    """One day's sheets in their order."""
    if way == "as listed":
        return list(owners)
    if way == "randomised, blocked by day":
        return stream.shuffled(owners)
    by_stock: dict[str, dict[str, list[Share]]] = {}
    for owner in owners:
        arms = by_stock.setdefault(owner.stock or owner.candidate_id, {})
        arms.setdefault(owner.candidate_id, []).append(owner)
    return [
        owner
        for stock in stream.shuffled(list(by_stock))
        for arm in stream.shuffled(list(by_stock[stock]))
        for owner in by_stock[stock][arm]
    ]


def _codes(count: int, stream: _Stream, taken: Collection[str]) -> tuple[str, ...]:
    """Codes of one length, as short as leaves enough of them free."""
    used = {code.upper() for code in taken}
    digits = [""]
    while True:
        digits = [code + digit for code in digits for digit in CODE_DIGITS]
        free = [letter + code for letter in CODE_LETTERS for code in digits if letter + code not in used]
        if len(free) >= count:
            return tuple(stream.shuffled(free)[:count])
