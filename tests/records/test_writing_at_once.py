"""Many write at once: nobody's work is lost, the chain holds, and whoever looks sees one moment."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path
from threading import Barrier, Event

import pytest

from laydown.kernel.errors import CannotKeep, ChangedMeanwhile, RefusedInput
from laydown.records import engine, ledger
from laydown.records.ledger import Records
from laydown.records.opening import open_records
from laydown.records.verifying import verify
from laydown.trials.stock import Medium, Supplier
from laydown.usecases.undo import undo

THREADS = 6
TIMES = 8


def together(count: int, act: Callable[[int], object]) -> list[object]:
    """What ``act`` gives in as many threads, all begun at one moment."""
    ready = Barrier(count)

    def begin(number: int) -> object:
        ready.wait(30)
        return act(number)

    with ThreadPoolExecutor(count) as threads:
        return list(threads.map(begin, range(count)))


def add_supplier(records: Records, name: str = "0") -> Supplier:
    with records.work("adds", who="x") as work:
        return work.add(Supplier(id="s", name=name))


def test_all_that_is_added_at_once_is_there(any_records: Records) -> None:
    def add(number: int) -> None:
        for turn in range(TIMES):
            with any_records.work("adds", who=str(number)) as work:
                work.add(Supplier(id=f"s{number}-{turn}", name="x"))
                work.add(Medium(id=f"m{number}-{turn}", name="x", supplier_id=f"s{number}-{turn}"))

    together(THREADS, add)
    found = verify(any_records)
    assert found.sound, found.troubles
    assert (found.entries, found.rows) == (THREADS * TIMES, 2 * THREADS * TIMES)


def test_no_change_is_lost_within_a_work(any_records: Records) -> None:
    """What a work reads cannot change before it writes."""
    add_supplier(any_records)

    def count_up(_: int) -> None:
        for _ in range(TIMES):
            with any_records.work("counts", who="x") as work:
                supplier = work.get(Supplier, "s")
                work.change(replace(supplier, name=str(int(supplier.name) + 1)))

    together(THREADS, count_up)
    with any_records.look() as look:
        assert look.get(Supplier, "s").name == str(THREADS * TIMES)
    assert verify(any_records).sound


def test_no_change_is_lost_between_a_page_and_its_answer(any_records: Records) -> None:
    """As pages work: look, think, send back what was seen; whoever was too late looks again."""
    add_supplier(any_records)

    def count_up(_: int) -> int:
        late = 0
        for _ in range(TIMES):
            while True:
                with any_records.look() as look:
                    supplier, seen = look.get(Supplier, "s"), look.revision(Supplier, "s")
                try:
                    with any_records.work("counts", who="x") as work:
                        work.change(replace(supplier, name=str(int(supplier.name) + 1)), seen=seen)
                    break
                except ChangedMeanwhile:
                    late += 1
        return late

    together(THREADS, count_up)
    with any_records.look() as look:
        assert look.get(Supplier, "s").name == str(THREADS * TIMES)


def test_of_two_who_saw_the_same_one_is_refused(any_records: Records) -> None:
    supplier = add_supplier(any_records)

    def rename(number: int) -> str:
        try:
            with any_records.work("renames", who=str(number)) as work:
                work.change(replace(supplier, name=f"name {number}"), seen=1)
        except ChangedMeanwhile:
            return "late"
        return f"name {number}"

    told = together(THREADS, rename)
    (kept,) = set(told) - {"late"}
    assert told.count("late") == THREADS - 1
    with any_records.look() as look:
        assert look.get(Supplier, "s").name == kept


def test_an_act_is_undone_once(any_records: Records) -> None:
    with any_records.work("adds", who="x") as work:
        work.add(Supplier(id="s", name="x"))

    def take_back(_: int) -> str:
        try:
            return undo(any_records, work.entry_id, who="x")
        except RefusedInput:
            return ""

    assert sum(bool(one) for one in together(THREADS, take_back)) == 1
    assert verify(any_records).entries == 2


def test_who_looks_sees_one_moment(any_records: Records) -> None:
    stop = Event()

    def work(_: int) -> None:
        while not stop.is_set():
            with any_records.work("adds", who="x") as work:
                supplier = work.add(Supplier(id=any_records.new_id(), name="x"))
                work.add(Medium(id=any_records.new_id(), name="x", supplier_id=supplier.id))

    def look(_: int) -> set[int]:
        seen: set[int] = set()
        while len(seen) < 8:
            with any_records.look() as look:
                suppliers = look.count(Supplier)
                entries = look.entries(limit=1)
                media = look.count(Medium)
            assert suppliers == media == (entries[0].seq if entries else 0)
            seen.add(suppliers)
        return seen

    with ThreadPoolExecutor(4) as threads:
        working = [threads.submit(work, number) for number in range(2)]
        looking = [threads.submit(look, number) for number in range(2)]
        try:
            assert all(len(one.result(60)) == 8 for one in looking)
        finally:
            stop.set()
        for one in working:
            one.result()


def test_who_waits_too_long_is_told(
    any_records: Records, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(engine, "BUSY_MS", 200)
    monkeypatch.setattr(engine, "_PRAGMAS", ("busy_timeout = 200", *engine._PRAGMAS[1:]))
    monkeypatch.setattr(ledger, "BUSY_MS", 200)
    address = any_records.engine.url.render_as_string(hide_password=False)
    impatient = open_records(address, str(tmp_path / "files"))
    with any_records.work("takes long", who="x") as work:
        work.add(Supplier(id="s", name="x"))
        with (
            pytest.raises(CannotKeep, match=r"somebody else was working.*nothing was changed.*Try again"),
            impatient.work("waits", who="y") as late,
        ):
            late.add(Supplier(id="t", name="x"))
        with impatient.look() as look:  # to look, nobody waits
            assert look.count(Supplier) == 0
    with impatient.work("tries again", who="y") as work:
        work.add(Supplier(id="t", name="x"))
    impatient.close()


PROGRAM = """
import sys
from dataclasses import replace
from laydown.records.opening import open_records
from laydown.trials.stock import Supplier
records = open_records(sys.argv[1], sys.argv[2])
sys.stdout.write("ready\\n")
sys.stdout.flush()
sys.stdin.readline()
for _ in range(20):
    with records.work("counts", who=sys.argv[3]) as work:
        supplier = work.get(Supplier, "s")
        work.change(replace(supplier, name=str(int(supplier.name) + 1)))
        work.keep_file(b"the same from all")
records.close()
"""


def test_programs_beside_each_other_lose_nothing(any_records: Records, tmp_path: Path) -> None:
    add_supplier(any_records)
    address = any_records.engine.url.render_as_string(hide_password=False)
    command = [sys.executable, "-W", "error", "-c", PROGRAM, address, str(tmp_path / "files")]
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "text": True}
    programs = [subprocess.Popen([*command, str(number)], **pipes) for number in range(3)]  # type: ignore[call-overload]
    for program in programs:
        assert program.stdout.readline() == "ready\n"
    for program in programs:
        program.stdin.write("go\n")
        program.stdin.flush()
    for program in programs:
        program.communicate(timeout=120)
        assert program.returncode == 0
    with any_records.look() as look:
        assert look.get(Supplier, "s").name == "60"
        assert {entry.who for entry in look.entries(limit=60)} == {"0", "1", "2"}
    found = verify(any_records)
    assert found.sound, found.troubles
    assert (found.entries, found.files) == (61, 1)
