"""Typesets a document and what lies beside it as PDF."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Literal, TypeAlias

Standard: TypeAlias = Literal["a-2a", "ua-1"]
_MISSING_SIGN = "could not be displayed"  # how the typesetter says that no typeface has a sign


def typeset(main: Path, *, moment: datetime | None, standards: Sequence[Standard] = ()) -> bytes:
    """The PDF of a document, with the embedded typefaces alone if they have every sign that is needed.

    Else the system's own help out; where even these lack a sign, the ``standards`` are not held to.
    """
    import typst

    attempts: list[tuple[bool, Sequence[Standard]]] = [(True, standards), (False, standards)]
    if standards:
        attempts.append((False, ()))
    for last, (alone, held) in enumerate(attempts, start=1 - len(attempts)):
        try:
            return bytes(
                typst.compile(
                    main,
                    root=main.parent,
                    ignore_system_fonts=alone,
                    format="pdf",
                    pdf_standards=list(held),
                    timestamp=moment,
                )
            )
        except typst.TypstError as error:
            if last == 0 or _MISSING_SIGN not in str(error):
                raise
    raise AssertionError("the last attempt returns or raises")
