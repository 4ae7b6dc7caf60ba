"""The answer in plain sentences, made from the calls."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence

from laydown.science.findings.catalogue import METRICS
from laydown.usecases.comparison import Candidate, ComparedDifference

MOST_NAMED = 5
MOST_PAIRS = 10


def answer(
    candidates: Sequence[Candidate], differences: Sequence[ComparedDifference], *, house: str
) -> tuple[str, ...]:
    """One sentence per candidate against the house medium; without one, what can be told apart at all."""
    few = [c.name for c in candidates if len(c.sheets) == 1]
    told = []
    if len(candidates) == 1:
        return (f"{candidates[0].name} stands alone: there is nothing to compare it with.",)
    refused = _refused_throughout(differences)
    if few and len(few) == len(candidates):
        told += [f"{a} and {b} cannot be compared: {why}." for (a, b), why in refused.items()][:MOST_PAIRS]
        if len(refused) < len({(d.candidate, d.against) for d in differences}):
            told.append(
                "Every medium has one sheet: the values are shown, and nothing is called. "
                "Print at least two more sheets of each."
            )
        return tuple(told)
    if few:
        told.append(f"One sheet only, so no call: {', '.join(few)}. Print at least two more.")
    if house:
        told += [
            _against_house(
                c.name, house, [d for d in differences if d.candidate == c.name and d.against == house]
            )
            for c in candidates
            if c.name != house and c.name not in few
        ]
    else:
        told += _between(candidates, differences)
    return tuple(told)


def _refused_throughout(differences: Sequence[ComparedDifference]) -> dict[tuple[str, str], str]:
    """Pairs in which nothing may be compared, and why."""
    reasons: dict[tuple[str, str], str] = {}
    allowed: set[tuple[str, str]] = set()
    for item in differences:
        pair = (item.candidate, item.against)
        if item.refused:
            reasons.setdefault(pair, item.reason)
        else:
            allowed.add(pair)
    return {pair: why for pair, why in reasons.items() if pair not in allowed}


def _against_house(name: str, house: str, differences: Sequence[ComparedDifference]) -> str:
    if differences and all(d.refused for d in differences):
        return f"{name} cannot be compared with {house}: {differences[0].reason}."
    by_call: dict[str, list[ComparedDifference]] = defaultdict(list)
    for item in differences:
        by_call["refused" if item.refused else item.call].append(item)
    apart = {item.finding for item in differences if item.call not in ("same", "cannot_tell")}
    parts = []
    for call in ("better", "worse", "higher", "lower"):
        labels = _labels(by_call[call], apart)
        if labels:
            parts.append(f"{call} in {labels}")
    same = len(by_call["same"])
    if same:
        everything = same == len(differences)
        of = f"all {_findings(same)}" if everything else _findings(same)
        parts.append(f"the same within the margin that matters in {of}")
    if by_call["cannot_tell"]:
        parts.append(f"not yet to be told: {_labels(by_call['cannot_tell'], ())}")
    refused = len(by_call["refused"])
    if refused:
        parts.append(f"{_findings(refused)} not compared ({by_call['refused'][0].reason})")
    return f"{name} against {house}: {'; '.join(parts) if parts else 'nothing in common to compare'}."


def _labels(items: Sequence[ComparedDifference], told_apart: Collection[str]) -> str:
    """Labels, those that only echo a finding told apart as well as "what goes with it"."""
    names = [item.label for item in items if METRICS[item.finding].echoes not in told_apart]
    if not names:
        return ""
    more = len(names) - MOST_NAMED
    shown = ", ".join(names[:MOST_NAMED])
    echoes = len(items) - len(names)
    rest = [f"{more} more"] if more > 0 else []
    rest += [f"{_findings(echoes)} that go{'es' if echoes == 1 else ''} with these"] if echoes else []
    return " and ".join([shown, *rest])


def _findings(count: int) -> str:
    return "1 finding" if count == 1 else f"{count} findings"


def _between(candidates: Sequence[Candidate], differences: Sequence[ComparedDifference]) -> list[str]:
    """Without a house medium: how many findings tell each pair apart."""
    told = []
    pairs: dict[tuple[str, str], list[ComparedDifference]] = defaultdict(list)
    for item in differences:
        pairs[(item.candidate, item.against)].append(item)
    if len(pairs) > MOST_PAIRS:
        several = f"{len(candidates)} media make {len(pairs)} pairs, too many for a sentence each."
        told.append(f"{several} The letters beside each finding say which are told apart.")
        pairs.clear()
    for (a, b), items in pairs.items():
        if all(item.refused for item in items):
            told.append(f"{a} and {b} cannot be compared: {items[0].reason}.")
            continue
        apart = [item for item in items if item.call in ("better", "worse", "higher", "lower")]
        same = sum(item.call == "same" for item in items)
        labels = _labels(apart, {item.finding for item in apart})
        words = f"told apart in {labels}" if labels else "not told apart in any finding"
        same_words = f"; the same within the margin that matters in {_findings(same)}" if same else ""
        unsure = sum(item.call == "cannot_tell" and not item.refused for item in items)
        open_words = f"; {_findings(unsure)} not yet to be told" if unsure else ""
        told.append(f"{a} and {b}: {words}{same_words}{open_words}.")
    if len(candidates) > 1:
        told.append(
            "No house medium was named; name one (what you use now) and every other is called against it."
        )
    return told
