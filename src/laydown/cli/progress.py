"""Shows progress on the terminal's error channel, and nothing where nobody watches."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from laydown.usecases.compare_media import Progress


@contextmanager
def shown_progress(*, plain: bool) -> Iterator[Callable[[Progress], None]]:
    """A progress callback that draws a bar on a terminal; silent in a pipe or with ``plain``."""
    if plain or not sys.stderr.isatty():
        yield lambda _: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, TextColumn
    from rich.progress import Progress as Bar

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn())
    with Bar(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("reading", total=None)

        def show(told: Progress) -> None:
            bar.update(task, description=told.what, completed=told.done, total=told.total)

        yield show
