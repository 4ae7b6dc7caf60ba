"""Media, where they come from, and what is on the shelf: suppliers, lots, rolls and boxes, certificates."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

MediumKind = Literal["paper", "canvas", "film", "other"]
Surface = Literal["matte", "textured matte", "satin", "gloss", "baryta", "other", ""]
BlackInk = Literal["matte", "photo", ""]
StockForm = Literal["roll", "sheets"]
NOT_STATED = "not stated"


@dataclass(frozen=True, slots=True, kw_only=True)
class Supplier:
    """Who sells a medium."""

    id: str
    name: str
    contact: str = ""
    words: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Medium:
    """What is printed on. ``barrier`` is whether volatiles are held back (resin-coated, baryta): slow cure.

    What its maker or supplier claims is kept as a claim and never mixed with what was measured.
    """

    id: str
    name: str
    supplier_id: str | None = None
    kind: MediumKind = "paper"
    surface: Surface = ""
    base: str = ""
    weight_gsm: float | None = None
    caliper_um: float | None = None
    barrier: bool | None = None
    black_ink: BlackInk = ""
    brightener_claim: str = ""
    other_claims: str = ""
    words: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lot:
    """What was made together, as its label says."""

    id: str
    medium_id: str
    code: str
    received: date | None = None
    words: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Roll:
    """One roll, or one box of sheets, of a lot.

    ``length_mm`` is the length of the roll when new, or of one sheet; ``sheets`` counts a box when new.
    """

    id: str
    lot_id: str
    form: StockForm
    code: str = ""
    width_mm: float | None = None
    length_mm: float | None = None
    sheets: int | None = None
    core_mm: float | None = None
    received: date | None = None
    opened: date | None = None
    price: float | None = None
    currency: str = ""
    words: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class RollUse:
    """What was taken from a roll or box: a length, or a number of sheets."""

    id: str
    roll_id: str
    at: datetime
    length_mm: float | None = None
    sheets: int | None = None
    trial_id: str | None = None
    words: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Certificate:
    """A test by others: exactly what was tested. An empty field is shown as "not stated", never guessed."""

    id: str
    title: str
    medium_id: str | None = None
    laboratory: str = ""
    accreditation: str = ""
    tested: date | None = None
    method: str = ""
    ink: str = ""
    medium_as_stated: str = ""
    coating: str = ""
    glazing: str = ""
    light_source: str = ""
    light_level: str = ""
    climate: str = ""
    end_point: str = ""
    result: str = ""
    words: str = ""
