"""A support file helps with one bad print and tells nothing of anybody else: every byte of it is searched."""

from __future__ import annotations

import io
import json
import struct
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import replace
from datetime import date

import pytest
from jsonschema import Draft202012Validator

from drawn_forms import REFERENCE, a_drawn_form
from laydown.records.engine import sqlite_url
from laydown.records.ledger import Records
from laydown.records.opening import open_records
from laydown.records.sealed_zip import open_sealed_zip
from laydown.records.work import Work
from laydown.science.forms.form_wish import OwnPicture
from laydown.science.readings import read_measurements
from laydown.trials.measured import GlossReading, Reading
from laydown.trials.remarks import Attachment, AttachmentKind, Note
from laydown.trials.retracing import Retrace
from laydown.trials.sheets import BenchRun, Sheet, SheetEvent
from laydown.trials.stock import Medium, Roll, Supplier
from laydown.trials.trial import Candidate, Trial
from laydown.usecases.archives.support_file import SUPPORT, support_file, support_of
from laydown.usecases.forms.keep_form import keep_form
from laydown.usecases.retracing.begin_retrace import begin_retrace
from laydown.usecases.trial.seed_demo import DEMO_TRIAL_ID, seed_demo
from ticking_clock import Clock

PRICE, CLIENT, OTHER_CLIENT = 987654.25, "Grebe & Daughters", "Osprey Estate"
OTHER_TRIAL, OTHER_MEDIUM, OTHER_MAKER = "Otter reprints", "Avocet Silk", "Bittern Mill"
TRIAL_NAME = "Saltmarsh Print Room (invented): a medium for the 2026 editions"
SECRET_PICTURE, PRIVATE_WORDS = b"\x89PNG\r\n\x1a\n of another client's portfolio", "what another client hung"
# Everything that must not be in it, whatever the case and however letters are laid down.
HIDDEN = (
    str(PRICE), CLIENT, OTHER_CLIENT, OTHER_TRIAL, OTHER_MEDIUM, OTHER_MAKER, TRIAL_NAME, PRIVATE_WORDS,
    "Fenland Rag", "Tidemill Cotton", "Gullwing White", "Samphire Gloss", "Creek Papers", "Joris",
)  # fmt: skip
SLY = (
    f"For {CLIENT}, like {OTHER_TRIAL.upper()} on {OTHER_MEDIUM}; FENLAND RAG was fine, "
    f"avocet_silk.tif too, said {OTHER_MAKER}. Trial: {TRIAL_NAME}."
)


OWN_PICTURE = b"\x89PNG\r\n\x1a\n a print of the studio's own"
GPS = b"MM\0*\0\0\0\x08 GPS 51 28 40 N"


def a_chunk(name: bytes, held: bytes) -> bytes:
    return struct.pack(">I", len(held)) + name + held + struct.pack(">I", zlib.crc32(name + held))


def a_png(told: bytes = b"") -> bytes:
    """One white pixel, with what a camera or a program wrote beside it."""
    head = a_chunk(b"IHDR", struct.pack(">2I5B", 1, 1, 8, 2, 0, 0, 0))
    pixels = a_chunk(b"IDAT", zlib.compress(b"\0\xff\xff\xff"))
    return b"\x89PNG\r\n\x1a\n" + head + told + pixels + a_chunk(b"IEND", b"")


@pytest.fixture(scope="module")
def retraced(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Records, str]]:
    """A canvas of the demo trial, retraced, with everything that must stay strewn into every free text."""
    folder = tmp_path_factory.mktemp("support")
    records = open_records(sqlite_url(folder / "records.sqlite"), str(folder / "files"), clock=Clock())
    seed_demo(records)
    with records.look() as look:
        sheet = look.get(Retrace, "demo-retrace").sheet_id
    assert sheet is not None
    _another_client(records)
    retrace = begin_retrace(
        records, {"hook": "present", "mottle": "present"}, who="Joris", sheet_id=sheet, words=SLY,
        title=f"Canvas for {CLIENT}",
    ).thing  # fmt: skip
    _strew(records, retrace)
    _draw(records)
    yield records, retrace.id
    records.close()


def _another_client(records: Records) -> None:
    with records.work("began", who="Ada") as work:
        work.add(Supplier(id="bittern", name=OTHER_MAKER))
        work.add(Medium(id="avocet", name=OTHER_MEDIUM, supplier_id="bittern"))
        work.add(Trial(id="otter", name=OTHER_TRIAL, client=OTHER_CLIENT, begun=date(2026, 1, 2)))
        work.add(Candidate(id="otter-1", trial_id="otter", medium_id="avocet", name=OTHER_MEDIUM))
        work.change(replace(work.get(Trial, DEMO_TRIAL_ID), client=CLIENT))
        for roll in work.find(Roll):
            work.change(replace(roll, price=PRICE, currency="EUR"))


def _draw(records: Records) -> None:
    """A form with a picture of the studio's own, and one whose reference names another medium."""
    own = OwnPicture(
        name="our lighthouse.png", sha256=records.vault.keep(OWN_PICTURE), width_mm=60.0, height_mm=40.0
    )
    keep_form(records, DEMO_TRIAL_ID, a_drawn_form(pictures=(own,)), who="Joris", words=SLY)
    sly = replace(a_drawn_form("K3MM"), reference=f"for {OTHER_MEDIUM}".encode(), left_out=(SLY,))
    keep_form(records, DEMO_TRIAL_ID, sly, who="Joris")


def _strew(records: Records, retrace: Retrace) -> None:
    assert retrace.sheet_id is not None
    with records.work("noted", who="Ada") as work:
        sheet = work.get(Sheet, retrace.sheet_id)
        run = work.get(BenchRun, sheet.run_id or "")
        work.change(
            replace(run, words=SLY, recipe=replace(run.recipe, words=SLY, file_name=f"{OTHER_CLIENT}.tif"))
        )
        for event in work.find(SheetEvent, sheet_id=sheet.id):
            work.change(replace(event, words=SLY))
        for gloss in work.find(GlossReading, sheet_id=sheet.id, place="black"):
            work.change(replace(gloss, place=f"black of {OTHER_MEDIUM}", instrument=f"meter of {CLIENT}"))
        work.add(Note(id="n", trial_id=sheet.trial_id, about=retrace.id, at=work.now, words=SLY))
        told = a_chunk(b"tEXt", f"Comment\0{SLY}".encode()) + a_chunk(b"eXIf", GPS)
        _attach(work, retrace.id, "1", a_png(told), f"{OTHER_CLIENT} edge.png")
        _attach(work, retrace.id, "2", SECRET_PICTURE, f"{PRIVATE_WORDS}.png", private=True)
        wide = b"\xff\xd8\xff!" + f"by {OTHER_CLIENT}".encode("utf-16-le")  # as a camera writes a comment
        _attach(work, retrace.id, "3", wide, "named-inside.jpg")
        _attach(work, retrace.id, "4", b"an offer", "offer.txt", kind="other")
        _attach(work, "otter", "5", b"\x89PNG\r\n\x1a\n otter", "otter.png", trial_id="otter")
        reading = work.find(Reading, sheet_id=sheet.id)[0]
        named = work.read_file(reading.file_sha256).replace(b"Withy Canvas", OTHER_MEDIUM.encode(), 1)
        assert named != work.read_file(reading.file_sha256)
        work.change(replace(reading, file_sha256=work.keep_file(named), file_name=f"{CLIENT}.txt"))


def _attach(
    work: Work,
    about: str,
    key: str,
    content: bytes,
    name: str,
    *,
    private: bool = False,
    kind: AttachmentKind = "photograph",
    trial_id: str = DEMO_TRIAL_ID,
) -> None:
    work.add(
        Attachment(
            id=f"strewn-{key}", trial_id=trial_id, about=about, kind=kind, name=name, size=len(content),
            sha256=work.keep_file(content), at=work.now, private=private,
        )
    )  # fmt: skip


@pytest.fixture(scope="module")
def saved(retraced: tuple[Records, str]) -> bytes:
    return _saved(retraced)


def _saved(retraced: tuple[Records, str], *, named: bool = False) -> bytes:
    made = io.BytesIO()
    support_file(*retraced, made, keep_trial_name=named)
    return made.getvalue()


def _members(saved: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(saved)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def _everything(saved: bytes) -> bytes:
    """Every byte of every member, their names and the zip's own notes."""
    members = _members(saved)
    with zipfile.ZipFile(io.BytesIO(saved)) as archive:
        told = archive.comment
    return b"\n".join((*members.values(), *(name.encode() for name in members), told))


@pytest.mark.parametrize("name", HIDDEN)
def test_nothing_of_anybody_else_is_in_any_byte(saved: bytes, name: str) -> None:
    everything = _everything(saved)
    for encoding in ("utf-8", "utf-16-le", "utf-16-be"):
        assert name.casefold().encode(encoding) not in everything.lower()
    for apart in ("_", "-", "."):
        assert name.replace(" ", apart).casefold().encode() not in everything.lower()


def test_private_and_other_files_stay(saved: bytes, retraced: tuple[Records, str]) -> None:
    everything, members = _everything(saved), _members(saved)
    assert SECRET_PICTURE not in everything
    assert b" otter" not in everything
    assert b"an offer" not in everything
    pictures = [name for name in members if name.startswith("photographs/")]
    assert pictures == ["photographs/01-photograph.png", "photographs/02-photograph.png"]
    assert members["photographs/02-photograph.png"] == a_png()
    assert b"GPS" not in everything
    with retraced[0].look() as look:
        (kept,) = (look.read_file(one.sha256) for one in look.find(Attachment) if one.id == "strewn-1")
    assert GPS in kept
    assert "Left out: what the cameras wrote into the pictures" in " ".join(
        members["summary.txt"].decode().split()
    )
    with retraced[0].look() as look:
        stays = support_of(look, retraced[1], copies=False).stays
    assert any("1 file that is marked as private" in words for words in stays)
    assert any("named-inside.jpg: what the camera wrote" in words for words in stays)
    assert any("what the cameras wrote into the pictures" in words for words in stays)
    assert any("as it came: it names somebody else" in words for words in stays)


def test_forms_go_along_without_pictures_of_the_studio(saved: bytes, retraced: tuple[Records, str]) -> None:
    members, everything = _members(saved), _everything(saved)
    assert [name for name in members if name.startswith("forms/")] == [
        "forms/form-F7K2-reference.txt", "forms/form-F7K2-D1.json", "forms/form-F7K2-D2.json",
        "forms/form-K3MM-D1.json", "forms/form-K3MM-D2.json", "forms/form-K3MM-P1.json",
    ]  # fmt: skip
    assert members["forms/form-F7K2-reference.txt"] == REFERENCE + b"F7K2"
    assert members["forms/form-F7K2-D1.json"].decode() == a_drawn_form().pages[0].geometry_json
    assert OWN_PICTURE not in everything
    assert b"lighthouse" not in everything
    first, second = json.loads(members["support.json"])["forms"]
    assert (first["code"], first["in_use"], [page["patches"] for page in first["pages"]]) == (
        "F7K2", True, [3, 1, 0],
    )  # fmt: skip
    assert second["code"] == "K3MM"
    summary = " ".join(members["summary.txt"].decode().split())
    assert "F7K2 (R/G/B, 360 ppi): D1 device 210 x 297 mm, 3 patches;" in summary
    with retraced[0].look() as look:
        stays = support_of(look, retraced[1], copies=False).stays
    assert "form-F7K2-P1.json: pictures of your own lie on that page" in stays
    assert "form-K3MM-reference.txt: it names somebody else" in stays


def test_the_search_would_find_what_it_looks_for(retraced: tuple[Records, str]) -> None:
    """The names are there to be found: in the records that the file is made from."""
    with retraced[0].look() as look:
        retrace = look.get(Retrace, retraced[1])
        kept = " ".join(
            (
                retrace.words, retrace.title, retrace.by, *(one.name for one in look.find(Candidate)),
                *(one.name for one in look.find(Supplier)), *(one.client for one in look.find(Trial)),
                *(str(one.price) for one in look.find(Roll)), *(one.name for one in look.find(Attachment)),
            )
        )  # fmt: skip
    assert [name for name in HIDDEN if name.casefold() not in kept.casefold()] == []


def test_what_a_supplier_needs_is_in_it(saved: bytes) -> None:
    members = _members(saved)
    told = json.loads(members["support.json"])
    assert told["sample"]["medium"] == "Withy Canvas (invented)"
    assert told["sample"]["lot"] == "WC-0926"
    assert told["printer"]["serial"] == "PL24-00317"
    assert told["sheets"][0]["retraced"] is True
    assert told["sheets"][0]["settings"]["media_setting"] == "canvas, matte, extra ink"
    assert told["causes"][0]["name"] == "Total ink too high"
    assert told["causes"][0]["reasons"]
    assert [one["there"] for one in told["seen"]] == [True, True]
    assert told["questions"]
    assert told["trial"] == ""
    summary = members["summary.txt"].decode()
    white, black = told["sheets"][0]["gloss"]
    assert (white["place"], white["angle"], len(white["values"])) == ("paper white", 60, 3)
    assert black["place"].startswith("black of ")
    for words in (
        "gloss of the paper white: ",
        "Total ink too high",
        "Full ink is",
        "the house medium was fine",
        "Questions",
        "a client",
    ):
        assert words in summary
    Draft202012Validator(json.loads(members["support.schema.json"])).validate(told)


def test_readings_say_the_same_in_every_form(saved: bytes) -> None:
    members = _members(saved)
    originals = {name: file for name, file in members.items() if "/original/" in name}
    copies = {name: file for name, file in members.items() if name.endswith("-1.txt")}
    house = [name for name in copies if name.startswith("readings/house-medium/")]
    assert len(originals) == 5  # six of the uncoated canvas, one of which names another medium
    assert len(house) == 8  # four sheets of the house medium, each under two conditions
    for name, file in originals.items():
        reading_id = name.rpartition("/")[2].partition("-")[2].partition(".")[0]
        copy = next(kept for told, kept in copies.items() if f"{reading_id}-1." in told)
        one, other = (read_measurements(bytes_, file="x").tables[0] for bytes_ in (file, copy))
        assert one.reflectance is not None
        assert other.reflectance is not None
        # CGATS copies carry five decimals (write_cgats), so half a unit of the fifth is the most they differ.
        assert abs(one.reflectance - other.reflectance).max() <= 0.5e-5 + 1e-12


def test_the_trial_is_named_only_where_that_was_ticked(retraced: tuple[Records, str]) -> None:
    named = _members(_saved(retraced, named=True))
    assert json.loads(named["support.json"])["trial"] == TRIAL_NAME
    assert TRIAL_NAME.encode() in named["summary.txt"]
    assert CLIENT.encode() not in _everything(_saved(retraced, named=True))


def test_it_is_sealed(saved: bytes) -> None:
    with open_sealed_zip(io.BytesIO(saved), file="support.zip", wanted=SUPPORT) as sealed:
        assert sealed.about["format"] == SUPPORT
        assert "summary.txt" in sealed.files


def test_a_print_of_no_trial(records: Records) -> None:
    retrace = begin_retrace(records, {"fish-eyes": "present"}, who="Ada").thing
    members = _members(_saved((records, retrace.id)))
    told = json.loads(members["support.json"])
    assert (told["sample"], told["sheets"]) == (None, [])
    assert told["causes"]
    assert not [name for name in members if name.startswith("readings/")]
