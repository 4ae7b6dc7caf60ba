"""From files to a comparison: received, read at once, arranged, compared; or refused with nothing kept."""

from __future__ import annotations

import json
import re
import time
from typing import Any

import httpx
import lxml.html
import pytest

from conftest import a_workbench
from laydown.kernel.errors import RefusedInput
from laydown.records.measurement_files import MeasurementFile
from laydown.records.upload_record import Limits
from laydown.usecases.check_file import CheckedFile, check_file
from laydown.usecases.comparison import Comparison
from laydown.web.passed_over import is_passed_over

# A two-patch CGATS table: enough to be read, whatever it means.
READABLE = (
    b"CGATS.17\nNUMBER_OF_FIELDS 7\nBEGIN_DATA_FORMAT\nSAMPLE_ID RGB_R RGB_G RGB_B LAB_L LAB_A LAB_B\n"
    b"END_DATA_FORMAT\nNUMBER_OF_SETS 2\nBEGIN_DATA\n1 255 255 255 96 0 2\n2 0 0 0 16 0 1\nEND_DATA\n"
)
FOLDER = ("Trial/Rag/sheet1.txt", "Trial/Rag/sheet2.txt", "Trial/Baryta/sheet1.txt")


def upload(client: httpx.Client, *paths: str, content: bytes = READABLE) -> str:
    draft = client.post("/drafts").json()["id"]
    for path in paths:
        answer = client.put(f"/drafts/{draft}/files", params={"path": path}, content=content)
        assert answer.status_code == 201, answer.text
    return str(draft)


def form_of(client: httpx.Client, draft: str) -> dict[str, str]:
    """What a browser would send: every field of the arranging form as it stands."""
    page = lxml.html.fromstring(client.get(f"/uploads/{draft}/arrange").text)
    form = next(f for f in page.forms if "arrange" in f.get("action", "") and f.get("class") == "arrange")
    return {name: value for name, value in form.form_values() if name != "do"}


def wait(client: httpx.Client, draft: str) -> str:
    for _ in range(400):
        now = client.get(f"/drafts/{draft}/progress").json()
        if now["next"]:
            return str(now["next"])
        time.sleep(0.02)
    raise AssertionError("it goes on working")


def test_each_file_is_read_at_once(client: httpx.Client) -> None:
    draft = client.post("/drafts").json()["id"]
    told = client.put(f"/drafts/{draft}/files", params={"path": "Rag/1.txt"}, content=READABLE).json()
    assert told["state"] in {"usable", "doubtful"}
    assert told["said"].startswith("2 patches")
    told = client.put(f"/drafts/{draft}/files", params={"path": "Rag/2.txt"}, content=b"dear diary").json()
    assert told["state"] == "refused"
    assert "Rag/2.txt" in told["said"]
    told = client.put(f"/drafts/{draft}/files", params={"path": "Rag/photo.JPG"}, content=b"\xff\xd8").json()
    assert told["state"] == "passed over"


def test_a_folder_becomes_media_and_a_kept_comparison(bench: Any, client: httpx.Client) -> None:
    draft = upload(client, *FOLDER)
    form = form_of(client, draft)
    names = {k: v for k, v in form.items() if k.startswith("name-")}
    assert sorted(names.values()) == ["Baryta", "Rag"]
    rag = next(k for k, v in names.items() if v == "Rag").removeprefix("name-")
    form |= {"title": "Spring", "question": "Which?", "house": rag, "condition": "M1", "do": "compare"}
    form[f"name-{rag}"] = "Rag 308"
    answer = client.post(f"/uploads/{draft}/arrange", data=form)
    assert answer.headers["Location"] == f"/drafts/{draft}/working"
    assert wait(client, draft) == f"/comparisons/{draft}"
    files, options = bench.counter.asked[0]
    assert [(f.candidate, f.name) for f in files] == [
        ("Baryta", "Baryta/sheet1.txt"),
        ("Rag 308", "Rag 308/sheet1.txt"),
        ("Rag 308", "Rag 308/sheet2.txt"),
    ]
    assert (options.title, options.trial.question, options.house, options.condition) == (
        "Spring", "Which?", "Rag 308", "M1",
    )  # fmt: skip
    assert [u.id for u in bench.store.list("comparisons")] == [draft]
    assert bench.store.list("drafts") == ()
    assert "Spring" in client.get("/comparisons").text
    assert "The answer" in bench.page(f"/comparisons/{draft}")
    assert len(bench.counter.asked) == 1  # kept from the draft, not counted anew
    kept = bench.store.get(draft)
    assert all(bench.store.path_of(kept, file).read_bytes() == READABLE for file in kept.files)


def test_whichever_process_is_asked_the_work_goes_on(
    bench: Any, client: httpx.Client, comparison: Comparison
) -> None:
    """On the studio's network several processes serve; the one that was not asked for the work joins in."""
    draft = upload(client, *FOLDER)
    with a_workbench(bench.store.folder, comparison) as second, second.client() as other:
        workbenches = ((bench, client), (second, other))
        for one, _ in workbenches:
            one.counter.may_go_on.clear()
        client.post(f"/uploads/{draft}/arrange", data={**form_of(client, draft), "do": "compare"})
        for _, asked in workbenches:
            assert asked.get(f"/drafts/{draft}/progress").json()["next"] == ""
            assert "data-progress=" in asked.get(f"/drafts/{draft}/working").text
        for one, asked in workbenches:
            one.counter.may_go_on.set()
            assert wait(asked, draft) == f"/comparisons/{draft}"
            assert "The answer" in one.page(f"/comparisons/{draft}")


def test_files_can_be_regrouped_and_left_out(bench: Any, client: httpx.Client) -> None:
    draft = upload(client, "a.txt", "b.txt", "c.txt")
    form = form_of(client, draft)
    stored = {f.path: f.stored for f in bench.store.get(draft).files}
    form[f"group-{stored['b.txt']}"] = form[f"group-{stored['a.txt']}"]
    del form[f"use-{stored['c.txt']}"]
    client.post(f"/uploads/{draft}/arrange", data={**form, "do": "save"})
    form = form_of(client, draft)
    assert f"use-{stored['c.txt']}" not in form
    client.post(f"/uploads/{draft}/arrange", data={**form, "do": "compare"})
    wait(client, draft)
    assert [(f.candidate, f.name) for f in bench.counter.asked[0][0]] == [("a", "a/a.txt"), ("a", "a/b.txt")]
    form = form_of(client, draft)
    form[f"group-{stored['b.txt']}"] = "own"
    client.post(f"/uploads/{draft}/arrange", data={**form, "do": "compare"})
    bench.page(f"/comparisons/{draft}")
    assert [f.candidate for f in bench.counter.asked[-1][0]] == ["a", "b"]


def test_trial_and_margins_files_are_used(bench: Any, client: httpx.Client) -> None:
    draft = upload(client, *FOLDER)
    trial = {"title": "From the file", "house": "Rag", "candidates": {"Rag": {"finish": "coated"}}}
    margins = {"dmax_visual": {"margin": 0.02}}
    for name, content in (("trial.json", trial), ("margins.json", margins)):
        client.put(f"/drafts/{draft}/files", params={"path": f"Trial/{name}"}, content=json.dumps(content))
    form = form_of(client, draft)
    assert form["title"] == "From the file"
    client.post(f"/uploads/{draft}/arrange", data={**form, "do": "compare"})
    wait(client, draft)
    _, options = bench.counter.asked[0]
    assert options.house == "Rag"
    assert options.trial.candidates["Rag"].finish == "coated"
    assert options.margins["dmax_visual"].margin is not None
    assert float(options.margins["dmax_visual"].margin) == 0.02


def test_a_broken_settings_file_is_said_and_nothing_is_compared(bench: Any, client: httpx.Client) -> None:
    draft = upload(client, *FOLDER)
    client.put(
        f"/drafts/{draft}/files", params={"path": "Trial/margins.json"}, content=b'{\n "dmax_visual": \n}'
    )
    answer = client.post(f"/uploads/{draft}/arrange", data={**form_of(client, draft), "do": "compare"})
    assert answer.status_code == 422
    assert "Trial/margins.json, line 3" in answer.text
    assert bench.counter.asked == []


def test_a_refused_comparison_stays_a_draft_and_says_why(bench: Any, client: httpx.Client) -> None:
    bench.counter.refusal = RefusedInput(
        "the charts differ.", todo="Print one chart.", file="Rag/sheet1.txt", line=9
    )
    draft = upload(client, *FOLDER)
    client.post(f"/uploads/{draft}/arrange", data={**form_of(client, draft), "do": "compare"})
    assert wait(client, draft) == f"/uploads/{draft}/arrange#trouble"
    text = client.get(f"/uploads/{draft}/arrange").text
    assert "Rag/sheet1.txt, line 9: the charts differ. Print one chart." in text
    assert bench.store.list("comparisons") == ()
    bench.counter.refusal = None
    client.post(f"/uploads/{draft}/arrange", data={**form_of(client, draft), "do": "compare"})
    assert wait(client, draft) == f"/comparisons/{draft}"


def test_rubbish_cannot_be_compared(client: httpx.Client) -> None:
    draft = upload(client, "a.txt", "b.txt", content=b"\x00\x01 rubbish")
    text = client.get(f"/uploads/{draft}/arrange").text
    assert "No file here can be used." in text
    assert 'value="compare"' not in text
    answer = client.post(f"/uploads/{draft}/arrange", data={**form_of(client, draft), "do": "compare"})
    assert answer.status_code == 422
    assert "no measurement file is used" in answer.text


def test_without_a_script_one_form_does_it(client: httpx.Client) -> None:
    files = [("files", (path, READABLE)) for path in (*FOLDER, "Trial/notes.pdf")]
    files.append(("files", ("", b"")))  # the other, empty file input
    answer = client.post("/drafts", files=files)
    assert answer.status_code == 303
    page = client.get(answer.headers["Location"]).text
    assert re.findall(r'name="name-\d+" value="(\w+)"', page) == ["Baryta", "Rag"]
    again = client.post(answer.headers["Location"].replace("uploads", "drafts").replace("arrange", "files"),
                        files=[("files", ("Trial/Satin/1.txt", READABLE))])  # fmt: skip
    assert again.status_code == 303
    assert 'value="Satin"' in client.get(answer.headers["Location"]).text


def test_an_empty_form_starts_nothing(bench: Any, client: httpx.Client) -> None:
    answer = client.post("/drafts", files=[("files", ("", b""))])
    assert answer.status_code == 400
    assert "no measurement file was chosen" in answer.text
    assert bench.store.list("drafts") == ()


def listed(client: httpx.Client, draft: str, section: str) -> list[str]:
    page = lxml.html.fromstring(client.get(f"/uploads/{draft}/arrange").text)
    return [" ".join(line.text_content().split()) for line in page.xpath(f"//ul[@id='{section}']/li")]


PASSED_OVER = {
    "trial.zip": "an archive; unpack it first",
    "v_edge.tif": "a picture",
    ".DS_Store": "a hidden file",
    "notes.md": "a note",
    "report.pdf": "a document",
}


@pytest.mark.parametrize("with_script", [True, False])
def test_what_is_passed_over_is_listed_with_the_reason(
    bench: Any, client: httpx.Client, with_script: bool
) -> None:
    paths = [*PASSED_OVER, "Rag.txt"]
    if with_script:
        draft = client.post("/drafts").json()["id"]
        for path in paths:
            client.put(f"/drafts/{draft}/files", params={"path": path}, content=READABLE)
    else:
        answer = client.post("/drafts", files=[("files", (path, READABLE)) for path in paths])
        draft = answer.headers["Location"].split("/")[2]
    lines = listed(client, draft, "passed-over")
    assert len(lines) == len(PASSED_OVER)
    for path, why in PASSED_OVER.items():
        assert any(line.startswith(f"{path} {why}") for line in lines), path
    kept = bench.store.get(draft)
    assert {f.path: f.size for f in kept.files} == {**dict.fromkeys(PASSED_OVER, 0), "Rag.txt": len(READABLE)}
    form = form_of(client, draft)
    assert [v for k, v in form.items() if k.startswith("name-")] == ["Rag"]
    client.post(f"/uploads/{draft}/arrange", data={**form, "do": "compare"})
    wait(client, draft)
    assert [f.candidate for f in bench.counter.asked[0][0]] == ["Rag"]


def test_only_an_archive_says_so(client: httpx.Client) -> None:
    draft = client.post("/drafts").json()["id"]
    client.put(f"/drafts/{draft}/files", params={"path": "trial.zip"}, content=b"PK")
    text = client.get(f"/uploads/{draft}/arrange").text
    assert "No file here can be used." in text
    assert listed(client, draft, "passed-over") == [
        "trial.zip an archive; unpack it first and add what is in it"
    ]
    assert "no measurement file" in client.get("/comparisons").text


def test_files_that_cannot_be_used_are_no_media(bench: Any, client: httpx.Client) -> None:
    draft = upload(client, "Rag.txt")
    for path, content in (("empty.txt", b""), ("table.xlsx", b"PK\x03\x04"), ("diary.txt", b"it rained")):
        client.put(f"/drafts/{draft}/files", params={"path": path}, content=content)
    lines = listed(client, draft, "refused")
    assert [line.split()[0] for line in lines] == ["diary.txt", "empty.txt", "table.xlsx"]
    page = lxml.html.fromstring(client.get(f"/uploads/{draft}/arrange").text)
    assert page.xpath("//input[starts-with(@name, 'name-')]/@value") == ["Rag"]
    assert page.xpath("//select[starts-with(@name, 'group-')]/option/text()") == [
        "Rag",
        "a medium of its own",
    ]
    assert len(page.xpath("//input[@name='house']")) == 2  # none, and the one medium
    client.post(f"/uploads/{draft}/arrange", data={**form_of(client, draft), "do": "compare"})
    wait(client, draft)
    assert [f.candidate for f in bench.counter.asked[0][0]] == ["Rag"]
    assert len(listed(client, draft, "refused")) == 3  # still said on the kept comparison's form


def test_a_file_nobody_foresaw_spoils_nothing_else(
    client: httpx.Client, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def check(file: MeasurementFile) -> CheckedFile:
        if "hostile" in file.name:
            raise ZeroDivisionError
        return check_file(file)

    monkeypatch.setattr("laydown.web.desk.check_file", check)
    draft = upload(client, "Rag.txt")
    told = client.put(f"/drafts/{draft}/files", params={"path": "hostile.txt"}, content=b"boo").json()
    assert told["state"] == "refused"
    assert "could not be checked" in listed(client, draft, "refused")[0]
    assert [v for k, v in form_of(client, draft).items() if k.startswith("name-")] == ["Rag"]
    assert "ZeroDivisionError" in caplog.text  # the window it was started from says more


# Each made the parser fail in a way it does not expect, or holds what a page cannot show.
@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("trial.json", b'{"candidates": {"Rag": {"finish": []}}}'),
        ("margins.json", b'{"dmax_visual": {"margin": 1' + b"0" * 400 + b"}}"),
        ("margins.json", b'{"dmax_visual": {"prefer": []}}'),
        ("trial.json", rb'{"title": "half a \ud83d character"}'),
    ],
)
def test_no_settings_file_breaks_the_page(client: httpx.Client, name: str, content: bytes) -> None:
    draft = upload(client, "Rag.txt")
    client.put(f"/drafts/{draft}/files", params={"path": name}, content=content)
    answer = client.get(f"/uploads/{draft}/arrange")
    assert answer.status_code == 200
    assert name in answer.text
    assert client.post(f"/uploads/{draft}/arrange", data={"do": "compare"}).status_code == 422


TRIAL = json.dumps({"title": "Spring", "question": "Which?", "house": "Rag"}).encode()


def test_a_trial_file_fills_the_form_and_may_be_overruled(bench: Any, client: httpx.Client) -> None:
    draft = upload(client, *FOLDER)
    client.put(f"/drafts/{draft}/files", params={"path": "Trial/trial.json"}, content=TRIAL)
    form = form_of(client, draft)
    rag = next(k for k, v in form.items() if k.startswith("name-") and v == "Rag").removeprefix("name-")
    assert (form["title"], form["question"], form["house"]) == ("Spring", "Which?", rag)
    assert "house medium “Rag”" in client.get(f"/uploads/{draft}/arrange").text
    client.post(f"/uploads/{draft}/arrange", data={**form, "house": "", "do": "compare"})
    wait(client, draft)
    options = bench.counter.asked[0][1]
    assert (options.house, options.trial.house) == ("", "")  # "no house" was chosen, and is kept
    page = lxml.html.fromstring(client.get(f"/uploads/{draft}/arrange").text)
    assert page.xpath("//input[@name='house'][@checked]/@id") == ["house-none"]


def test_a_house_medium_that_is_not_there_is_said(client: httpx.Client) -> None:
    draft = upload(client, "Baryta.txt")
    client.put(f"/drafts/{draft}/files", params={"path": "trial.json"}, content=TRIAL)
    assert "No medium here has the name of that house medium" in client.get(f"/uploads/{draft}/arrange").text
    form = form_of(client, draft)
    assert client.post(f"/uploads/{draft}/arrange", data={**form, "do": "compare"}).status_code == 303
    assert wait(client, draft) == f"/comparisons/{draft}"


def test_limits_are_said_in_words(bench: Any, client: httpx.Client) -> None:
    bench.store.limits = Limits(file_bytes=2**20, total_bytes=2**20, files=2)
    draft = client.post("/drafts").json()["id"]
    answer = client.put(f"/drafts/{draft}/files", params={"path": "big.txt"}, content=bytes(2**20 + 1),
                        headers={"Accept": "application/json"})  # fmt: skip
    assert answer.status_code == 413
    assert answer.json()["problem"].startswith("big.txt: the file is larger than 1 MB")
    answer = client.post("/drafts", files=[("files", ("a.txt", bytes(3 * 2**20)))])
    assert answer.status_code == 413
    assert bench.store.get(draft).files == ()


def test_paths_cannot_leave_the_folder(bench: Any, client: httpx.Client) -> None:
    draft = upload(client, "../../../evil.txt", "C:\\Windows\\win.txt", "Rag/CON.txt")
    inside = bench.store.folder / "drafts" / draft / "files"
    assert len(list(inside.iterdir())) == 3
    assert not list(bench.store.folder.parent.glob("evil*"))


def test_delete_asks_first_and_can_be_undone(bench: Any, client: httpx.Client) -> None:
    draft = upload(client, *FOLDER)
    bench.store.keep(draft)
    assert "Delete “" in client.get(f"/uploads/{draft}/delete").text
    assert bench.store.list("comparisons")
    assert client.post(f"/uploads/{draft}/delete").headers["Location"] == "/comparisons?said=deleted"
    assert client.get(f"/comparisons/{draft}").status_code == 404
    assert "In the trash" in client.get("/comparisons?said=deleted").text
    client.post(f"/uploads/{draft}/restore")
    assert [u.id for u in bench.store.list("comparisons")] == [draft]


def test_the_demo_cannot_be_deleted_or_arranged(client: httpx.Client) -> None:
    for address in ("/uploads/demo/delete", "/uploads/demo/arrange"):
        assert client.get(address).status_code == 404
        assert client.post(address).status_code == 404


def test_a_medium_without_a_name_is_refused(bench: Any, client: httpx.Client) -> None:
    draft = upload(client, *FOLDER)
    form = form_of(client, draft)
    answer = client.post(f"/uploads/{draft}/arrange", data={**form, "name-0": "  ", "do": "compare"})
    assert answer.status_code == 422
    assert "a medium has no name" in answer.text
    assert bench.counter.asked == []


@pytest.mark.parametrize(
    ("path", "over"),
    [("a.txt", False), ("x/.DS_Store", True), ("__MACOSX/a.txt", True), ("a.PDF", True), ("../a.cxf", False)],
)
def test_what_is_plainly_no_measurement(path: str, over: bool) -> None:
    assert is_passed_over(path) is over
