"""What every request that changes something must carry, and the kinds of parameters requests have."""

from __future__ import annotations

from typing import Annotated

from fastapi import Header, Path, Query, Request

from laydown.web.forms import check_token

Id = Annotated[str, Path(min_length=1, max_length=64, pattern=r"^[A-Za-z0-9._-]+$")]
Page = Annotated[int, Query(ge=1, le=100_000, description="The page of the list, from 1.")]
Limit = Annotated[int, Query(ge=1, le=200, description="How many on a page.")]
OptionalId = Annotated[str | None, Query(max_length=64)]
Seen = Annotated[
    int | None,
    Header(
        alias="X-Seen-Revision",
        ge=0,
        le=2**53,
        description="The revision you saw; the change is refused if somebody changed it since.",
    ),
]


def check_change(request: Request) -> None:
    """Refuse a change that does not carry the word of its session."""
    if request.method not in {"GET", "HEAD", "OPTIONS"}:
        check_token(request)
