"""Tables of simulated trials, in Markdown."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence

import numpy as np

from judged_trials import UNSURE, Tally
from laydown.kernel.arrays import Bools, Floats, Ints
from laydown.science.findings import METRICS
from simulated_sheets import IDS, Truth

JUDGED: Bools = np.array([METRICS[name].judged for name in IDS])

OVERALL = (
    "scenario",
    "trials",
    "findings cover, %",
    "worst finding",
    "differences cover, %",
    "worst finding",
    "trials with a wrong call, %",
    "wrong calls, % of comparisons",
    "wrong same, % where it would be wrong",
    "trials with a wrong same, %",
)
BY_MEDIUM = (
    "scenario",
    "medium",
    "findings cover, %",
    "worst finding",
    "own sheets alone would cover, %",
    "and be so many times as wide",
)
BY_GAP = (
    "scenario",
    "true difference",
    "comparisons a trial",
    "same",
    "told apart, rightly",
    "wrongly",
    "cannot tell",
)


def table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines) + "\n"


def percent(share: float) -> str:
    return "-" if np.isnan(share) else f"{100.0 * share:.1f}"


def share(values: Floats | Bools) -> float:
    """Mean over what is known; NaN where nothing is."""
    known = np.asarray(values, dtype=np.float64)
    known = known[np.isfinite(known)]
    return float(known.mean()) if known.size else float("nan")


def overall_row(it: Tally) -> list[str]:
    """Coverage of judged, continuous findings; calls of all that is judged."""
    plain = np.flatnonzero(JUDGED & ~it.stepped)
    judged = np.asarray(np.isfinite(it.covers_difference).any(axis=(0, 2)))
    same = np.where(it.matters & judged[:, None], it.calls == 0, np.nan)
    return [
        it.scenario.name,
        str(it.trials),
        percent(share(it.covers[:, plain])),
        _worst(it.covers, plain),
        percent(share(it.covers_difference[:, plain])),
        _worst(it.covers_difference, plain),
        percent(share(np.asarray(it.wrong.any(axis=(1, 2))))),
        f"{100.0 * share(it.wrong[:, judged]):.3f}",
        percent(share(same)),
        percent(share(np.asarray(it.wrong_same.any(axis=(1, 2))))),
    ]


def _worst(covers: Floats, rows: Ints) -> str:
    shares = {int(row): share(covers[:, row]) for row in rows}
    known = {row: value for row, value in shares.items() if not np.isnan(value)}
    row = min(known, key=lambda place: known[place])
    return f"{percent(known[row])} ({IDS[row]})"


def medium_rows(it: Tally) -> Iterator[list[str]]:
    """Coverage medium by medium, and what intervals from each medium's own sheets alone would have done."""
    plain = np.flatnonzero(JUDGED & ~it.stepped)
    for place, name in enumerate(it.scenario.names):
        widths = it.widths[:, plain, place]
        yield [
            it.scenario.name,
            name,
            percent(share(it.covers[:, plain, place])),
            _worst(it.covers[:, :, place], plain),
            percent(share(it.own[:, plain, place])),
            f"{np.median(widths[np.isfinite(widths)]):.2f}",
        ]


def gap_rows(it: Tally) -> Iterator[list[str]]:
    """What is said about true differences of each size, in margins."""
    size = np.abs(it.gap) / it.margin[:, None]
    judged = np.isfinite(it.covers_difference).any(axis=0) & np.isfinite(size)
    bands = {
        "none": size == 0,
        "below half a margin": (size > 0) & (size < 0.5),
        "half to one margin": (size >= 0.5) & (size < 1),
        "one to two margins": (size >= 1) & (size < 2),
        "two margins or more": size >= 2,
    }
    for words, band in bands.items():
        chosen = band & judged
        if chosen.any():
            calls, wrong = it.calls[:, chosen], it.wrong[:, chosen]
            right = np.isfinite(calls) & (calls != 0) & ~wrong
            parts = (calls == 0, right, wrong, np.isnan(calls))
            yield [it.scenario.name, words, str(int(chosen.sum())), *(percent(share(part)) for part in parts)]


def finding_rows(
    tallies: Sequence[Tally], chosen: Callable[[Tally, int], bool], *, of: str
) -> list[list[str]]:
    """Coverage of the findings chosen by scenario, and how unlike the true spreads of the media are."""
    rows = []
    usual = tallies[0].spread
    for row, name in enumerate(IDS):
        cells = [percent(share(getattr(it, of)[:, row])) if chosen(it, row) else "-" for it in tallies]
        if any(cell != "-" for cell in cells):
            least, most = usual[row].min(), usual[row].max()
            rows.append([f"`{name}`", f"{most / least:.1f}" if least > 0 else "-", *cells])
    return rows


def truth_rows(truths: Mapping[str, Truth]) -> list[list[str]]:
    """Findings whose mean over sheets is more than half an SD of sheets away from the perfect sheet's."""
    rows = []
    for row, name in enumerate(IDS):
        for medium, truth in truths.items():
            apart = truth.mean[row] - truth.perfect[row]
            if abs(apart) > max(0.5 * truth.sd[row], UNSURE * truth.error[row]):
                numbers = (truth.perfect[row], truth.mean[row], truth.error[row], truth.sd[row])
                digits = METRICS[name].decimals + 1
                rows.append([f"`{name}`", medium, *(f"{number:.{digits}f}" for number in numbers)])
    return rows


def report(tallies: Sequence[Tally], truths: Mapping[str, Truth]) -> Iterator[str]:
    names = [it.scenario.name for it in tallies]
    yield "## Overall\n\n" + table(OVERALL, [overall_row(it) for it in tallies])
    yield "## Medium by medium\n\n" + table(BY_MEDIUM, [row for it in tallies for row in medium_rows(it)])
    yield "## What is said, by the size of the true difference, %\n\n" + table(
        BY_GAP, [row for it in tallies for row in gap_rows(it)]
    )
    head: tuple[str, ...] = ("finding", "largest SD / smallest", *names)
    for title, of in (("findings", "covers"), ("differences", "covers_difference")):
        plain = finding_rows(tallies, lambda it, row: not bool(it.stepped[row]), of=of)
        stepped = finding_rows(tallies, lambda it, row: bool(it.stepped[row]), of=of)
        yield f"## Coverage of {title}, %\n\n" + table(head, plain)
        yield f"## Coverage of {title} that are stepped, %\n\n" + table(head, stepped)
    head = ("finding", "medium", "perfect sheet", "mean over sheets", "its standard error", "SD of sheets")
    yield "## Mean over sheets and perfect sheet, where they differ\n\n" + table(head, truth_rows(truths))
