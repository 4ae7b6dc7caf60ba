"""A trial goes out as one archive and comes in elsewhere, the same; an altered archive is refused."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
from jsonschema import Draft202012Validator

from drawn_forms import a_drawn_form
from laydown.kernel.errors import AlteredFile, LaydownError, RefusedInput, UnreadableFile
from laydown.kernel.stated import Stated
from laydown.records.engine import sqlite_url
from laydown.records.ledger import Records
from laydown.records.opening import open_records
from laydown.records.sealed_zip import open_sealed_zip, write_sealed_zip
from laydown.records.trial_facts import load_facts
from laydown.records.verifying import verify
from laydown.science.forms.form_wish import OwnPicture
from laydown.science.readings import read_measurements
from laydown.science.readings.types import Conditions, Readings
from laydown.science.readings.write_cgats import write_cgats
from laydown.trials.measured import GlossReading, Reading
from laydown.trials.recipe import Recipe
from laydown.trials.remarks import Attachment, Note
from laydown.trials.retracing import MarkedSymptom, Retrace
from laydown.trials.route import is_usable
from laydown.trials.seals import seal_of
from laydown.trials.sheets import BenchRun, Sheet, SheetEvent, Tick
from laydown.trials.stock import Lot, Medium, Roll, Supplier
from laydown.trials.studio import Printer
from laydown.trials.test_form import TestForm
from laydown.trials.trial import Brief, Candidate, Criterion, Gate, Plan, Trial
from laydown.usecases.archives.export_trial import ARCHIVE, export_trial
from laydown.usecases.archives.import_trial import import_trial
from laydown.usecases.forms.forms_of_trial import read_geometry
from laydown.usecases.forms.keep_form import keep_form
from laydown.usecases.trial.attach_file import attach_file
from ticking_clock import Clock

PRICE = 4321.25
CLIENT = "a client of the studio (invented)"
OWN, OWN_PRIVATE = b"a picture of the studio's own", b"another client's work.png"


def _cgats() -> bytes:
    device = np.array([[1.0, 1.0, 1.0], [0.0, 0.0, 0.0], [1.0, 0.0, 0.0]])
    lab = np.array([[96.5, 0.4, 1.25], [16.125, 0.2, 0.5], [45.0, 60.5, 31.0]])
    return write_cgats(
        Readings(
            file="k7.txt",
            ids=("A1", "A2", "=A3"),
            names=("white", "black", "red"),
            lines=np.zeros(3, dtype=np.int64),
            channels=("R", "G", "B"),
            device=device,
            device_scale=Stated(255.0, "test"),
            lab=lab,
            conditions=Conditions(measurement=Stated("M1", "test")),
        )
    )


@pytest.fixture
def kept(records: Records, clock: Clock) -> str:
    """A small trial with one of everything; its id."""
    start = clock.now
    with records.work("set up", who="the tests", trial_id="trial") as work:
        supplier = work.add(Supplier(id="supplier", name="Reedbed Paper (invented)"))
        medium = work.add(Medium(id="medium", name="Fenland Rag", supplier_id=supplier.id))
        lot = work.add(Lot(id="lot", medium_id=medium.id, code="L 17", received=date(2026, 2, 20)))
        roll = work.add(
            Roll(id="roll", lot_id=lot.id, form="roll", width_mm=431.8, price=PRICE, currency="EUR")
        )
        printer = work.add(
            Printer(id="printer", name="Bench printer (invented)", head_gaps=("narrow", "wide"))
        )
        trial = work.add(
            Trial(id="trial", name="Spring", client=CLIENT, begun=date(2026, 3, 1), chart_sha256="")
        )
        brief = Brief(
            id="brief",
            trial_id=trial.id,
            question="Which cotton?",
            gates=(Gate(name="lies flat"),),
            criteria=(Criterion(name="black", weight=3.0, finding="black_density"),),
        )
        at = work.now
        work.add(replace(brief, sealed_at=at, sealed_by="Ada", seal=seal_of(brief, at=at, by="Ada")))
        profile = work.keep_file(b"a profile, for the tests")
        house = work.add(
            Candidate(
                id="z-house",
                trial_id=trial.id,
                medium_id=medium.id,
                lot_id=lot.id,
                roll_id=roll.id,
                printer_id=printer.id,
                name="Fenland Rag",
                house=True,
                recipe=Recipe(profile_name="own.icc", profile_sha256=profile, profile_origin="own"),
            )
        )
        work.add(
            Candidate(
                id="a-coated",  # sorts before the candidate it refers to
                trial_id=trial.id,
                medium_id=medium.id,
                name="Fenland Rag, coated",
                finish="coated",
                twin_id=house.id,
            )
        )
        work.add(Plan(id="plan", trial_id=trial.id, seed=7, why="three see a tenth of density"))
        run = work.add(
            BenchRun(
                id="run",
                trial_id=trial.id,
                candidate_id=house.id,
                printer_id=printer.id,
                begun_at=start,
                ticks=(Tick(step="nozzle", at=start),),
                room_rh=41.5,
            )
        )
        sheet = work.add(
            Sheet(id="sheet", trial_id=trial.id, candidate_id=house.id, code="K7", place=1, run_id=run.id)
        )
        work.add(
            SheetEvent(id="e1", trial_id=trial.id, sheet_id=sheet.id, at=start, kind="printed", by="Ada")
        )
        for number, hours in enumerate((3, 30)):
            work.add(
                Reading(
                    id=f"reading{number}",
                    trial_id=trial.id,
                    sheet_id=sheet.id,
                    source="dropped",
                    file_name="k7.txt",
                    file_sha256=work.keep_file(_cgats()),
                    received_at=start + timedelta(hours=hours),
                    measured_at=start + timedelta(hours=hours),
                    conditions=("M1",),
                    patches=3,
                )
            )
        work.add(
            GlossReading(
                id="gloss",
                trial_id=trial.id,
                sheet_id=sheet.id,
                place="=paper white",
                angle=60,
                values=(2.9, 3.2),
                direction="across",
                instrument="a meter",
                received_at=start + timedelta(hours=30),
            )
        )
        work.add(Note(id="note", trial_id=trial.id, about=sheet.id, at=start, words="A speck, top left."))
        for name, private in (("photo.png", False), ("another client's work.png", True)):
            content = name.encode()
            work.add(
                Attachment(
                    id=name[:5],
                    trial_id=trial.id,
                    about=sheet.id,
                    kind="photograph",
                    name=name,
                    size=len(content),
                    sha256=work.keep_file(content),
                    at=start,
                    private=private,
                )
            )
        work.add(
            Retrace(
                id="retrace",
                trial_id=trial.id,
                title="specks",
                begun_at=start,
                symptoms=(MarkedSymptom(symptom="specks", seen="present"),),
            )
        )
    pictures = tuple(
        OwnPicture(name=name, sha256=records.vault.keep(content), width_mm=120.0, height_mm=80.0)
        for name, content in (("heron.tif", OWN), ("private.png", OWN_PRIVATE))
    )
    keep_form(records, trial.id, a_drawn_form(pictures=pictures), who="Ada")
    return trial.id


@pytest.fixture
def elsewhere(tmp_path: Path, clock: Clock) -> Iterator[Records]:
    """Empty records of another studio."""
    folder = tmp_path / "elsewhere"
    folder.mkdir()
    opened = open_records(sqlite_url(folder / "records.sqlite"), str(folder / "files"), clock=clock)
    yield opened
    opened.close()


@pytest.fixture
def third(tmp_path: Path, clock: Clock) -> Iterator[Records]:
    """Empty records of a third studio."""
    folder = tmp_path / "third"
    folder.mkdir()
    opened = open_records(sqlite_url(folder / "records.sqlite"), str(folder / "files"), clock=clock)
    yield opened
    opened.close()


def _archive(records: Records, trial_id: str, *, for_others: bool = False) -> bytes:
    target = io.BytesIO()
    export_trial(records, trial_id, target, for_others=for_others)
    return target.getvalue()


def test_a_trial_comes_in_elsewhere_as_it_went_out(records: Records, elsewhere: Records, kept: str) -> None:
    acted = import_trial(elsewhere, io.BytesIO(_archive(records, kept)), file="a.zip", who="Bo")
    assert acted.thing.kept_ours == ()
    with records.look() as here, elsewhere.look() as there:
        ours, theirs = load_facts(here, kept), load_facts(there, kept)
        assert replace(theirs, studio=ours.studio) == ours
        for reading in ours.readings:
            assert there.read_file(reading.file_sha256) == here.read_file(reading.file_sha256)
            assert is_usable(ours, reading_id=reading.id) == is_usable(theirs, reading_id=reading.id)
        assert there.find(Note, trial_id=kept) == here.find(Note, trial_id=kept)
        assert there.find(Retrace) == here.find(Retrace)
        names = {one.name for one in there.find(Attachment, trial_id=kept)}
        assert names == {"photo.png", "journal-before.json"}
    assert [is_usable(theirs, reading_id=f"reading{n}") for n in (0, 1)] == [False, True]


def test_a_form_comes_in_with_every_file_it_names(records: Records, elsewhere: Records, kept: str) -> None:
    import_trial(elsewhere, io.BytesIO(_archive(records, kept)), file="a.zip", who="Bo")
    with records.look() as here, elsewhere.look() as there:
        (form,) = load_facts(there, kept).forms
        assert (form,) == load_facts(here, kept).forms
        for sha256 in (form.reference_sha256, *(page.geometry_sha256 for page in form.pages)):
            assert there.read_file(sha256) == here.read_file(sha256)
        own, private = form.wish.pictures
        assert there.read_file(own.sha256) == OWN
        assert there.vault.size(private.sha256) is None  # attached as private: it never travels
    assert read_geometry(elsewhere, form) == read_geometry(records, form)
    assert verify(elsewhere).sound


def test_for_others_a_form_goes_without_pictures_of_the_studio(
    records: Records, elsewhere: Records, third: Records, kept: str
) -> None:
    # Handed in for the form, as its page does it; another file that was attached goes along as ever.
    for content, name in ((OWN, "heron.tif"), (b"a label", "label.png")):
        attach_file(records, [content], about=kept, name=name, who="Ada")
    with zipfile.ZipFile(io.BytesIO(_archive(records, kept))) as archive:
        assert OWN in [archive.read(name) for name in archive.namelist()]
    sealed = _archive(records, kept, for_others=True)
    with zipfile.ZipFile(io.BytesIO(sealed)) as archive:
        content = [archive.read(name) for name in archive.namelist()]
        names = [name.partition("-")[2] for name in archive.namelist() if name.startswith("files/")]
    assert OWN not in content
    assert b"a label" in content
    drawn = {f"form-F7K2-{name}" for name in ("D1.json", "D2.json", "P1.json", "reference.txt")}
    assert drawn <= set(names)
    import_trial(elsewhere, io.BytesIO(sealed), file="a.zip", who="Bo")
    found = verify(elsewhere)
    assert found.sound
    assert [note for note in found.notes if "stated without the file" in note] != []
    with elsewhere.look() as look:
        (form,) = look.find(TestForm)
    assert len(read_geometry(elsewhere, form)) == 3
    # and it can go on from there, still without them
    import_trial(third, io.BytesIO(_archive(elsewhere, kept)), file="b.zip", who="Cy")
    assert verify(third).sound


@pytest.mark.parametrize("lost", ["form-F7K2-D2.json", "form-F7K2-reference.txt"])
def test_a_form_without_a_file_it_needs_is_refused(
    records: Records, elsewhere: Records, kept: str, lost: str
) -> None:
    with open_sealed_zip(io.BytesIO(_archive(records, kept)), file="a.zip", wanted=ARCHIVE) as box:
        members = {name: box.read(name) for name in box.names() if not name.endswith(lost)}
        told = json.loads(members["trial.json"])
        told["files"] = {key: name for key, name in told["files"].items() if not name.endswith(lost)}
        members["trial.json"] = json.dumps(told).encode()
        target = io.BytesIO()
        write_sealed_zip(target, members.items(), about=box.about)
    with pytest.raises(UnreadableFile, match=r"a file that test form .* refers to is not in it"):
        import_trial(elsewhere, target, file="a.zip", who="Bo")
    with elsewhere.look() as look:
        assert look.count(Trial) == look.count(TestForm) == 0


def test_gloss_goes_along_as_a_table_for_spreadsheets(records: Records, kept: str) -> None:
    with zipfile.ZipFile(io.BytesIO(_archive(records, kept))) as archive:
        table = archive.read("readings/csv/gloss.csv").decode()
    rows = list(csv.DictReader(io.StringIO(table)))
    assert [row["gloss (GU)"] for row in rows] == ["2.9", "3.2"]
    assert {(row["sheet"], row["place"], row["angle (degrees)"], row["direction"]) for row in rows} == {
        ("K7", "'=paper white", "60", "across")  # a spreadsheet must not take it for a formula
    }


def test_what_came_in_can_be_undone_and_taken_in_again(
    records: Records, elsewhere: Records, kept: str
) -> None:
    sound = _archive(records, kept)
    acted = import_trial(elsewhere, io.BytesIO(sound), file="a.zip", who="Bo")
    with pytest.raises(RefusedInput, match="here already"):
        import_trial(elsewhere, io.BytesIO(sound), file="a.zip", who="Bo")
    with elsewhere.work("undid", who="Bo") as work:
        work.put_back(work.entry(acted.entry_id))
    import_trial(elsewhere, io.BytesIO(sound), file="a.zip", who="Bo")


def test_what_several_trials_share_is_left_as_it_is_here(
    records: Records, elsewhere: Records, kept: str
) -> None:
    with elsewhere.work("set up", who="Bo") as work:
        work.add(Medium(id="medium", name="Fenland Rag, as we call it"))
    acted = import_trial(elsewhere, io.BytesIO(_archive(records, kept)), file="a.zip", who="Bo")
    assert acted.thing.kept_ours == ("medium Fenland Rag, as we call it",)
    with elsewhere.look() as look:
        assert look.get(Medium, "medium").name == "Fenland Rag, as we call it"


def test_one_altered_byte_is_refused_and_nothing_is_taken_in(
    records: Records, elsewhere: Records, kept: str, rng: np.random.Generator
) -> None:
    sound = _archive(records, kept)
    for place in rng.choice(len(sound), size=120, replace=False):
        altered = bytearray(sound)
        altered[place] ^= 1 << int(rng.integers(8))
        with pytest.raises((AlteredFile, UnreadableFile)) as refused:
            import_trial(elsewhere, io.BytesIO(bytes(altered)), file="spring.zip", who="Bo")
        assert refused.value.file == "spring.zip"
    with elsewhere.look() as look:
        assert look.count(Trial) == 0
        assert look.entries() == ()


def test_the_altered_file_is_named(records: Records, elsewhere: Records, kept: str) -> None:
    sound = _archive(records, kept)
    with zipfile.ZipFile(io.BytesIO(sound)) as archive:
        info = next(one for one in archive.infolist() if one.filename.endswith("photo.png"))
    altered = bytearray(sound)
    altered[info.header_offset + 30 + len(info.filename) + 20 + 2] ^= 4  # inside its packed content
    with pytest.raises(AlteredFile, match=r"photo\.png"):
        import_trial(elsewhere, io.BytesIO(bytes(altered)), file="spring.zip", who="Bo")


def test_no_private_file_travels_and_for_others_no_price_and_no_client(records: Records, kept: str) -> None:
    for for_others in (False, True):
        with zipfile.ZipFile(io.BytesIO(_archive(records, kept, for_others=for_others))) as archive:
            content = b"".join(archive.read(name) for name in archive.namelist())
            names = archive.namelist()
        assert not any("another client" in name for name in names)
        assert (b"another client's work.png" in content) is not for_others  # its name, in the journal
        assert (str(PRICE).encode() in content) is not for_others
        assert (CLIENT.encode() in content) is not for_others


def test_the_archive_is_what_its_schema_says(records: Records, kept: str) -> None:
    with zipfile.ZipFile(io.BytesIO(_archive(records, kept))) as archive:
        schema = json.loads(archive.read("trial.schema.json"))
        told = json.loads(archive.read("trial.json"))
    Draft202012Validator.check_schema(schema)
    checker = Draft202012Validator(schema)
    checker.validate(told)
    told["things"]["Sheet"][0]["place"] = "first"
    assert not checker.is_valid(told)


def test_the_copies_hold_the_same_numbers(records: Records, kept: str) -> None:
    original = read_measurements(_cgats(), file="k7.txt").tables[0]
    assert original.lab is not None
    with zipfile.ZipFile(io.BytesIO(_archive(records, kept))) as archive:
        cgats = archive.read("readings/cgats/K7-reading1-M1.txt")
        text = archive.read("readings/csv/K7-reading1-M1.csv").decode()
    copied = read_measurements(cgats, file="copy").tables[0]
    assert copied.lab is not None
    assert copied.ids == original.ids
    np.testing.assert_array_equal(copied.lab, original.lab)
    rows = list(csv.DictReader(io.StringIO(text)))
    assert [float(row["L*"]) for row in rows] == list(original.lab[:, 0])
    assert [row["patch"] for row in rows] == ["A1", "A2", "'=A3"]  # never carried out as a formula


def test_a_record_that_is_not_what_it_should_be_is_refused_whole(
    records: Records, elsewhere: Records, kept: str
) -> None:
    for harm, said in (
        ({"kind": "melted"}, "SheetEvent"),
        ({"sheet_id": "nowhere"}, ""),
        ({"at": "2026-02-01T00:00:00Z", "kind": "coated"}, ""),
        ({"colour": "mauve"}, "colour"),
        ({"trial_id": "another"}, "another trial"),
    ):
        with pytest.raises(LaydownError, match=said or None):
            import_trial(elsewhere, _harmed(_archive(records, kept), harm), file="a.zip", who="Bo")
        with elsewhere.look() as look:
            assert look.count(Trial) == look.count(Medium) == 0


def _harmed(sound: bytes, harm: dict[str, str]) -> io.BytesIO:
    """The archive of somebody who altered a sheet's event and sealed it anew."""
    with open_sealed_zip(io.BytesIO(sound), file="a.zip", wanted=ARCHIVE) as box:
        members = {name: box.read(name) for name in box.names()}
        told = json.loads(members["trial.json"])
        told["things"]["SheetEvent"][0].update(harm)
        members["trial.json"] = json.dumps(told).encode()
        target = io.BytesIO()
        write_sealed_zip(target, members.items(), about=box.about)
    return target
