"""Arranging the files of an upload: the medium of each, the house medium, what to leave out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from laydown.kernel.errors import BadSetting, LaydownError
from laydown.records.upload_record import TRIAL_FILE, StoredFile, Upload
from laydown.report.wording import number
from laydown.usecases.check_file import CheckedFile
from laydown.usecases.trial_file import Trial, parse_margins, parse_trial
from laydown.web.desk import Desk, is_arranged, measured_files, media_of, passed_over_files
from laydown.web.passed_over import why_passed_over

Held = Literal["usable", "doubtful", "refused", "setting", "passed over"]
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
    refused: tuple[FileView, ...]
    passed_over: tuple[FileView, ...]
    settings: tuple[FileView, ...]
    any_house: bool
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
    if why := why_passed_over(file.path):
        return FileView(file.stored, file.path, "", "passed over", why, (), False)
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


def arranging_view(desk: Desk, upload: Upload, *, error: str = "") -> ArrangingView:
    """The form as it stands; with what the trial file says where nobody said anything."""
    media = media_of(upload)
    files = {file.stored: held_in(desk, upload, file) for file in upload.files}
    usable = [file for file in measured_files(upload) if files[file.stored].state != "refused"]
    trial, trial_error = _trial(desk, upload)
    # An empty house may have been chosen; an empty title or question can only be a gap.
    house = upload.house if is_arranged(upload) else upload.house or trial.house
    names = list(dict.fromkeys(media[file.stored] for file in usable))
    groups = tuple(
        GroupView(
            place, name, name == house, tuple(files[f.stored] for f in usable if media[f.stored] == name)
        )
        for place, name in enumerate(names)
    )
    return ArrangingView(
        id=upload.id,
        draft=upload.shelf == "drafts",
        title=upload.title or trial.title,
        question=upload.question or trial.question,
        condition=upload.condition,
        conditions=CONDITIONS,
        groups=groups,
        refused=tuple(files[f.stored] for f in measured_files(upload) if files[f.stored].state == "refused"),
        passed_over=tuple(files[f.stored] for f in passed_over_files(upload)),
        settings=tuple(files[f.stored] for f in upload.files if f.is_setting),
        any_house=house in names,
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
        if f"use-{file.stored}" not in form:
            left_out.add(file.stored)
        group = form.get(f"group-{file.stored}")
        if group is None:  # not asked about: it cannot be used
            continue
        own = file.name.rpartition(".")[0] or file.name
        name = own if group == OWN else form.get(f"name-{group}", "").strip()
        if not name:
            raise BadSetting("a medium has no name.", todo="Give every medium a name.", file=file.path)
        media[file.stored] = name
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
    try:
        if file.name.lower() == TRIAL_FILE:
            return _trial_words(desk.parsed(upload, file, parse_trial), media_of(upload)), "setting"
        margins = desk.parsed(upload, file, parse_margins)
    except LaydownError as error:
        return str(error), "refused"
    return f"margins file: your own margins are used, for {', '.join(margins) or 'nothing yet'}", "setting"


def _trial_words(trial: Trial, media: Mapping[str, str]) -> str:
    parts = [word for word, told in (("title", trial.title), ("question", trial.question)) if told]
    if trial.house:
        parts.append(f"house medium “{trial.house}”")
    if trial.candidates:
        parts.append(f"what it states about {', '.join(trial.candidates)}")
    said = f"trial file: {'; '.join(parts) or 'it says nothing that is used'}"
    if trial.house and trial.house not in media.values():
        said += ". No medium here has the name of that house medium: rename one, or choose another"
    return said


def _words(checked: CheckedFile) -> str:
    parts = []
    for table in checked.tables:
        measured = next((f.value for f in table.facts if f.name.lower().startswith("measur")), "")
        condition = measured if measured and measured != "not stated" else "condition not stated"
        parts.append(f"{number(table.patches, 0)} patches, {condition}, {', '.join(table.values)}")
    return "; ".join(parts)


def _size(size: int) -> str:
    return f"{number(max(1, size / 1024), 0)} kB" if size < 2**20 else f"{number(size / 2**20, 1)} MB"
