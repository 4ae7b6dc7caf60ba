"""A kept measurement file as a comparison wants it."""

from __future__ import annotations

from dataclasses import dataclass

from laydown.kernel.errors import LaydownError, RefusedInput
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
        """Its bytes, checked against the hash; RefusedInput names the file as people know it."""
        try:
            return self.vault.read(self.sha256)
        except LaydownError as error:
            raise RefusedInput(error.what, todo=error.todo, file=self.name) from error
