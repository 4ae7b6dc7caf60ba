"""A support file: everything a supplier needs to help with one bad print, and nothing of anybody else."""

from __future__ import annotations

import contextlib
import json
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from typing import IO, Any

from pydantic import TypeAdapter

from laydown.kernel.errors import LaydownError
from laydown.kernel.version import __version__
from laydown.records.ledger import Records
from laydown.records.look import Look
from laydown.records.sealed_zip import write_sealed_zip
from laydown.records.trial_facts import load_facts
from laydown.science.readings import read_measurements
from laydown.science.readings.types import Readings
from laydown.science.readings.write_cgats import write_cgats
from laydown.trials.facts import TrialFacts
from laydown.trials.measured import Reading
from laydown.trials.remarks import Attachment, AttachmentKind
from laydown.trials.retracing import Retrace
from laydown.trials.sheets import Sheet
from laydown.usecases.archives.bare_picture import bare_picture
from laydown.usecases.archives.form_files import form_copies
from laydown.usecases.archives.reading_copies import as_csv
from laydown.usecases.retracing.hidden_names import HiddenNames, hidden_names
from laydown.usecases.retracing.rank_causes import rank_causes
from laydown.usecases.retracing.support_content import SupportContent, own_arms, support_content
from laydown.usecases.retracing.support_summary import support_summary

SUPPORT = "Laydown support file"
SUPPORT_VERSION = 1
BARED = (
    "what the cameras wrote into the pictures: place, time, camera, words, small previews; and their names"
)
_SHOWN: tuple[AttachmentKind, ...] = ("photograph", "screen shot", "label")
_READ_ME = """What a studio knows about one bad print, made with Laydown {version}.

summary.txt            everything in words
support.json           the same for programs
support.schema.json    what support.json holds, field by field (JSON Schema)
readings/this-medium   readings of this medium: as they came, as CGATS.17 and as CSV
readings/house-medium  readings of the medium the studio uses now, for comparison
forms                  what the print was made from: where each patch lies, and its device values
photographs            pictures of the print, without place, time and camera
manifest.json          the SHA-256 and size of everything here

Chances and strengths are judgement and no measurement. Prices, clients, other trials and the names of other
media are left out.
"""


@dataclass(frozen=True, slots=True)
class SupportFile:
    """What a support file holds: its content, what lies beside it; ``stays`` is what stays here and why.

    ``house_readings`` counts the readings of the house medium that go along as copies.
    """

    content: SupportContent
    summary: str
    members: tuple[tuple[str, bytes], ...]
    stays: tuple[str, ...]
    house_readings: int


def support_file(
    records: Records, retrace_id: str, target: IO[bytes], *, keep_trial_name: bool = False
) -> None:
    """Write the support file of a retrace into an open file.

    Parameters
    ----------
    records
        Where the retrace is kept.
    retrace_id
        Which one.
    target
        Open for reading and writing, at its start.
    keep_trial_name
        Tell the name of the trial; else it is left out wherever it stands.

    Raises
    ------
    UnknownRecord
        There is no such retrace.
    AlteredFile
        One of its files is no longer what was put away.
    """
    with records.look() as look:
        told = support_of(look, retrace_id, keep_trial_name=keep_trial_name)
    about = {"format": SUPPORT, "version": SUPPORT_VERSION, "laydown": __version__}
    write_sealed_zip(target, told.members, about=about)


def support_of(
    look: Look, retrace_id: str, *, keep_trial_name: bool = False, copies: bool = True
) -> SupportFile:
    """Everything that goes into a support file, and what stays here.

    Without ``copies`` the readings' copies in open formats are not made: enough to say what would go along.
    """
    retrace = look.get(Retrace, retrace_id)
    facts = load_facts(look, retrace.trial_id) if retrace.trial_id else None
    sheet = facts.sheet(retrace.sheet_id) if facts and retrace.sheet_id else None
    medium = facts.medium_of(facts.candidate(sheet.candidate_id)) if facts and sheet else None
    hidden = hidden_names(look, facts, medium=medium, keep_trial=keep_trial_name)
    ranked = rank_causes(look, retrace)
    adapter = TypeAdapter(SupportContent)
    raw = support_content(look, retrace, ranked, facts, keep_trial_name=keep_trial_name)
    plain = hidden.clean_all(adapter.dump_python(raw, mode="json"))
    content = adapter.validate_python(plain)
    stays: list[str] = []
    files = [
        *(_readings(look, facts, sheet, hidden, stays, copies=copies) if facts and sheet else ()),
        *(form_copies(look, facts.forms, hidden, stays) if facts and sheet else ()),
        *_photographs(look, retrace, facts, sheet, hidden, stays),
    ]
    left_out = [BARED] if BARED in stays else []
    summary = hidden.clean(support_summary(content, [name for name, _ in files], left_out=left_out))
    members = (
        ("README.txt", _READ_ME.format(version=__version__).encode()),
        ("summary.txt", summary.encode()),
        ("support.json", _json({"$schema": "support.schema.json", **plain})),
        ("support.schema.json", _json(support_schema())),
        *files,
    )
    house = 0 if facts is None or sheet is None else len(_of_house(facts, sheet))
    return SupportFile(content, summary, members, tuple(stays), house)


def support_schema() -> dict[str, Any]:
    """What ``support.json`` holds, field by field."""
    schema = TypeAdapter(SupportContent).json_schema(mode="serialization")
    schema["properties"]["$schema"] = {"type": "string"}
    return {
        **schema,
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "A bad print, as Laydown tells a supplier of it",
    }


def _readings(
    look: Look, facts: TrialFacts, sheet: Sheet, hidden: HiddenNames, stays: list[str], *, copies: bool
) -> Iterator[tuple[str, bytes]]:
    """Readings of this medium as they came and as copies; of the house medium copies under a neutral name."""
    codes = {one.id: one.code for one in facts.sheets}
    seen = set()
    for reading in _of_arms(facts, own_arms(facts, sheet)):
        if copies:
            stem = f"readings/this-medium/{codes[reading.sheet_id or '']}-{reading.id}"
            yield from _copies(look, reading, stem, hidden)
        content = look.read_file(reading.file_sha256)
        if hidden.found_in(content):
            stays.append(f"{reading.file_name} as it came: it names somebody else; copies go along")
        elif reading.file_sha256 not in seen:
            seen.add(reading.file_sha256)
            code = _safe(codes[reading.sheet_id or ""])
            # Its own name was typed by somebody and may say anything.
            yield f"readings/this-medium/original/{code}-{reading.id}{_ending(reading.file_name)}", content
    house = _of_house(facts, sheet)
    if house:
        stays.append(
            f"{len(house)} readings of the house medium as they came, which name it; copies go along"
        )
    for number, reading in enumerate(house if copies else (), start=1):
        yield from _copies(look, reading, f"readings/house-medium/{number:03}", hidden)


def _of_house(facts: TrialFacts, sheet: Sheet) -> tuple[Reading, ...]:
    """Readings of the house medium, unless that is the one that is retraced."""
    return _of_arms(facts, {one.id for one in facts.candidates if one.house} - own_arms(facts, sheet))


def _of_arms(facts: TrialFacts, arms: Collection[str]) -> tuple[Reading, ...]:
    """Readings of sheets of these arms that were not set aside."""
    sheets = {one.id for one in facts.sheets if one.candidate_id in arms}
    return tuple(one for one in facts.readings if one.sheet_id in sheets and one.set_aside_at is None)


def _copies(look: Look, reading: Reading, stem: str, hidden: HiddenNames) -> Iterator[tuple[str, bytes]]:
    for number, table in enumerate(_tables(look, reading), start=1):
        name = f"{stem}-{number}"
        # A table may hold what CGATS has no fields for; its CSV copy is there.
        with contextlib.suppress(LaydownError):
            text = write_cgats(table, preamble=[("ORIGINATOR", "Laydown")])
            yield f"{name}.txt", _cleaned(text, hidden)
        yield f"{name}.csv", _cleaned(as_csv(table), hidden)


def _cleaned(content: bytes, hidden: HiddenNames) -> bytes:
    return hidden.clean(content.decode()).encode()


def _tables(look: Look, reading: Reading) -> tuple[Readings, ...]:
    content = look.read_file(reading.mended_sha256 or reading.file_sha256)
    try:
        return read_measurements(content, file="reading").tables
    except LaydownError:  # it could not be read; there is nothing to copy
        return ()


def _photographs(
    look: Look,
    retrace: Retrace,
    facts: TrialFacts | None,
    sheet: Sheet | None,
    hidden: HiddenNames,
    stays: list[str],
) -> Iterator[tuple[str, bytes]]:
    about = {retrace.id}
    if facts and sheet:
        about |= {sheet.id, sheet.run_id or retrace.id}
    found = look.find_any(Attachment, "about", about, order=("at", "id"))
    private = sum(one.private for one in found)
    if private:
        stays.append(f"{private} {'file that is' if private == 1 else 'files that are'} marked as private")
    number = 0
    for one in found:
        if one.private or one.kind not in _SHOWN:
            continue
        content = bare_picture(look.read_file(one.sha256))
        if content is None:
            stays.append(
                f"the picture {one.name}: what the camera wrote into it, such as the place, cannot be taken "
                "out of a file of this kind; attach it as JPEG or PNG"
            )
            continue
        if hidden.found_in(content):
            stays.append(f"the picture {one.name}: words in it name somebody else")
            continue
        number += 1
        yield f"photographs/{number:02}-{one.kind.replace(' ', '-')}{_ending(one.name)}", content
    if number:
        stays.append(BARED)


def _ending(name: str) -> str:
    """The ending of a file's name, such as ".txt"; "" where it is none that a program would know."""
    dot, ending = name.rpartition(".")[1:]
    return f".{ending.lower()}" if dot and ending.isascii() and ending.isalnum() and len(ending) <= 5 else ""


def _safe(name: str) -> str:
    safe = "".join(letter if letter.isalnum() or letter in "._- " else "_" for letter in name)
    return safe.strip(" .") or "file"


def _json(value: Any) -> bytes:
    return json.dumps(value, ensure_ascii=False, indent=1).encode()
