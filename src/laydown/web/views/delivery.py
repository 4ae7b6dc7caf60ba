"""The form of a delivery: everything its label says, in one go."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import get_args

from laydown.records.look import Look
from laydown.trials.stock import Medium, MediumKind, Supplier
from laydown.trials.studio import Studio
from laydown.web.views.stock import FieldView, form_groups
from laydown.web.views.stock_fields import MOST_CHOICES, delivery_fields


@dataclass(frozen=True, slots=True)
class DeliveryView:
    """The form; ``texts`` is what stands in it, ``suppliers`` the names that are known."""

    media: tuple[tuple[str, str], ...]
    kinds: tuple[str, ...]
    suppliers: tuple[str, ...]
    texts: Mapping[str, str]
    groups: tuple[tuple[str, tuple[FieldView, ...]], ...]
    refusal: str


def delivery_view(look: Look, texts: Mapping[str, str], *, studio: Studio, refusal: str) -> DeliveryView:
    """The form, with what stands in it."""
    media = look.find(Medium, order=("name",), limit=MOST_CHOICES)
    suppliers = look.find(Supplier, order=("name",), limit=MOST_CHOICES)
    return DeliveryView(
        media=tuple((one.id, one.name) for one in media),
        kinds=get_args(MediumKind),
        suppliers=tuple(one.name for one in suppliers),
        texts=texts,
        groups=form_groups(delivery_fields(studio.units), texts),
        refusal=refusal,
    )
