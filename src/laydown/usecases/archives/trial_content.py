"""Everything that travels with a trial: its records, what they refer to, and its files."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

from laydown.records.look import Look
from laydown.records.shapes import Kept, to_plain
from laydown.records.trial_facts import load_facts
from laydown.trials.facts import TrialFacts
from laydown.trials.remarks import Attachment, Note
from laydown.trials.retracing import Retrace
from laydown.trials.stock import Certificate, Lot, Medium, RollUse, Supplier
from laydown.trials.studio import PrinterEvent
from laydown.trials.trial import Candidate
from laydown.usecases.archives.form_files import form_files

_HISTORY = "-history-"


@dataclass(frozen=True, slots=True)
class TrialContent:
    """What travels with a trial.

    ``things`` holds everything by noun, parents before children; ``attachments`` those whose files travel;
    ``files`` maps the SHA-256 of every file that travels to the name it goes by.
    """

    facts: TrialFacts
    things: Mapping[str, tuple[Kept, ...]]
    attachments: tuple[Attachment, ...]
    files: Mapping[str, str]

    def plain(self) -> dict[str, list[dict[str, Any]]]:
        """The things as plain JSON values."""
        return {noun: [to_plain(thing) for thing in things] for noun, things in self.things.items()}


def trial_content(look: Look, trial_id: str, *, for_others: bool) -> TrialContent:
    """Gather what travels with a trial.

    Parameters
    ----------
    look
        The records.
    trial_id
        Which trial.
    for_others
        Leave out prices, the client's name, what earlier journals say of both, and pictures of the studio's
        own that forms hold, as for a supplier's support.

    Private attachments never travel.

    Raises
    ------
    UnknownRecord
        There is no such trial.
    """
    facts = load_facts(look, trial_id)
    lots = _once(look.find_any(Lot, "id", {roll.lot_id for roll in facts.rolls}), facts.lots)
    media = _once(look.find_any(Medium, "id", {lot.medium_id for lot in lots}), facts.media)
    suppliers = look.find_any(Supplier, "id", {one.supplier_id for one in media if one.supplier_id})
    printers = {printer.id for printer in facts.printers}
    own_pictures = {one.sha256 for form in facts.forms for one in form.wish.pictures}
    attachments = tuple(
        one
        for one in look.find(Attachment, trial_id=trial_id, order=("at", "id"))
        if not one.private and not (for_others and (_is_history(one) or one.sha256 in own_pictures))
    )
    trial = replace(facts.trial, client="") if for_others else facts.trial
    rolls = tuple(replace(roll, price=None, currency="") if for_others else roll for roll in facts.rolls)
    things: dict[str, tuple[Kept, ...]] = {
        "Supplier": suppliers,
        "Medium": media,
        "Lot": lots,
        "Roll": rolls,
        "Certificate": look.find_any(Certificate, "medium_id", {one.id for one in media}),
        "Printer": facts.printers,
        "PrinterEvent": look.find_any(PrinterEvent, "printer_id", printers, order=("at", "id")),
        "Trial": (trial,),
        "Brief": () if facts.brief is None else (facts.brief,),
        "BriefChange": facts.brief_changes,
        "Candidate": _twins_last(facts.candidates),
        "Plan": () if facts.plan is None else (facts.plan,),
        "TestForm": facts.forms,
        "BenchRun": facts.runs,
        "Sheet": facts.sheets,
        "SheetEvent": facts.events,
        "Reading": facts.readings,
        "GlossReading": facts.gloss,
        "RollUse": look.find(RollUse, trial_id=trial_id, order=("at", "id")),
        "Note": look.find(Note, trial_id=trial_id, order=("at", "id")),
        "Attachment": attachments,
        "Retrace": look.find(Retrace, trial_id=trial_id, order=("begun_at", "id")),
    }
    found = (*_files(look, facts, attachments), *form_files(look, facts.forms, for_others=for_others))
    files = {sha256: name for sha256, name in found if sha256}
    return TrialContent(facts, MappingProxyType(things), attachments, MappingProxyType(files))


def history_id(trial_id: str, entry_id: str) -> str:
    """The id under which the journal that came with a trial is attached to it, at each taking in."""
    return f"{trial_id}{_HISTORY}{entry_id}"


def _is_history(attachment: Attachment) -> bool:
    return attachment.id.startswith(f"{attachment.trial_id}{_HISTORY}")


def _twins_last(candidates: tuple[Candidate, ...]) -> tuple[Candidate, ...]:
    return tuple(sorted(candidates, key=lambda one: one.twin_id is not None))


def _files(look: Look, facts: TrialFacts, attachments: tuple[Attachment, ...]) -> Iterator[tuple[str, str]]:
    """Every file there must be; of those whose checksum may only have been stated, those that are here."""
    recipes = (*(one.recipe for one in facts.candidates), *(one.recipe for one in facts.runs))
    stated = [(one.profile_sha256, one.profile_name or "profile.icc") for one in recipes]
    for sha256, name in (*stated, (facts.trial.chart_sha256, facts.trial.chart_name or "chart.txt")):
        if sha256 and look.vault.size(sha256) is not None:
            yield sha256, name
    for one in attachments:
        yield one.sha256, one.name
    for reading in facts.readings:
        yield reading.file_sha256, reading.file_name
        yield reading.mended_sha256, f"mended-{reading.file_name}"


def _once(first: tuple[Any, ...], second: tuple[Any, ...]) -> tuple[Any, ...]:
    return tuple({thing.id: thing for thing in (*first, *second)}.values())
