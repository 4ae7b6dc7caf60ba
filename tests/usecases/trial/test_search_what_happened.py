"""Search finds what happened, how it was printed and what was tried, at the thing it happened to."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from laydown.kernel.errors import NotAllowed
from laydown.records.ledger import Records
from laydown.records.search_kinds import ALL_KINDS, DESCRIBED, KINDS, FoundKind
from laydown.records.search_query import search as search_kind
from laydown.science.forms.form_wish import FormWish
from laydown.trials.measured import GlossReading, Reading
from laydown.trials.recipe import Coat, Recipe
from laydown.trials.retracing import AnsweredCheck, Retrace, TriedFix
from laydown.trials.sheets import BenchRun, Sheet, SheetEvent, Tick
from laydown.trials.stock import Lot, Medium, Roll, RollUse, Supplier
from laydown.trials.studio import Printer, PrinterEvent
from laydown.trials.test_form import FormPage, TestForm
from laydown.trials.trial import Brief, BriefChange, Candidate, Criterion, Gate, Plan, Trial
from laydown.usecases.trial.keep_note import keep_note
from laydown.usecases.trial.search import OF_THE_OWNER, PAGE_LENGTH, SHOWN_OF_EACH, kinds_for, search

WHO = "Ada"
AT = datetime(2026, 3, 2, 9, tzinfo=UTC)


@pytest.fixture
def worked(any_records: Records) -> Records:
    """A trial in the middle of its work."""
    any_records.check = None  # it need not be a whole trial
    recipe = Recipe(media_setting="Heavy rag 2", profile_name="winter-rag.icc", file_name="wedge-7.tif")
    with any_records.work("filled", who=WHO) as work:
        work.add(Supplier(id="su", name="Tidal Paper"))
        work.add(Medium(id="m", name="Fenland Rag", supplier_id="su"))
        work.add(Lot(id="l", medium_id="m", code="HE-77", words="for the winter show"))
        work.add(Roll(id="r", lot_id="l", form="roll", code="3"))
        work.add(Roll(id="r2", lot_id="l", form="roll", code="4", words="edge dented in winter"))
        work.add(RollUse(id="u", roll_id="r", at=AT, length_mm=900.0, words="Proofs for the Alder folio"))
        work.add(Printer(id="p", name="North wall", black_inks="matte, photo"))
        work.add(
            PrinterEvent(id="pe", printer_id="p", at=AT, kind="head replaced", words="banding since May")
        )
        work.add(Trial(id="t", name="Spring", begun=date(2026, 3, 1)))
        work.add(
            Brief(
                id="b", trial_id="t", question="Which rag?", must_match="the Alder folio of 2019",
                gates=(Gate(name="No flakes", words="under a loupe"),),
                criteria=(Criterion(name="Black", weight=1.0, words='deep as "velvet"'),),
            )
        )  # fmt: skip
        work.add(
            BriefChange(id="bc", trial_id="t", at=AT, by=WHO, field="sizes", before="A2", after="A1",
                        before_plain='"A2"', after_plain='"A1"', why="The gallery asked for larger")
        )  # fmt: skip
        work.add(Plan(id="pl", trial_id="t", why="Five tell half a unit"))
        work.add(
            Candidate(id="c", trial_id="t", medium_id="m", name="House", printer_id="p", recipe=recipe,
                      coat=Coat(product="Saltglaze satin", batch="B-12"))
        )  # fmt: skip
        work.add(
            BenchRun(id="run", trial_id="t", candidate_id="c", printer_id="p", begun_at=AT,
                     recipe=replace(recipe, head_gap="wide: it curls"),
                     ticks=(Tick(step="nozzles", at=AT, value="two gaps in cyan"),))
        )  # fmt: skip
        work.add(Sheet(id="s", trial_id="t", candidate_id="c", code="K7", run_id="run"))
        work.add(SheetEvent(id="e1", trial_id="t", sheet_id="s", at=AT, kind="printed"))
        work.add(
            SheetEvent(id="e2", trial_id="t", sheet_id="s", at=AT + timedelta(hours=1), kind="spoiled",
                       words="Scratched: the lid was opened")
        )  # fmt: skip
        work.add(
            SheetEvent(id="e3", trial_id="t", sheet_id="s", at=AT + timedelta(days=1), kind="coated",
                       coat=Coat(product="Saltglaze gloß", tool="foam roller"))
        )  # fmt: skip
        work.add(
            Reading(id="rd", trial_id="t", sheet_id="s", source="dropped", file_name="scan 0412.txt",
                    file_sha256="0" * 64, received_at=AT, set_aside_why="the instrument slipped")
        )  # fmt: skip
        work.add(
            GlossReading(id="gl", trial_id="t", sheet_id="s", place="lower margin", angle=60, values=(3.1,),
                         received_at=AT, instrument="borrowed meter")
        )  # fmt: skip
        work.add(
            TestForm(id="fo", trial_id="t", code="QX42", wish=FormWish(code="QX42"), made_at=AT,
                     made_with="0.1",
                     pages=(FormPage(name="D1", use="device", width_mm=100.0, length_mm=100.0, patches=3,
                                     geometry_sha256="0" * 64),),
                     reference_sha256="1" * 64, words="for the autumn retest", by="Ada")
        )  # fmt: skip
        work.add(
            Retrace(id="re", trial_id="t", sheet_id="s", title="Cloudy black", begun_at=AT,
                    answers=(AnsweredCheck(check="x", answer="yes", at=AT, words="Seen at a slant"),),
                    tried=(TriedFix(cause="x", at=AT, words="Twelve percent less ink: Größe"),))
        )  # fmt: skip
    keep_note(any_records, "s", "It curls at one corner.", who=WHO)
    keep_note(any_records, "r", "Paid less for this one.", who=WHO)
    return any_records


def found(records: Records, query: str) -> list[tuple[str, str]]:
    groups = search(records, query, role="owner").groups
    return [(group.kind, one.about or one.id) for group in groups for one in group.found]


@pytest.mark.parametrize(
    ("query", "wanted"),
    [
        ("scratched", [("event", "s")]),
        ("K7 LID spring", [("event", "s")]),
        ("foam saltglaze", [("event", "s")]),
        ("GLOẞ saltglaze", [("event", "s")]),
        ("b-12", [("candidate", "c")]),
        ("spoiled", [("event", "s")]),
        ("alder", [("brief", "b"), ("use", "r")]),
        ("he-77 alder", [("use", "r")]),
        ("he-77 winter", [("lot", "l"), ("roll", "r2")]),
        ("tidal rag", [("medium", "m")]),
        ("winter-rag", [("candidate", "c"), ("sitting", "run")]),
        ("wedge-7 north", [("sitting", "run")]),
        ("gaps cyan", [("sitting", "run")]),
        ("wide:", [("sitting", "run")]),
        ("loupe", [("brief", "b")]),
        ('"velvet"', [("brief", "b")]),
        ("gallery spring", [("change", "bc")]),
        ("unit", [("plan", "pl")]),
        ("0412", [("reading", "rd")]),
        ("k7 slipped", [("reading", "rd")]),
        ("qx42", [("form", "fo")]),
        ("autumn spring", [("form", "fo")]),
        ("borrowed margin k7", [("gloss", "s")]),
        ("may banding", [("upkeep", "p")]),
        ("north head", [("upkeep", "p")]),
        ("twelve", [("retrace", "re")]),
        ("GRÖẞE", [("retrace", "re")]),
        ("k7 slant", [("retrace", "re")]),
        ("k7 corner", [("note", "s")]),
    ],
)
def test_words_are_found_at_their_place(worked: Records, query: str, wanted: list[tuple[str, str]]) -> None:
    assert sorted(found(worked, query)) == sorted(wanted)


@pytest.mark.parametrize(
    "query", ["profile_name", "media_setting", "null", "nozzles", "weight", "json", "{", "u00df"]
)
def test_how_a_thing_is_kept_is_not_found(worked: Records, query: str) -> None:
    assert found(worked, query) == []


def test_what_holds_the_words_is_shown(worked: Records) -> None:
    told = search(worked, "winter-rag", role="owner").groups[0].found[0]
    assert (told.title, told.text, told.context) == ("House", "winter-rag.icc", "Spring")
    event = search(worked, "lid", role="owner").groups[0].found[0]
    assert (event.title, event.text) == ("spoiled", "Scratched: the lid was opened")
    assert (event.context, event.at) == ("House · Spring", AT + timedelta(hours=1))


def test_the_journal_is_looked_through_when_asked_for(worked: Records) -> None:
    assert "entry" not in {kind for kind, _ in found(worked, "note")}
    [entry] = search(worked, "noted corner", role="owner", kind="entry").groups[0].found
    assert entry.title.startswith("Ada noted")


def test_the_bench_finds_nothing_of_the_stock(worked: Records) -> None:
    for query in ("winter", "alder", "north", "tidal", "paid", "banding"):
        groups = search(worked, query, role="bench").groups
        assert not {group.kind for group in groups} & OF_THE_OWNER, query
    assert search(worked, "paid", role="owner").groups
    assert search(worked, "paid", role="bench").groups == ()  # a note about a roll
    assert search(worked, "corner", role="bench").groups
    for kind in OF_THE_OWNER:
        with pytest.raises(NotAllowed):
            search(worked, "winter", role="bench", kind=kind)


def test_a_judge_finds_nothing(worked: Records) -> None:
    assert kinds_for("judge") == ()
    for kind in (None, *ALL_KINDS):
        with pytest.raises(NotAllowed):
            search(worked, "K7", role="judge", kind=kind)


@pytest.mark.parametrize("kind", ALL_KINDS)
def test_every_kind_can_be_asked_for_odd_words(worked: Records, kind: FoundKind) -> None:
    with worked.look() as look:
        for words in (["%"], ["'"], ['"'], ["\\"], ["é"], ["ß", "k"], ["x"] * 8):
            search_kind(look, words, kind, limit=9)
    assert DESCRIBED[kind].own


@pytest.mark.parametrize("word", ["Lüneburg", "lid"])
def test_what_happened_is_read_page_by_page(records: Records, word: str) -> None:
    records.check = None
    count = PAGE_LENGTH + 3
    with records.work("filled", who=WHO) as work:
        work.add(Medium(id="m", name="Fenland Rag"))
        work.add(Trial(id="t", name="Spring", begun=date(2026, 3, 1)))
        work.add(Candidate(id="c", trial_id="t", medium_id="m", name="House"))
        work.add(Sheet(id="s", trial_id="t", candidate_id="c", code="K7"))
        for number in range(count):
            at = AT + timedelta(minutes=number)
            work.add(
                SheetEvent(id=f"e{number:02}", trial_id="t", sheet_id="s", at=at, kind="handled", words=word)
            )
    [some] = search(records, word.upper(), role="bench").groups
    assert (len(some.found), some.more) == (SHOWN_OF_EACH, True)
    pages = [search(records, word, role="bench", kind="event", number=one).groups[0] for one in (1, 2)]
    assert [one.id for page in pages for one in page.found] == [
        f"e{one:02}" for one in reversed(range(count))
    ]
    assert [page.more for page in pages] == [True, False]


def test_everything_but_the_journal_is_looked_through_at_once() -> None:
    assert {*KINDS, "entry"} == set(ALL_KINDS) == set(DESCRIBED)
