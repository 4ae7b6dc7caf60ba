"""Candidates, recipes, numbers of sheets, print order, material and calendar, met without scripts."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import httpx
import pytest

from laydown.records.trial_facts import load_facts
from laydown.trials.facts import TrialFacts
from laydown.trials.recipe import Recipe
from laydown.trials.remarks import Attachment
from laydown.trials.sheets import BenchRun
from laydown.trials.stock import Lot, Medium, Roll
from laydown.trials.studio import Studio
from laydown.trials.trial import Candidate, Plan, Trial
from laydown.usecases.bench.spoil_sheet import spoil_sheet
from laydown.usecases.trial.draw_sheets import draw_sheets
from laydown.usecases.trial.name_candidate import name_candidate
from laydown.usecases.trial.set_recipe import set_recipe
from laydown.usecases.trial.write_plan import write_plan
from laydown.web import doorkeeper
from laydown.web.people import Person
from page_reading import alert, classed, forms_of, tree, words
from served_bench import ServedBench, served_bench
from stocked_room import BRIEF, TRIAL, Room, stock_up
from ticking_clock import Clock

HOME = f"/trials/{TRIAL}"
# A header of 128 bytes with the signature of a profile at byte 36 (ICC.1, from memory), and a body.
PROFILE = bytes(36) + b"acsp" + bytes(88) + b"curves"


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ServedBench]:
    with served_bench(tmp_path_factory.mktemp("plans")) as bench:
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
    assert room.records is served.records
    with served.client() as client:
        yield client


def facts(room: Room) -> TrialFacts:
    with room.records.look() as look:
        return load_facts(look, TRIAL)


def three(room: Room) -> tuple[Candidate, ...]:
    return tuple(room.candidate(one, house=one == "fenland") for one in ("fenland", "tidemill", "gullwing"))


def planned(room: Room, **more: Any) -> None:
    told = replace(Plan(id="", trial_id=TRIAL, sheets_per_candidate=4, seed=7), **more)
    write_plan(room.records, told, who="Ada")


def drawn(room: Room) -> TrialFacts:
    three(room)
    planned(room)
    draw_sheets(room.records, TRIAL, who="Ada")
    return facts(room)


def begun(room: Room) -> TrialFacts:
    first = next(sheet for sheet in drawn(room).sheets if sheet.place == 1)
    room.sealed()
    room.happened(first.id)
    return facts(room)


def send(client: httpx.Client, address: str, page: str = "", **told: Any) -> httpx.Response:
    """Send a form of a page, filled as the page holds it and then as told."""
    (form,) = forms_of(client.get(page or address), address)
    return client.post(address, data=form | told, follow_redirects=True)


# ---------------------------------------------------------------- candidates


def test_candidates_are_named_from_the_stock_room(client: httpx.Client, room: Room) -> None:
    page = f"{HOME}/candidates"
    assert "Nobody is in the trial yet" in words(client.get(page))
    shown = send(client, page, stock="fenland|lot-fenland|roll-fenland", printer="p1", house="on")
    (named,) = facts(room).candidates
    assert (named.name, named.house, named.roll_id, named.printer_id) == (
        "Fenland Rag", True, "roll-fenland", "p1",
    )  # fmt: skip
    assert "lot L1, roll, 432 mm x 6.1 m; Wide one" in words(shown)
    again = send(client, page, stock="tidemill||", finish="coated", name="Tide")
    assert [(one.name, one.finish, one.lot_id) for one in facts(room).candidates[1:]] == [
        ("Tide", "coated", None)
    ]
    assert "lot not stated" in words(again)


def test_a_refused_candidate_keeps_what_was_typed(client: httpx.Client, room: Room) -> None:
    room.candidate("fenland")
    page = f"{HOME}/candidates"
    shown = send(client, page, stock="tidemill|lot-tidemill|", name="fenland", house="on")
    assert shown.status_code == 422
    assert "already" in alert(shown)
    (form,) = forms_of(shown, page)
    assert (form["stock"], form["name"], form["house"]) == ("tidemill|lot-tidemill|", "fenland", "on")
    assert send(client, page, stock="").status_code == 422


def test_an_empty_stock_room_is_said(client: httpx.Client, served: ServedBench, empty_sqlite: Path,
                                     tmp_path: Path) -> None:  # fmt: skip
    (tmp_path / "bare").mkdir()
    served.fresh(empty_sqlite, tmp_path / "bare")
    with served.records.work("began", who="Ada") as work:
        work.add(Trial(id=TRIAL, name="T", begun=work.now.date()))
    assert "The stock room is empty" in words(client.get(f"{HOME}/candidates"))


def test_the_coated_arm_is_added_and_undone_from_the_list(client: httpx.Client, room: Room) -> None:
    plain = room.candidate("fenland")
    page = f"{HOME}/candidates"
    shown = send(client, f"{page}/{plain.id}/do/coated-arm", page)
    assert [one.twin_id for one in facts(room).candidates] == [None, plain.id]
    assert forms_of(shown, f"{page}/{plain.id}/do/coated-arm") == []
    (undo,) = [form for form in tree(shown).forms if form.action.endswith("/undo")]
    client.post(undo.action, data=dict(undo.form_values()))
    assert [one.id for one in facts(room).candidates] == [plain.id]


def test_candidates_move_and_leave_with_a_reason(client: httpx.Client, room: Room) -> None:
    first, second, third = three(room)
    page = f"{HOME}/candidates"
    send(client, f"{page}/{third.id}/do/up", page)
    assert [one.id for one in facts(room).candidates] == [first.id, third.id, second.id]
    own = f"{page}/{third.id}"
    refused = send(client, f"{own}/do/withdraw", f"{own}/identity", why="")
    assert "reason" in alert(refused)
    shown = send(client, f"{own}/do/withdraw", f"{own}/identity", why="curls")
    assert "Withdrawn 2 March 2026" in words(shown)
    assert "curls" in words(shown)
    send(client, f"{own}/do/readmit", page)
    send(client, f"{own}/do/strike", f"{own}/identity")
    assert [one.id for one in facts(room).candidates] == [first.id, second.id]


def test_what_a_candidate_is_can_be_altered(client: httpx.Client, room: Room) -> None:
    plain = room.candidate("fenland")
    page = f"{HOME}/candidates/{plain.id}/identity"
    send(client, page, finish="coated", cure_hours="48", coat_product="Acrylic", coat_coats="2",
         coat_wet_g_m2="110,5", words="spring lot")  # fmt: skip
    now = facts(room).candidate(plain.id)
    assert now.coat is not None
    assert (now.finish, now.cure_hours, now.coat.product, now.coat.coats, now.coat.wet_g_m2, now.words) == (
        "coated", 48.0, "Acrylic", 2, 110.5, "spring lot",
    )  # fmt: skip
    send(client, page)
    assert facts(room).candidate(plain.id) == now
    refused = send(client, page, cure_hours="soon", name="Other")
    assert "Hours of curing" in alert(refused)
    (form,) = forms_of(refused, page)
    assert (form["cure_hours"], form["name"]) == ("soon", "Other")


def test_what_is_unfair_is_said_at_once_with_its_severity(client: httpx.Client, room: Room) -> None:
    first, second, _ = three(room)
    page = f"{HOME}/candidates"
    set_recipe(room.records, first.id, Recipe(intent="perceptual", quality="high"), who="Ada")
    set_recipe(room.records, second.id, Recipe(intent="saturation", quality="low"), who="Ada")
    shown = client.get(page)
    told = {
        card.xpath("string(h3/span[@class='sign'])"): " ".join(card.text_content().split())
        for card in classed(tree(shown), "unfair")
    }
    assert set(told) == {"▲", "△"}
    assert "Rendering intent breaks the comparison" in told["▲"]
    assert "perceptualFenlandsaturationTidemill" in told["▲"]
    assert "Quality weigh it" in told["△"]
    set_recipe(room.records, second.id, Recipe(intent="perceptual", quality="high"), who="Ada")
    assert classed(tree(client.get(page)), "unfair") == []


def test_a_large_stock_room_is_searched_and_not_listed(client: httpx.Client, room: Room) -> None:
    named = room.candidate("fenland")
    with room.records.work("stocked", who="Ada") as work:
        for number in range(200):
            work.add(Medium(id=f"m{number}", name=f"Reed {number}"))
            work.add(Lot(id=f"l{number}", medium_id=f"m{number}", code=f"R-{number}"))
            work.add(Roll(id=f"r{number}", lot_id=f"l{number}", form="roll", code=f"H-{number}"))
    page = f"{HOME}/candidates"
    shown = client.get(page)
    assert len(shown.content) < 40_000
    (search,) = tree(shown).xpath("//form[@role='search' and .//label[contains(., 'stock room')]]")
    assert "only the newest is listed" in search.text_content()
    found = client.get(page, params={"find": "reed h-150"})
    assert tree(found).xpath("//select[@name='stock']//option/@value") == [
        "",
        "m150|l150|r150",
        "m150|l150|",
        "m150||",
    ]
    done = client.post(
        page, data=forms_of(found, page)[0] | {"stock": "m150|l150|r150", "finish": "uncoated"}
    )
    assert done.status_code == 303
    assert "nothing was found" in words(client.get(page, params={"find": "unheard"}))
    # What is chosen already is listed, whatever was looked for.
    own = client.get(f"{page}/{named.id}/identity", params={"find": "reed"})
    assert forms_of(own, f"{page}/{named.id}/identity")[-1]["stock"] == "fenland|lot-fenland|roll-fenland"


def test_a_small_stock_room_is_listed_whole(client: httpx.Client, room: Room) -> None:
    shown = tree(client.get(f"{HOME}/candidates"))
    assert not shown.xpath("//main//form[@role='search']")
    assert len(shown.xpath("//select[@name='stock']//option")) == 1 + 3 * 3


# ---------------------------------------------------------------- recipes


def test_a_recipe_is_kept_as_typed_with_its_profile(client: httpx.Client, room: Room) -> None:
    plain = room.candidate("fenland")
    page = f"{HOME}/candidates/{plain.id}"
    (form,) = forms_of(client.get(page), page)
    told = form | {
        "media_setting": "Rag, heavy", "resolution_ppi": "1440", "passes": "8", "direction": "one way",
        "ink_adjust_percent": "-5", "cutter_off": "yes", "black_point_compensation": "no",
        "colour_managed_by": "application", "intent": "perceptual", "profile_origin": "own",
    }  # fmt: skip
    told.pop("profile_file", None)
    told.pop("printed_file", None)
    files = {"profile_file": ("rag.icc", PROFILE), "printed_file": ("test.tif", b"a picture")}
    shown = client.post(page, data=told, files=files, follow_redirects=True)
    assert shown.status_code == 200
    recipe = facts(room).candidate(plain.id).recipe
    assert recipe == Recipe(
        media_setting="Rag, heavy", resolution_ppi=1440.0, passes=8, direction="one way",
        ink_adjust_percent=-5.0, cutter_off=True, black_point_compensation=False,
        colour_managed_by=("application",), intent="perceptual", profile_origin="own",
        profile_name="rag.icc", profile_sha256=hashlib.sha256(PROFILE).hexdigest(),
        file_name="test.tif", file_sha256=hashlib.sha256(b"a picture").hexdigest(),
    )  # fmt: skip
    with room.records.look() as look:
        (kept,) = look.find(Attachment, about=plain.id)
        assert look.read_file(kept.sha256) == PROFILE
    assert "rag.icc, kept 2 March 2026" in words(shown)
    # Sent back as the page holds it, nothing differs.
    again = send(client, page)
    assert "nothing differs" in alert(again)


def test_what_contradicts_itself_and_what_is_missing_is_said(client: httpx.Client, room: Room) -> None:
    plain = room.candidate("fenland")
    set_recipe(room.records, plain.id, Recipe(colour_managed_by=("application", "driver")), who="Ada")
    told = words(client.get(f"{HOME}/candidates/{plain.id}"))
    assert "Colour is managed 2 times" in told
    assert "not stated yet, and would be missed" in told
    assert "Media setting It sets ink, drops, drying and gap" in told


def test_a_file_that_is_no_profile_is_refused_and_the_form_kept(client: httpx.Client, room: Room) -> None:
    plain = room.candidate("fenland")
    page = f"{HOME}/candidates/{plain.id}"
    (form,) = forms_of(client.get(page), page)
    told = {name: value for name, value in form.items() if not name.endswith("_file")}
    told |= {"quality": "high", "colour_managed_by": "driver"}
    shown = client.post(page, data=told, files={"profile_file": ("cat.jpg", b"no")})
    assert shown.status_code == 422
    assert "cat.jpg: this is no ICC profile" in alert(shown)
    (typed,) = forms_of(shown, page)
    assert (typed["quality"], typed["colour_managed_by"]) == ("high", "driver")


def test_a_recipe_is_taken_over_with_every_difference_shown(client: httpx.Client, room: Room) -> None:
    first, second, _ = three(room)
    recipe = set_recipe(
        room.records, first.id, Recipe(quality="high", resolution_ppi=1440.0), who="Ada"
    ).thing.recipe
    set_recipe(room.records, second.id, Recipe(quality="low"), who="Ada")
    page = f"{HOME}/candidates/{second.id}/take-over"
    shown = client.get(page, params={"source": f"c:{first.id}"})
    rows = [
        tuple(" ".join(cell.text_content().split()) for cell in row)
        for row in tree(shown).xpath("//tbody/tr")
    ]
    assert rows == [("Quality", "low", "high"), ("Resolution", "not stated", "1440 ppi")]
    (_, form) = forms_of(shown, page)
    done = client.post(page, data=form, follow_redirects=True)
    assert facts(room).candidate(second.id).recipe == recipe
    assert "the recipe of Tidemill as Fenland, as planned: quality, resolution" in words(done)
    refused = client.post(page, data=form | {"source": "c:none"})
    assert "no recipe is chosen" in alert(refused)


def test_a_recipe_for_another_surface_is_warned_about_before_and_after(
    client: httpx.Client, room: Room
) -> None:
    first, second, _ = three(room)
    with room.records.work("told", who="Ada") as work:
        work.change(replace(work.get(Medium, "fenland"), surface="matte"))
        work.change(replace(work.get(Medium, "tidemill"), surface="baryta"))
    matte = Recipe(
        media_setting="Fine rag", black_ink="matte", profile_name="rag.icc", profile_sha256="9f" * 32
    )
    set_recipe(room.records, first.id, matte, who="Ada")
    page = f"{HOME}/candidates/{second.id}/take-over"
    before = client.get(page, params={"source": f"c:{first.id}"})
    told = words(before)
    assert told.index("What is to be checked if it is taken over") < told.index("Take it over all the same")
    warnings = (
        "Matte black on a medium for photo black.",
        'One profile, "rag.icc", for Tidemill Rag, which is baryta, and Fenland Rag, which is matte.',
        'Media setting "Fine rag" for Tidemill Rag, which is baryta',
    )
    assert all(one in told for one in warnings)
    assert facts(room).candidate(second.id).recipe == Recipe()
    after = client.post(page, data=forms_of(before, page)[-1], follow_redirects=True)
    assert all(one in words(after) for one in warnings)
    (tile,) = [
        one
        for one in classed(tree(client.get(f"{HOME}/candidates")), "candidate")
        if "Tidemill" in one.text_content()
    ]
    assert "3 things in the recipe to look at" in tile.text_content()


def test_what_is_not_stated_leads_to_where_it_is_stated(client: httpx.Client, room: Room) -> None:
    plain = room.candidate("fenland")
    with room.records.work("forgot", who="Ada") as work:
        work.change(replace(work.get(Candidate, plain.id), lot_id=None, roll_id=None, printer_id=None))
    own = f"{HOME}/candidates/{plain.id}"
    listed = tree(client.get(f"{HOME}/candidates"))
    assert listed.xpath(f"//a[@href='{own}#not-stated']")
    page = client.get(own)
    links = tree(page).get_element_by_id("not-stated").xpath(".//a/@href")
    assert f"{own}/identity#f-stock" in links
    for link in links:
        address, _, place = link.partition("#")
        held = tree(client.get(address)) if address else tree(page)
        assert held.xpath(f"//*[@id='{place}']"), link


def test_notes_are_kept_about_a_candidate(client: httpx.Client, room: Room) -> None:
    own = f"{HOME}/candidates/{three(room)[0].id}"
    (form,) = forms_of(client.get(own), "/notes")
    shown = client.post("/notes", data=form | {"words": "Curls at the edge."}, follow_redirects=True)
    assert shown.url.path == own
    assert "Curls at the edge." in words(shown)


def test_settings_as_really_set_in_an_earlier_trial_are_offered(client: httpx.Client, room: Room) -> None:
    now = room.candidate("fenland")
    with room.records.work("ran", who="Ada") as work:
        work.add(Trial(id="t0", name="Autumn", begun=work.now.date()))
        work.add(Candidate(id="c0", trial_id="t0", medium_id="fenland", name="Rag"))
        run = BenchRun(
            id="r0", trial_id="t0", candidate_id="c0", printer_id="p1", begun_at=work.now,
            recipe=Recipe(quality="really high"),
        )  # fmt: skip
        work.add(run)
    shown = client.get(f"{HOME}/candidates/{now.id}/take-over", params={"source": "r:r0"})
    assert "Rag in “Autumn”, as really set on 2 March 2026" in words(shown)
    assert "Quality not stated really high" in words(shown)


# ---------------------------------------------------------------- how many


def test_numbers_of_sheets_show_what_they_tell_and_cost(client: httpx.Client, room: Room) -> None:
    three(room)
    room.brief()
    shown = client.get(f"{HOME}/plan")
    rows = {
        int(row.xpath(".//input/@value")[0]): [" ".join(cell.text_content().split()) for cell in row]
        for row in tree(shown).xpath("//table[contains(@class,'sheets-table')]/tbody/tr")
    }
    assert set(rows) == set(range(2, 13))
    # Three media and the usual 0.05 D at a spread of 0.0096 D: told from six sheets, and with four and five
    # not quite (docs/methods/planning.md); called the same from two.
    assert [n for n in rows if "1 of 1" in rows[n][1]] == list(range(6, 13))
    assert all("1 of 1" in rows[n][2] for n in rows)
    assert "12 in all" in rows[4][0]
    # 12 sheets at 8 and 10 min (our own figures), and the loads of a roll at 6 min.
    minutes = 12 * 18 + 6 * len(re.findall(r"load ", order_text(client, room)))
    assert rows[4][4].startswith(f"{minutes // 60} h {minutes % 60} min")
    told = words(shown)
    assert "3 media in 3 pairs and 27 findings" in told
    assert "planning value" in told
    assert "8 minutes to print and 10 to measure a sheet, 6 to load a roll" in told


def order_text(client: httpx.Client, room: Room) -> str:
    """The print order as drawn with the default plan at four sheets."""
    planned(room, seed=1)
    draw_sheets(room.records, TRIAL, who="Ada")
    return words(client.get(f"{HOME}/plan/order"))


def test_a_number_is_chosen_with_a_reason(client: httpx.Client, room: Room) -> None:
    three(room)
    page = f"{HOME}/plan"
    shown = send(client, page, sheets="7", why="Black decides.")
    plan = facts(room).plan
    assert plan is not None
    assert (plan.sheets_per_candidate, plan.why) == (7, "Black decides.")
    (form,) = forms_of(shown, page)
    assert form["sheets"] == "7"
    refused = send(client, page, sheets="99", why="Typed")
    assert refused.status_code == 422
    (typed,) = forms_of(refused, page)
    assert typed["why"] == "Typed"


def test_the_number_stands_once_sheets_are_printed(client: httpx.Client, room: Room) -> None:
    code = next(sheet.code for sheet in begun(room).sheets if sheet.place == 1)
    page = f"{HOME}/plan"
    shown = client.get(page)
    assert f"Sheet {code} has been begun, so the number stands" in words(shown)
    (form,) = forms_of(shown, page)
    assert "sheets" not in form
    assert send(client, page, why="Later").status_code == 200
    assert "stands as it was drawn" in alert(send(client, page, sheets="9"))


# ---------------------------------------------------------------- print order


def test_ways_of_ordering_show_their_price(client: httpx.Client, room: Room) -> None:
    page = f"{HOME}/plan/order"
    assert "nothing to put in order yet" in words(client.get(page))
    three(room)
    planned(room)
    ways = classed(tree(client.get(page)), "way")
    told = [" ".join(one.text_content().split()) for one in ways]
    assert len(told) == 3
    # Grouped or listed, each of three rolls is loaded once on each of two days.
    assert all("rolls are loaded 6 times, about 36 min" in one for one in told[1:])
    assert "look like differences between media" in told[2]


def test_an_order_is_drawn_shown_by_day_and_drawn_again(client: httpx.Client, room: Room) -> None:
    three(room)
    planned(room)
    page = f"{HOME}/plan/order"
    shown = send(client, page, order="randomised, grouped within day", seed="11", spares="2")
    now = facts(room)
    codes = [sheet.code for sheet in now.sheets if sheet.place]
    assert [one.text for one in tree(shown).xpath("//ol//strong[@class='sheet-code']")] == codes
    assert [len(classed(day, "turn")) for day in classed(tree(shown), "day")] == [6, 6]
    assert len(classed(tree(shown), "load")) == 6
    assert "12 sheets; rolls are loaded 6 times" in words(shown)
    assert "from the number 11, randomised, grouped within day" in words(shown)
    assert sum(sheet.use == "spare" for sheet in now.sheets) == 6
    again = send(client, page, seed="12")
    assert [sheet.code for sheet in facts(room).sheets if sheet.place] != codes
    (undo,) = [form for form in tree(again).forms if form.action.endswith("/undo")]
    client.post(undo.action, data=dict(undo.form_values()))
    assert [sheet.code for sheet in facts(room).sheets if sheet.place] == codes


def test_the_drawn_order_leads_on_to_printing(client: httpx.Client, room: Room) -> None:
    drawn(room)
    page = client.get(f"{HOME}/plan/order")
    (box,) = classed(tree(page), "next-step")
    assert box.xpath(".//a/@href") == [f"{HOME}/brief", f"{HOME}/print"]
    room.sealed()
    (box,) = classed(tree(client.get(f"{HOME}/plan/order")), "next-step")
    assert box.xpath(".//a/@href") == [f"{HOME}/print"]


def test_a_spoiled_sheet_is_no_spare(client: httpx.Client, room: Room) -> None:
    drawn(room)
    sheet = next(one for one in facts(room).sheets if one.place == 1)
    spoil_sheet(room.records, sheet.id, why="creased", who="Ada", replaced=True)
    spares, spoiled = (
        " ".join(one.text_content().split())
        for one in classed(tree(client.get(f"{HOME}/plan/order")), "spares")
    )
    assert spares.startswith("Spares:")
    assert sheet.code not in spares
    assert spoiled.startswith(f"Spoiled: {sheet.code} ")


def test_boxes_are_fed_from_and_are_no_change_of_a_roll(client: httpx.Client, room: Room) -> None:
    with room.records.work("booked in", who="Ada") as work:
        work.change(replace(work.get(Roll, "roll-gullwing"), form="sheets", code="7", sheets=25))
    drawn(room)
    told = words(client.get(f"{HOME}/plan/order"))
    assert "feed from Gullwing Rag, box 7" in told
    assert "load Fenland Rag" in told
    assert "feed from Fenland Rag" not in told


def test_a_stale_order_is_said_and_a_wrong_one_refused(client: httpx.Client, room: Room) -> None:
    drawn(room)
    page = f"{HOME}/plan/order"
    assert "altered after this order" not in words(client.get(page))
    planned(room, sheets_per_candidate=5)
    assert "altered after this order was drawn" in words(client.get(page))
    refused = send(client, page, days="9")
    assert "do not reach for 9 days" in alert(refused)
    (form,) = forms_of(refused, page)
    assert form["days"] == "9"


def test_sheets_are_added_on_a_further_day_once_printing_has_begun(client: httpx.Client, room: Room) -> None:
    before = begun(room)
    page = f"{HOME}/plan/order"
    shown = client.get(page)
    assert forms_of(shown, page) == []
    assert "this order stands" in words(shown)
    house, other, _ = before.candidates
    added = send(client, f"{page}/add", page, **{f"more-{other.id}": "2"})
    day = classed(tree(added), "day")[-1]
    told = " ".join(day.text_content().split())
    assert told.startswith(f"Day 3 added later 3 sheets, drawn from the number {7 + 3}")
    turns = [" ".join(one.text_content().split()) for one in classed(day, "turn")]
    assert (sum("Tidemill" in one for one in turns), sum("house" in one for one in turns)) == (2, 1)
    refused = send(client, f"{page}/add", page, **{f"more-{house.id}": "0", f"more-{other.id}": "1"})
    assert "house medium" in alert(refused)


# ---------------------------------------------------------------- material


def test_material_is_set_against_the_roll(client: httpx.Client, room: Room) -> None:
    page = f"{HOME}/plan/material"
    assert "Nothing to count yet" in words(client.get(page))
    three(room)
    planned(room, sheets_per_candidate=2, days=1)
    with room.records.work("cut", who="Ada") as work:
        work.change(replace(work.get(Roll, "roll-tidemill"), length_mm=3000.0))
        work.change(replace(work.get(Roll, "roll-gullwing"), length_mm=None))
    shown = client.get(page)
    told = [" ".join(one.text_content().split()) for one in classed(tree(shown), "need")]
    assert "there 6.1 m" in told[0]
    assert "left over" in told[0]
    assert "missing" in told[1]
    assert "It does not reach. In this order:" in told[1]
    assert "there not stated" in told[2]
    assert "not known" in told[2]
    row = next(
        [" ".join(cell.text_content().split()) for cell in one]
        for one in tree(shown).xpath("//tbody/tr")
        if one[0].text == "Test prints"
    )
    assert row[1:] == ["2 x 480 mm = 0.96 m"] * 3


def test_lengths_of_ones_own_are_kept_in_either_unit(client: httpx.Client, room: Room) -> None:
    three(room)
    page = f"{HOME}/plan/material"
    send(client, page, sheet_length_mm="500", chart_length_mm="24 in")
    plan = facts(room).plan
    assert plan is not None
    assert (plan.sheet_length_mm, plan.chart_length_mm) == (500.0, pytest.approx(609.6))
    with room.records.work("set", who="Ada") as work:
        work.change(replace(work.get(Studio, "studio"), units="inch"))
    shown = client.get(page)
    (form,) = forms_of(shown, page)
    assert form["chart_length_mm"] == "24 in"
    assert "there 20 ft" in words(shown)
    send(client, page, strip_length_mm="12")
    now = facts(room).plan
    assert now is not None
    # 500 mm is shown as 19.69 in, and sent back unaltered it stays 500 mm.
    assert (form["sheet_length_mm"], now.sheet_length_mm) == ("19.69 in", 500.0)
    assert now.strip_length_mm == pytest.approx(304.8)
    refused = send(client, page, fading_length_mm="long")
    assert "is no length" in alert(refused)
    (typed,) = forms_of(refused, page)
    assert typed["fading_length_mm"] == "long"


# ---------------------------------------------------------------- calendar


def test_the_calendar_lists_and_draws_every_step(client: httpx.Client, room: Room) -> None:
    page = f"{HOME}/plan/calendar"
    assert "There is no calendar yet" in words(client.get(page))
    three(room)
    planned(room)
    with room.records.work("set", who="Ada") as work:
        work.change(replace(work.get(Studio, "studio"), time_zone="Europe/Paris"))
    shown = client.get(page)
    titles = [one.text for one in tree(shown).xpath("//li[contains(@class,'step')]//strong")]
    drawn_titles = tree(shown).xpath("//svg//text/text()")
    assert titles[0] == "Book in, photograph labels"
    assert {"Print day 1: 6 sheets", "Print day 2: 6 sheets", "Decide"} <= set(titles)
    assert set(titles) <= set(drawn_titles)
    assert "now" in drawn_titles
    # It is 9:00 UTC on Monday 2 March 2026: 10:00 in Paris in winter.
    (today,) = classed(tree(shown), "calendar-day", "today")
    assert "Monday, 2 March 2026" in today.text_content()
    assert "10:00 Book in" in " ".join(today.text_content().split())
    assert f'href="{HOME}/calendar.ics"' in shown.text
    assert "Working hours 9:00 to 17:00, Monday to Friday." in words(shown)


def test_a_first_day_is_kept_and_moves_everything(client: httpx.Client, room: Room) -> None:
    three(room)
    planned(room)
    page = f"{HOME}/plan/calendar"
    shown = send(client, page, first_day="2026-03-09")
    assert "Monday, 9 March 2026" in words(shown)
    assert "Monday, 2 March 2026" not in words(shown)
    assert "is no day" in alert(send(client, page, first_day="soon"))


def test_a_stop_date_in_danger_is_said(client: httpx.Client, room: Room) -> None:
    three(room)
    planned(room)
    with room.records.work("wrote", who="Ada") as work:
        day = (work.now + timedelta(days=3)).date()
        work.add(replace(BRIEF, id="b1", stop_date=day))
    told = words(client.get(f"{HOME}/plan/calendar"))
    assert "In danger. The stop date 5 March 2026 will be missed" in told


# ---------------------------------------------------------------- for everybody


PAGES = (
    f"{HOME}/brief",
    f"{HOME}/plan",
    f"{HOME}/candidates",
    f"{HOME}/plan/order",
    f"{HOME}/plan/material",
    f"{HOME}/plan/calendar",
)


@pytest.mark.parametrize("address", PAGES)
def test_pages_obey_the_content_security_policy(client: httpx.Client, room: Room, address: str) -> None:
    drawn(room)
    page = tree(client.get(address))
    assert page.xpath("//*[@style] | //style | //script[not(@src)]") == []
    assert page.xpath("//@onclick | //@onchange | //@onsubmit") == []


@pytest.mark.parametrize("address", PAGES[1:])
def test_names_are_shown_and_never_run(client: httpx.Client, room: Room, address: str) -> None:
    name = "<script>alert(1)</script> & “rag”"
    for medium in ("fenland", "tidemill"):
        told = Candidate(id="", trial_id=TRIAL, medium_id=medium, name=f"{name} {medium}")
        name_candidate(room.records, told, who="Ada")
    planned(room, why="<b>why</b>")
    draw_sheets(room.records, TRIAL, who="Ada")
    answer = client.get(address)
    assert answer.status_code == 200
    assert tree(answer).xpath("//main//script | //main//b") == []


def test_the_bench_reads_and_alters_nothing(
    client: httpx.Client, room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    told = begun(room)
    own = f"{HOME}/candidates/{told.candidates[0].id}"
    monkeypatch.setattr(doorkeeper, "OWNER_HERE", Person("Bo", "bench"))
    for address in (*PAGES, own):
        answer = client.get(address)
        assert answer.status_code == 200, address
        acts = {form.action for form in tree(answer).forms if form.method == "POST"}
        assert acts <= {"/notes", "/attachments"}, address  # everybody at the bench notes what is seen
        for link in tree(answer).xpath("//main//a/@href"):
            assert client.get(link).status_code != 403, (address, link)
    for address in (f"{own}/identity", f"{own}/take-over", f"{HOME}/brief/write", f"{HOME}/brief/seal"):
        assert client.get(address).status_code == 403, address
    wanted = ("plan", "plan/order", "plan/order/add", "plan/material", "plan/calendar", "candidates")
    for address in (*(f"{HOME}/{one}" for one in wanted), own, f"{own}/identity", f"{own}/do/strike"):
        assert client.post(address).status_code == 403, address
    assert facts(room) == told


def test_candidates_of_another_trial_cannot_be_reached(client: httpx.Client, room: Room) -> None:
    plain = room.candidate("fenland")
    with room.records.work("began", who="Ada") as work:
        work.add(Trial(id="t9", name="Other", begun=work.now.date()))
    assert client.get(f"/trials/t9/candidates/{plain.id}").status_code == 404
    assert client.get(f"/trials/t9/candidates/{plain.id}/identity").status_code == 404
    assert client.post(f"/trials/t9/candidates/{plain.id}/do/strike").status_code == 404
    assert client.post(f"/trials/t9/candidates/{plain.id}", data={"quality": "high"}).status_code == 404
    assert facts(room).candidates == (plain,)
