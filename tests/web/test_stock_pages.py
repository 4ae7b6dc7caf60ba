"""The stock room, printers and certificates on their pages: added, corrected, taken away, undone."""

from __future__ import annotations

from typing import Any

import httpx
import pytest
from filled_form import form_at, parsed, send, undo_on, words

from laydown.trials.stock import Certificate, Lot, Medium, Roll, RollUse, Supplier
from laydown.trials.studio import Printer, PrinterEvent
from laydown.usecases.stock.book_in import book_in
from laydown.usecases.trial.seed_demo import DEMO_TRIAL_ID, seed_demo
from laydown.web.views.roll import weight_kg


def kept(bench: Any, noun: type[Any]) -> tuple[Any, ...]:
    with bench.records.look() as look:
        return tuple(look.find(noun))


def place(answer: httpx.Response) -> str:
    assert answer.status_code == 303, answer.text
    return answer.headers["location"].partition("?")[0]


def facts_of(client: httpx.Client, address: str) -> dict[str, str]:
    page = parsed(client.get(address))
    return {
        words(one.xpath("dt")[0]): words(one.xpath("dd")[0])
        for one in page.xpath("//dl[@class='stated']/div")
    }


def refusal(answer: httpx.Response) -> str:
    assert answer.status_code == 422
    return words(parsed(answer).xpath("//*[@role='alert']")[0])


def test_from_supplier_to_roll_by_the_forms(bench: Any, client: httpx.Client) -> None:
    supplier = place(send(client, "/stock/suppliers/new", "/stock/suppliers", name="Creek Papers"))
    add = parsed(client.get(supplier)).xpath("//a[contains(., 'Add a medium')]/@href")[0]
    medium = place(
        send(client, add, "/stock/media", name="Fenland Rag", surface="matte", weight_gsm="310",
             caliper_um="0.55 mm", barrier="no", brightener_claim="none at all")
    )  # fmt: skip
    assert kept(bench, Medium)[0].supplier_id == kept(bench, Supplier)[0].id
    told = facts_of(client, medium)
    assert (told["Supplier"], told["Thickness"], told["Barrier layer"]) == ("Creek Papers", "550 µm", "no")
    assert (told["Base"], told["Brighteners"]) == ("not stated", "none at all")
    claims = parsed(client.get(medium)).xpath("//section[h2='What its maker or supplier claims']")[0]
    assert "none at all" in words(claims)
    lot = place(
        send(
            client,
            parsed(client.get(medium)).xpath("//a[.='Add a lot']/@href")[0],
            "/stock/lots",
            code="FR-1",
            received="2026-01-15",
        )
    )
    add_box = parsed(client.get(lot)).xpath("//a[.='Add a box']/@href")[0]
    box = place(send(client, add_box, "/stock/rolls", code="9", sheets="25", width_mm="13 in"))
    (roll,) = kept(bench, Roll)
    assert (roll.form, roll.sheets, roll.width_mm) == ("sheets", 25, pytest.approx(330.2))
    page = parsed(client.get(box))
    assert words(page.xpath("//h1")[0]) == "Box 9"
    assert [words(one) for one in page.xpath("//nav[@class='above']//a")] == [
        "Rolls and boxes", "Fenland Rag", "lot FR-1",
    ]  # fmt: skip
    assert "25 of 25 sheets left" in words(page)
    label = [words(line) for line in page.xpath("//p[@class='label-card']/span")]
    assert label[:2] == ["Fenland Rag", "Lot FR-1, box 9"]
    assert label[3] == "Received 15 January 2026"  # the lot's day, where the box has none of its own


def test_a_delivery_is_booked_in_on_one_page(bench: Any, client: httpx.Client) -> None:
    answer = send(
        client,
        "/stock/book-in",
        "/stock/book-in",
        medium_name="Gullwing White",
        kind="paper",
        supplier="Creek",
        lot="GW-1",
        form="roll",
        pieces="2",
        width_mm="17 in",
        length_mm="20 ft",
        price="44,50",
        currency="EUR",
    )
    assert place(answer) == f"/stock/lots/{kept(bench, Lot)[0].id}"
    rolls = kept(bench, Roll)
    assert [roll.code for roll in sorted(rolls, key=lambda one: one.code)] == ["1", "2"]
    assert {(round(roll.width_mm, 6), roll.length_mm, roll.price) for roll in rolls} == {
        (431.8, 6096.0, 44.5)
    }
    undo_on(client, answer.headers["location"].replace(place(answer), "/stock"))
    assert kept(bench, Roll) == kept(bench, Lot) == kept(bench, Medium) == kept(bench, Supplier) == ()


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ({"lot": "1"}, "the medium is missing"),
        (
            {"lot": "1", "medium_name": "X", "sheets": "5"},
            "this says rolls, but something is filled in for boxes",
        ),
        ({"lot": "1", "medium_name": "X", "form": "sheets", "length_mm": "6 m"}, "this says boxes"),
        ({"lot": "1", "medium_name": "X", "pieces": "two"}, "how many"),
        ({"lot": "1", "medium_name": "X", "width_mm": "wide"}, '"wide" is no length'),
        ({"lot": " ", "medium_name": "X"}, "the lot is missing"),
    ],
)
def test_a_delivery_that_is_wrong_is_shown_again(
    bench: Any, client: httpx.Client, typed: dict[str, str], why: str
) -> None:
    answer = send(client, "/stock/book-in", "/stock/book-in", kind="canvas", **typed)
    assert why in refusal(answer)
    page = parsed(answer)
    for name, value in typed.items():
        shown = page.xpath(f"//input[@name='{name}']/@value") or page.xpath(
            f"//select[@name='{name}']/option[@selected]/@value"
        )
        assert shown == [value.strip()], name
    assert page.xpath("//select[@name='kind']/option[@selected]/text()") == ["canvas"]
    assert kept(bench, Roll) == ()


def a_roll(bench: Any, **told: Any) -> tuple[Medium, Roll]:
    medium = book_in(bench.records, Medium(id="", name="Rag", weight_gsm=310.0), who="A").thing
    lot = book_in(bench.records, Lot(id="", medium_id=medium.id, code="L1"), who="A").thing
    size = {"width_mm": 431.8, "length_mm": 6096.0} | told
    return medium, book_in(
        bench.records, Roll(id="", lot_id=lot.id, form="roll", code="1", **size), who="A"
    ).thing


def test_a_field_left_alone_keeps_its_value_in_either_unit(bench: Any, client: httpx.Client) -> None:
    _, roll = a_roll(bench, width_mm=431.83, length_mm=6097.4, core_mm=76.2)
    home = f"/stock/rolls/{roll.id}"
    for units in ("metric", "inch"):
        send(client, "/studio", "/studio", units=units)
        send(client, f"{home}/edit", f"{home}/edit", words=f"Seen in {units}.")
        (now,) = kept(bench, Roll)
        assert (now.width_mm, now.length_mm, now.core_mm) == (431.83, 6097.4, 76.2)
        assert now.words == f"Seen in {units}."
    send(client, f"{home}/edit", f"{home}/edit", length_mm="19")
    assert kept(bench, Roll)[0].length_mm == pytest.approx(19 * 304.8)  # a bare number is in feet by now


def test_units_change_every_page(bench: Any, client: httpx.Client) -> None:
    medium, roll = a_roll(bench)
    metric = words(parsed(client.get(f"/stock/rolls/{roll.id}")))
    assert "6.1 m of 6.1 m left" in metric
    assert "432 mm" in metric
    send(client, "/studio", "/studio", units="inch")
    inch = words(parsed(client.get(f"/stock/rolls/{roll.id}")))
    assert "20 ft of 20 ft left" in inch
    assert "17 in" in inch
    assert " mm" not in inch.replace("480 mm", "")
    assert "20 ft of 20 ft left" in client.get("/stock").text
    send(client, f"/stock/media/{medium.id}/edit", f"/stock/media/{medium.id}/edit", caliper_um="12")
    assert kept(bench, Medium)[0].caliper_um == pytest.approx(304.8)  # 12 mil
    assert facts_of(client, f"/stock/media/{medium.id}")["Thickness"] == "12 mil"


def test_what_is_taken_is_counted_down_and_can_be_corrected(bench: Any, client: httpx.Client) -> None:
    _, roll = a_roll(bench)
    home = f"/stock/rolls/{roll.id}"
    send(client, home, f"{home}/uses", amount="2.4 m", words="test prints")
    assert "3.7 m of 6.1 m left" in client.get(home).text
    assert parsed(client.get(home)).xpath("//meter/@value") == ["61"]
    too_much = send(client, home, f"{home}/uses", amount="5", words="more")
    assert "5.00 m is more than the 3.70 m" in refusal(too_much)
    assert parsed(too_much).xpath("//input[@name='amount']/@value") == ["5"]
    assert parsed(too_much).xpath("//input[@name='words']/@value") == ["more"]
    counted = send(client, home, f"{home}/count", left="0", why="torn off")
    assert "0 m of 6.1 m left" in client.get(home).text
    assert "used up" in client.get("/stock").text
    undo_on(client, counted.headers["location"])
    assert "3.7 m of 6.1 m left" in client.get(home).text
    (use,) = kept(bench, RollUse)
    send(client, home, f"{home}/uses/{use.id}/remove")
    assert kept(bench, RollUse) == ()


def test_taking_away_is_refused_while_something_refers_to_it_and_undone(
    bench: Any, client: httpx.Client
) -> None:
    medium, roll = a_roll(bench)
    refused = send(client, f"/stock/media/{medium.id}", f"/stock/media/{medium.id}/remove")
    assert (
        refusal(refused)
        == "the medium Rag is still named by 1 lot. Take that away first, or leave this in place."
    )
    answer = send(client, f"/stock/rolls/{roll.id}", f"/stock/rolls/{roll.id}/remove")
    assert place(answer) == "/stock/rolls"
    assert client.get(f"/stock/rolls/{roll.id}").status_code == 404
    undo_on(client, answer.headers["location"])
    assert kept(bench, Roll) == (roll,)


def test_two_tablets_do_not_overwrite_each_other(bench: Any, client: httpx.Client) -> None:
    medium, _ = a_roll(bench)
    home = f"/stock/media/{medium.id}"
    early = form_at(client, f"{home}/edit", f"{home}/edit")
    send(client, f"{home}/edit", f"{home}/edit", base="cotton")
    late = client.post(f"{home}/edit", data=early | {"base": "linen"})
    assert "somebody else changed this" in refusal(late)
    assert parsed(late).xpath("//input[@name='base']/@value") == ["linen"]
    assert kept(bench, Medium)[0].base == "cotton"


def test_a_printer_and_its_history(bench: Any, client: httpx.Client) -> None:
    home = place(
        send(client, "/printers/new", "/printers", name="Plover", head_gaps="narrow, wide , widest",
             widest_mm="24 in", has_cutter="yes")
    )  # fmt: skip
    (printer,) = kept(bench, Printer)
    assert printer.head_gaps == ("narrow", "wide", "widest")
    assert printer.widest_mm == pytest.approx(609.6)
    when = form_at(client, home, f"{home}/events")["at"]
    assert when  # now, until somebody says otherwise
    noted = send(
        client, home, f"{home}/events", kind="ink", at="2026-01-20T11:00", words="Matte black, 7K-204"
    )
    history = [words(line) for line in parsed(client.get(home)).xpath("//section[@id='history']//li")]
    assert history[0].startswith("Ink: Matte black, 7K-204")
    late = send(client, home, f"{home}/events", kind="aligned", at="2099-01-01T00:00", words="soon")
    assert "cannot be in the future" in refusal(late)
    assert parsed(late).xpath("//section[@id='history']//input[@name='words']/@value") == ["soon"]
    undo_on(client, noted.headers["location"].partition("#")[0])
    assert kept(bench, PrinterEvent) == ()
    assert "ink" not in words(parsed(client.get("/printers")).xpath("//ul[@class='stock-rows']")[0])


def test_a_certificate_says_what_it_does_not_state(bench: Any, client: httpx.Client) -> None:
    home = place(
        send(client, "/certificates/new", "/certificates", title="Report 7", laboratory="House of tests")
    )
    told = facts_of(client, home)
    assert told["Laboratory"] == "House of tests"
    stated = {name for name, value in told.items() if value != "not stated"}
    assert stated == {"Title", "Laboratory"}
    labels = {
        "Accreditation",
        "Date of the test",
        "Ink set",
        "Coating",
        "Glazing or filter",
        "Method or standard",
        "Light source",
        "Light level and dose",
        "Temperature and humidity",
        "End point",
        "Medium, as stated there",
        "Result, in their words",
    }
    assert labels <= set(told)
    cautions = [words(one) for one in parsed(client.get(home)).xpath("//p[@class='caution']")]
    assert [caution.split(" ", 1)[0] for caution in cautions] == ["A", "It", "Before"]
    assert "no number of years" in cautions[1]
    assert kept(bench, Certificate)[0].tested is None


def test_lists_are_searched_and_paged(bench: Any, client: httpx.Client) -> None:
    with bench.records.work("filled", who="A") as work:
        for number in range(120):
            work.add(Supplier(id=f"s{number}", name=f"Supply {number:03}"))
    names = []
    address = "/stock/suppliers?q=supply"
    for _ in range(4):
        page = parsed(client.get(address))
        names += [words(one) for one in page.xpath("//ul[@class='stock-rows']//a")]
        following = page.xpath("//a[@rel='next']/@href")
        if not following:
            break
        address = following[0]
    assert names == [f"Supply {number:03}" for number in range(120)]
    assert "Nothing here holds “zebra”" in client.get("/stock/suppliers?q=zebra").text


@pytest.mark.parametrize(
    "shelf", ["/stock", "/stock/media", "/stock/lots", "/stock/suppliers", "/printers", "/certificates"]
)
def test_empty_shelves_teach(client: httpx.Client, shelf: str) -> None:
    page = parsed(client.get(shelf))
    assert len(words(page.xpath("//p[@class='empty']")[0])) > 60
    for link in page.xpath("//p[@class='actions']/a/@href"):
        assert client.get(link).status_code == 200, link


def test_every_link_of_the_demo_stock_leads_somewhere(bench: Any, client: httpx.Client) -> None:
    seed_demo(bench.records)
    seen: set[str] = set()
    waiting = ["/stock", "/printers", "/certificates", "/stock/media", "/stock/suppliers"]
    while waiting:
        address = waiting.pop()
        if address in seen:
            continue
        seen.add(address)
        answer = client.get(address)
        assert answer.status_code == 200, address
        if address.startswith(("/stock", "/printers", "/certificates")):
            links = parsed(answer).xpath("//main//a/@href")
            waiting += [link.partition("#")[0] for link in links if link.startswith("/")]
    assert f"/trials/{DEMO_TRIAL_ID}" in seen
    assert len(seen) > 40


# The worked example of a trade guide: 44 in x 50 ft at 310 g/m2 is 5.3 kg (arithmetic, reproducible).
def test_a_roll_weighs_what_its_measures_say() -> None:
    roll = Roll(id="r", lot_id="l", form="roll", width_mm=44 * 25.4, length_mm=50 * 304.8)
    assert weight_kg(roll, Medium(id="m", name="M", weight_gsm=310.0)) == pytest.approx(5.28, abs=0.005)
    assert weight_kg(roll, Medium(id="m", name="M")) is None
