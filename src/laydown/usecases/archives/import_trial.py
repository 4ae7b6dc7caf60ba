"""Take in a trial's archive: everything or nothing."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import IO, Any

from laydown.kernel.errors import AlteredFile, RefusedInput, UnreadableFile
from laydown.records.ledger import Records
from laydown.records.sealed_zip import SealedZip, open_sealed_zip
from laydown.records.shapes import Kept, from_plain
from laydown.records.tables import NOUNS
from laydown.records.work import Work
from laydown.trials.remarks import Attachment
from laydown.trials.trial import Trial
from laydown.usecases.acted import Acted
from laydown.usecases.archives.export_trial import ARCHIVE, ARCHIVE_VERSION

# What a studio has for itself and several trials may share: where it is here already, ours stays as it is.
_SHARED = frozenset({"Supplier", "Medium", "Lot", "Roll", "Certificate", "Printer", "PrinterEvent"})
_MOST_THINGS = 200_000


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
    with open_sealed_zip(source, file=file, wanted=ARCHIVE) as box:
        if int(box.about.get("version", 0)) > ARCHIVE_VERSION:
            raise UnreadableFile(
                "a newer Laydown made this archive.", todo="Bring this one up to date first.", file=file
            )
        things, members = _things(box)
        trial = _trial_of(things, file)
        for sha256, member in members.items():
            _keep(records, box, sha256, member)
        with records.work("took in", who=who, trial_id=trial.id, words=f"the trial {trial.name}") as work:
            _refuse_what_is_here(work, trial, file)
            for sha256, member in members.items():
                work.note_file(sha256, int(box.files[member]["size"]))
            kept_ours = _add(work, things)
            _add_history(work, box, trial)
            return Acted(TakenIn(trial, kept_ours), work.entry_id)


def _things(box: SealedZip) -> tuple[dict[str, list[Kept]], dict[str, str]]:
    """Every record by noun, checked field by field; and the member of each file."""
    try:
        told = json.loads(box.read("trial.json"))
        listed: Mapping[str, list[Any]] = told["things"]
        members = {str(sha256): str(member) for sha256, member in told["files"].items()}
        if sum(len(group) for group in listed.values()) > _MOST_THINGS:
            raise UnreadableFile("there are too many records in it.", file=box.file)
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise UnreadableFile("trial.json is not what it should be.", file=box.file) from error
    unknown = set(listed) - set(NOUNS)
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
            if getattr(thing, "trial_id", trial.id) not in (trial.id, None):
                raise UnreadableFile("trial.json holds records of another trial.", file=file)
    return trial


def _keep(records: Records, box: SealedZip, sha256: str, member: str) -> None:
    """Put one file into the store. A file nothing refers to is not seen by anybody, should this stop here."""
    kept = records.vault.keep(box.read(member))
    if kept != sha256:
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
                kept_ours.append(f"{noun.lower()} {getattr(here, 'name', '') or getattr(here, 'code', '')}")
    return tuple(kept_ours)


def _add_history(work: Work, box: SealedZip, trial: Trial) -> None:
    """Keep the journal of where the trial comes from as a file: ours is only of what is done here."""
    if "journal.json" not in box.files:
        return
    content = box.read("journal.json")
    work.add(
        Attachment(
            id=f"{trial.id}-history",
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
