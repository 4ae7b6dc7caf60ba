"""Test forms designed, looked at, made and downloaded without scripts."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from dataclasses import replace
from io import BytesIO
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl, urlsplit
from zipfile import ZipFile

import httpx
import numpy as np
import pytest
import tifffile
from PIL import Image
from starlette.exceptions import HTTPException

from laydown.kernel.errors import BadSetting
from laydown.records.trial_facts import load_facts
from laydown.science.forms.form_wish import FormWish
from laydown.science.forms.identity import find_codes
from laydown.science.readings.target import read_target
from laydown.trials.facts import TrialFacts
from laydown.trials.studio import Studio
from laydown.trials.trial import Plan, Trial
from laydown.usecases.trial.attach_file import attach_file
from laydown.usecases.trial.draw_sheets import draw_sheets
from laydown.usecases.trial.write_plan import write_plan
from laydown.web import doorkeeper, drawing_table
from laydown.web.drawing_table import DrawingTable, preview_width
from laydown.web.form_fields import colours_of
from laydown.web.people import Person
from page_reading import alert, classed, forms_of, tree, words
from served_bench import ServedBench, served_bench
from stocked_room import TRIAL, Room, stock_up
from ticking_clock import Clock

HOME = f"/trials/{TRIAL}/form"
DESIGN = f"{HOME}/design"
# A small form, so that looking at it takes no time.
SMALL: dict[str, Any] = {
    "code": "F7K2", "patches": "60", "kind": "spot", "needs_of": "spot", "ppi": "300", "width": "150 mm",
    "part": ["bare window"], "scene": [], "look": "1",
}  # fmt: skip


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ServedBench]:
    with served_bench(tmp_path_factory.mktemp("forms")) as bench:
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


def look_at(client: httpx.Client, **told: Any) -> httpx.Response:
    (fields,) = forms_of(client.get(DESIGN), DESIGN)
    return client.get(DESIGN, params=fields | SMALL | told)


def made(client: httpx.Client, **told: Any) -> str:
    """Look at a small form and make it; where it is shown."""
    (fields,) = forms_of(look_at(client, **told), HOME)
    answer = client.post(HOME, data=fields)
    assert answer.status_code == 303, answer.text
    return urlsplit(answer.headers["location"]).path


def a_picture(ppi: float | None = 100.0) -> bytes:
    content = BytesIO()
    told = {"dpi": (ppi, ppi)} if ppi else {}
    Image.new("RGB", (200, 120), (180, 90, 60)).save(content, "PNG", **told)
    return content.getvalue()


# ---------------------------------------------------------------- designing


def test_the_fields_begin_with_what_can_be_printed(client: httpx.Client, room: Room) -> None:
    assert "No form yet" in words(client.get(HOME))
    room.candidate("fenland", house=True)
    (fields,) = forms_of(client.get(DESIGN), DESIGN)
    assert (fields["width"], fields["ppi"], fields["kind"]) == ("422 mm", "360", "strip")
    assert len(fields["code"]) == 4
    with room.records.work("set", who="Ada") as work:
        work.change(Studio(id="studio", units="inch"))
    (fields,) = forms_of(client.get(DESIGN), DESIGN)
    assert fields["width"] == "16.61 in"


def test_a_look_shows_pages_what_they_tell_and_keeps_nothing(client: httpx.Client, room: Room) -> None:
    shown = look_at(client, colours="house red: #c8102e\n12 34 56\n50% 0 100 %")
    said = words(shown)
    assert "1 page, 60 patches" in said
    assert "3 your own critical colours" in said
    assert "Gamut volume" in said
    assert "simulated, 12 sheets of each" in said
    assert "not a measurement" in said
    (picture,) = tree(shown).xpath("//figure//img")
    drawn = client.get(picture.get("src"))
    assert drawn.headers["content-type"] == "image/png"
    with Image.open(BytesIO(drawn.content)) as image:
        assert image.width == 720
        # As wide as high as the size that is told beside it.
        assert image.height / image.width == pytest.approx(
            int(picture.get("height")) / int(picture.get("width")), abs=0.01
        )
    assert facts(room).forms == ()


def test_the_word_of_the_session_never_stands_in_an_address(client: httpx.Client) -> None:
    shown = look_at(client)
    assert "csrf" not in str(shown.url)
    (fields,) = forms_of(shown, DESIGN)
    assert "csrf" not in fields


@pytest.mark.parametrize(
    ("told", "why"),
    [
        ({"patches": "9"}, "too few"),
        ({"patches": "many"}, "not a number"),
        ({"width": ""}, "width of the page is missing"),
        ({"width": "3 elbows"}, "no length"),
        ({"colours": "1 2 3\nred"}, "line 2"),
        ({"colours": "1 2 300"}, "line 1"),
        ({"inks": "others", "ink_names": ""}, "inks are not named"),
        ({"patch_width": "4"}, "too small"),
        ({"code": "a b"}, "cannot name a form"),
        ({"question": "nothing"}, "not one of"),
        ({"part": ["roof"]}, "no part"),
        ({"own": ["0" * 64]}, "none of this trial's"),
        ({"own": ["../../etc/passwd"]}, "none of this trial's"),
    ],
)
def test_a_refused_look_keeps_what_was_typed(client: httpx.Client, told: dict[str, Any], why: str) -> None:
    shown = look_at(client, **told)
    assert shown.status_code == 422
    assert why in alert(shown)
    (fields,) = forms_of(shown, DESIGN)
    for name in set(told) & {"patches", "width", "colours", "patch_width", "code"}:
        assert fields[name].replace("\r\n", "\n").strip() == told[name]


def test_another_instrument_brings_its_usual_needs(client: httpx.Client) -> None:
    shown = look_at(client, kind="scanner")
    (note,) = classed(tree(shown), "said")
    assert "flatbed scanner were filled in" in note.text_content()
    (fields,) = forms_of(shown, DESIGN)
    assert (fields["patch_width"], fields["needs_of"]) == ("6", "scanner")
    # Typed needs of the same instrument stay.
    (fields,) = forms_of(look_at(client, patch_width="12"), DESIGN)
    assert fields["patch_width"] == "12"


def test_colours_are_understood_as_codes_percent_or_hex() -> None:
    assert colours_of("a: 1, 2/3\n#ff0080\n\n1 2 3", ("R", "G", "B")) == ((1, 2, 3), (255, 0, 128))
    assert colours_of("10% 0% 100 % 50%", ("C", "M", "Y", "K")) == ((26, 0, 255, 128),)


def test_a_code_that_was_taken_meanwhile_is_refused_with_the_fields(client: httpx.Client) -> None:
    (fields,) = forms_of(look_at(client), HOME)
    made(client)
    refused = client.post(HOME, data=fields)
    assert refused.status_code == 422
    assert "a form F7K2 already" in alert(refused)
    (kept,) = forms_of(refused, DESIGN)
    assert kept["patches"] == "60"


# ---------------------------------------------------------------- pictures of one's own


def hand_in(client: httpx.Client, content: bytes, name: str = "own.png") -> httpx.Response:
    (fields,) = forms_of(look_at(client), DESIGN)
    return client.post(f"{HOME}/pictures", data=fields, files={"files": (name, content, "image/png")})


def test_a_picture_is_handed_in_ticked_and_printed_at_its_size(client: httpx.Client) -> None:
    answer = hand_in(client, a_picture(None))
    assert answer.status_code == 303
    assert "csrf" not in answer.headers["location"]
    back = dict(parse_qsl(urlsplit(answer.headers["location"]).query))
    assert back["patches"] == "60"
    refused = client.get(answer.headers["location"].replace("?", "?look=1&").partition("#")[0])
    assert "pixels per inch" in alert(refused)
    shown = look_at(client, own=[back["own"]], **{f"ppi-{back['own'][:12]}": "100"})
    assert "Picture page P1" in words(shown)
    assert client.get(tree(shown).xpath("//figure//img/@src")[1]).status_code == 200


def test_what_is_no_picture_is_refused_and_not_kept(client: httpx.Client) -> None:
    answer = hand_in(client, b"no picture")
    assert answer.status_code == 422
    assert "own.png: this is no picture" in alert(answer)


def test_no_address_opens_a_file_of_another_trial(client: httpx.Client, room: Room) -> None:
    with room.records.work("began", who="Ada") as work:
        work.add(Trial(id="other", name="Another", begun=facts(room).trial.begun))
    kept = attach_file(room.records, [a_picture()], about="other", name="client.png", who="Ada").thing
    (fields,) = forms_of(look_at(client), DESIGN)
    asked = fields | SMALL | {"own": [kept.sha256], "page": "P1"}
    assert "none of this trial" in client.get(f"{DESIGN}/preview", params=asked).text
    assert "client.png" not in client.get(DESIGN, params=asked).text


# ---------------------------------------------------------------- a form that was made


def test_files_of_a_form_are_what_they_say(client: httpx.Client, room: Room) -> None:
    for one in ("fenland", "tidemill"):
        room.candidate(one, house=one == "fenland")
    write_plan(room.records, Plan(id="", trial_id=TRIAL, sheets_per_candidate=3, seed=7), who="Ada")
    draw_sheets(room.records, TRIAL, who="Ada")
    # A picture of the studio's own is drawn in no time, one made by rule in seconds.
    own = hand_in(client, a_picture()).headers["location"]
    home = made(client, own=[dict(parse_qsl(urlsplit(own).query))["own"]])
    (form,) = facts(room).forms
    sheet = facts(room).sheets[0].code
    answer = client.get(f"{home}/pages/D1/file", params={"bits": 16, "packing": "none", "sheet": sheet})
    assert f'filename="F7K2-D1-{sheet}.tif"' in answer.headers["content-disposition"]
    assert "content-length" in answer.headers
    with tifffile.TiffFile(BytesIO(answer.content)) as file:
        page = file.pages[0]
        pixels = page.asarray()
        assert pixels.dtype == np.uint16
        # 150 mm at 300 ppi.
        assert page.shape[1] == round(150 / 25.4 * 300)
        assert page.tags["XResolution"].value == (300, 1)
        assert "InterColorProfile" not in page.tags
    (code,) = find_codes(np.asarray(pixels[..., 1] // 257, dtype=np.uint8))
    assert code.text == f"F7K2/D1/{sheet}"
    profiled = client.get(f"{home}/pages/P1/file")
    with tifffile.TiffFile(BytesIO(profiled.content)) as file:
        assert "InterColorProfile" in file.pages[0].tags
    bare = client.get(f"{home}/pages/P1/file", params={"profile": "false"})
    with tifffile.TiffFile(BytesIO(bare.content)) as file:
        assert "InterColorProfile" not in file.pages[0].tags
    reference = client.get(f"{home}/reference")
    assert len(read_target(reference.content, file="reference").ids) == 60
    assert client.get(f"{home}/pages/D1/geometry").json()["form"] == "F7K2"
    assert client.get(f"{home}/pages/D1/file", params={"kind": "pdf"}).content.startswith(b"%PDF")
    with ZipFile(BytesIO(client.get(f"{home}/form.zip").content)) as box:
        assert {"F7K2-D1.tif", "F7K2-P1.tif", "F7K2-reference.txt"} <= set(box.namelist())
    assert form.reference_sha256


@pytest.mark.parametrize(
    ("address", "status"),
    [
        ("pages/D9/file", 404), ("pages/D1/file?sheet=Z9", 404), ("pages/D1/file?bits=12", 400),
        ("pages/D1/file?kind=jpeg", 422), ("pages/D9/preview", 404), ("pages/D1/preview?px=99999", 422),
    ],
)  # fmt: skip
def test_files_that_cannot_be_are_refused(client: httpx.Client, address: str, status: int) -> None:
    assert client.get(f"{made(client)}/{address}").status_code == status


def test_a_preview_is_kept_by_the_browser(client: httpx.Client) -> None:
    answer = client.get(f"{made(client)}/pages/D1/preview?px=100")
    assert "max-age" in answer.headers["cache-control"]
    assert answer.headers["content-type"] == "image/png"


def test_a_form_is_not_shown_otherwise_than_it_was_made(client: httpx.Client, room: Room) -> None:
    """As after an update whose pages are put together otherwise."""
    home = made(client)
    (form,) = facts(room).forms
    with room.records.work("changed", who="Ada", trial_id=TRIAL) as work:
        work.change(replace(form, wish=replace(form.wish, seed=2)))
    for part in ("preview", "file"):
        answer = client.get(f"{home}/pages/D1/{part}")
        assert answer.status_code == 400
        assert "would not be drawn as it was made" in words(answer)


def test_set_aside_brought_back_and_taken_away(client: httpx.Client, room: Room) -> None:
    home = made(client)
    assert "100 %" in words(client.get(home))
    assert "steel rule" not in words(client.get(home))  # it has no length marks
    (fields,) = forms_of(client.get(home), f"{home}/set-aside")
    refused = client.post(f"{home}/set-aside", data=fields)
    assert (refused.status_code, "why is it set aside" in alert(refused)) == (422, True)
    shown = client.post(f"{home}/set-aside", data=fields | {"why": "too short"}, follow_redirects=True)
    assert "too short Print nothing more from it" in words(shown)
    (back,) = forms_of(client.get(home), f"{home}/bring-back")
    client.post(f"{home}/bring-back", data=back)
    assert facts(room).forms[0].set_aside_at is None
    (gone,) = forms_of(client.get(home), f"{home}/remove")
    undo = client.post(f"{home}/remove", data=gone, follow_redirects=True)
    assert facts(room).forms == ()
    (fields,) = [form for form in tree(undo).forms if "/undo" in form.action]
    client.post(fields.action, data=dict(fields.form_values()))
    assert [one.code for one in facts(room).forms] == ["F7K2"]


def test_a_variant_begins_with_the_fields_of_the_form(client: httpx.Client, room: Room) -> None:
    made(client, colours="1 2 3", length="300 mm")
    (form,) = facts(room).forms
    (fields,) = forms_of(client.get(DESIGN, params={"like": form.id}), DESIGN)
    assert fields["code"] != "F7K2"
    shown = client.get(DESIGN, params=fields | {"part": ["bare window"], "look": "1"})
    (kept,) = forms_of(shown, HOME)
    client.post(HOME, data=kept)
    first, second = facts(room).forms
    assert second.wish == FormWish(**{
        name: getattr(first.wish, name) for name in FormWish.__slots__ if name != "code"
    }, code=second.code)  # fmt: skip


def test_pages_of_the_trial_point_to_the_form(client: httpx.Client, room: Room) -> None:
    for page in ("", "/plan", "/print"):
        assert "No test form yet: design one" in words(client.get(f"/trials/{TRIAL}{page}"))
    for one in ("fenland", "tidemill"):
        room.candidate(one, house=one == "fenland")
    write_plan(room.records, Plan(id="", trial_id=TRIAL, sheets_per_candidate=3, seed=7), who="Ada")
    draw_sheets(room.records, TRIAL, who="Ada")
    made(client)
    for page in ("", "/plan"):
        assert "The test form: F7K2, 1 page" in words(client.get(f"/trials/{TRIAL}{page}"))
    first = next(sheet.code for sheet in facts(room).sheets if sheet.place == 1)
    assert f"F7K2-D1-{first}.tif Device page: print without colour management" in words(
        client.get(f"/trials/{TRIAL}/print")
    )


def test_the_bench_sees_and_downloads_but_does_not_design(
    client: httpx.Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    home = made(client)
    monkeypatch.setattr(doorkeeper, "OWNER_HERE", Person("Bo", "bench"))
    shown = client.get(home)
    assert shown.status_code == 200
    assert tree(shown).xpath("//a[contains(@href, '/design')]") == []
    assert forms_of(shown, f"{home}/set-aside") == []
    assert client.get(f"{home}/pages/D1/file").status_code == 200
    assert client.get(DESIGN).status_code == 403


# ---------------------------------------------------------------- where they are drawn


def test_only_so_many_are_drawn_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(drawing_table, "MOST_WAITING", 0)
    table = DrawingTable()
    inside, go_on = threading.Semaphore(0), threading.Event()

    def write(into: Any) -> None:
        inside.release()
        assert go_on.wait(30)
        raise BadSetting("it cannot be drawn.")

    def draw() -> None:
        with pytest.raises(BadSetting):
            table.file(write, name="a", media_type="image/tiff")

    busy = [threading.Thread(target=draw) for _ in range(drawing_table.AT_ONCE)]
    for one in busy:
        one.start()
    for _ in busy:
        assert inside.acquire(timeout=30)
    with pytest.raises(HTTPException, match="Try again"):
        table.file(write, name="a", media_type="image/tiff")
    go_on.set()
    for one in busy:
        one.join(30)
    draw()  # there is a seat again


def test_a_preview_is_drawn_once_and_of_a_few_sizes() -> None:
    table, asked = DrawingTable(), []
    wish = FormWish(code="F7K2")

    def draw(wide: int) -> bytes:
        asked.append(wide)
        return b"drawn"

    for _ in range(3):
        table.preview(wish, "D1", 720, with_own=True, draw=draw)
    assert asked == [720]
    small = FormWish(code="F7K2", patches=60, width_mm=150.0, parts=(), scenes=(), length_mm=1500.0)
    # Ten times as high as wide: never more pixels than a screen can hold.
    assert preview_width(small, "D1", 4000) ** 2 * 10 <= drawing_table.MOST_PIXELS
    assert preview_width(small, "D1", 1) == drawing_table.PREVIEW_WIDTHS[0]


def test_a_search_for_its_code_leads_to_it(client: httpx.Client) -> None:
    home = made(client, code="QX42")
    links = tree(client.get("/search", params={"q": "qx42"})).xpath("//main//section//li//a/@href")
    assert home.partition("?")[0] in links
