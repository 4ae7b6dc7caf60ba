"""Simulated trials through the program, and what it said set against the truth."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from laydown.compute.runner import Runner
from laydown.kernel.arrays import Bools, Floats, Ints
from laydown.science.findings import METRICS
from laydown.usecases.call_differences import call_differences
from laydown.usecases.collect_findings import collect_findings
from laydown.usecases.read_media import Medium
from simulated_sheets import IDS, Kind, Truth, medium_of, read_one, some_mistake

UNSURE = 3.0  # standard errors of the truth within which its sign is taken to be open
STEPPED_FROM = 0.2  # share of sheets with exactly one value from which a finding counts as stepped


@dataclass(frozen=True, slots=True)
class Scenario:
    """A trial to be run many times: the first kind is the house medium; every name is another medium."""

    name: str
    kinds: tuple[tuple[str, Kind], ...]
    sheets: int
    conditions: tuple[str, ...] = ("M1",)  # calls are made under the first
    mistaken: float = 0.0  # share of sheets with a misread

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(name for name, _ in self.kinds)


@dataclass(frozen=True, slots=True)
class Job:
    scenario: Scenario
    seed: tuple[int, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Outcome:
    """What one trial said of f findings, NaN for nothing.

    ``findings`` (4: value, low, high, SD of sheets; f; media); ``differences`` (3: value, low, high; f;
    pairs); ``calls`` (f, pairs): 1 higher, -1 lower, 0 same, NaN cannot tell or not judged.
    """

    findings: Floats
    differences: Floats
    calls: Floats


def pairs_of(names: Sequence[str]) -> list[tuple[str, str]]:
    """All pairs, the later medium minus the earlier one; the house comes first and so is subtracted."""
    return [(late, early) for early, late in combinations(names, 2)]


def run_trial(job: Job) -> Outcome:
    """Print, read, and let the program judge one trial."""
    rng = np.random.default_rng(job.seed)
    scenario = job.scenario
    media = [
        medium_of(
            name,
            [
                read_one(
                    kind,
                    rng,
                    name=f"sheet{number}",
                    conditions=scenario.conditions,
                    mistakes=some_mistake(rng, share=scenario.mistaken),
                )
                for number in range(1, scenario.sheets + 1)
            ],
        )
        for name, kind in scenario.kinds
    ]
    return judge_trial(media, condition=scenario.conditions[0])


def judge_trial(media: Sequence[Medium], *, condition: str) -> Outcome:
    names = [medium.name for medium in media]
    called = call_differences(collect_findings(media, condition=condition).media, house=names[0], margins={})
    findings = np.full((4, len(IDS), len(names)), np.nan)
    for column, name in enumerate(names):
        # The judged condition comes first; later findings of one id are under other conditions.
        first = {item.id: item for item in reversed(called.findings[name])}
        for row, metric in enumerate(IDS):
            if metric in first:
                it = first[metric]
                findings[:, row, column] = it.value, it.low, it.high, it.sd
    pairs = pairs_of(names)
    differences = np.full((3, len(IDS), len(pairs)), np.nan)
    calls = np.full((len(IDS), len(pairs)), np.nan)
    for item in called.differences:
        row, sign = IDS.index(item.finding), 1.0
        pair = (item.candidate, item.against)
        if pair not in pairs:
            pair, sign = pair[::-1], -1.0
        column = pairs.index(pair)
        ends = sorted((sign * item.low, sign * item.high))
        differences[:, row, column] = sign * item.difference, *ends
        calls[row, column] = sign * direction(item.call, METRICS[item.finding].preference)
    return Outcome(findings, differences, calls)


def direction(call: str, preference: str) -> float:
    """What a call says: 1 the candidate's number is higher, -1 lower, 0 the same, NaN nothing."""
    good = -1.0 if preference == "lower" else 1.0
    said = {"higher": 1.0, "lower": -1.0, "same": 0.0, "better": good, "worse": -good}
    return said.get(call, float("nan"))


@dataclass(frozen=True, slots=True, eq=False)
class Tally:
    """One scenario's trials against the truth; t trials, f findings.

    ``covers`` (t, f, media) and ``covers_difference`` (t, f, pairs): 1 the interval holds the truth, 0 not,
    NaN no interval. ``own`` (t, f, media): the same for an interval from the medium's own sheets alone;
    ``widths``: how many times as wide as the program's that is. ``calls`` (t, f, pairs) as in ``Outcome``.
    ``gap`` (f, pairs): the true difference, 0 where its sign is open. ``margin`` (f,): the margin that the
    true house medium would set, NaN for none. ``spread`` (f, media): true SD of sheets. ``stepped`` (f,):
    many sheets have exactly the same value.
    """

    scenario: Scenario
    covers: Floats
    covers_difference: Floats
    own: Floats
    widths: Floats
    calls: Floats
    gap: Floats
    margin: Floats
    spread: Floats
    stepped: Bools

    @property
    def trials(self) -> int:
        return len(self.calls)

    @property
    def wrong(self) -> Bools:
        """(t, f, pairs): called higher or lower where it is not."""
        wrong: Bools = np.isfinite(self.calls) & (self.calls != 0) & (self.calls != np.sign(self.gap))
        return wrong

    @property
    def matters(self) -> Bools:
        """(f, pairs): the true difference is as large as the margin, so that "same" would be wrong."""
        return np.asarray(np.abs(self.gap) >= self.margin[:, None])

    @property
    def wrong_same(self) -> Bools:
        return np.asarray((self.calls == 0) & self.matters)


def tally(scenario: Scenario, outcomes: Sequence[Outcome], truths: Mapping[Kind, Truth]) -> Tally:
    known = [truths[kind] for _, kind in scenario.kinds]
    mean = np.stack([truth.mean for truth in known], axis=1)
    first, second = _columns(scenario)
    gap = mean[:, first] - mean[:, second]
    error = np.sqrt(sum(np.square([truth.error for truth in known])[[first, second]])).T
    findings = np.stack([outcome.findings for outcome in outcomes])
    differences = np.stack([outcome.differences for outcome in outcomes])
    alone = _alone(findings, scenario.sheets)
    with np.errstate(invalid="ignore", divide="ignore"):
        widths = (alone[:, 2] - alone[:, 1]) / (findings[:, 2] - findings[:, 1])
    return Tally(
        scenario=scenario,
        covers=_covers(findings, mean),
        covers_difference=_covers(differences, gap),
        own=_covers(alone, mean),
        widths=widths,
        calls=np.stack([outcome.calls for outcome in outcomes]),
        gap=np.where(np.abs(gap) <= UNSURE * error, 0.0, gap),
        margin=_margins(known[0]),
        spread=np.stack([truth.sd for truth in known], axis=1),
        stepped=np.any([truth.commonest >= STEPPED_FROM for truth in known], axis=0),
    )


def _columns(scenario: Scenario) -> tuple[Ints, Ints]:
    names = scenario.names
    both = np.array([(names.index(late), names.index(early)) for late, early in pairs_of(names)])
    return both[:, 0], both[:, 1]


def _alone(findings: Floats, sheets: int) -> Floats:
    """Value and the textbook interval of each medium by itself."""
    from scipy.special import stdtrit

    half = float(stdtrit(sheets - 1, 0.975)) * findings[:, 3] / np.sqrt(sheets)
    return np.stack([findings[:, 0], findings[:, 0] - half, findings[:, 0] + half], axis=1)


def _covers(said: Floats, truth: Floats) -> Floats:
    low, high = said[:, 1], said[:, 2]
    return np.where(np.isfinite(low), (low <= truth) & (truth <= high), np.nan)


def _margins(house: Truth) -> Floats:
    sizes = []
    for row, name in enumerate(IDS):
        metric = METRICS[name]
        if metric.margin is None:
            sizes.append(np.nan)
        else:
            sizes.append(float(metric.margin) * (abs(house.mean[row]) if metric.margin_is_relative else 1.0))
    return np.array(sizes)


def simulate(
    scenario: Scenario, truths: Mapping[Kind, Truth], *, trials: int, seed: tuple[int, ...], runner: Runner
) -> Tally:
    """Run a scenario ``trials`` times; every trial has its own seed, so that the runner does not matter."""
    jobs = [Job(scenario, (*seed, number)) for number in range(trials)]
    return tally(scenario, list(runner.map(run_trial, jobs)), truths)
