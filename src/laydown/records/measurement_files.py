"""Finds measurement files on disk and says which medium each belongs to."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from laydown.kernel.errors import RefusedInput

TRIAL_FILE = "trial.json"
_NOT_MEASUREMENTS = {".md", ".pdf", ".png", ".jpg", ".jpeg", ".tif", ".tiff", ".ics", ".html"}


@dataclass(frozen=True, slots=True)
class MeasurementFile:
    """One file of readings of one medium."""

    candidate: str
    name: str
    path: Path

    def read(self) -> bytes:
        """The file's bytes; RefusedInput names the file where it cannot be opened."""
        try:
            return self.path.read_bytes()
        except OSError as error:
            raise RefusedInput(
                f"the file cannot be opened ({error.strerror}).",
                todo="Check that it is there and that you may read it.",
                file=self.name,
            ) from error


@dataclass(frozen=True, slots=True)
class FoundFiles:
    """What a folder or a list of files holds: measurement files in order, and the trial file's bytes."""

    files: tuple[MeasurementFile, ...]
    trial: bytes | None = None
    trial_name: str = ""


def find_measurement_files(paths: Sequence[Path]) -> FoundFiles:
    """Every measurement file at the paths, with the medium it belongs to.

    One folder: each sub-folder is a medium, each file in it (a condition of) a sheet; without sub-folders
    each file is a medium, files that differ only in M0-M3 together one. Several paths: each file is a medium
    named for itself, each folder a medium holding its sheets. Hidden files, the trial file and files that
    are plainly something else (notes, pictures) are passed over.

    Raises
    ------
    RefusedInput
        A path does not exist, or nothing is there to compare.
    """
    for path in paths:
        if not path.exists():
            raise RefusedInput("there is no such file or folder.", todo="Check the spelling.", file=str(path))
    if len(paths) == 1 and paths[0].is_dir():
        return _in_folder(paths[0])
    files: list[MeasurementFile] = []
    for path in paths:
        if path.is_dir():
            files += _medium(path)
        else:
            files.append(MeasurementFile(_medium_name(path, paths), path.name, path))
    return FoundFiles(tuple(files))


def _in_folder(folder: Path) -> FoundFiles:
    media = sorted(p for p in folder.iterdir() if p.is_dir() and not p.name.startswith("."))
    files = [file for medium in media for file in _medium(medium)]
    if not media:
        files = [MeasurementFile(_without_condition(p.stem), p.name, p) for p in _sheets(folder)]
    if not files:
        raise RefusedInput(
            "there are no measurement files in this folder.",
            todo="Put each medium's files in a sub-folder named for the medium.",
            file=str(folder),
        )
    trial = folder / TRIAL_FILE
    return FoundFiles(tuple(files), trial.read_bytes() if trial.is_file() else None, TRIAL_FILE)


def _medium(folder: Path) -> list[MeasurementFile]:
    """A medium's files; sub-folders (days, say) stay in their names, so that no two sheets become one."""
    if (folder / TRIAL_FILE).is_file():
        raise RefusedInput(
            "this folder is a trial of its own: it holds a trial file.",
            todo="Give the trial's folder alone, or the folders of its media.",
            file=str(folder),
        )
    return [
        MeasurementFile(folder.name, f"{folder.name}/{p.relative_to(folder).as_posix()}", p)
        for p in _sheets(folder)
    ]


def _without_condition(stem: str) -> str:
    """``chart-M0`` and ``chart-M2`` in a flat folder are one medium read twice, not two media."""
    return re.sub(r"[-_ .]*(?<![A-Za-z0-9])[Mm][0-3](?![A-Za-z0-9])", "", stem).strip("-_ .") or stem


def _sheets(folder: Path) -> list[Path]:
    return sorted(
        p
        for p in folder.rglob("*")
        if p.is_file()
        and not p.name.startswith(".")
        and p.name != TRIAL_FILE
        and p.suffix.lower() not in _NOT_MEASUREMENTS
    )


def _medium_name(path: Path, paths: Sequence[Path]) -> str:
    alike = [p for p in paths if p.stem == path.stem]
    return path.stem if len(alike) == 1 else f"{path.parent.name}/{path.name}"
