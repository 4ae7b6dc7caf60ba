"""Tables of signing in: they come and go, and never enter the journal."""

from __future__ import annotations

from sqlalchemy import BigInteger, Column, Integer, Table, Text

from laydown.records.columns import Moment
from laydown.records.tables import metadata

# The hash of an account's password, with its salt and settings in it.
passwords = Table(
    "passwords",
    metadata,
    Column("account_id", Text, primary_key=True),
    Column("hash", Text, nullable=False),
    Column("changed_at", Moment, nullable=False),
)
# Who is signed in. Only the hash of the word in the browser's cookie is kept.
sittings = Table(
    "sittings",
    metadata,
    Column("token", Text, primary_key=True),
    Column("id", Text, nullable=False, unique=True),
    Column("account_id", Text, index=True),
    Column("name", Text, nullable=False),
    Column("role", Text, nullable=False),
    Column("begun_at", Moment, nullable=False),
    Column("seen_at", Moment, nullable=False),
    Column("idle_ends_at", Moment, nullable=False),
    Column("ends_at", Moment, nullable=False),
)
# Words shown as a code to be taken by one tablet, once, soon.
pairings = Table(
    "pairings",
    metadata,
    Column("token", Text, primary_key=True),
    Column("name", Text, nullable=False),
    Column("role", Text, nullable=False),
    Column("offered_by", Text, nullable=False),
    Column("ends_at", Moment, nullable=False),
    Column("taken_at", Moment),
)
# Attempts that failed, by name and by network address, to slow down whoever guesses.
failed_attempts = Table(
    "failed_attempts",
    metadata,
    Column("number", BigInteger().with_variant(Integer, "sqlite"), primary_key=True, autoincrement=True),
    Column("key", Text, nullable=False, index=True),
    Column("at", Moment, nullable=False),
)
