"""A sealed trial of a house rag and a gloss, three printed sheets of each, and files measured of them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta

from laydown.records.ledger import Records
from laydown.records.trial_facts import STUDIO_ID, load_facts
from laydown.trials.facts import TrialFacts
from laydown.trials.measured import Reading
from laydown.trials.seals import seal_of
from laydown.trials.sheets import Sheet, SheetEvent
from laydown.trials.stock import Lot, Medium
from laydown.trials.studio import Studio
from laydown.trials.trial import Brief, Candidate, Trial, WantedDifference
from laydown.usecases.demo_trial import HOUSE
from laydown.usecases.measuring.parsed_file import HandedIn

PRINTED = datetime(2026, 1, 12, 9, 30, tzinfo=UTC)
GLOSS = "Samphire Gloss"
CODES = {HOUSE: ("K2", "K3", "K4"), GLOSS: ("H5", "H6", "H7")}
TRIAL = "spring"


def brief(**changes: object) -> Brief:
    told = Brief(
        id="brief",
        trial_id=TRIAL,
        question="Is the gloss better than the rag?",
        differences=(
            WantedDifference(finding="dmax_visual", amount=0.03),
            WantedDifference(finding="gamut_volume", amount=0.08),
        ),
        sealed_at=PRINTED - timedelta(days=1),
        sealed_by="Ada",
    )
    told = replace(told, **changes)  # type: ignore[arg-type]
    return replace(told, seal=seal_of(told, at=told.sealed_at, by=told.sealed_by)) if told.sealed_at else told


@dataclass
class Spring:
    """The trial in its records, and short ways to read and change it."""

    records: Records
    trial_id: str = TRIAL

    @property
    def facts(self) -> TrialFacts:
        with self.records.look() as look:
            return load_facts(look, self.trial_id)

    def keep(self, *things: object) -> None:
        with self.records.work("set up", who="the test", trial_id=self.trial_id) as work:
            for thing in things:
                work.add(thing)  # type: ignore[type-var]

    def happened(self, code: str, kind: str, at: datetime) -> None:
        event = SheetEvent(
            id=f"{code}-{kind}",
            trial_id=self.trial_id,
            sheet_id=self.sheet(code).id,
            at=at,
            kind=kind,  # type: ignore[arg-type]
        )
        self.keep(event)

    def sheet(self, code: str) -> Sheet:
        return next(one for one in self.facts.sheets if one.code == code)

    def readings(self, code: str) -> tuple[Reading, ...]:
        return self.facts.readings_of(self.sheet(code).id)

    def reading(self, reading_id: str) -> Reading:
        with self.records.look() as look:
            return look.get(Reading, reading_id)


def spring_trial(records: Records) -> Spring:
    """The trial, printed on 12 January 2026 and cured the day after; the files were read from then on."""
    bench = Spring(records)
    bench.keep(
        Studio(id=STUDIO_ID, name="Saltmarsh Print Room (invented)", time_zone="Europe/London"),
        Medium(id="rag", name="Fenland Rag"),
        Medium(id="gloss", name=GLOSS),
        Lot(id="lot1", medium_id="rag", code="R-101"),
        Lot(id="lot2", medium_id="gloss", code="G-7"),
        Trial(id=TRIAL, name="Spring trial", question="Which one?", begun=date(2026, 1, 10), invented=True),
        brief(),
        Candidate(
            id="c-rag", trial_id=TRIAL, medium_id="rag", name=HOUSE, house=True, position=0, lot_id="lot1"
        ),
        Candidate(id="c-gloss", trial_id=TRIAL, medium_id="gloss", name=GLOSS, position=1, lot_id="lot2"),
    )
    sheets = [
        Sheet(id=f"s-{code}", trial_id=TRIAL, candidate_id=candidate, code=code, place=place)
        for place, (candidate, code) in enumerate(
            [
                ("c-rag" if name == HOUSE else "c-gloss", code)
                for name, codes in CODES.items()
                for code in codes
            ],
            start=1,
        )
    ]
    events = [
        SheetEvent(
            id=f"p-{sheet.code}",
            trial_id=TRIAL,
            sheet_id=sheet.id,
            at=PRINTED + timedelta(minutes=sheet.place),
            kind="printed",
        )
        for sheet in sheets
    ]
    bench.keep(*sheets, *events)
    return bench


def scans_of(
    files: dict[str, bytes], *, conditions: tuple[str, ...] = ("M1", "M2"), sheets: int = 3
) -> list[HandedIn]:
    """Files of the six sheets, named for their codes, from those of the invented trial."""
    return [
        HandedIn(
            f"scan {CODES[name][number]}-{condition}.txt", files[f"{name}/sheet{number + 1}-{condition}.txt"]
        )
        for name in CODES
        for number in range(sheets)
        for condition in conditions
    ]
