"""Finds measurement files on disk and says which medium each belongs to."""

from __future__ import annotations

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

    One folder: each sub-folder is a medium, each file in it (a condition of) a sheet. Several paths: each
    file is a medium named for itself, each folder a medium holding its sheets. Hidden files, the trial file
    and files that are plainly something else (notes, pictures) are passed over.

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
            files += [MeasurementFile(path.name, f"{path.name}/{p.name}", p) for p in _sheets(path)]
        else:
            files.append(MeasurementFile(_medium_name(path, paths), path.name, path))
    return FoundFiles(tuple(files))


def _in_folder(folder: Path) -> FoundFiles:
    media = sorted(p for p in folder.iterdir() if p.is_dir() and not p.name.startswith("."))
    files = [MeasurementFile(m.name, f"{m.name}/{p.name}", p) for m in media for p in _sheets(m)]
    if not media:
        files = [MeasurementFile(p.stem, p.name, p) for p in _sheets(folder)]
    if not files:
        raise RefusedInput(
            "there are no measurement files in this folder.",
            todo="Put each medium's files in a sub-folder named for the medium.",
            file=str(folder),
        )
    trial = folder / TRIAL_FILE
    return FoundFiles(tuple(files), trial.read_bytes() if trial.is_file() else None, TRIAL_FILE)


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
