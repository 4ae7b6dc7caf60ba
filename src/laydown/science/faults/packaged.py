"""The faults that come with Laydown, read once, when first asked for.

They are part of the program, like a constant, and not an input.
"""

from __future__ import annotations

from functools import cache, reduce
from importlib.resources import files

from laydown.science.faults.model import FaultModel
from laydown.science.faults.overriding import joined, refuse_gaps
from laydown.science.faults.parsing import parse_faults

PARTS = ("symptoms.json", "causes.json", "checks.json", "strengths.json")


@cache
def packaged_faults() -> FaultModel:
    """The whole model that comes with Laydown.

    Returns
    -------
    FaultModel
        Symptoms, causes and checks of fine-art inkjet printing, in the order of the files.

    Checked against
    ---------------
    Every id described and used, every cause with fixes and a check (``test_fault_data.py``).
    """
    folder = files("laydown.science.faults").joinpath("data")
    parts = (parse_faults(folder.joinpath(name).read_bytes(), file=name) for name in PARTS)
    whole = reduce(joined, parts)
    refuse_gaps(whole)
    return whole
