"""Arranging the files of an upload: the medium of each, the house medium, what to leave out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from laydown.kernel.errors import BadSetting, LaydownError
from laydown.records.upload_record import StoredFile, Upload
from laydown.report.wording import number
from laydown.usecases.check_file import CheckedFile
from laydown.usecases.trial_file import Trial, parse_margins, parse_trial
from laydown.web.desk import Desk, measured_files, media_of

Held = Literal["usable", "doubtful", "refused", "setting"]
OWN = "own"
CONDITIONS = ("M0", "M1", "M2", "M3")


@dataclass(frozen=True, slots=True)
class FileView:
    """A file: what it holds in words, and whether it is used."""

    stored: str
    path: str
    size: str
    state: Held
    said: str
    problems: tuple[str, ...]
    used: bool


@dataclass(frozen=True, slots=True)
class GroupView:
    """A medium and its files."""

    number: int
    name: str
    house: bool
    files: tuple[FileView, ...]


@dataclass(frozen=True, slots=True)
class ArrangingView:
    """The form that turns files into media."""

    id: str
    draft: bool
    title: str
    question: str
    condition: str
    conditions: tuple[str, ...]
    groups: tuple[GroupView, ...]
    settings: tuple[FileView, ...]
    any_house: bool
    usable: int
    error: str
    largest_mb: int


@dataclass(frozen=True, slots=True)
class Arranged:
    """What the form said."""

    title: str
    question: str
    house: str
    condition: str
    media: Mapping[str, str]
    left_out: frozenset[str]


def held_in(desk: Desk, upload: Upload, file: StoredFile) -> FileView:
    """What a file holds, in words."""
    size = _size(file.size)
    if file.is_setting:
        said, state = _setting_words(desk, upload, file)
        return FileView(file.stored, file.path, size, state, said, (), True)
    checked = desk.checked(upload, file)
    problems = tuple(
        " ".join(part for part in (f"{p.place()}:" if p.place() else "", p.what, p.todo) if part)
        for p in checked.problems
        if p.severity != "note"
    )
    if checked.refused or not checked.tables:
        said = checked.refused or next(iter(problems), f"{file.path}: there are no readings in this file.")
        return FileView(file.stored, file.path, size, "refused", said, (), False)
    state = "doubtful" if problems else "usable"
    return FileView(file.stored, file.path, size, state, _words(checked), problems, not file.left_out)


def arranging_view(
    desk: Desk, upload: Upload, *, error: str = "", said: Arranged | None = None
) -> ArrangingView:
    """The form as it stands, or as ``said`` by a form that was refused."""
    media = {**media_of(upload), **(said.media if said else {})}
    files = {file.stored: held_in(desk, upload, file) for file in upload.files}
    trial, trial_error = _trial(desk, upload)
    house = said.house if said else (upload.house or trial.house)
    names = list(dict.fromkeys(media[file.stored] for file in measured_files(upload)))
    groups = tuple(
        GroupView(
            place,
            name,
            name == house,
            tuple(files[f.stored] for f in measured_files(upload) if media[f.stored] == name),
        )
        for place, name in enumerate(names)
    )
    return ArrangingView(
        id=upload.id,
        draft=upload.shelf == "drafts",
        title=said.title if said else (upload.title or trial.title),
        question=said.question if said else (upload.question or trial.question),
        condition=said.condition if said else upload.condition,
        conditions=CONDITIONS,
        groups=groups,
        settings=tuple(files[f.stored] for f in upload.files if f.is_setting),
        any_house=house in names,
        usable=sum(file.state in {"usable", "doubtful"} for file in files.values()),
        error=error or trial_error,
        largest_mb=desk.store.limits.file_bytes // 2**20,
    )


def arranged_from(form: Mapping[str, str], upload: Upload) -> Arranged:
    """What the form says, by stored file name.

    Raises
    ------
    BadSetting
        A medium was left without a name.
    """
    media, left_out = {}, set()
    for file in measured_files(upload):
        group = form.get(f"group-{file.stored}", OWN)
        own = file.name.rpartition(".")[0] or file.name
        name = own if group == OWN else form.get(f"name-{group}", "").strip()
        if not name:
            raise BadSetting("a medium has no name.", todo="Give every medium a name.", file=file.path)
        media[file.stored] = name
        if f"use-{file.stored}" not in form:
            left_out.add(file.stored)
    house = form.get("house", "")
    return Arranged(
        title=form.get("title", ""),
        question=form.get("question", ""),
        house=form.get(f"name-{house}", "").strip() if house else "",
        condition=form.get("condition", "") if form.get("condition", "") in CONDITIONS else "",
        media=media,
        left_out=frozenset(left_out),
    )


def _trial(desk: Desk, upload: Upload) -> tuple[Trial, str]:
    try:
        return desk.trial_of(upload), ""
    except LaydownError as error:
        return Trial(), str(error)


def _setting_words(desk: Desk, upload: Upload, file: StoredFile) -> tuple[str, Held]:
    content = desk.store.path_of(upload, file).read_bytes()
    try:
        if file.name.lower().startswith("trial"):
            parse_trial(content, file=file.path)
            return "trial file: title, question and stated facts are used", "setting"
        parse_margins(content, file=file.path)
    except BadSetting as error:
        return str(error), "refused"
    return "margins file: your own margins are used", "setting"


def _words(checked: CheckedFile) -> str:
    parts = []
    for table in checked.tables:
        measured = next((f.value for f in table.facts if f.name.lower().startswith("measur")), "")
        condition = measured if measured and measured != "not stated" else "condition not stated"
        parts.append(f"{number(table.patches, 0)} patches, {condition}, {', '.join(table.values)}")
    return "; ".join(parts)


def _size(size: int) -> str:
    return f"{number(max(1, size / 1024), 0)} kB" if size < 2**20 else f"{number(size / 2**20, 1)} MB"
