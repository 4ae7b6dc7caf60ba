"""Archives as somebody else may make them: travelled twice, made to harm, or of other things than a trial."""

from __future__ import annotations

import io
import json
import shutil
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from laydown.kernel.errors import LaydownError, TooLarge, UnreadableFile
from laydown.records.engine import sqlite_url
from laydown.records.ledger import Records
from laydown.records.opening import open_records
from laydown.records.sealed_zip import open_sealed_zip, write_sealed_zip
from laydown.records.verifying import verify
from laydown.trials.people import Account
from laydown.trials.recipe import Recipe
from laydown.trials.remarks import Attachment, Note
from laydown.trials.stock import Lot, Medium, Roll
from laydown.trials.studio import Studio
from laydown.trials.trial import Candidate, Trial
from laydown.usecases.archives import import_trial as importing
from laydown.usecases.archives.export_trial import ARCHIVE, export_trial
from laydown.usecases.archives.import_trial import import_trial
from laydown.usecases.trial.attach_file import attach_file
from laydown.usecases.trial.begin_trial import begin_trial
from laydown.usecases.trial.keep_note import keep_note
from laydown.usecases.trial.set_recipe import set_recipe
from ticking_clock import Clock

CLIENT = "a client of the studio (invented)"
PRICE = 4321.25
Harm = Callable[[dict[str, Any]], object]


@pytest.fixture
def trial_id(records: Records) -> str:
    trial = begin_trial(records, "Spring", who="Ada", client=CLIENT).thing
    with records.work("set up", who="Ada", trial_id=trial.id) as work:
        work.add(Medium(id="medium", name="Fenland Rag"))
        work.add(Lot(id="lot", medium_id="medium", code="L 17"))
        roll = work.add(Roll(id="roll", lot_id="lot", form="roll", price=PRICE, currency="EUR"))
        work.add(
            Candidate(id="rag", trial_id=trial.id, medium_id="medium", name="Fenland Rag", roll_id=roll.id)
        )
    keep_note(records, trial.id, "A speck, top left.", who="Ada")
    attach_file(records, [b"a chart, for the tests"], about=trial.id, name="chart.txt", who="Ada")
    return trial.id


@pytest.fixture
def places(tmp_path: Path, clock: Clock, empty_sqlite: Path) -> Iterator[Callable[[], Records]]:
    """Empty records of other studios, as many as are asked for."""
    opened: list[Records] = []

    def another() -> Records:
        folder = tmp_path / f"place {len(opened)}"
        folder.mkdir()
        shutil.copy(empty_sqlite, folder / "records.sqlite")
        records = open_records(sqlite_url(folder / "records.sqlite"), str(folder / "files"), clock=clock)
        opened.append(records)
        return records

    yield another
    for records in opened:
        records.close()


def _out(records: Records, trial_id: str, *, for_others: bool = False) -> io.BytesIO:
    target = io.BytesIO()
    export_trial(records, trial_id, target, for_others=for_others)
    return target


def _altered(sound: io.BytesIO, harm: Harm, **about: object) -> io.BytesIO:
    """The archive of somebody who altered trial.json and sealed it anew."""
    with open_sealed_zip(sound, file="a.zip", wanted=ARCHIVE) as box:
        members = {name: box.read(name) for name in box.names()}
        told = json.loads(members["trial.json"])
        harm(told)
        members["trial.json"] = json.dumps(told).encode()
        target = io.BytesIO()
        write_sealed_zip(target, members.items(), about={**box.about, **about})
    return target


def _with_trial_json(sound: io.BytesIO, content: bytes) -> io.BytesIO:
    with open_sealed_zip(sound, file="a.zip", wanted=ARCHIVE) as box:
        members = {name: box.read(name) for name in box.names()} | {"trial.json": content}
        target = io.BytesIO()
        write_sealed_zip(target, members.items(), about=box.about)
    return target


def test_a_trial_travels_on_with_every_journal_it_had(
    records: Records, places: Callable[[], Records], trial_id: str
) -> None:
    second, third = places(), places()
    import_trial(second, _out(records, trial_id), file="a.zip", who="Bo")
    import_trial(third, _out(second, trial_id), file="b.zip", who="Cy")
    with third.look() as look:
        names = [one.name for one in look.find(Attachment, trial_id=trial_id)]
    assert sorted(names) == ["chart.txt", "journal-before.json", "journal-before.json"]
    assert verify(third).troubles == ()


def test_for_others_the_journals_from_before_stay_behind(
    records: Records, places: Callable[[], Records], trial_id: str
) -> None:
    """They hold what prices and clients were, as the journal of here does."""
    second = places()
    import_trial(second, _out(records, trial_id), file="a.zip", who="Bo")
    with zipfile.ZipFile(_out(second, trial_id, for_others=True)) as archive:
        content = b"".join(archive.read(name) for name in archive.namelist())
    assert str(PRICE).encode() not in content
    assert CLIENT.encode() not in content
    assert b"chart, for the tests" in content
    with zipfile.ZipFile(_out(second, trial_id, for_others=True)) as archive:
        (roll,) = json.loads(archive.read("trial.json"))["things"]["Roll"]
    assert (roll["price"], roll["currency"]) == (None, "")


def test_what_is_shared_and_here_as_it_comes_is_not_told_of(
    records: Records, places: Callable[[], Records], trial_id: str
) -> None:
    here = places()
    with here.work("set up", who="Bo") as work, records.look() as look:
        work.add(look.get(Medium, "medium"))
        work.add(replace(look.get(Lot, "lot"), code="as we call it"))
    acted = import_trial(here, _out(records, trial_id), file="a.zip", who="Bo")
    assert acted.thing.kept_ours == ("lot as we call it",)


def test_a_checksum_that_was_only_stated_keeps_no_trial_from_going_out(
    records: Records, places: Callable[[], Records], trial_id: str
) -> None:
    recipe = Recipe(profile_name="maker.icc", profile_sha256="ab" * 32)
    set_recipe(records, "rag", recipe, who="Ada")
    second = places()
    import_trial(second, _out(records, trial_id), file="a.zip", who="Bo")
    with second.look() as look:
        assert look.get(Candidate, "rag").recipe.profile_sha256 == "ab" * 32
    assert verify(second).troubles == ()


@pytest.mark.parametrize(
    "harm",
    [
        lambda told: told["things"].update(
            Account=[{"id": "0", "name": "Ada", "role": "owner", "made_at": "2026-01-01T00:00:00Z"}]
        ),
        lambda told: told["things"].update(Studio=[{"id": "studio", "name": "Another"}]),
    ],
    ids=["an account", "settings"],
)
def test_no_archive_brings_accounts_or_settings(
    records: Records, places: Callable[[], Records], trial_id: str, harm: Harm
) -> None:
    here = places()
    with pytest.raises(UnreadableFile, match="not known here"):
        import_trial(here, _altered(_out(records, trial_id), harm), file="a.zip", who="Bo")
    with here.look() as look:
        assert look.count(Account) == look.count(Studio) == look.count(Trial) == 0


@pytest.mark.parametrize(
    "harm",
    [
        lambda told: told["things"].update(Note=5),
        lambda told: told["things"].update(Note="abc"),
        lambda told: told["things"].update(Note=None),
        lambda told: told["things"].update(Note={"a": 1}),
        lambda told: told["things"].update(Note=[5]),
        lambda told: told["things"].update(Note=[None]),
        lambda told: told["things"].update(Note=[["a", "b"]]),
        lambda told: told["things"].update(Note=["abc"]),
        lambda told: told.update(things=[]),
        lambda told: told.update(files=[]),
        lambda told: told.clear(),
        # Of this trial everything must be, and every file must come along, as large as it is said to be.
        lambda told: told["things"]["Note"][0].update(trial_id=None),
        lambda told: told["things"]["Note"][0].update(id="../a/note"),
        lambda told: told["things"]["Note"][0].update(id=""),
        lambda told: told["things"]["Attachment"][0].update(size=5),
        lambda told: told["things"]["Attachment"][0].update(sha256="0" * 64),
        lambda told: told["things"]["Attachment"][0].update(sha256="../../../../etc/passwd"),
        lambda told: told.update(files={}),
        lambda told: told["things"].update(
            Retrace=[
                {
                    "id": "r", "trial_id": told["things"]["Trial"][0]["id"], "sheet_id": "of another trial",
                    "title": "specks", "begun_at": "2026-03-01T00:00:00Z",
                }
            ]
        ),
    ],
)  # fmt: skip
def test_what_is_no_trial_is_refused_in_a_sentence(
    records: Records, places: Callable[[], Records], trial_id: str, harm: Harm
) -> None:
    here = places()
    with pytest.raises(UnreadableFile) as refused:
        import_trial(here, _altered(_out(records, trial_id), harm), file="a.zip", who="Bo")
    assert refused.value.file == "a.zip"
    with here.look() as look:
        assert look.entries() == ()


@pytest.mark.parametrize("version", [None, "new", [1], 2, 1.5])
def test_an_archive_of_another_version_is_refused(
    records: Records, places: Callable[[], Records], trial_id: str, version: object
) -> None:
    altered = _altered(_out(records, trial_id), lambda _: None, version=version)
    with pytest.raises(UnreadableFile, match=r"newer|which version"):
        import_trial(places(), altered, file="a.zip", who="Bo")


@pytest.mark.parametrize(
    "content", [b"[" * 100_000, b"[]", b'"x"', b"\xff", b"{}", b'{"things": {}, "files": {}}']
)
def test_trial_json_that_is_none_is_refused(
    records: Records, places: Callable[[], Records], trial_id: str, content: bytes
) -> None:
    with pytest.raises(UnreadableFile):
        import_trial(places(), _with_trial_json(_out(records, trial_id), content), file="a.zip", who="Bo")


def test_an_archive_that_unpacks_to_too_much_is_refused_before_it_is_unpacked(
    records: Records, places: Callable[[], Records], trial_id: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(importing, "_LARGEST_UNPACKED", 2**20)
    bomb = _with_trial_json(_out(records, trial_id), b" " * 2**21)

    def never(*_: object, **__: object) -> None:
        raise AssertionError("something was unpacked")

    monkeypatch.setattr(zipfile.ZipFile, "open", never)
    with pytest.raises(TooLarge, match="would unpack to more than 1 MB"):
        import_trial(places(), bomb, file="a.zip", who="Bo")


def test_trial_json_has_its_own_limit(
    records: Records, places: Callable[[], Records], trial_id: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Read as a whole, it takes many times its size in memory."""
    monkeypatch.setattr(importing, "_LARGEST_LIST", 2**10)
    with pytest.raises(TooLarge, match=r"trial\.json"):
        import_trial(places(), _out(records, trial_id), file="a.zip", who="Bo")


def test_what_is_refused_late_leaves_no_record(
    records: Records, places: Callable[[], Records], trial_id: str
) -> None:
    """The same note is here already, of another trial."""
    here = places()
    with records.look() as look:
        (note,) = look.find(Note)
    with here.work("set up", who="Bo") as work:
        other = work.add(replace(records_trial(records, trial_id), id="another"))
        work.add(replace(note, trial_id=other.id, about=other.id))
    with pytest.raises(LaydownError, match="one of these already"):
        import_trial(here, _out(records, trial_id), file="a.zip", who="Bo")
    with here.look() as look:
        assert [one.id for one in look.find(Trial)] == ["another"]
        assert look.count(Medium) == 0
    assert verify(here).troubles == ()


def records_trial(records: Records, trial_id: str) -> Trial:
    with records.look() as look:
        return look.get(Trial, trial_id)
