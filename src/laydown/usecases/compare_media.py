"""Compare media: from measurement files to findings, differences and calls."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from laydown.compute.runner import Runner, SerialRunner
from laydown.records.measurement_files import MeasurementFile
from laydown.usecases.comparison import Comparison


@dataclass(frozen=True, slots=True)
class CompareOptions:
    """What the user asked for. ``margins`` overrides margins and preferences by finding id.

    ``trial`` is the parsed trial file (title, question, house, what is stated about each candidate).
    """

    house: str = ""
    condition: str = ""
    title: str = ""
    question: str = ""
    margins: Mapping[str, object] = field(default_factory=dict)
    trial: Mapping[str, object] = field(default_factory=dict)


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
