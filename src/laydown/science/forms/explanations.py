"""Which of all pages and orders explains the readings of a file, and whether another does as well."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from laydown.kernel.arrays import Bools, Ints
from laydown.kernel.constants import Constant
from laydown.science.forms.alignment import BREAK_AT_LINES, Gains, align, run_scores, totals_through
from laydown.science.forms.device_gains import listed
from laydown.science.forms.expected_pages import Candidate
from laydown.science.forms.matched import TODO, NotMatched, ToldBy
from laydown.science.forms.reading_ways import Way, every_way, line_begins, lines_turned, order_of

_SIMULATED = "false matches and missed ones in simulation, docs/methods/test-form.md"
FEWEST_ROWS = Constant(20, "patches", "our own judgement: fewer fit too many things by chance", "computed")
LEAST_MARGIN_EACH = Constant(0.25, "of a patch for each reading in question", _SIMULATED, "computed")
FEW_IN_QUESTION = Constant(0.1, "of the readings", "our own judgement: left empty, not refused", "computed")
_MOST_LAID = 24
_NEAR, _FAR, _SHORTEST_RUN = 3, 10_000, 4


@dataclass(frozen=True, slots=True)
class Rules:
    """When an explanation is believed.

    ``enough`` of the readings have to be explained, and no other explanation may come within ``margin``
    patches' worth. Device values within ``within`` are the same. A reading is in ``doubt`` where the total
    for a patch of another colour is no more than that behind. ``stated``: the user says that it is one of
    these pages.
    """

    told_by: ToldBy
    enough: float
    margin: float
    within: float
    doubt: float
    todo: str
    stated: bool


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """One page in one order; ``total`` is what its best runs gain. ``way`` is None for a list in no order."""

    of: Candidate
    way: Way | None
    order: Ints
    begins: Bools
    total: float


@dataclass(frozen=True, slots=True, eq=False)
class Explanation:
    """A fit with the place of each reading (m,), -1 for none.

    ``doubted`` (m,) are readings that may be of another patch as well, ``also`` ways that differ in nothing
    but places of equal device values, ``margin`` how far the next explanation lies behind.
    """

    fit: Fit
    gains: Gains
    place_of: Ints
    total: float
    doubted: Bools
    also: tuple[Way, ...] = ()
    margin: float = float("inf")

    @property
    def places(self) -> Ints:
        """Of each reading among all places of all pages, -1 for none."""
        return np.where(self.place_of >= 0, self.fit.of.places[self.place_of], -1)

    @property
    def title(self) -> str:
        """Page and way in words."""
        how = self.fit.way.words if self.fit.way is not None else "listed in another order"
        return f"{self.fit.of.page.title} ({how[:1].lower()}{how[1:]})"


def every_fit(of: Candidate, gains: Gains) -> list[Fit]:
    """A page in every order that differs from the others.

    Parameters
    ----------
    of : Candidate
    gains : (m, n) of readings and places

    Returns
    -------
    list of Fit

    Checked against
    ---------------
    Pages read in all sixteen ways.
    """
    ways = _orders(of)
    totals = run_scores(gains, np.stack([order for _, order, _ in ways]), np.stack([b for _, _, b in ways]))
    return [Fit(of, *way, float(total)) for way, total in zip(ways, totals, strict=True)]


def leading(fits: Sequence[Fit], known: int, margin: float) -> list[Fit]:
    """The fits that may win or come too near.

    Parameters
    ----------
    fits : every one
    known : how many readings have values
    margin : from the rules

    Returns
    -------
    list of Fit, the best first; of equals the simplest

    Checked against
    ---------------
    Pages that look the same from either end.
    """
    ranked = sorted(fits, key=lambda fit: -fit.total)
    least = ranked[0].total - max(2.0 * margin + 2.0 * BREAK_AT_LINES.value, LEAST_MARGIN_EACH.value * known)
    return [fit for fit in ranked if fit.total >= least][:_MOST_LAID]


def _tracks(fit: Fit) -> tuple[Ints, Bools]:
    """The order of a fit, and beside it the same with every line from its other end."""
    turned = lines_turned(fit.order, fit.begins)
    return np.stack([fit.order, turned]), np.stack([fit.begins, fit.begins])


def unbroken(of: Candidate, gains: Gains) -> list[Explanation]:
    """A whole page read in every order, without anything left out or double.

    Quick to tell. Where device values are the same throughout, nothing that breaks comes near.

    Parameters
    ----------
    of : Candidate
    gains : (m, n) of readings and places

    Returns
    -------
    list of Explanation; empty where the page has not as many places as there are readings

    Checked against
    ---------------
    Pages read in all sixteen ways.
    """
    if gains.shape[0] != gains.shape[1]:
        return []
    readings, nothing = np.arange(len(gains)), np.zeros(len(gains), dtype=np.bool_)
    found = []
    for way, order, begins in _orders(of):
        total = float(gains[readings, order].sum())
        found.append(Explanation(Fit(of, way, order, begins, total), gains, order, total, nothing))
    return found


def explained(fit: Fit, gains: Gains) -> Explanation:
    """Each reading in its place, lines from their other end where that is better.

    Parameters
    ----------
    fit : page and order
    gains : (m, n) of readings and places

    Returns
    -------
    Explanation, nothing doubted yet

    Checked against
    ---------------
    Planted slips of every kind.
    """
    place_of, total = align(gains, *_tracks(fit))
    return Explanation(fit, gains, place_of, total, np.zeros(len(gains), dtype=np.bool_))


def best_of(every: Sequence[Explanation], known: Bools, rules: Rules) -> Explanation | NotMatched:
    """The best explanation, where it explains enough and no other comes near.

    Parameters
    ----------
    every : explanations that may win or come near
    known : (m,) readings that have values
    rules : when it is believed

    Returns
    -------
    Explanation with what can be said against it, or NotMatched

    Checked against
    ---------------
    Files of no page, files that fit two, and parts of pages.
    """
    best = _simplest(every, rules.margin)
    page = best.fit.of.page
    score = best.total / max(int(known.sum()), 1)
    if score < rules.enough:
        what = "device values" if rules.told_by == "device values" else "colours"
        return NotMatched(
            f"its {what} are not those of any page in any order; nearest is {page.title}.", rules.todo, score
        )
    met = np.unique(best.place_of[(best.place_of >= 0) & known])
    beyond = int(np.count_nonzero(page.beyond_strip[met]))
    fewest = min(FEWEST_ROWS.value, int(np.count_nonzero(page.beyond_strip)))
    if beyond < fewest and not rules.stated:
        return NotMatched(
            f"only {len(met)} of its patches are of {page.title}, {len(met) - beyond} of them of the control "
            "strip, which every form has.",
            "Say yourself which page it is, or read more of it.",
            score,
        )
    also, margin, doubted = [], best.total, best.doubted.copy()
    for other in every:
        if other is best:
            continue
        unlike, elsewhere = _unlike(best, other, rules.within)
        questioned, behind = int(np.count_nonzero(unlike & known)), best.total - other.total
        near = behind < max(rules.margin, LEAST_MARGIN_EACH.value * questioned)
        margin = min(margin, behind) if questioned else margin
        if near and questioned > FEW_IN_QUESTION.value * known.sum():
            return NotMatched(f"it fits {best.title} and {other.title} equally well.", TODO, score)
        if near and questioned:
            doubted |= unlike
        elif near and elsewhere.any() and other.fit.way is not None:
            also.append(other.fit.way)
    return replace(best, doubted=doubted, also=tuple(dict.fromkeys(also)), margin=margin)


def settled(found: Explanation, rules: Rules) -> Explanation:
    """The same without readings that differ from their places, which device values may have elsewhere.

    For gains that are certain: what is not the same is another patch. Readings that are left go to places of
    their device values, those that are free first. Those that might as well be of another patch are doubted.

    Parameters
    ----------
    found : what was believed
    rules : of which ``doubt`` counts

    Returns
    -------
    Explanation

    Checked against
    ---------------
    Patches left out and read twice, beside others like them, with device values rounded in every way.
    """
    place_of = found.place_of.copy()
    at = np.flatnonzero(place_of >= 0)
    place_of[at[found.gains[at, place_of[at]] < 0.0]] = -1
    left = np.flatnonzero(place_of < 0)
    free = np.setdiff1d(np.arange(len(found.fit.of.page)), place_of)
    for places in (free, np.arange(len(found.fit.of.page))):
        if len(left) and len(places):
            again = listed(found.gains[np.ix_(left, places)])
            place_of[left[again >= 0]] = places[again[again >= 0]]
            left = left[again < 0]
    return replace(
        found, place_of=place_of, doubted=(found.doubted | _doubted(found, rules)) & (place_of >= 0)
    )


def settled_anew(found: Explanation, gains: Gains, rules: Rules, *, unlike: float) -> Explanation:
    """The same page and order with each reading laid anew by sharper gains, and readings doubted by these.

    Parameters
    ----------
    found : what was believed
    gains : (m, n) sharper ones
    rules : of which ``doubt`` counts
    unlike : a reading near the end of a run that gains no more than this in its place is doubted: where
        something was left out, it may be the next patch's

    Returns
    -------
    Explanation; its total stays that of ``found``, since sharper gains are no evidence for a page

    Checked against
    ---------------
    Sheets with single patches left out and read twice.
    """
    anew = explained(found.fit, gains)
    # A stretch that fits badly stays where it was, as long as nothing else is read there.
    there = anew.place_of[anew.place_of >= 0]
    back = (anew.place_of < 0) & (found.place_of >= 0) & ~np.isin(found.place_of, there)
    kept = np.flatnonzero(back)
    doubted = found.doubted | _doubted(anew, rules)
    doubted[kept] |= found.gains[kept, found.place_of[kept]] < 0.0
    place_of = np.where(back, found.place_of, anew.place_of)
    found = replace(found, place_of=place_of)
    goes_on, at = _goes_on(found), np.flatnonzero(place_of >= 0)
    doubted[at] |= (gains[at, place_of[at]] <= unlike) & (_from_a_break(goes_on)[at] < _NEAR)
    return replace(found, doubted=doubted | _in_short_run(goes_on))


def _orders(of: Candidate) -> list[tuple[Way, Ints, Bools]]:
    """Every order that differs from the others, the simplest first."""
    different: dict[bytes, tuple[Way, Ints, Bools]] = {}
    for way in every_way():
        order = order_of(way, of.page.positions)
        begins = line_begins(way, order, of.page.positions)
        different.setdefault(order.tobytes() + begins.tobytes(), (way, order, begins))
    return list(different.values())


def _goes_on(found: Explanation) -> Bools:
    """Before each reading and after the last (m + 1,): whether nothing was left out or turned there."""
    goes_on = np.zeros(len(found.place_of) + 1, dtype=np.bool_)
    there = found.place_of >= 0
    for order in _tracks(found.fit)[0]:
        step = np.argsort(order)[found.place_of]
        goes_on[1:-1] |= there[:-1] & there[1:] & (np.diff(step) == 1)
        goes_on[0] |= bool(there[0]) and step[0] == 0
        goes_on[-1] |= bool(there[-1]) and step[-1] == len(order) - 1
    return goes_on


def _from_a_break(goes_on: Bools) -> Ints:
    """How many readings lie between each reading (m,) and the nearest break; many where there is none."""
    readings = np.arange(len(goes_on) - 1)
    ends = np.concatenate([[-_FAR], np.flatnonzero(~goes_on), [len(goes_on) + _FAR]])
    after = np.searchsorted(ends, readings, side="right")
    return np.asarray(np.minimum(readings - ends[after - 1], ends[after] - 1 - readings))


def _in_short_run(goes_on: Bools) -> Bools:
    """Readings (m,) in runs too short to be more than chance, where there are breaks at all."""
    borders = np.unique(np.concatenate([[0], np.flatnonzero(~goes_on), [len(goes_on) - 1]]))
    length = np.diff(borders)
    return np.repeat((length < _SHORTEST_RUN) & (len(length) > 1), length)


def _doubted(found: Explanation, rules: Rules) -> Bools:
    """Readings (m,) that might as well be of another place of another colour."""
    doubted = np.zeros(len(found.place_of), dtype=np.bool_)
    # Nothing gains more than 1 a reading, and any other way of laying them breaks once more.
    near = found.total - rules.doubt
    if found.fit.way is None or near > len(doubted) - BREAK_AT_LINES.value:
        return doubted
    through = totals_through(found.gains, *_tracks(found.fit))
    device = found.fit.of.page.device
    for reading in np.flatnonzero((found.place_of >= 0) & found.gains.any(axis=1)):
        rivals = np.flatnonzero(through[reading] > near)
        apart = np.abs(device[rivals] - device[found.place_of[reading]])
        doubted[reading] = bool((apart > rules.within).any())
    return doubted


def _simplest(every: Sequence[Explanation], needed: float) -> Explanation:
    """The best; a single page rather than a whole form that explains hardly more."""
    best = max(every, key=lambda one: one.total)
    for one in sorted(every, key=lambda one: -one.total):
        part = np.isin(one.fit.of.places, best.fit.of.places).all()
        if len(one.fit.of.places) < len(best.fit.of.places) and part and one.total > best.total - needed:
            return one
    return best


def _unlike(one: Explanation, other: Explanation, within: float) -> tuple[Bools, Bools]:
    """Readings given to patches of unlike colour or on unlike pages; and those given to unlike places."""
    both = (one.place_of >= 0) & (other.place_of >= 0)
    elsewhere = both & (one.places != other.places)
    at = np.flatnonzero(elsewhere)
    unlike = np.zeros(len(both), dtype=np.bool_)
    mine, theirs = one.place_of[at], other.place_of[at]
    unlike[at] = one.fit.of.sheet[mine] != other.fit.of.sheet[theirs]
    if one.fit.of.page.channels == other.fit.of.page.channels:
        apart = np.abs(one.fit.of.page.device[mine] - other.fit.of.page.device[theirs])
        unlike[at] |= (apart > within).any(axis=1)
    else:
        unlike[at] = True
    return unlike, elsewhere
