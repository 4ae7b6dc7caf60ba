"""The chain of revisions, and running it; the only file that knows Alembic's ways (and loads it)."""

from __future__ import annotations

from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory
from sqlalchemy import Connection

CHAIN = "laydown.records:migrations"


def is_known(revision: str) -> bool:
    """Whether a revision is one of this program's."""
    scripts = ScriptDirectory.from_config(_config(None))
    return revision in {script.revision for script in scripts.walk_revisions()}


def upgrade(connection: Connection, *, to: str = "head") -> None:
    """Run the revisions up to ``to`` within the connection's own transaction."""
    command.upgrade(_config(connection), to)


def _config(connection: Connection | None) -> Config:
    config = Config()
    config.set_main_option("script_location", CHAIN)
    config.attributes["connection"] = connection
    return config
