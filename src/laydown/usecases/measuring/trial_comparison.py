"""The comparison of a trial's own sheets: which files, under which names, judged by which margins."""

from __future__ import annotations

import hashlib
import json
import math
from collections import Counter
from collections.abc import Mapping
from dataclasses import asdict, dataclass

from laydown.kernel.constants import Constant
from laydown.kernel.version import __version__
from laydown.records.look import Look
from laydown.science.findings.catalogue import METRICS
from laydown.trials.brief_changes import amount_words, brief_in_force
from laydown.trials.brief_checks import shares
from laydown.trials.facts import TrialFacts
from laydown.trials.stock import Lot
from laydown.trials.studio_time import day_said
from laydown.trials.trial import WantedDifference
from laydown.usecases.compare_media import CompareOptions
from laydown.usecases.comparison import BriefAsked, BriefCriterion
from laydown.usecases.measuring.comparison_cautions import cautions_of
from laydown.usecases.measuring.kept_file import KeptFile
from laydown.usecases.measuring.sorting import By, Sorted, across, sort_readings
from laydown.usecases.measuring.standings import Standing, standings
from laydown.usecases.read_media import AboutFile
from laydown.usecases.trial_file import MarginSetting, StatedAbout, Trial

RECORDS = "the trial's records"
TITLES: Mapping[By, str] = {
    "medium": "{name}",
    "lot": "{name}, lot by lot",
    "finish": "{name}: coated and uncoated",
    "age": "{name}: as prints age",
    "coat": "{name}: what the coat did",
}


@dataclass(frozen=True, slots=True)
class TrialRequest:
    """What to compare: files, options, and a digest of all the result depends on.

    ``found`` says which readings are in, ``standings`` where every reading of the trial stands.
    """

    files: tuple[KeptFile, ...]
    options: CompareOptions
    fingerprint: str
    found: Sorted
    standings: tuple[Standing, ...]


def trial_request(look: Look, facts: TrialFacts, *, by: By, condition: str = "") -> TrialRequest:
    """The comparison of a trial's readings by medium, lot, finish or age; the files stay where they are."""
    told = standings(facts)
    found = sort_readings(facts, told, _lots(look, facts), by=by)
    files: list[KeptFile] = []
    about: dict[str, AboutFile] = {}
    for medium, readings in found.media.items():
        for one, name in zip(readings, _file_names(medium, readings), strict=True):
            content = one.reading.mended_sha256 or one.reading.file_sha256
            files.append(KeptFile(medium, name, content, look.vault))
            about[name] = _about(one)
    question = brief_in_force(facts.brief, facts.brief_changes).question if facts.brief else ""
    options = CompareOptions(
        house=found.house,
        condition=condition,
        title=TITLES[by].format(name=facts.trial.name),
        margins=margins_of(facts),
        trial=Trial(
            question=question or facts.trial.question, house=found.house, invented=facts.trial.invented
        ),
        about=about,
        across=across(by, found),
        cautions=cautions_of(facts, told, found, by=by),
        brief=brief_asked(facts) if by == "medium" else None,
    )
    return TrialRequest(tuple(files), options, _fingerprint(files, options), found, told)


def margins_of(facts: TrialFacts) -> dict[str, MarginSetting]:
    """The differences that would matter, as the brief in force has them."""
    if facts.brief is None:
        return {}
    sealed = facts.brief.sealed_at
    dated = f"sealed {day_said(sealed, facts.studio)}" if sealed else "not sealed"
    source = f"this trial's brief, {dated}"
    changed = {change.part: change.at for change in facts.brief_changes if change.field == "differences"}
    margins = {}
    for wanted in brief_in_force(facts.brief, facts.brief_changes).differences:
        metric = METRICS.get(wanted.finding)
        if metric is None or not wanted.amount > 0:
            continue
        later = changed.get(wanted.finding)
        said = f"{source}, changed {day_said(later, facts.studio)}" if later else source
        unit = "of the value" if metric.margin_is_relative else metric.unit
        margins[metric.id] = MarginSetting(
            margin=Constant(wanted.amount, unit, said, "common practice, no source"),
            relative=metric.margin_is_relative,
        )
    return margins


def brief_asked(facts: TrialFacts) -> BriefAsked | None:
    """What the brief in force asks that a comparison of media may answer; None without criteria."""
    if facts.brief is None:
        return None
    brief = brief_in_force(facts.brief, facts.brief_changes)
    if not brief.criteria and not brief.gates:
        return None
    matters = {one.finding: _matters(one) for one in brief.differences if one.amount > 0}
    share = shares(brief)
    sealed = facts.brief.sealed_at
    return BriefAsked(
        dated=f"sealed {day_said(sealed, facts.studio)}" if sealed else "not sealed yet",
        criteria=tuple(
            BriefCriterion(one.name, share.get(one.name, math.nan), one.finding, matters.get(one.finding, ""))
            for one in brief.criteria
        ),
        gates=tuple(one.name for one in brief.gates),
    )


def _matters(wanted: WantedDifference) -> str:
    metric = METRICS.get(wanted.finding)
    relative = metric is not None and metric.margin_is_relative
    return amount_words(wanted) + (" of the house medium's value" if relative else "")


def conditions_of(found: Sorted) -> tuple[str, ...]:
    """The measuring conditions (M0-M3) that every medium was read under."""
    by_medium = [
        {word.split(",")[0] for one in readings for word in one.reading.conditions}
        for readings in found.media.values()
    ]
    shared = set.intersection(*by_medium) if by_medium else set()
    return tuple(sorted(word for word in shared if word in ("M0", "M1", "M2", "M3")))


def _about(one: Standing) -> AboutFile:
    assert one.sheet is not None
    age = one.age
    hours = round(age.hours, 2) if age and age.hours is not None else None
    stated = StatedAbout(finish=age.finish if age else None, age_hours=hours, where=RECORDS)
    return AboutFile(one.sheet.code, stated)


def _file_names(medium: str, readings: tuple[Standing, ...]) -> list[str]:
    """A name for each file that says where it belongs; two of one name are told apart by a number."""
    names: list[str] = []
    seen: Counter[str] = Counter()
    for one in readings:
        assert one.sheet is not None
        name = f"{medium}/{one.sheet.code}/{one.reading.file_name}"
        seen[name] += 1
        names.append(name if seen[name] == 1 else f"{name} ({seen[name]})")
    return names


def _lots(look: Look, facts: TrialFacts) -> dict[str, Lot]:
    wanted = {roll.lot_id for roll in facts.rolls} | {one.lot_id for one in facts.candidates if one.lot_id}
    return {lot.id: lot for lot in look.find_any(Lot, "id", wanted)}


def _fingerprint(files: list[KeptFile], options: CompareOptions) -> str:
    told = {
        "version": __version__,
        "files": [
            (file.candidate, file.name, file.sha256, asdict(options.about[file.name])) for file in files
        ],
        "asked": (options.house, options.condition, options.title, options.trial.question),
        "margins": {name: asdict(setting) for name, setting in options.margins.items()},
        "across": sorted(options.across),
        "cautions": options.cautions,
        "brief": options.brief and asdict(options.brief),
        "invented": options.trial.invented,
    }
    text = json.dumps(told, sort_keys=True, ensure_ascii=False, default=str)
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()
