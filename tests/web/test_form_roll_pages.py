"""A form on the roll: what is missing, what is laid out, what is lost, and its papers; read at the bench."""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import httpx
import pytest
from pypdf import PdfReader

from drawn_forms import a_drawn_form, geometry_of, with_page
from laydown.records.trial_facts import load_facts
from laydown.science.forms.geometry import PageGeometry, to_json
from laydown.science.forms.identity import identity_of
from laydown.trials.checklist import BLADE
from laydown.trials.stock import Roll, RollUse
from laydown.trials.trial import Candidate, Plan
from laydown.usecases.forms.keep_form import DrawnForm, keep_form
from laydown.usecases.trial.draw_sheets import draw_sheets
from laydown.web import doorkeeper
from laydown.web.people import Person
from page_reading import alert, classed, tree, words
from served_bench import ServedBench, served_bench
from stocked_room import TRIAL, Room, stock_up
from ticking_clock import Clock

HOME = f"/trials/{TRIAL}/form/roll"


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ServedBench]:
    with served_bench(tmp_path_factory.mktemp("rolls")) as bench:
        yield bench


@pytest.fixture
def clock(served: ServedBench, empty_sqlite: Path, tmp_path: Path) -> Clock:
    return served.fresh(empty_sqlite, tmp_path)


@pytest.fixture
def room(served: ServedBench, clock: Clock) -> Room:
    stock_up(served.records)
    assert clock.now.year == 2026
    return Room(served.records)


@pytest.fixture
def client(served: ServedBench, room: Room) -> Iterator[httpx.Client]:
    with served.client() as client:
        yield client


def draw(room: Room, *, sheets: int = 2) -> None:
    plan = Plan(id="", trial_id=TRIAL, sheets_per_candidate=sheets, why="enough", days=2)
    draw_sheets(room.records, TRIAL, told=plan, who="Ada")


def wide_form(width_mm: float) -> DrawnForm:
    """The small form with its pages so wide."""
    drawn = a_drawn_form()
    drawn = replace(drawn, wish=replace(drawn.wish, width_mm=width_mm))
    for at, page in enumerate(drawn.pages):
        told = geometry_of("F7K2", page.name, [])
        wide = PageGeometry(told.form, told.page, told.ppi, width_mm, 297.0, told.channels, ())
        drawn = with_page(drawn, at, width_mm=width_mm, patches=0, geometry_json=to_json(wide))
    return drawn


@pytest.fixture
def laid(room: Room) -> Room:
    """Two candidates, their order drawn, and a form of three pages of 210 x 297 mm."""
    room.candidate("fenland", house=True)
    room.candidate("tidemill")
    draw(room)
    keep_form(room.records, TRIAL, a_drawn_form(), who="Ada")
    return room


def shown(client: httpx.Client, address: str = HOME) -> httpx.Response:
    answer = client.get(address)
    assert answer.status_code == 200, answer.text
    return answer


def candidate(room: Room, name: str) -> Candidate:
    with room.records.look() as look:
        return next(one for one in look.find(Candidate) if one.name == name)


def test_without_candidates_form_or_order_the_page_says_what_is_missing(
    client: httpx.Client, room: Room
) -> None:
    assert "No candidate is named yet." in words(shown(client))
    room.candidate("fenland", house=True)
    room.candidate("tidemill")
    told = words(shown(client))
    assert "No form is made yet." in told
    assert "The print order is not drawn yet." in told
    links = {one.get("href") for one in tree(shown(client)).xpath("//*[@class='lacks']//a")}
    assert links == {f"/trials/{TRIAL}/form", f"/trials/{TRIAL}/plan/order"}
    for paper in ("cut-list.pdf", "stickers.pdf"):
        answer = client.get(f"{HOME}/{paper}")
        assert answer.status_code == 400
        assert "No form is made yet." in answer.text


def test_a_roll_without_its_width_is_asked_for(client: httpx.Client, laid: Room) -> None:
    with laid.records.work("changed", who="Ada") as work:
        work.change(replace(work.get(Roll, "roll-fenland"), width_mm=None))
    page = shown(client)
    assert "Fenland: The width of the roll is not stated." in words(page)
    assert [one.get("href") for one in tree(page).xpath("//*[@class='lacks']//a")] == [
        "/stock/rolls/roll-fenland"
    ]
    assert not tree(page).xpath("//*[contains(@class, 'roll-drawing')]")


def test_the_layout_is_drawn_with_lengths_in_both_units(client: httpx.Client, laid: Room) -> None:
    page = shown(client)
    told = words(page)
    assert "422 mm · 16.61 in of 432 mm · 17 in" in told
    assert "2 of 2 have their place" in told
    drawings = tree(page).xpath("//*[contains(@class, 'roll-drawing')]//svg")
    assert len(drawings) == len(classed(tree(page), "roll-load")) >= 3
    with laid.records.look() as look:
        facts = load_facts(look, TRIAL)
    mine = facts.sheets_of(candidate(laid, "Fenland").id)
    drawn = " ".join(one.text or "" for svg in drawings for one in svg.iter() if isinstance(one.tag, str))
    for sheet in mine:
        for name in ("D1", "D2", "P1"):
            assert f"{sheet.code} {name}" in drawn
    assert "210 x 297 mm" in drawn
    assert "8.27 x 11.69 in" in drawn  # 210 / 25.4 and 297 / 25.4
    assert not any(sheet.code in drawn.split() for sheet in facts.sheets if sheet not in mine)
    assert "style=" not in page.text


def test_what_is_chosen_is_laid_out_and_kept_for_the_papers(client: httpx.Client, laid: Room) -> None:
    other = candidate(laid, "Tidemill")
    asked = f"{HOME}?candidate={other.id}&way=in+one+load&gap=12+mm&without=spares&without=scraps"
    page = shown(client, asked)
    told = words(page)
    assert "Randomisation is lost: with all prints in one load" in told
    assert "No scraps for handling tests" in told
    assert "gap between pieces 12 mm" in told
    assert "All in one load" in told
    picked = [
        one.get("value")
        for one in tree(page).xpath("//form[contains(@class, 'roll-choice')]//option[@selected]")
    ]
    assert picked == [other.id, "in one load"]
    hidden = [
        (one.get("name"), one.get("value"))
        for one in tree(page).xpath("//form[contains(@action, 'stickers')]//input[@type='hidden']")
    ]
    assert ("candidate", other.id) in hidden
    assert ("without", "scraps") in hidden
    (link,) = [
        one.get("href")
        for one in tree(page).xpath("//*[@class='papers']//a")
        if "cut-list" in one.get("href")
    ]
    paper = client.get(link)
    first = " ".join(PdfReader(io.BytesIO(paper.content)).pages[0].extract_text().split())
    assert "No scraps for handling tests" in first


@pytest.mark.parametrize(
    ("asked", "told"),
    [("gap=much", "is no length"), ("gap=3+m", "a gap of 3000 mm"), ("way=upside+down", "upside down")],
)
def test_what_makes_no_sense_is_refused_on_the_page(
    client: httpx.Client, laid: Room, asked: str, told: str
) -> None:
    page = shown(client, f"{HOME}?{asked}")
    assert told.lower() in alert(page).lower()
    assert not tree(page).xpath("//*[contains(@class, 'roll-drawing')]")
    assert client.get(f"{HOME}/cut-list.pdf?{asked}").status_code == 400


def test_a_form_wider_than_can_be_printed_is_refused_with_both_widths(
    client: httpx.Client, room: Room
) -> None:
    room.candidate("fenland", house=True)
    room.candidate("tidemill")
    draw(room)
    keep_form(room.records, TRIAL, wide_form(430.0), who="Ada")
    page = shown(client)
    assert "Form F7K2 is 430 mm (16.93 in) wide" in alert(page)
    assert "422 mm (16.61 in) of its 432 mm" in alert(page)
    assert not tree(page).xpath("//*[contains(@class, 'roll-drawing')]")
    for paper in ("cut-list.pdf", "stickers.pdf"):
        assert client.get(f"{HOME}/{paper}").status_code == 400


def test_the_cut_list_bears_the_caution_and_every_load(client: httpx.Client, laid: Room) -> None:
    answer = client.get(f"{HOME}/cut-list.pdf")
    assert answer.headers["content-type"] == "application/pdf"
    pages = [" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(answer.content)).pages]
    starts = [page for page in pages if "CUT LIST" in page]
    assert len(starts) == len(classed(tree(shown(client)), "roll-load"))
    assert all(BLADE in page for page in starts)
    assert "Form F7K2 on roll, 432 mm x 6.1 m" in starts[0]
    with laid.records.look() as look:
        name = look.get(Candidate, candidate(laid, "Fenland").id).name
    assert name not in " ".join(pages)


def test_stickers_come_for_each_piece_on_the_labels_chosen(client: httpx.Client, laid: Room) -> None:
    with_blind = client.get(f"{HOME}/stickers.pdf?labels=a4-8&blind=true")
    without = client.get(f"{HOME}/stickers.pdf?labels=a4-8&gone=3")
    pages = [len(PdfReader(io.BytesIO(one.content)).pages) for one in (with_blind, without)]
    layout = client.get(f"/api/v1/candidates/{candidate(laid, 'Fenland').id}/layout").json()
    pieces = [one for load in layout["loads"] for one in load["pieces"] if one["row"]]
    blind = sum(bool(one["blind"]) for one in pieces)
    assert pages == [-(-(len(pieces) + blind) // 8), -(-(len(pieces) + 3) // 8)]
    assert client.get(f"{HOME}/stickers.pdf?labels=a5").status_code == 400
    assert client.get(f"{HOME}/stickers.pdf?labels=a4-8&gone=8").status_code == 400


def test_the_interface_gives_the_layout(client: httpx.Client, laid: Room) -> None:
    address = f"/api/v1/candidates/{candidate(laid, 'Fenland').id}/layout"
    told = client.get(address, params={"form": "F7K2", "without_setting": True, "gap_mm": 6}).json()
    assert (told["form"], told["printable_mm"], told["repeats_placed"]) == ("F7K2", 422.0, 2)
    assert told["left_mm"] == pytest.approx(told["holds"] - told["used_mm"])
    codes = [one["piece"]["code"] for load in told["loads"] for one in load["pieces"]]
    assert all(identity_of(code).form == "F7K2" for code in codes)
    for load in told["loads"]:
        for row in load["nesting"]["rows"]:
            for piece in row["pieces"]:
                assert 5.0 <= piece["box"]["left_mm"] < piece["box"]["right_mm"] <= 427.0
    assert client.get(address, params={"form": "X1"}).status_code == 404
    assert client.get(address, params={"gap_mm": "nan"}).status_code == 400
    assert client.get("/api/v1/candidates/nobody/layout").status_code == 404


def test_what_others_took_is_not_laid_out_on(client: httpx.Client, laid: Room) -> None:
    with laid.records.work("took", who="Ada") as work:
        work.add(RollUse(id="u", roll_id="roll-fenland", at=work.now, length_mm=3500.0))
    told = words(shown(client))
    assert "have no place" in told
    assert "0 of 2 have their place" in told or "1 of 2 have their place" in told


def test_at_the_bench_it_is_read_without_ways_into_the_stock_room(
    client: httpx.Client, laid: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(doorkeeper, "OWNER_HERE", Person(name="Ben", role="bench"))
    assert tree(shown(client)).xpath("//*[contains(@class, 'roll-drawing')]//svg")
    with laid.records.work("changed", who="Ada") as work:
        work.change(replace(work.get(Roll, "roll-fenland"), width_mm=None))
    assert [one.get("href") for one in tree(shown(client)).xpath("//*[@class='lacks']//a")] == [
        f"/trials/{TRIAL}/candidates"
    ]


def test_the_material_leads_here(client: httpx.Client, laid: Room) -> None:
    assert f'href="{HOME}"' in shown(client, f"/trials/{TRIAL}/plan/material").text
