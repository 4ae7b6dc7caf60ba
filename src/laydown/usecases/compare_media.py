"""Compare media: from measurement files to findings, differences and calls."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from laydown.compute.runner import Runner, SerialRunner
from laydown.records.measurement_files import MeasurementFile
from laydown.usecases.comparison import Comparison
from laydown.usecases.trial_file import MarginSetting, Trial


@dataclass(frozen=True, slots=True)
class CompareOptions:
    """What the user asked for; what is empty falls back to the trial file, then to the default.

    ``condition`` is the measuring condition to judge under (M0-M3). ``margins`` holds the user's own margins
    and preferences by finding id.
    """

    house: str = ""
    condition: str = ""
    title: str = ""
    margins: Mapping[str, MarginSetting] = field(default_factory=dict)
    trial: Trial = field(default_factory=Trial)


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a long piece of work has come, in words and counts."""

    done: int
    total: int
    what: str


def no_progress(_: Progress) -> None:
    """Say nothing."""


def compare_media(
    files: Sequence[MeasurementFile],
    *,
    options: CompareOptions | None = None,
    runner: Runner | None = None,
    progress: Callable[[Progress], None] = no_progress,
) -> Comparison:
    """Read every file, work out every finding, and call every difference."""
    raise NotImplementedError(files, options or CompareOptions(), runner or SerialRunner(), progress)
