"""Certificates: tests by others, with everything they do not state shown as not stated."""

from __future__ import annotations

from laydown.records.look import Look
from laydown.trials.stock import Certificate, Medium
from laydown.web.shelves import Shelf, shelf_router
from laydown.web.views.stock_fields import certificate_fields

WHOSE = (
    "A rating belongs to whoever gave it and to the combination that was tested: ink set, medium and lot, "
    "coating, glazing, light. With another ink, or under your own coat, it says nothing certain."
)
NO_YEARS = (
    "It is no number of years. Doses are turned into years with an assumed light level, and ISO 18937 rules "
    "that out for its own data. Use it to rank what was tested alike, and only where gaps are large."
)
CLAIMS = (
    "Before you tell a buyer anything about how long a print lasts, read your local rules on advertising: "
    "many ask for evidence first. This page is no legal advice."
)


def _above(look: Look, thing: Certificate) -> tuple[tuple[str, str], ...]:
    medium = look.seek(Medium, thing.medium_id)
    return ((medium.name, f"/stock/media/{medium.id}"),) if medium else ()


CERTIFICATES = Shelf(
    Certificate, "/certificates", "Certificates", "certificate",
    "None kept. When a supplier shows you a test, copy exactly what was tested and how; what it leaves out "
    "stays marked as not stated, and that is often the most telling part.",
    fields=lambda look, _studio, _thing, _told: certificate_fields(look), name=lambda thing: thing.title,
    above=_above, cautions=lambda _look, _thing, _now: (WHOSE, NO_YEARS, CLAIMS),
    intro="Copy what it says, word for word. What it does not say, leave empty: it is shown as not stated "
    "and never guessed.",
)  # fmt: skip
router = shelf_router(CERTIFICATES)
