"""What the pages show: every part of a comparison, with the same numbers and calls as the JSON."""

from __future__ import annotations

import re
from dataclasses import fields, is_dataclass, replace
from itertools import pairwise
from typing import Any

import httpx
import lxml.html
import pytest
from jinja2 import UndefinedError

from laydown.report import to_json
from laydown.report.wording import call_word, number
from laydown.usecases.comparison import Comparison
from laydown.web.figure_shelf import FigureShelf
from laydown.web.people import OWNER_HERE
from laydown.web.rendering import render
from laydown.web.views.against import differences_against
from laydown.web.views.comparison import comparison_view
from laydown.web.views.frame import Frame

DEMO = "/comparisons/demo"
FRAME = Frame(person=OWNER_HERE, lan=False, token="", done=None, here=DEMO)


def parsed(text: str) -> Any:
    return lxml.html.fromstring(text)


def css(element: Any, selector: str) -> list[Any]:
    """Elements by a plain selector: tags, classes, ids and attributes, nested by spaces, listed by commas."""
    found = []
    for one in selector.split(","):
        path = "."
        for step in one.split():
            tag, rest = re.fullmatch(r"([a-z0-9]*)(.*)", step).groups()  # type: ignore[union-attr]
            path += f"//{tag or '*'}"
            for kind, name in re.findall(r"([.#\[])([\w-]+)", rest):
                path += {
                    ".": f"[contains(concat(' ', @class, ' '), ' {name} ')]",
                    "#": f"[@id='{name}']",
                    "[": f"[@{name}]",
                }[kind]
        found += element.xpath(path)
    return found


def words(element: Any) -> str:
    return " ".join(element.text_content().split())


@pytest.fixture(scope="module")
def demo_page(reading_room: Any) -> Any:
    return parsed(reading_room.page(DEMO))


def plain(text: str) -> str:
    """Narrow spaces as ordinary ones, as ``words`` leaves them."""
    return " ".join(text.split())


def cells_of(page: Any) -> dict[tuple[str, str, str], Any]:
    """Table cells by finding, condition and candidate."""
    names = [
        h.text_content().split("compared against")[0].strip()
        for h in css(css(page, ".numbers thead")[0], "th")[1:]
    ]
    found = {}
    for row in css(page, ".numbers .row"):
        condition = words(css(row, "th .block")[0]).split("; ")[-1]
        for name, cell in zip(names, css(row, "td"), strict=True):
            found[row.get("data-finding"), condition, name.removesuffix(" house").strip()] = cell
    return found


def test_every_number_shown_is_the_number_in_the_json(demo_page: Any, comparison: Comparison) -> None:
    told = to_json(comparison)
    cells = cells_of(demo_page)
    shown = 0
    for candidate in told["candidates"]:
        for finding in candidate["findings"]:
            cell = cells[finding["id"], finding["condition"], candidate["name"]]
            assert words(css(cell, ".value")[0]) == plain(number(finding["value"], finding["decimals"]))
            half = words(css(cell, ".half")[0])
            if finding["low"] is None:
                assert half == f"n={finding['n']}"
            else:
                width = (finding["high"] - finding["low"]) / 2
                assert half == f"± {plain(number(width, finding['decimals']))}"
                assert words(css(cell, ".half.n")[0]) == f"n={finding['n']}"
            shown += 1
    assert shown == len(cells) > 100


@pytest.mark.parametrize("place", range(5))
def test_every_call_shown_is_the_call_against_the_chosen_one(
    reading_room: Any, comparison: Comparison, place: int
) -> None:
    against = comparison.candidates[place].name
    page = parsed(reading_room.page(f"{DEMO}?{httpx.QueryParams(against=against)}"))
    assert words(css(page, ".against [aria-current]")[0]).startswith(against)
    shown = {key: words(css(c, ".call")[0]) for key, c in cells_of(page).items() if css(c, ".call")}
    for d in to_json(comparison)["differences"]:
        if against not in (d["candidate"], d["against"]):
            continue
        call = "refused" if d["refused"] else d["call"]
        other = d["candidate"]
        if d["candidate"] == against:
            other = d["against"]
            call = {"better": "worse", "worse": "better", "higher": "lower", "lower": "higher"}.get(
                call, call
            )
        assert shown[d["finding"], d["condition"], other].endswith(call.replace("_", " "))
    assert sum(text.endswith("reference") for text in shown.values()) == len(comparison.by_finding)


def test_turning_twice_gives_the_same_back(comparison: Comparison) -> None:
    for difference in comparison.differences:
        assert repr(difference.turned().turned()) == repr(difference)


def test_against_every_candidate_all_others_are_there(comparison: Comparison) -> None:
    for candidate in comparison.candidates:
        seen = differences_against(comparison, candidate.name)
        assert len(seen) == (len(comparison.candidates) - 1) * len(comparison.by_finding)
        assert all(d.against == candidate.name for d in seen.values())
        assert {call_word(d) for d in seen.values()}


def test_every_part_of_the_answer_is_on_the_page(demo_page: Any, comparison: Comparison) -> None:
    text = words(demo_page)
    for sentence in (comparison.title, comparison.question, *comparison.summary, *comparison.cautions):
        assert sentence in text
    for problem in comparison.problems:
        assert problem.place() in text
        assert problem.what in text
    for calls in comparison.by_finding:
        assert calls.assumption in text
    for candidate in comparison.candidates:
        for fact in candidate.facts:
            assert fact.value in text
    for difference in comparison.differences:
        if difference.refused and comparison.house in (difference.candidate, difference.against):
            assert difference.reason in text


def test_overlaps_are_the_json_s(demo_page: Any, comparison: Comparison) -> None:
    rows = css(demo_page, "#overlaps tbody tr")
    told = to_json(comparison)["overlaps"]
    assert len(rows) == len(told)
    for row, item in zip(rows, told, strict=True):
        expected = [
            item["candidate"],
            item["other"],
            *(number(item[k], 0) for k in ("volume", "other_volume", "shared")),
        ]
        assert [words(cell) for cell in row][:5] == [" ".join(e.split()) for e in expected]
        assert words(row[5]) == f"{round(100 * item['coverage'])} %"


def test_problems_come_last_and_headings_in_order(demo_page: Any) -> None:
    assert css(demo_page, ".body section")[-1].get("id") == "problems"
    levels = [int(h.tag[1]) for h in demo_page.xpath("//h1 | //h2 | //h3 | //h4")]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(b - a <= 1 for a, b in pairwise(levels) if (a, b) != (2, 4))


def test_ids_are_used_once_and_links_lead_somewhere(demo_page: Any) -> None:
    ids = demo_page.xpath("//@id")
    assert len(ids) == len(set(ids))
    for link in demo_page.xpath("//a/@href[starts-with(., '#')]"):
        assert link[1:] in ids
    for controlled in demo_page.xpath("//@aria-controls | //@aria-labelledby | //label/@for"):
        assert controlled in ids


def test_nothing_inline_and_nothing_from_elsewhere(reading_room: Any) -> None:
    for address in ("/", "/comparisons", "/new", DEMO, f"{DEMO}/patches"):
        page = parsed(reading_room.page(address))
        assert not page.xpath("//@style | //style | //script[not(@src)] | //@onclick")
        for link in page.xpath("//@src | //@href | //@srcset | //@action"):
            assert link.startswith(("/", "#")), link
            assert not link.startswith("//")


def test_every_figure_has_words_and_three_downloads(demo_page: Any, reading_room: Any) -> None:
    figures = css(demo_page, "figure")
    assert len(figures) > 30
    for figure in figures:
        assert len(css(figure, "img")[0].get("alt")) > 20
        assert words(css(figure, "figcaption")[0])
        assert [words(a) for a in css(figure, ".gets a")] == ["SVG", "PNG", "CSV"]
    start = {"SVG": b"<svg", "PNG": b"\x89PNG", "CSV": b"\xef\xbb\xbf"}
    with reading_room.client() as client:
        for figure in (figures[0], figures[-1]):
            for link in css(figure, ".gets a"):
                answer = client.get(link.get("href"))
                assert answer.status_code == 200
                assert answer.content.startswith(start[words(link)])
                assert "attachment" in answer.headers["Content-Disposition"]


def test_kept_places_are_the_drawings_sizes(demo_page: Any, reading_room: Any) -> None:
    image = css(demo_page, "#tone img")[0]
    with reading_room.client() as client:
        drawing = lxml.html.fromstring(client.get(image.get("src")).content)
    assert round(float(drawing.get("width"))) == int(image.get("width"))
    assert round(float(drawing.get("height"))) == int(image.get("height"))


def test_each_marked_patch_says_what_was_done(comparison: Comparison) -> None:
    first = comparison.candidates[0]
    shown = first.patch_maps[0]
    done = ("swapped. Left out: 23 other readings of this colour exist.", "odd. Used as it stands.")
    cells = (*(replace(c, suspicion=d) for c, d in zip(shown.cells, done, strict=False)), *shown.cells[2:])
    marked = replace(first, patch_maps=(replace(shown, cells=cells),))
    doubted = replace(comparison, candidates=(marked, *comparison.candidates[1:]))
    view = comparison_view("demo", FigureShelf(doubted), asked="", deletable=False)
    page = parsed(render("comparison.html", view, frame=FRAME))
    assert [words(cell) for cell in css(page, ".suspects .why")][:2] == list(done)
    assert "all the same" not in words(css(page, "#patches")[0])


def test_the_house_tag_is_not_said_twice(comparison: Comparison) -> None:
    def tags(name: str) -> list[str]:
        house = replace(comparison.candidates[0], name=name)
        renamed = replace(comparison, candidates=(house, *comparison.candidates[1:]), house=name)
        page = parsed(
            render(
                "comparison.html",
                comparison_view("demo", FigureShelf(renamed), asked="", deletable=False),
                frame=FRAME,
            )
        )
        return [words(tag) for tag in css(page, ".medium .tag, .numbers .tag, .tabs .count")]

    assert tags("Wren Rag 308") == ["house"] * 3
    assert tags("Wren Rag (house)") == []
    assert tags("Warehouse Rag") == ["house"] * 3


def test_the_basis_claims_no_more_than_holds(comparison: Comparison) -> None:
    def basis(shown: Comparison) -> str:
        return comparison_view("demo", FigureShelf(shown), asked="", deletable=False).basis

    assert "“lower” allow for all" in basis(comparison)
    assert "each “same” is held to an error rate of 5 % by itself" in basis(comparison)
    single = tuple(replace(c, sheets=c.sheets[:1]) for c in comparison.candidates)
    assert basis(replace(comparison, candidates=single)) == (
        "1 sheet of each medium, so there are no intervals and no calls."
    )


def test_reasons_of_refusals_are_said_once(comparison: Comparison) -> None:
    other = comparison.candidates[1].name
    refused = tuple(
        replace(d, refused=True, reason="read under M0 and M2") if other in (d.candidate, d.against) else d
        for d in comparison.differences
    )
    view = comparison_view(
        "demo", FigureShelf(replace(comparison, differences=refused)), asked="", deletable=False
    )
    assert f"{other}: read under M0 and M2 (every finding)" in view.refusals
    page = parsed(render("comparison.html", view, frame=FRAME))
    assert other in words(css(page, ".refusals")[0])


def test_one_medium_alone_is_held_against_nothing(comparison: Comparison) -> None:
    alone = replace(comparison, candidates=comparison.candidates[:1], differences=(), house="")
    page = parsed(
        render(
            "comparison.html",
            comparison_view("demo", FigureShelf(alone), asked="", deletable=False),
            frame=FRAME,
        )
    )
    assert not css(page, ".against, .legend")
    assert "compared against" not in words(css(page, ".numbers")[0])


def test_templates_refuse_a_view_with_gaps(comparison: Comparison) -> None:
    class Gap:
        pass

    for template in (
        "home.html", "comparisons.html", "new.html", "arranging.html", "working.html", "deleting.html",
        "trouble.html", "patches.html", "comparison.html",
    ):  # fmt: skip
        with pytest.raises(UndefinedError):
            render(template, Gap(), frame=FRAME)


def test_every_field_of_the_view_is_used_by_its_template(comparison: Comparison) -> None:
    view = comparison_view("demo", FigureShelf(comparison), asked="", deletable=False)
    source = render("comparison.html", view, frame=FRAME)
    assert is_dataclass(view)
    from laydown.web.rendering import environment

    loader = environment().loader
    assert loader is not None
    template, _, _ = loader.get_source(environment(), "comparison.html")
    for name in (f.name for f in fields(view)):
        assert f"view.{name}" in template, name
    assert "Undefined" not in source
