"""What the invented studio of the demo has on its shelves, and the printer it prints with."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime

from laydown.trials.recipe import Recipe
from laydown.trials.stock import Certificate, Lot, Medium, Roll, Supplier
from laydown.trials.studio import Printer, PrinterEvent, PrinterEventKind

INVENTED = "(invented)"
HOUSE, TIDEMILL, GULLWING, SAMPHIRE, WITHY = "fenland", "tidemill", "gullwing", "samphire", "withy"
RECEIVED = date(2026, 2, 2)
OPENED = date(2026, 2, 9)
PRINTER_ID = "demo-printer"
MEDIUM_IDS = {key: f"demo-medium-{key}" for key in (HOUSE, TIDEMILL, GULLWING, SAMPHIRE, WITHY)}
LOT_IDS = {key: f"demo-lot-{key}" for key in MEDIUM_IDS}
ROLL_IDS = {key: f"demo-roll-{key}" for key in MEDIUM_IDS}
_CREEK, _MILL = "demo-supplier-creek", "demo-supplier-mill"


@dataclass(frozen=True, slots=True)
class DemoStock:
    """Everything on the shelves of the invented studio."""

    suppliers: tuple[Supplier, ...]
    media: tuple[Medium, ...]
    lots: tuple[Lot, ...]
    rolls: tuple[Roll, ...]
    certificates: tuple[Certificate, ...]
    printer: Printer
    printer_events: tuple[PrinterEvent, ...]


def demo_stock() -> DemoStock:
    """The shelves, the same on every call; every name says that it is invented."""
    return DemoStock(
        suppliers=(
            Supplier(id=_CREEK, name=f"Creek Papers {INVENTED}", words="Sells cut sheets in boxes of 25."),
            Supplier(id=_MILL, name=f"Saltmarsh Mill Supply {INVENTED}", words="Sells rolls and boxes."),
        ),
        media=_media(),
        lots=tuple(
            Lot(id=LOT_IDS[key], medium_id=MEDIUM_IDS[key], code=code, received=RECEIVED)
            for key, code in (
                (HOUSE, "FR-2511"), (TIDEMILL, "TC-118"), (GULLWING, "GW-4402"), (SAMPHIRE, "SG-77"),
                (WITHY, "WC-0926"),
            )
        ),
        rolls=(*(_box(key, price) for key, price in _BOX_PRICES.items()), _canvas_roll()),
        certificates=(_certificate(),),
        printer=_printer(),
        printer_events=_printer_events(),
    )  # fmt: skip


_BOX_PRICES = {HOUSE: 62.0, TIDEMILL: 54.0, GULLWING: 38.0, SAMPHIRE: 71.0}


def _media() -> tuple[Medium, ...]:
    said = "Invented; no such product exists."
    return (
        Medium(
            id=MEDIUM_IDS[HOUSE], name=f"Fenland Rag {INVENTED}", supplier_id=_CREEK, kind="paper",
            surface="textured matte", base="cotton", weight_gsm=310, caliper_um=550, barrier=False,
            black_ink="matte", brightener_claim="none", words=f"{said} What the studio sells now.",
        ),
        Medium(
            id=MEDIUM_IDS[TIDEMILL], name=f"Tidemill Cotton {INVENTED}", supplier_id=_CREEK, kind="paper",
            surface="matte", base="cotton", weight_gsm=300, caliper_um=520, barrier=False,
            black_ink="matte", brightener_claim="none", other_claims="museum grade", words=said,
        ),
        Medium(
            id=MEDIUM_IDS[GULLWING], name=f"Gullwing White {INVENTED}", supplier_id=_MILL, kind="paper",
            surface="matte", base="alpha-cellulose", weight_gsm=230, caliper_um=310, barrier=False,
            black_ink="matte", words=f"{said} The supplier does not say what makes it so white.",
        ),
        Medium(
            id=MEDIUM_IDS[SAMPHIRE], name=f"Samphire Gloss {INVENTED}", supplier_id=_MILL, kind="paper",
            surface="baryta", base="alpha-cellulose", weight_gsm=315, caliper_um=380, barrier=True,
            black_ink="photo", brightener_claim="a little, in the base", words=said,
        ),
        Medium(
            id=MEDIUM_IDS[WITHY], name=f"Withy Canvas {INVENTED}", supplier_id=_MILL, kind="canvas",
            surface="matte", base="poly-cotton", weight_gsm=380, caliper_um=480, barrier=False,
            black_ink="matte", other_claims="crack free when stretched", words=said,
        ),
    )  # fmt: skip


def _box(key: str, price: float) -> Roll:
    return Roll(
        id=ROLL_IDS[key],
        lot_id=LOT_IDS[key],
        form="sheets",
        code="1",
        width_mm=329.0,
        length_mm=483.0,
        sheets=25,
        received=RECEIVED,
        opened=OPENED,
        price=price,
        currency="EUR",
    )


def _canvas_roll() -> Roll:
    return Roll(
        id=ROLL_IDS[WITHY],
        lot_id=LOT_IDS[WITHY],
        form="roll",
        code="3",
        width_mm=431.8,
        length_mm=12_192.0,
        core_mm=76.2,
        received=RECEIVED,
        opened=OPENED,
        price=118.0,
        currency="EUR",
    )


def _certificate() -> Certificate:
    """One as they come: much of what would be needed is not stated."""
    return Certificate(
        id="demo-certificate",
        title=f"Light exposure report 25-118 {INVENTED}",
        medium_id=MEDIUM_IDS[TIDEMILL],
        laboratory=f"Estuary Test House {INVENTED}",
        tested=date(2025, 9, 30),
        method="filtered xenon lamp, the laboratory's own procedure",
        medium_as_stated="cotton art paper 300 g/m2",
        light_source="filtered xenon",
        light_level="50 klx",
        climate="23 °C, 50 % RH",
        result="Largest change 4.1 dE76 of a magenta tint after 60 Mlx h.",
        words="Ink, coating, glazing and end point are not stated: it says little about the studio's prints.",
    )


def _printer() -> Printer:
    return Printer(
        id=PRINTER_ID,
        name=f"Plover 24 {INVENTED}",
        serial="PL24-00317",
        ink_set=f"Estuary ten-ink pigment {INVENTED}",
        black_inks="matte and photo, both loaded",
        firmware="4.2",
        widest_mm=610.0,
        head_gaps=("narrow", "standard", "wide", "widest"),
        has_cutter=True,
        side_margin_mm=5.0,
        lead_mm=100.0,
        tail_mm=100.0,
    )


def _printer_events() -> tuple[PrinterEvent, ...]:
    told: tuple[tuple[datetime, PrinterEventKind, str], ...] = (
        (datetime(2025, 11, 18, 14, 0, tzinfo=UTC), "head replaced", "Two channels no longer came back."),
        (datetime(2025, 11, 18, 16, 30, tzinfo=UTC), "aligned", "After the new head, on Fenland Rag."),
        (datetime(2026, 1, 12, 9, 15, tzinfo=UTC), "firmware", "4.1 to 4.2."),
        (datetime(2026, 1, 20, 11, 0, tzinfo=UTC), "ink", "Matte black, lot 7K-204."),
        (datetime(2026, 2, 6, 15, 0, tzinfo=UTC), "feed calibrated", "For the canvas: +2 steps."),
        (datetime(2026, 2, 9, 8, 20, tzinfo=UTC), "nozzle check", "Whole."),
    )
    return tuple(
        PrinterEvent(id=f"demo-printer-event-{number}", printer_id=PRINTER_ID, at=at, kind=kind, words=words)
        for number, (at, kind, words) in enumerate(told, start=1)
    )


def demo_recipe(key: str, *, chart_name: str, chart_sha256: str) -> Recipe:
    """How a medium is printed: alike, but for what it needs and for two things that are not fair.

    Gullwing White carries its supplier's profile where all others have the studio's own; Withy Canvas is
    printed with too much ink.
    """
    heavy = key in (HOUSE, WITHY)
    setting = {
        HOUSE: "heavy matte art paper",
        TIDEMILL: "heavy matte art paper",
        GULLWING: "matte paper",
        SAMPHIRE: "baryta, photo black",
        WITHY: "canvas, matte, extra ink",
    }[key]
    supplied = key == GULLWING
    name = MEDIUM_IDS[key].removeprefix("demo-medium-")
    return Recipe(
        media_setting=setting,
        quality="high",
        resolution_ppi=720.0,
        direction="one way",
        ink_load_ml_m2=18.5 if key == WITHY else 12.8,
        black_ink="photo black" if key == SAMPHIRE else "matte black",
        head_gap="widest" if heavy else "standard",
        cutter_off=True if heavy else None,
        profile_name=f"{name}-as-supplied.icc" if supplied else f"{name}-own-2026-02.icc",
        profile_origin="supplier" if supplied else "own",
        profile_media_setting=setting,
        intent="relative colorimetric",
        black_point_compensation=True,
        file_name=chart_name,
        file_sha256=chart_sha256,
        words="The chart is printed without colour management; the profile is for the pictures of the look "
        "round.",
    )
