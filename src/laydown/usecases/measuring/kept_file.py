"""A kept measurement file as a comparison wants it."""

from __future__ import annotations

from dataclasses import dataclass

from laydown.records.file_vault import FileVault


@dataclass(frozen=True, slots=True)
class KeptFile:
    """One file of readings of one medium, read from the vault only where it is needed.

    Only its hash and where the vault lies are sent to another process, never its content.
    """

    candidate: str
    name: str
    sha256: str
    vault: FileVault

    def read(self) -> bytes:
        """Its bytes, checked against the hash."""
        return self.vault.read(self.sha256)
