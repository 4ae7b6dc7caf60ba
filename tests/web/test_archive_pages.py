"""The pages of archives: out for this studio or for others, in whole or not at all."""

from __future__ import annotations

import io
import zipfile
from datetime import date

import pytest

from conftest import Workbench
from laydown.records.ledger import Records
from laydown.trials.trial import Trial
from laydown.usecases.trial.remove_trial import remove_trial

CLIENT = "a client (invented)"


@pytest.fixture
def trial(bench: Workbench) -> Trial:
    with bench.records.work("began", who="the tests") as work:
        return work.add(Trial(id="spring", name="Spring: cottons", client=CLIENT, begun=date(2026, 3, 1)))


def _elsewhere(records: Records, trial: Trial) -> None:
    """Leave nothing of the trial here, as in another studio."""
    with records.work("took away", who="the tests") as work:
        work.remove(Trial, trial.id)


def test_out_and_in_again(bench: Workbench, trial: Trial) -> None:
    with bench.client() as client:
        assert "Save the archive" in client.get("/trials/spring/archive").text
        saved = client.get("/trials/spring/archive.zip")
        assert saved.headers["content-disposition"] == 'attachment; filename="spring-cottons.laydown.zip"'
        _elsewhere(bench.records, trial)
        answer = client.post("/archives/take-in", files={"archive": ("s.zip", saved.content)})
        assert answer.status_code == 303
        assert answer.headers["location"].startswith("/trials/spring?done=")
    with bench.records.look() as look:
        assert look.get(Trial, "spring") == trial


def test_for_others_without_the_client(bench: Workbench, trial: Trial) -> None:
    with bench.client() as client:
        own = client.get("/trials/spring/archive.zip").content
        others = client.get("/trials/spring/archive.zip?sharing=true").content
    for content, there in ((own, True), (others, False)):
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            told = b"".join(archive.read(name) for name in archive.namelist())
        assert (CLIENT.encode() in told) is there


def test_an_altered_archive_is_refused_by_name(bench: Workbench, trial: Trial) -> None:
    with bench.client() as client:
        sound = client.get("/trials/spring/archive.zip").content
        _elsewhere(bench.records, trial)
        altered = bytearray(sound)
        altered[sound.index(b"trial.json") + 40] ^= 1
        answer = client.post("/archives/take-in", files={"archive": ("spring.zip", bytes(altered))})
    assert answer.status_code == 422
    assert "spring.zip" in answer.text
    assert "trial.json" in answer.text
    with bench.records.look() as look:
        assert look.count(Trial) == 0


@pytest.mark.parametrize("content", [b"", b"a letter"])
def test_what_is_no_archive_is_said(bench: Workbench, content: bytes) -> None:
    with bench.client() as client:
        answer = client.post("/archives/take-in", files={"archive": ("letter.txt", content)})
        assert answer.status_code == 422
        assert "letter.txt" in answer.text
        assert client.post("/archives/take-in", files={}).status_code == 422


def test_what_is_here_already_is_said(bench: Workbench, trial: Trial) -> None:
    with bench.client() as client:
        saved = client.get("/trials/spring/archive.zip").content
        remove_trial(bench.records, trial.id, who="the tests")
        answer = client.post("/archives/take-in", files={"archive": ("s.zip", saved)})
    assert answer.status_code == 422
    assert "in the trash" in answer.text


def test_no_archive_of_what_is_not_there(bench: Workbench) -> None:
    with bench.client() as client:
        for address in ("/trials/nothing/archive", "/trials/nothing/archive.zip"):
            assert client.get(address).status_code == 404
