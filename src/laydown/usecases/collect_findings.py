"""Every finding of every medium under every condition it was read in, one value per sheet."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from laydown.kernel.errors import BadSetting
from laydown.kernel.problems import Problem
from laydown.science.findings import find_everything
from laydown.science.findings.chart import Chart, make_chart, place_on_chart
from laydown.science.findings.found import Found
from laydown.science.findings.on_chart import SheetOnChart, lay_on_chart
from laydown.science.findings.pairing import Sheet, chart_key
from laydown.science.findings.reduction import NO_PATCHES, Reduced, without_patches
from laydown.usecases.read_media import Medium

# Which condition to judge under when all media share several: M1 is the light prints are looked at in.
ORDER_OF_CONDITIONS = ("M1", "M0", "M not stated", "M2", "M3")

Key = tuple[str, str]


@dataclass(frozen=True, slots=True, eq=False)
class Under:
    """One medium under one condition (M, backing): sheets on its chart, and what was found."""

    key: Key
    condition: str
    sheets: tuple[SheetOnChart, ...]
    found: Mapping[str, Found]


@dataclass(frozen=True, slots=True, eq=False)
class FoundMedium:
    """One medium, its chart, and what was found under every condition; calls are made under ``primary``.

    Readings are kept without their patches but where these are drawn.
    """

    name: str
    sheets: tuple[Sheet, ...]
    chart: Chart | None
    chart_name: str
    under: Mapping[Key, Under]
    primary: Key

    @property
    def has_chart(self) -> bool:
        """Whether its files name device values."""
        return self.chart is not None

    @property
    def judged(self) -> Under:
        """What was found under the condition that calls are made in."""
        return self.under[self.primary]


@dataclass(frozen=True, slots=True, eq=False)
class Collected:
    """All media with their findings, and problems met on the way."""

    media: tuple[FoundMedium, ...]
    problems: tuple[Problem, ...]


def collect_findings(media: Sequence[Medium], *, condition: str) -> Collected:
    """Choose a chart and a condition for each medium and work out everything that can be.

    ``condition`` (M0-M3) is the user's choice; empty takes the first all media share.
    """
    charts = _charts(media)
    placed, problems = [], []
    for medium in media:
        chart_name, sheets, found = _one_chart(medium, charts)
        problems += found
        placed.append((medium, chart_name, sheets))
    keys = _primary_keys([sheets for _, _, sheets in placed], condition, [m.name for m in media])
    done = []
    for (medium, chart_name, sheets), key in zip(placed, keys, strict=True):
        found_medium = _find(medium, sheets, charts.get(chart_name), chart_name, key)
        if found_medium is None:
            what = f"the readings of {medium.name} could not be laid on any chart; left out."
            problems.append(Problem("error", what, todo="Look at its files with laydown check."))
        else:
            done.append(found_medium)
    return Collected(tuple(done), tuple(problems))


def _charts(media: Sequence[Medium]) -> dict[str, Chart]:
    """The different charts in play; one that only lacks a few colours of another is that other."""
    seen: Counter[bytes] = Counter()
    example: dict[bytes, Reduced] = {}
    for item in (item for medium in media for sheet in medium.sheets for item in sheet.readings):
        if item.device is not None:
            key = chart_key(item)
            seen[key] += 1
            example.setdefault(key, item)
    charts: dict[str, Chart] = {}
    for key in sorted(seen, key=lambda k: (seen[k], len(k)), reverse=True):
        item = example[key]
        assert item.device is not None
        if not any(place_on_chart(chart, item) for chart in charts.values()):
            charts[f"chart {len(charts) + 1}"] = make_chart(item.device, channels=item.channels)
    return charts


NO_CHART = "no device values"


def _one_chart(medium: Medium, charts: Mapping[str, Chart]) -> tuple[str, tuple[Sheet, ...], list[Problem]]:
    """The chart most sheets of a medium were printed from, and those sheets."""
    by_chart: dict[str, list[Sheet]] = defaultdict(list)
    for sheet in medium.sheets:
        by_chart[_chart_of(sheet, charts)].append(sheet)
    name = max(by_chart, key=lambda chart: len(by_chart[chart]))
    problems = [
        Problem(
            "error",
            f"sheet {sheet.name} of {medium.name} is of another chart than its other sheets; left out.",
            todo="Compare it as a medium of its own.",
            file=sheet.readings[0].file,
        )
        for chart, sheets in by_chart.items()
        if chart != name
        for sheet in sheets
    ]
    return name, tuple(by_chart[name]), problems


def _chart_of(sheet: Sheet, charts: Mapping[str, Chart]) -> str:
    for name, chart in charts.items():
        if place_on_chart(chart, sheet.readings[0]) is not None:
            return name
    # Without device values there is nothing to align patches by but their number and order.
    return f"{NO_CHART}, {len(sheet.readings[0].lab)} patches"


def _key(item: Reduced) -> Key:
    return item.measurement, item.conditions.backing.value or ""


def _primary_keys(media: Sequence[Sequence[Sheet]], condition: str, names: Sequence[str]) -> list[Key]:
    """The key to judge each medium under: one all share if there is one, else each medium's own best."""
    counts = [
        Counter(key for sheet in sheets for key in {_key(r) for r in sheet.readings}) for sheets in media
    ]
    if condition:
        counts = [Counter({k: n for k, n in count.items() if k[0] == condition}) for count in counts]
        missing = [name for name, count in zip(names, counts, strict=True) if not count]
        if missing:
            raise BadSetting(
                f"nothing was read under {condition} of {', '.join(missing)}.",
                todo="Choose a condition every medium was read under, or leave the choice out.",
            )
    shared = set.intersection(*(set(count) for count in counts)) if counts else set()
    if shared:
        # A condition read on more sheets says more; among equals the usual order of conditions decides.
        best = min(shared, key=lambda key: (-min(count[key] for count in counts), _rank(key)))
        return [best] * len(counts)
    return [min(count, key=lambda key: (-count[key], _rank(key))) for count in counts]


def _rank(key: Key) -> tuple[int, str]:
    order = ORDER_OF_CONDITIONS
    return (order.index(key[0]) if key[0] in order else len(order), "" if key[1] == "white" else f"z{key[1]}")


def _find(
    medium: Medium, sheets: Sequence[Sheet], chart: Chart | None, chart_name: str, primary: Key
) -> FoundMedium | None:
    under = {}
    keys = sorted({_key(item) for sheet in sheets for item in sheet.readings}, key=_rank)
    laid = {key: _lay(sheets, key, chart) for key in keys}
    for key, on_chart in laid.items():
        if on_chart:
            found = find_everything(on_chart, chart, others={k: v for k, v in laid.items() if k != key})
            under[key] = Under(key, on_chart[0].condition, on_chart, found)
    if not under:
        return None
    judged = primary if primary in under else next(iter(under))
    light = {key: _lighter(item, judged=key == judged) for key, item in under.items()}
    bare = tuple(Sheet(sheet.name, tuple(map(without_patches, sheet.readings))) for sheet in sheets)
    return FoundMedium(medium.name, bare, chart, chart_name, light, judged)


def _lighter(under: Under, *, judged: bool) -> Under:
    """Without the patches nothing asks for any more, so that many sheets do not need much memory.

    Colours of the judged condition are drawn; patches only of the first sheet and of those with doubts.
    """
    sheets = []
    for place, sheet in enumerate(under.sheets):
        drawn = judged and (place == 0 or any(reading.suspects for reading in sheet.readings))
        readings = sheet.readings if drawn else tuple(map(without_patches, sheet.readings))
        sheets.append(
            replace(
                sheet,
                lab=sheet.lab if judged else NO_PATCHES,
                visual=NO_PATCHES[:, 0],
                status_t=NO_PATCHES,
                readings=readings,
                places=sheet.places if drawn else (),
            )
        )
    return replace(under, sheets=tuple(sheets))


def _lay(sheets: Sequence[Sheet], key: Key, chart: Chart | None) -> tuple[SheetOnChart, ...]:
    laid = []
    for sheet in sheets:
        readings = [item for item in sheet.readings if _key(item) == key]
        on_chart = lay_on_chart(sheet, readings, chart) if readings else None
        if on_chart is not None:
            laid.append(on_chart)
    return tuple(laid)
