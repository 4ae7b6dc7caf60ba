"""The brief on its pages: written without scripts, sealed after it was read, changed with a reason."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import httpx
import pytest

from laydown.records.ledger import Records
from laydown.records.trial_facts import load_facts
from laydown.trials.brief_changes import brief_in_force
from laydown.trials.trial import Brief, Criterion, Gate, Trial, WantedDifference
from page_reading import alert, classed, forms_of, tree, words
from served_bench import ServedBench, served_bench
from stocked_room import TRIAL, Room, stock_up

HOME = f"/trials/{TRIAL}/brief"


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ServedBench]:
    with served_bench(tmp_path_factory.mktemp("briefs")) as bench:
        yield bench


@pytest.fixture
def room(served: ServedBench, empty_sqlite: Path, tmp_path: Path) -> Room:
    served.fresh(empty_sqlite, tmp_path)
    stock_up(served.records)
    return Room(served.records)


@pytest.fixture
def client(served: ServedBench, room: Room) -> Iterator[httpx.Client]:
    assert room.records is served.records
    with served.client() as client:
        yield client


def in_force(records: Records) -> Brief:
    with records.look() as look:
        facts = load_facts(look, TRIAL)
    assert facts.brief is not None
    return brief_in_force(facts.brief, facts.brief_changes)


def filled(client: httpx.Client) -> dict[str, Any]:
    """The form as the page holds it; fields that stand there several times as lists."""
    (form,) = [one for one in tree(client.get(f"{HOME}/write")).forms if one.action == f"{HOME}/write"]
    found: dict[str, Any] = {}
    for name, value in form.form_values():
        known = found.get(name)
        several = name in {"products", "gate_name", "gate_words"} or name.startswith("criterion_")
        found[name] = [*(known or []), value or ""] if several else value or ""
    return found


def send(client: httpx.Client, address: str = f"{HOME}/write", **told: Any) -> httpx.Response:
    return client.post(address, data=told, follow_redirects=True)


def test_without_a_brief_the_page_teaches_and_leads_to_the_form(client: httpx.Client) -> None:
    shown = client.get(HOME)
    assert "Nothing is fixed yet" in words(shown)
    assert tree(shown).xpath(f"//main//a[@href='{HOME}/write']")
    assert "no brief to seal" in words(client.get(f"{HOME}/seal"))


def test_a_brief_is_written_with_what_was_typed_and_ticked(client: httpx.Client, room: Room) -> None:
    form = filled(client) | {
        "question": "Which rag?",
        "products": ["framed paper", "loose sheet"],
        "sizes": "A2",
        "stop_date": "2026-05-01",
        "gate_name": ["Lies flat", ""],
        "gate_words": ["after a day", "a row without a name"],
        "offer_gate": "No flakes",
        "criterion_name": ["Black", ""],
        "criterion_weight": ["2,5", ""],
        "criterion_finding": ["dmax_visual", ""],
        "criterion_words": ["", ""],
        "offer_criterion": "Hand and texture",
        "amount-dmax_visual": "0,04",
        "amount-gamut_volume": "8",
        "do": "keep",
    }
    shown = send(client, **form)
    assert shown.url.path == HOME
    brief = in_force(room.records)
    assert (brief.question, brief.products, brief.sizes) == (
        "Which rag?", ("framed paper", "loose sheet"), "A2",
    )  # fmt: skip
    assert str(brief.stop_date) == "2026-05-01"
    assert brief.gates == (
        Gate(name="Lies flat", words="after a day"),
        Gate(name="No flakes", words="on solid black, after brushing"),
    )
    assert brief.criteria == (
        Criterion(name="Black", weight=2.5, finding="dmax_visual"),
        Criterion(name="Hand and texture", weight=5),
    )
    assert brief.differences == (
        WantedDifference(finding="dmax_visual", amount=0.04),
        WantedDifference(finding="gamut_volume", amount=0.08),
    )
    told = words(shown)
    # 2.5 of 7.5, and 5 of 7.5.
    assert "33 %" in told
    assert "67 %" in told
    assert "0.04 D default 0.05 D" in told
    assert "8 % default 5 %" in told


def test_the_question_of_the_trial_is_offered(client: httpx.Client, room: Room) -> None:
    with room.records.work("asked", who="Ada") as work:
        work.change(replace(work.get(Trial, TRIAL), question="Which?"))
    assert filled(client)["question"] == "Which?"


def test_what_is_kept_comes_back_in_the_form(client: httpx.Client, room: Room) -> None:
    form = filled(client) | {
        "question": "Q",
        "amount-gamut_volume": "7",
        "gate_name": ["A", "B"],
        "gate_words": ["", "b"],
    }
    send(client, **form)
    before = in_force(room.records)
    again = filled(client)
    assert again["amount-gamut_volume"] == "7"
    send(client, **again)
    assert in_force(room.records) == before


def test_a_row_is_taken_out_by_clearing_its_name(client: httpx.Client, room: Room) -> None:
    room.brief()
    form = filled(client)
    form["criterion_name"][0] = ""
    send(client, **form)
    assert [one.name for one in in_force(room.records).criteria] == ["Hand"]


def test_more_rows_come_without_scripts_and_keep_what_was_typed(client: httpx.Client, room: Room) -> None:
    form = filled(client) | {
        "sizes": "A1",
        "criterion_name": ["Black", "Hand"],
        "criterion_weight": ["3", "1"],
        "criterion_finding": ["", ""],
        "criterion_words": ["", ""],
        "offer_gate": "No flakes",
        "do": "more",
    }
    shown = send(client, **form)
    assert shown.status_code == 200
    (row,) = forms_of(shown, f"{HOME}/write")
    assert row["sizes"] == "A1"
    names = [one.value for one in tree(shown).xpath("//input[@name='gate_name']")]
    assert (names[0], len(names)) == ("No flakes", 5)
    assert len(tree(shown).xpath("//input[@name='criterion_name']")) == 6
    assert "75 %" in shown.text
    with room.records.look() as look:
        assert look.count(Brief) == 0


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"criterion_name": ["Black"], "criterion_weight": ["heavy"]}, 'the weight "heavy" is no number'),
        ({"gate_name": ["Flat", "flat"], "gate_words": ["", ""]}, "stands there twice"),
        ({"amount-opacity": "-3"}, "Opacity"),
        ({"stop_date": "soon"}, "is no day"),
    ],
)
def test_a_refused_form_keeps_what_was_typed(client: httpx.Client, wrong: dict[str, Any], told: str) -> None:
    form = filled(client) | {"sizes": "A1 <b>", "criterion_finding": [""], "criterion_words": [""]} | wrong
    shown = send(client, **form)
    assert shown.status_code == 422
    assert told in alert(shown)
    (typed,) = forms_of(shown, f"{HOME}/write")
    assert typed["sizes"] == "A1 <b>"
    for name, value in wrong.items():
        kept = [one.value for one in tree(shown).xpath(f"//input[@name='{name}']")]
        assert kept[: len(value)] == value if isinstance(value, list) else kept == [value]


def test_a_brief_is_sealed_once_everything_was_shown(client: httpx.Client, room: Room) -> None:
    room.brief()
    shown = client.get(f"{HOME}/seal")
    told = words(shown)
    for wanted in ("Is there a rag as good as ours for less?", "Lies flat", "cannot be undone", "Not stated"):
        assert wanted in told
    (form,) = forms_of(shown, f"{HOME}/seal")
    sealed = send(client, f"{HOME}/seal", **form)
    assert "Sealed on 2 March 2026" in words(sealed)
    assert in_force(room.records).seal[:16] in words(sealed)
    # What cannot be undone offers no undoing.
    (line,) = classed(tree(sealed), "done", tag="div")
    assert not line.xpath(".//form")


def test_a_brief_that_was_written_meanwhile_is_not_sealed_unread(client: httpx.Client, room: Room) -> None:
    room.brief()
    (form,) = forms_of(client.get(f"{HOME}/seal"), f"{HOME}/seal")
    send(client, **(filled(client) | {"sizes": "A1"}))
    refused = send(client, f"{HOME}/seal", **form)
    assert refused.status_code == 422
    assert "somebody else changed this" in alert(refused)
    assert in_force(room.records).sealed_at is None


def test_what_a_seal_must_hold_is_asked_for(client: httpx.Client) -> None:
    send(client, **(filled(client) | {"sizes": "A1"}))
    shown = client.get(f"{HOME}/seal")
    assert "The question is missing." in words(shown)
    assert forms_of(shown, f"{HOME}/seal") == []
    assert send(client, f"{HOME}/seal").status_code == 422


def test_a_sealed_brief_shows_what_was_changed_beside_the_sealed_words(
    client: httpx.Client, room: Room
) -> None:
    room.sealed()
    form = filled(client)
    assert form["why"] == ""
    form |= {"why": "The client asked.", "glazing": "none"}
    form["gate_name"][0] = "No flakes"
    shown = send(client, **form)
    assert in_force(room.records).glazing == "none"
    changed = {
        line.xpath("string(dt)").replace(" changed", "").strip(): " ".join(line.xpath("string(dd)").split())
        for line in classed(tree(shown), "changed-line")
    }
    assert changed == {
        "Glazing": "none sealed as not stated",
        "No flakes": "must be met sealed as not there",
        "Lies flat": "not there sealed as must be met",
    }
    (act,) = tree(shown).xpath("//section[@id='changes']//li")
    assert "Because: The client asked." in " ".join(act.text_content().split())
    assert "changed" in "".join(tree(shown).xpath("//*[@role='note']//text()"))


def test_a_change_is_undone_from_the_page(client: httpx.Client, room: Room) -> None:
    sealed = room.sealed()
    shown = send(client, **(filled(client) | {"why": "x", "glazing": "none"}))
    (undo,) = [form for form in tree(shown).forms if form.action.endswith("/undo")]
    client.post(undo.action, data=dict(undo.form_values()), follow_redirects=True)
    assert in_force(room.records) == sealed


def test_a_change_without_a_reason_keeps_what_was_typed(client: httpx.Client, room: Room) -> None:
    room.sealed()
    shown = send(client, **(filled(client) | {"glazing": "none"}))
    assert shown.status_code == 422
    assert "reason" in alert(shown)
    (typed,) = forms_of(shown, f"{HOME}/write")
    assert typed["glazing"] == "none"


def test_a_form_opened_before_the_seal_changes_nothing_after_it(client: httpx.Client, room: Room) -> None:
    room.brief()
    form = filled(client) | {"glazing": "none", "why": "x"}
    room.sealed()
    assert send(client, **form).status_code == 422
    assert in_force(room.records).glazing == ""


def test_a_trial_that_is_not_there_says_so(client: httpx.Client) -> None:
    assert client.get("/trials/none/brief").status_code == 404
