"""A studio with one of everything that can be kept, for tests of what keeps it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from laydown.records.ledger import Records
from laydown.records.work import Work
from laydown.science.forms.form_wish import FormWish, OwnPicture
from laydown.science.forms.reader import Reader
from laydown.trials.measured import Doubt, GlossReading, Reading
from laydown.trials.people import Account
from laydown.trials.recipe import Coat, Recipe
from laydown.trials.remarks import Attachment, Note
from laydown.trials.retracing import AnsweredCheck, MarkedSymptom, Retrace, TriedFix
from laydown.trials.seals import seal_of
from laydown.trials.sheets import BenchRun, Sheet, SheetEvent, Tick
from laydown.trials.stock import Certificate, Lot, Medium, Roll, RollUse, Supplier
from laydown.trials.studio import Printer, PrinterEvent, Studio
from laydown.trials.test_form import FormPage, TestForm
from laydown.trials.trial import Brief, BriefChange, Candidate, Criterion, Gate, Plan, Trial, WantedDifference

WHO = "Åsa Ülker ☃"
FORM_FILES = (b"a reference", b"where all is on D1", b"where all is on P1", b"a picture of our own")
CHART = b"CGATS.17\n" + bytes(range(256)) * 40


def fill(records: Records) -> str:
    """One of every noun, each field that refers to something referring to it; the id of the trial.

    The coated candidate has an id that sorts before the one it refers to, so that rows in the order of their
    ids refer forwards.
    """
    with records.work("sets the studio up", who=WHO) as work:
        _stock(records, work)
    with records.work("begins", who=WHO, trial_id="t1") as work:
        _plans(work)
    with records.work("seals the brief", who=WHO, trial_id="t1", final=True) as work:
        brief = work.get(Brief, "b1")
        seal = seal_of(brief, at=work.now, by=WHO)
        work.change(replace(brief, sealed_at=work.now, sealed_by=WHO, seal=seal))
    with records.work("prints", who=WHO, trial_id="t1") as work:
        _prints(work)
    with records.work("measures", who=WHO, trial_id="t1") as work:
        _measures(work)
    with records.work("remarks", who=WHO, trial_id="t1") as work:
        _remarks(work)
    with records.work("changes its mind", who=WHO, trial_id="t1") as work:
        work.change(replace(work.get(Note, "n1"), words="Better in the evening light"))
        work.remove(Attachment, "a2")
    return "t1"


def _stock(records: Records, work: Work) -> None:
    now = work.now
    work.add(Studio(id="studio", name="Sea Road Prints", time_zone="Europe/Lisbon", cure_hours=23.5))
    work.add(Account(id="ac1", name="asa", role="bench", made_at=now))
    work.add(Supplier(id="su1", name="Fen Mill", contact="fen@example.org", words='says "soon"\nand again'))
    work.add(Medium(id="m1", name="Fenland Rag", supplier_id="su1", weight_gsm=308.1, barrier=False))
    work.add(Medium(id="m2", name="Withy Canvas", kind="canvas", caliper_um=0.1 + 0.2, barrier=None))
    work.add(Lot(id="l1", medium_id="m1", code="21-7", received=date(2026, 2, 27)))
    work.add(Roll(id="r1", lot_id="l1", form="roll", width_mm=432.0, length_mm=15240.0, price=129.9))
    work.add(Certificate(id="ce1", title="Light test", medium_id="m1", tested=date(2024, 5, 6)))
    work.add(Printer(id="p1", name="Wide", head_gaps=("narrow", "wide"), has_cutter=True))
    work.add(PrinterEvent(id="pe1", printer_id="p1", at=now, kind="head cleaned"))


def _plans(work: Work) -> None:
    work.add(Trial(id="t1", name="Spring trial", question="Which canvas?", begun=date(2026, 3, 2)))
    work.add(
        Brief(
            id="b1",
            trial_id="t1",
            products=("wrapped canvas", "framed paper"),
            gates=(Gate(name="lies flat"),),
            criteria=(Criterion(name="black", weight=3.0, finding="dmax_visual"),),
            differences=(WantedDifference(finding="white_b", amount=0.8),),
            stop_date=date(2026, 4, 1),
        )
    )
    work.add(Plan(id="pl1", trial_id="t1", sheets_per_candidate=2, seed=2**40, first_day=date(2026, 3, 3)))
    _draws(work)
    recipe = Recipe(media_setting="Heavy rag", resolution_ppi=360.0, colour_managed_by=("application",))
    bare = Candidate(id="c2-bare", trial_id="t1", medium_id="m2", name="Canvas", position=2, printer_id="p1")
    rag = Candidate(id="c0", trial_id="t1", medium_id="m1", name="Rag", house=True, lot_id="l1", roll_id="r1")
    coat = Coat(product="Clear", coats=2, wet_g_m2=90.5)
    coated = replace(
        bare, id="c1-coated", name="Canvas, coated", finish="coated", coat=coat, twin_id="c2-bare"
    )
    for candidate in (replace(rag, recipe=recipe, printer_id="p1"), bare, coated):
        work.add(candidate)
        for number in (1, 2):
            code = f"{candidate.position}{candidate.finish[0].upper()}{number}"
            sheet = Sheet(
                id=f"s-{candidate.id}-{number}", trial_id="t1", candidate_id=candidate.id, code=code
            )
            work.add(sheet)


def _draws(work: Work) -> None:
    reference, patches, pictures, own = (work.keep_file(content) for content in FORM_FILES)
    wish = FormWish(
        code="F7K2",
        own_colours=((255, 0, 128), (0, 17, 34)),
        reader=Reader("scanner", 0.1 + 0.2, 6.0),
        parts=("edges", "wear bar"),
        scenes=(),
        pictures=(OwnPicture(name="Größe ☃.tif", sha256=own, width_mm=120.5, height_mm=80.0),),
        seed=2**40,
    )
    page = FormPage(
        name="D1", use="device", width_mm=432.0, length_mm=600.25, patches=400, geometry_sha256=patches
    )
    work.add(
        TestForm(
            id="f1",
            trial_id="t1",
            code="F7K2",
            wish=wish,
            pages=(page, replace(page, name="P1", use="picture", patches=0, geometry_sha256=pictures)),
            reference_sha256=reference,
            left_out=("rings: wider than the page.",),
            made_at=work.now,
            made_with="0.1.0",
            by=WHO,
            words='says "soon"\nand again',
        )
    )


def _prints(work: Work) -> None:
    now = work.now
    run = BenchRun(
        id="br1",
        trial_id="t1",
        candidate_id="c0",
        printer_id="p1",
        roll_id="r1",
        begun_at=now,
        ticks=(Tick(step="gap", at=now, by=WHO, value="wide"), Tick(step="nozzles", at=now, skipped=True)),
        room_rh=44.4,
    )
    work.add(run)
    for number in (1, 2):
        sheet = work.get(Sheet, f"s-c0-{number}")
        work.change(replace(sheet, run_id="br1", roll_id="r1"))
        printed = SheetEvent(id=f"e{number}", trial_id="t1", sheet_id=sheet.id, at=now, kind="printed")
        work.add(replace(printed, coat=None, room_c=21.3, by=WHO))
    work.add(RollUse(id="ru1", roll_id="r1", at=now, length_mm=812.8, trial_id="t1"))
    change = BriefChange(
        id="bc1",
        trial_id="t1",
        at=now,
        by=WHO,
        field="sizes",
        before="nothing",
        after="A2",
        before_plain='""',
        after_plain='"A2"',
        why="asked by a client",
    )
    work.add(change)


def _measures(work: Work) -> None:
    for number in (1, 2):
        work.add(
            Reading(
                id=f"rd{number}",
                trial_id="t1",
                sheet_id=f"s-c0-{number}",
                source="dropped",
                file_name=f"rag {number}.txt",
                file_sha256=work.keep_file(CHART + str(number).encode()),
                mended_sha256=work.keep_file(b"mended") if number == 2 else "",
                received_at=work.now + timedelta(microseconds=1),
                measured_at=work.now,
                conditions=("M0", "M1"),
                patches=918,
                doubts=(
                    Doubt(kind="swapped", words="looks swapped", question="Swapped?", answers=("yes", "no")),
                ),
            )
        )

    work.add(
        GlossReading(
            id="gl1",
            trial_id="t1",
            sheet_id="s-c0-1",
            place="paper white",
            angle=60,
            values=(2.9, 3.1, 0.1 + 0.2),
            direction="along",
            instrument="hand meter ☃",
            received_at=work.now,
        )
    )


def _remarks(work: Work) -> None:
    now = work.now
    work.add(Note(id="n1", trial_id="t1", about="s-c0-1", at=now, words="Fine at noon"))
    for number, content in ((1, b"a photograph"), (2, b"a label"), (3, b"")):
        work.add(
            Attachment(
                id=f"a{number}",
                trial_id=None if number == 2 else "t1",
                about="c0",
                kind="photograph",
                name=f"{number}.jpg",
                size=len(content),
                sha256=work.keep_file(content),
                at=now,
            )
        )
    work.add(
        Retrace(
            id="re1",
            trial_id="t1",
            sheet_id="s-c0-2",
            title="Bands",
            begun_at=now,
            symptoms=(MarkedSymptom(symptom="banding", seen="present"),),
            answers=(AnsweredCheck(check="nozzles", answer="no", at=now),),
            tried=(TriedFix(cause="feed", at=now, words="less feed", helped=None),),
        )
    )
