"""A studio with stock on the shelf and a trial begun, for the tests of briefs and plans."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from laydown.records.ledger import Records
from laydown.trials.sheets import SheetEvent
from laydown.trials.stock import Lot, Medium, Roll
from laydown.trials.studio import Printer, Studio
from laydown.trials.trial import Brief, Candidate, Criterion, Gate, Trial
from laydown.usecases.trial.name_candidate import name_candidate
from laydown.usecases.trial.seal_brief import seal_brief
from laydown.usecases.trial.write_brief import write_brief

TRIAL = "t1"
BRIEF = Brief(
    id="",
    trial_id=TRIAL,
    question="Is there a rag as good as ours for less?",
    products=("framed paper",),
    gates=(Gate(name="Lies flat"),),
    criteria=(Criterion(name="Black", weight=30, finding="dmax_visual"), Criterion(name="Hand", weight=10)),
)


@dataclass(frozen=True)
class Room:
    """The records of a studio, and short ways to get a trial further on."""

    records: Records

    def brief(self) -> Brief:
        return write_brief(self.records, BRIEF, who="Ada").thing

    def sealed(self) -> Brief:
        self.brief()
        return seal_brief(self.records, TRIAL, who="Ada").thing

    def candidate(self, medium: str, *, house: bool = False, **more: object) -> Candidate:
        told = Candidate(
            id="", trial_id=TRIAL, medium_id=medium, name=medium.title(), house=house, lot_id=f"lot-{medium}",
            roll_id=f"roll-{medium}", printer_id="p1", **more,
        )  # fmt: skip
        return name_candidate(self.records, told, who="Ada").thing

    def happened(self, sheet_id: str, kind: str = "printed") -> None:
        with self.records.work("noted", who="Ada", trial_id=TRIAL) as work:
            work.add(
                SheetEvent(
                    id=self.records.new_id(), trial_id=TRIAL, sheet_id=sheet_id, at=work.now, kind=kind
                )
            )


def stock_up(records: Records) -> None:
    """Three media with a lot and a 17 in x 20 ft roll each, a printer, and a trial."""
    with records.work("stocked", who="Ada") as work:
        work.add(Studio(id="studio", name="Saltmarsh Print Room (invented)"))
        work.add(Printer(id="p1", name="Wide one", lead_mm=100.0, tail_mm=100.0))
        for name in ("fenland", "tidemill", "gullwing"):
            work.add(Medium(id=name, name=f"{name.title()} Rag"))
            work.add(Lot(id=f"lot-{name}", medium_id=name, code="L1"))
            work.add(
                Roll(id=f"roll-{name}", lot_id=f"lot-{name}", form="roll", width_mm=432.0, length_mm=6096.0)
            )
        work.add(Trial(id=TRIAL, name="Rag for framed work", begun=date(2026, 3, 2)))
