"""The demo trial, as files on the disk like any other trial."""

from __future__ import annotations

from pathlib import Path

from laydown.kernel.version import __version__
from laydown.records.measurement_files import MeasurementFile, find_measurement_files
from laydown.usecases.compare_media import CompareOptions
from laydown.usecases.trial_file import Trial, parse_trial


def demo_request(data_folder: Path) -> tuple[tuple[MeasurementFile, ...], CompareOptions]:
    """The invented trial's files, written on first need, and what it asks.

    A new release writes its own, so that an old one's files are never shown as the new one's.
    """
    from laydown.usecases.demo_trial import DEMO_FOLDER, write_demo_trial

    folder = data_folder / "demo" / __version__ / DEMO_FOLDER
    if not folder.is_dir():
        folder.parent.mkdir(parents=True, exist_ok=True)
        write_demo_trial(folder)
    found = find_measurement_files([folder])
    trial = parse_trial(found.trial, file=found.trial_name) if found.trial is not None else Trial()
    return found.files, CompareOptions(trial=trial)
