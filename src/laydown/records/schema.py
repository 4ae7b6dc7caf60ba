"""Every table there is, in one place, and the revision that makes them as they are."""

from __future__ import annotations

from laydown.records.tables import metadata

__all__ = ["NEWEST", "metadata"]

NEWEST = "0001"  # the last of the chain in ``migrations``; known here so that opening need not load it
