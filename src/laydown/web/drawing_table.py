"""Where pages of forms are drawn: a few at a time, so that the workbench stays quick for everybody else."""

from __future__ import annotations

import tempfile
import threading
from collections import OrderedDict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import IO

from starlette.exceptions import HTTPException
from starlette.responses import StreamingResponse

from laydown.kernel.errors import CannotKeep
from laydown.science.forms.form_wish import FormWish
from laydown.usecases.forms.composed import composed, page_of
from laydown.web.disposition import disposition

AT_ONCE = 2
MOST_WAITING = 8  # of the threads that serve pages; more would leave none for those
PATIENCE_S = 240.0
PREVIEWS_KEPT = 48
PREVIEW_WIDTHS = (360, 720, 1440)
MOST_PIXELS = 6e6
_PIECE = 2**20
_BUSY = "Other pages are being drawn just now, and drawing takes its time. Try again in some minutes."


class DrawingTable:
    """Seats for those who draw, and the previews that were drawn last."""

    def __init__(self) -> None:
        self._seats = threading.BoundedSemaphore(AT_ONCE)
        self._small_seats = threading.BoundedSemaphore(AT_ONCE)  # a screen must not wait for a printer's file
        self._queue = threading.BoundedSemaphore(AT_ONCE + MOST_WAITING)
        self._lock = threading.Lock()
        self._previews: OrderedDict[tuple[FormWish, str, int, bool], bytes] = OrderedDict()

    def file(self, write: Callable[[IO[bytes]], None], *, name: str, media_type: str) -> StreamingResponse:
        """Draw into a file aside and send that in pieces; it is gone once it is sent.

        Raises
        ------
        HTTPException
            Too many are being drawn.
        CannotKeep
            The disk is full.
        """
        made = tempfile.TemporaryFile()  # noqa: SIM115 - closed when it has been sent
        try:
            with self._seat(self._seats):
                write(made)
            size = made.seek(0, 2)
            made.seek(0)
        except OSError as error:
            made.close()
            raise CannotKeep(
                f"the page could not be drawn into a file ({error.strerror or error}).",
                todo="Free some space on this computer, then try again.",
            ) from error
        except BaseException:
            made.close()
            raise
        told = {
            "Content-Length": str(size),
            "Content-Disposition": disposition(name, shown=False),
            "Cache-Control": "no-store",
            "Content-Encoding": "identity",  # packing it once more on the way would take minutes for nothing
        }
        return StreamingResponse(_pieces(made), media_type=media_type, headers=told)

    def preview(
        self, wish: FormWish, page: str, width_px: int, *, with_own: bool, draw: Callable[[int], bytes]
    ) -> bytes:
        """A preview, drawn if it was not just drawn. The wish names own pictures by their content.

        Raises
        ------
        HTTPException
            Too many are being drawn.
        """
        key = (wish, page, width_px, with_own)
        with self._seat(self._small_seats):
            with self._lock:
                if key in self._previews:
                    self._previews.move_to_end(key)
                    return self._previews[key]
            drawn = draw(width_px)
            with self._lock:
                self._previews[key] = drawn
                while len(self._previews) > PREVIEWS_KEPT:
                    self._previews.popitem(last=False)
            return drawn

    @contextmanager
    def _seat(self, seats: threading.BoundedSemaphore) -> Iterator[None]:
        if not self._queue.acquire(blocking=False):
            raise HTTPException(503, _BUSY)
        try:
            if not seats.acquire(timeout=PATIENCE_S):
                raise HTTPException(503, _BUSY)
            try:
                yield
            finally:
                seats.release()
        finally:
            self._queue.release()


def _pieces(made: IO[bytes]) -> Iterator[bytes]:
    with made:
        while piece := made.read(_PIECE):
            yield piece


def preview_width(wish: FormWish, name: str, asked: int) -> int:
    """The next width that is drawn, so that few sizes are kept; narrower for a page that is very long.

    Raises
    ------
    UnknownRecord
        The form has no such page.
    BadSetting
        No form can be made of the wish.
    """
    page = page_of(composed(wish), name).page
    width = next((step for step in PREVIEW_WIDTHS if step >= asked), PREVIEW_WIDTHS[-1])
    return max(1, min(width, int((MOST_PIXELS * page.width_mm / page.height_mm) ** 0.5)))
