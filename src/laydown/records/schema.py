"""Every table there is, in one place, and the revision that makes them as they are."""

from __future__ import annotations

from laydown.records.sign_in_tables import failed_attempts, pairings, sittings
from laydown.records.tables import metadata

__all__ = ["NEWEST", "TRANSIENT", "metadata"]

NEWEST = "0001"  # the last of the chain in ``migrations``; known here so that opening need not load it

# Left out of backups: a restore must not sign anybody in again whose sitting was ended meanwhile.
TRANSIENT = frozenset({failed_attempts.name, pairings.name, sittings.name})
