"""A server that goes away: told truly, and work goes on when it is back."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import Connection, create_engine, event, text
from sqlalchemy.pool import NullPool

from laydown.kernel.errors import CannotKeep
from laydown.records.ledger import Records
from laydown.records.opening import open_records
from laydown.records.verifying import verify
from laydown.trials.stock import Supplier
from private_postgresql import Server

pytestmark = pytest.mark.postgresql


@pytest.fixture
def served(postgresql_address: str, tmp_path: Path) -> Iterator[Records]:
    records = open_records(postgresql_address, str(tmp_path / "files"))
    yield records
    records.close()


def throw_out(records: Records) -> None:
    """End every other connection to the database, as a server does that is shut down."""
    engine = create_engine(records.engine.url, poolclass=NullPool, isolation_level="AUTOCOMMIT")
    others = "SELECT pg_terminate_backend(pid, 5000) FROM pg_stat_activity"
    with engine.connect() as connection:
        connection.execute(
            text(f"{others} WHERE datname = current_database() AND pid <> pg_backend_pid()")
        ).all()


def add(records: Records, name: str) -> None:
    with records.work("adds", who="x") as work:
        work.add(Supplier(id=name, name=name))


def names(records: Records) -> list[str]:
    with records.look() as look:
        return [supplier.name for supplier in look.find(Supplier)]


def test_work_goes_on_when_the_server_is_back(served: Records, postgresql_server: Server) -> None:
    add(served, "a")
    postgresql_server.stop("immediate")
    with pytest.raises(CannotKeep, match=r"could not be used.*nothing was changed"):
        add(served, "b")
    postgresql_server.start()
    add(served, "c")
    assert names(served) == ["a", "c"]
    assert verify(served).sound


def test_a_work_that_is_cut_off_is_not_kept(served: Records) -> None:
    add(served, "a")

    def cut_off() -> None:
        with served.work("adds", who="x") as work:
            work.add(Supplier(id="b", name="b"))
            throw_out(served)

    with pytest.raises(CannotKeep, match="nothing was changed"):
        cut_off()
    add(served, "c")
    assert names(served) == ["a", "c"]
    assert verify(served).entries == 2


def test_cut_off_while_it_is_kept_nobody_can_know(served: Records) -> None:
    add(served, "a")

    def cut(_: Connection) -> None:
        throw_out(served)

    event.listen(served.engine, "commit", cut, once=True)
    with pytest.raises(CannotKeep, match=r"may have been kept or not.*Look whether it is there"):
        add(served, "b")
    add(served, "c")
    assert names(served) == ["a", "c"]  # this time it was not
    assert verify(served).sound
