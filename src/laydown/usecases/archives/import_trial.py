"""Take in a trial's archive: everything or nothing."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import IO, Any

from laydown.kernel.errors import AlteredFile, RefusedInput, UnreadableFile
from laydown.records.file_references import ALWAYS_KEPT, kept_files_in
from laydown.records.ledger import Records
from laydown.records.look import noun_words
from laydown.records.sealed_zip import SealedZip, open_sealed_zip
from laydown.records.shapes import Kept, from_plain, to_plain
from laydown.records.tables import NOUNS
from laydown.records.work import Work
from laydown.trials.remarks import Attachment
from laydown.trials.retracing import Retrace
from laydown.trials.trial import Trial
from laydown.usecases.acted import Acted
from laydown.usecases.archives.export_trial import ARCHIVE, ARCHIVE_VERSION
from laydown.usecases.archives.trial_content import history_id

# What a studio has for itself and several trials may share: where it is here already, ours stays as it is.
_SHARED = frozenset({"Supplier", "Medium", "Lot", "Roll", "Certificate", "Printer", "PrinterEvent"})
_OURS = frozenset({"Studio", "Account"})  # never travel, and are never taken from somebody else's file
_MOST_THINGS = 200_000
_LARGEST_LIST = 64 * 2**20  # of trial.json; a trial of a thousand sheets has about 2 MB
_LARGEST_UNPACKED = 8 * 2**30
_ID = re.compile(r"[A-Za-z0-9_-][A-Za-z0-9._-]{0,99}")


@dataclass(frozen=True, slots=True)
class TakenIn:
    """A trial that was taken in; ``kept_ours`` names what was here already and was left as it is."""

    trial: Trial
    kept_ours: tuple[str, ...]


def import_trial(records: Records, source: IO[bytes], *, file: str, who: str) -> Acted[TakenIn]:
    """Take in the trial of an archive.

    Parameters
    ----------
    records
        Where it will be kept.
    source
        The archive, open for reading; can be rewound.
    file
        Its name, for messages.
    who
        Who takes it in.

    Raises
    ------
    AlteredFile
        A byte of the archive was altered; nothing was taken in.
    UnreadableFile
        It is no trial archive, or one of a newer Laydown.
    RefusedInput
        The trial is here already, or a record in it is not what it should be.
    """
    with open_sealed_zip(source, file=file, wanted=ARCHIVE, largest=_LARGEST_UNPACKED) as box:
        _refuse_what_is_newer(box)
        things, members = _things(box)
        trial = _trial_of(things, file)
        _refuse_stray_sheets(things, file)
        _refuse_missing_files(things, box, members)
        for sha256, member in members.items():
            _keep(records, box, sha256, member)
        with records.work("took in", who=who, trial_id=trial.id, words=f"the trial {trial.name}") as work:
            _refuse_what_is_here(work, trial, file)
            for sha256, member in members.items():
                work.note_file(sha256, box.size(member))
            kept_ours = _add(work, things)
            _add_history(work, box, trial)
            return Acted(TakenIn(trial, kept_ours), work.entry_id)


def _refuse_what_is_newer(box: SealedZip) -> None:
    version = box.about.get("version")
    if not isinstance(version, int):
        raise UnreadableFile("it does not say which version it is.", file=box.file)
    if version > ARCHIVE_VERSION:
        raise UnreadableFile(
            "a newer Laydown made this archive.", todo="Bring this one up to date first.", file=box.file
        )


def _things(box: SealedZip) -> tuple[dict[str, list[Kept]], dict[str, str]]:
    """Every record by noun, checked field by field; and the member of each file."""
    try:
        told = json.loads(box.read("trial.json", limit=_LARGEST_LIST))
        listed: dict[str, list[dict[str, Any]]] = {
            str(noun): [dict(one.items()) for one in group] for noun, group in told["things"].items()
        }
        members = {str(sha256): str(member) for sha256, member in told["files"].items()}
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise UnreadableFile("trial.json is not what it should be.", file=box.file) from error
    if sum(len(group) for group in listed.values()) > _MOST_THINGS:
        raise UnreadableFile("there are too many records in it.", file=box.file)
    unknown = set(listed) - (set(NOUNS) - _OURS)
    if unknown:
        raise UnreadableFile(f"trial.json holds {min(unknown)}, which is not known here.", file=box.file)
    things = {}
    for noun in NOUNS:
        place = f"{box.file}: trial.json"
        things[noun] = [from_plain(NOUNS[noun], one, file=place) for one in listed.get(noun, ())]
    return things, members


def _trial_of(things: Mapping[str, list[Kept]], file: str) -> Trial:
    trials = things["Trial"]
    if len(trials) != 1 or not isinstance(trials[0], Trial):
        raise UnreadableFile("trial.json must hold exactly one trial.", file=file)
    trial = trials[0]
    for group in things.values():
        for thing in group:
            if not _ID.fullmatch(thing.id):
                raise UnreadableFile(f"“{thing.id[:40]}” cannot be the id of a record.", file=file)
            if getattr(thing, "trial_id", trial.id) != trial.id:
                raise UnreadableFile("trial.json holds records of another trial.", file=file)
    return trial


def _refuse_stray_sheets(things: Mapping[str, list[Kept]], file: str) -> None:
    """A retrace is of a sheet of this trial, or of none."""
    sheets = {sheet.id for sheet in things["Sheet"]}
    for retrace in things["Retrace"]:
        if isinstance(retrace, Retrace) and retrace.sheet_id and retrace.sheet_id not in sheets:
            raise UnreadableFile("trial.json holds a retrace of a sheet that is not in it.", file=file)


def _refuse_missing_files(
    things: Mapping[str, list[Kept]], box: SealedZip, members: Mapping[str, str]
) -> None:
    """What was handed in must come along, whole; elsewhere a checksum may have been stated without a file."""
    for noun in sorted(ALWAYS_KEPT):
        for thing in things[noun]:
            for sha256 in kept_files_in(noun, to_plain(thing)):
                if sha256 not in members:
                    raise UnreadableFile(
                        f"a file that {noun_words(noun)} {thing.id} refers to is not in it.",
                        todo="Ask for the archive again.",
                        file=box.file,
                    )
            if isinstance(thing, Attachment) and thing.size != box.size(members[thing.sha256]):
                raise UnreadableFile(
                    f"the file “{thing.name}” is not as large as it is said to be.",
                    todo="Ask for the archive again.",
                    file=box.file,
                )


def _keep(records: Records, box: SealedZip, sha256: str, member: str) -> None:
    """Put one file into the store. A file nothing refers to is not seen by anybody, should this stop here."""
    if records.vault.keep_stream(box.pieces(member)).sha256 != sha256:
        raise AlteredFile(f"{member} is not the file it is said to be.", file=box.file)


def _refuse_what_is_here(work: Work, trial: Trial, file: str) -> None:
    here = work.seek(Trial, trial.id)
    if here is not None:
        where = " (in the trash)" if here.removed_at else ""
        raise RefusedInput(
            f"the trial “{here.name}” is here already{where}.", todo="Open it, or bring it back.", file=file
        )


def _add(work: Work, things: Mapping[str, list[Kept]]) -> tuple[str, ...]:
    kept_ours = []
    for noun, group in things.items():
        for thing in group:
            here = work.seek(NOUNS[noun], thing.id) if noun in _SHARED else None
            if here is None:
                work.add(thing)
            elif here != thing:
                kept_ours.append(
                    f"{noun_words(noun)} {getattr(here, 'name', '') or getattr(here, 'code', '')}"
                )
    return tuple(kept_ours)


def _add_history(work: Work, box: SealedZip, trial: Trial) -> None:
    """Keep the journal of where the trial comes from as a file: ours is only of what is done here."""
    if "journal.json" not in box.files:
        return
    content = box.read("journal.json")
    work.add(
        Attachment(
            id=history_id(trial.id, work.entry_id),  # an earlier one may have come along
            trial_id=trial.id,
            about=trial.id,
            kind="other",
            name="journal-before.json",
            media_type="application/json",
            size=len(content),
            sha256=work.keep_file(content),
            at=work.now,
            words="The journal of this trial from before it was taken in.",
        )
    )
