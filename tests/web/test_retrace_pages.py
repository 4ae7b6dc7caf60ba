"""The pages of bad prints: marking, ranking, answering, trying, closing, own numbers, support file."""

from __future__ import annotations

import html
import io
import re
import zipfile

import httpx
import pytest

from conftest import Workbench
from laydown.trials.remarks import Attachment
from laydown.trials.retracing import Retrace
from laydown.usecases.retracing.answer_check import answer_check
from laydown.usecases.retracing.begin_retrace import begin_retrace
from laydown.usecases.retracing.close_retrace import close_retrace
from laydown.usecases.retracing.rank_causes import rank_causes
from laydown.usecases.trial.seed_demo import seed_demo
from laydown.web.forms import TOKEN_HEADER

_SEEN = re.compile(r'name="seen" value="(\d+)"')


@pytest.fixture
def begun(bench: Workbench) -> Retrace:
    return begin_retrace(bench.records, {"mottle": "present", "hook": "absent"}, who="Ada").thing


def _one(bench: Workbench) -> Retrace:
    with bench.records.look() as look:
        return look.find(Retrace)[0]


def _checked(text: str, symptom: str) -> str:
    """How a symptom is marked on a page, among its three choices."""
    found = re.findall(rf'name="s-{symptom}" value="([^"]+)"( checked)?', text)
    assert len(found) == 3
    return next(value for value, checked in found if checked)


def test_the_empty_list_teaches(client: httpx.Client) -> None:
    text = client.get("/retraces").text
    assert "No print has been retraced yet" in text
    assert 'href="/retraces/new"' in text


def test_open_ones_come_first_and_pages_go_on(bench: Workbench, client: httpx.Client) -> None:
    marks = {"hook": "present"}
    first = begin_retrace(bench.records, marks, who="Ada", title="the oldest").thing
    for number in range(30):
        begin_retrace(bench.records, marks, who="Ada", title=f"print {number}")
    closed = begin_retrace(bench.records, marks, who="Ada", title="a closed one").thing
    close_retrace(bench.records, closed.id, "solved", who="Ada")
    one, two = client.get("/retraces").text, client.get("/retraces?page=2").text
    assert "print 29" in one
    assert first.title not in one
    assert "a closed one" not in one  # the newest of all, but closed
    assert two.index(first.title) < two.index("a closed one")


def test_among_those_that_are_closed_the_newest_stands_first(bench: Workbench, client: httpx.Client) -> None:
    """Whether it was solved makes no difference."""
    for title, outcome in (("first", "solved"), ("second", "still wrong"), ("third", "solved")):
        one = begin_retrace(bench.records, {"hook": "present"}, who="Ada", title=title).thing
        close_retrace(bench.records, one.id, outcome, who="Ada")
    begin_retrace(bench.records, {"hook": "present"}, who="Ada", title="an open one")
    text = client.get("/retraces").text
    places = [text.index(f">{title}</a>") for title in ("an open one", "third", "second", "first")]
    assert places == sorted(places)


def test_every_symptom_has_its_picture_and_three_states(client: httpx.Client) -> None:
    text = client.get("/retraces/new").text
    assert text.count('class="symptom-picture"') == 56
    assert text.count('value="present"') == text.count('value="absent"') == 56
    assert _checked(text, "hook") == "not looked at"


def test_filtering_loses_nothing(client: httpx.Client) -> None:
    """Marked, then filtered away, then filtered by family: everything typed and marked is still there."""
    typed = {"s-hook": "present", "s-mottle": "absent", "title": "A <dull> one", "words": "seen by daylight"}
    shown = client.post("/retraces/new", data={**typed, "find": "fish", "do": "show"})
    assert shown.status_code == 200
    assert shown.text.count('class="symptom-picture"') == 1
    assert '<input type="hidden" name="s-hook" value="present">' in shown.text
    assert '<input type="hidden" name="s-mottle" value="absent">' in shown.text
    assert "A &lt;dull&gt; one" in shown.text
    assert "seen by daylight" in shown.text
    again = client.post("/retraces/new", data={**typed, "family": "tone", "do": "show"}).text
    assert _checked(again, "hook") == "present"
    none = client.post("/retraces/new", data={**typed, "find": "xyzzy", "do": "show"}).text
    assert "No picture has these words" in none


def test_a_filter_has_an_address(client: httpx.Client) -> None:
    text = client.get("/retraces/new?family=coating&find=pin").text
    names = re.findall(r"<legend>([^<]+)</legend>", text)
    assert "Foam or pin-holes in the coat" in names
    assert "Fish-eyes: round craters in the coat" not in names


def test_what_is_refused_is_shown_again_with_the_reason(bench: Workbench, client: httpx.Client) -> None:
    answer = client.post("/retraces/new", data={"s-hook": "absent", "title": "Mine", "do": "keep"})
    assert answer.status_code == 422
    assert "nothing is marked as seen" in answer.text
    assert _checked(answer.text, "hook") == "absent"
    assert 'value="Mine"' in answer.text
    with bench.records.look() as look:
        assert look.count(Retrace) == 0


def test_a_sheet_of_the_demo_from_its_page_to_its_cause(bench: Workbench, client: httpx.Client) -> None:
    seed_demo(bench.records)
    with bench.records.look() as look:
        sheet = look.get(Retrace, "demo-retrace").sheet_id
    form = client.get(f"/retraces/new?sheet={sheet}").text
    assert "of Withy Canvas" in form
    answer = client.post("/retraces/new", data={"sheet": sheet or "", "s-mottle": "present", "do": "keep"})
    assert answer.status_code == 303
    text = client.get(answer.headers["location"]).text
    causes = re.findall(r'<h3><span class="muted">\d+</span> ([^<]+)</h3>', text)
    assert causes[0] == "Total ink too high"
    assert "Full ink is 1.3 L* lighter than the darkest patch." in text
    assert "our judgement" in text
    assert "not known" in text
    assert "Undo" in text


def test_the_page_shows_what_the_ranking_says(bench: Workbench, client: httpx.Client, begun: Retrace) -> None:
    with bench.records.look() as look:
        ranking = rank_causes(look, begun).ranking
    text = html.unescape(client.get(f"/retraces/{begun.id}").text)
    shown = re.findall(r'<h3><span class="muted">\d+</span> ([^<]+)</h3>', text)
    assert shown == [one.cause.name for one in ranking.causes[:15]]
    check = ranking.next_checks[0]
    for words in (check.check.question, check.check.how, check.if_yes.words, check.if_no.words):
        assert words in text
    for fix in ranking.causes[0].cause.fixes:
        assert fix in text


def test_one_tap_answers_and_ranks_again(bench: Workbench, client: httpx.Client, begun: Retrace) -> None:
    here = f"/retraces/{begun.id}"
    action = re.findall(rf'action="({here}/checks/[^"]+)"', client.get(here).text)[0]
    before = client.get(here).text
    answer = client.post(action, data={"answer": "yes"})
    assert answer.status_code == 303
    assert answer.headers["location"].endswith("#next")
    after = client.get(here).text
    assert re.findall(r'class="num">([^<]+)<', after) != re.findall(r'class="num">([^<]+)<', before)
    assert _one(bench).answers[0].answer == "yes"
    assert re.findall(rf'action="({here}/checks/[^"]+)"', after)[0] != action
    changed = client.post(action, data={"answer": "perhaps"})
    assert changed.status_code == 422
    assert "Choose one." in changed.text


def test_what_was_tried_is_noted(bench: Workbench, client: httpx.Client, begun: Retrace) -> None:
    here = f"/retraces/{begun.id}"
    sent = {"cause": "total-ink-too-high", "words": "Less ink", "helped": "no"}
    assert client.post(f"{here}/tried", data=sent).status_code == 303
    assert "did not help" in client.get(here).text
    assert _one(bench).tried[0].helped is False
    refused = client.post(f"{here}/tried", data={**sent, "words": " "})
    assert refused.status_code == 422
    assert "not said what was tried" in refused.text


def test_marks_are_changed_and_another_tablet_is_heeded(
    bench: Workbench, client: httpx.Client, begun: Retrace
) -> None:
    here = f"/retraces/{begun.id}/symptoms"
    form = client.get(here).text
    assert (_checked(form, "mottle"), _checked(form, "hook")) == ("present", "absent")
    seen = _SEEN.findall(form)[0]
    assert client.post(here, data={"seen": seen, "s-ink-beads": "present", "do": "keep"}).status_code == 303
    assert [one.symptom for one in _one(bench).symptoms] == ["ink-beads"]
    late = client.post(here, data={"seen": seen, "s-hook": "present", "do": "keep"})
    assert late.status_code == 422
    assert "somebody else changed this" in late.text
    assert _checked(late.text, "hook") == "present"


def test_closing_and_opening_again(bench: Workbench, client: httpx.Client, begun: Retrace) -> None:
    here = f"/retraces/{begun.id}"
    closed = client.post(f"{here}/close", data={"outcome": "still wrong", "words": "Asked the mill."})
    assert closed.status_code == 303
    text = client.get(here).text
    assert "Still wrong, closed" in text
    assert "Asked the mill." in text
    assert f'action="{here}/close"' not in text
    late = client.post(f"{here}/checks/last-five-steps", data={"answer": "yes"})
    assert late.status_code == 422
    assert "closed as still wrong" in late.text
    assert client.post(f"{here}/reopen").status_code == 303
    assert _one(bench).outcome == "open"


def test_a_photograph_is_kept_with_it(bench: Workbench, client: httpx.Client, begun: Retrace) -> None:
    picture = b"\x89PNG\r\n\x1a\n and the rest of it"
    here = f"/retraces/{begun.id}"
    sent = client.post(
        "/attachments",
        data={"about": begun.id, "back": here, "kind": "photograph"},
        files={"files": ("edge.png", picture)},
    )
    assert sent.headers["location"].startswith(f"{here}?done=")
    with bench.records.look() as look:
        kept = look.find(Attachment, about=begun.id)[0]
    assert f'src="/attachments/{kept.id}"' in client.get(here).text


def test_own_numbers_in_and_out(client: httpx.Client) -> None:
    here = "/retraces/numbers"
    assert "Only ours are in use" in client.get(here).text
    wrong = client.post(
        here, files={"numbers": ("f.json", b'{"format": "laydown faults 1", "priors": {"x": 2}}')}
    )
    assert wrong.status_code == 422
    assert "faults.json" in wrong.text
    none = client.post(here, data={})
    assert none.status_code == 422
    assert "no file was chosen" in none.text
    own = b'{"format": "laydown faults 1", "priors": {"missing-nozzles": 0.15}}'
    assert client.post(here, files={"numbers": ("any.json", own)}).status_code == 303
    text = client.get(here).text
    assert "prior of missing-nozzles" in text
    kept = re.findall(r'href="(/attachments/[^"?]+\?save=1)"', text)[0]
    assert client.get(kept).content == own
    packaged = client.get(f"{here}/packaged.json").content
    assert client.post(here, files={"numbers": ("all.json", packaged)}).status_code == 303
    assert client.post(f"{here}/drop").status_code == 303
    assert "Only ours are in use" in client.get(here).text


def test_the_support_file_is_shown_before_it_is_saved(
    bench: Workbench, client: httpx.Client, begun: Retrace
) -> None:
    shown = html.unescape(client.get(f"/retraces/{begun.id}/support").text)
    saved = client.get(f"/retraces/{begun.id}/support.zip")
    assert saved.headers["content-disposition"] == 'attachment; filename="bad-print.laydown-support.zip"'
    with zipfile.ZipFile(io.BytesIO(saved.content)) as archive:
        summary = archive.read("summary.txt").decode()
    assert "Cloudy, grainy dark areas" in summary
    for line in summary.splitlines():
        assert line in shown


def test_the_demo_support_page_says_what_goes_and_what_stays(bench: Workbench, client: httpx.Client) -> None:
    seed_demo(bench.records)
    text = client.get("/retraces/demo-retrace/support").text
    assert "6 readings of this medium as they came" in text
    assert "Copies of 8 readings of the house medium" in text
    assert "Fenland" not in text
    assert "The name of the trial" in text
    assert "The name of the trial" not in client.get("/retraces/demo-retrace/support?named=true").text


@pytest.mark.parametrize("path", ["", "/symptoms", "/support", "/support.zip"])
def test_what_is_not_there(client: httpx.Client, path: str) -> None:
    assert client.get(f"/retraces/nowhere{path}").status_code == 404


def test_a_sheet_that_is_not_there(client: httpx.Client) -> None:
    assert client.get("/retraces/new?sheet=nowhere").status_code == 404


@pytest.mark.parametrize(
    "path", ["new", "numbers", "numbers/drop", "{id}/reopen", "{id}/tried", "{id}/close"]
)
def test_nothing_is_done_without_the_word_of_our_pages(bench: Workbench, begun: Retrace, path: str) -> None:
    sent = {"s-hook": "present", "outcome": "solved", "cause": "not-cured", "words": "x", "helped": "yes"}
    with bench.client(**{TOKEN_HEADER: "guessed"}) as stranger:
        answer = stranger.post(f"/retraces/{path.format(id=begun.id)}", data=sent)
    assert answer.status_code == 403
    assert "not made for your session" in answer.text
    assert _one(bench) == begun


def test_a_whole_dozen_of_symptoms_is_still_quick(bench: Workbench, client: httpx.Client) -> None:
    twelve = (
        "hook", "mottle", "ink-beads", "fine-light-lines", "regular-bands", "dark-hairs", "fish-eyes",
        "not-square", "tide-ring", "slack-canvas", "bronze-sheen", "yellow-on-wall",
    )  # fmt: skip
    retrace = begin_retrace(bench.records, dict.fromkeys(twelve, "present"), who="Ada").thing
    answer_check(bench.records, retrace.id, "last-five-steps", "no", who="Ada")
    shown = client.get(f"/retraces/{retrace.id}")
    assert shown.status_code == 200
    assert shown.elapsed.total_seconds() < 20.0  # some 1 s here; a bound against work that never ends
