"""Which way a number is better, if either way is."""

from __future__ import annotations

from typing import Literal

Preference = Literal["higher", "lower", "none"]
