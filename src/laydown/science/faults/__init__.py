"""From the symptoms of a bad print to its likely causes, and the next cheapest check.

`packaged_faults` gives what comes with Laydown, `parse_faults` and `with_overrides` a studio's own on top.
`rank` weighs marks, answers and evidence; `measured_evidence`, `colour_path_evidence`, `printer_evidence`,
`clock_evidence` and `room_evidence` say what Laydown knows by itself. Method: ``docs/methods/retrace.md``.
"""

from laydown.science.faults.clocks import clock_evidence, room_evidence
from laydown.science.faults.evidence import Evidence
from laydown.science.faults.measured import Surface, measured_evidence
from laydown.science.faults.model import COST_WORDS, Bearing, Cause, Check, Cost, FaultModel, Symptom
from laydown.science.faults.network import MOST_PRESENT, Answer, Mark
from laydown.science.faults.overriding import with_overrides
from laydown.science.faults.packaged import packaged_faults
from laydown.science.faults.parsing import FORMAT, parse_faults
from laydown.science.faults.ranking import Change, NextCheck, Outcome, RankedCause, Ranking, rank
from laydown.science.faults.reasons import Reason
from laydown.science.faults.recorded import BlackInk, colour_path_evidence, printer_evidence
from laydown.science.faults.sheet_shift import SheetShift, sheet_shift

__all__ = [
    "COST_WORDS",
    "FORMAT",
    "MOST_PRESENT",
    "Answer",
    "Bearing",
    "BlackInk",
    "Cause",
    "Change",
    "Check",
    "Cost",
    "Evidence",
    "FaultModel",
    "Mark",
    "NextCheck",
    "Outcome",
    "RankedCause",
    "Ranking",
    "Reason",
    "SheetShift",
    "Surface",
    "Symptom",
    "clock_evidence",
    "colour_path_evidence",
    "measured_evidence",
    "packaged_faults",
    "parse_faults",
    "printer_evidence",
    "rank",
    "room_evidence",
    "sheet_shift",
    "with_overrides",
]
