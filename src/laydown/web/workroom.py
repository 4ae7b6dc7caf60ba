"""Long work off the server's own thread: one piece at a time, each with its progress and its result kept."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable
from typing import Literal, TypeAlias

from laydown.kernel.errors import LaydownError
from laydown.usecases.compare_media import Progress
from laydown.usecases.comparison import Comparison
from laydown.web.figure_shelf import FigureShelf
from laydown.web.security import UNFORESEEN
from laydown.web.views.against import against_of

Work: TypeAlias = Callable[[Callable[[Progress], None]], Comparison]
State: TypeAlias = Literal["working", "done", "failed"]


class Job:
    """One piece of work: how far it is, and what came of it."""

    def __init__(self) -> None:
        self.progress = Progress(0, 0, "Waiting for other work to finish")
        self.result: Comparison | None = None
        self.figures: FigureShelf | None = None
        self.error = ""
        self.ended = threading.Event()

    @property
    def state(self) -> State:
        """Where the work stands."""
        if not self.ended.is_set():
            return "working"
        return "failed" if self.result is None else "done"

    def report(self, progress: Progress) -> None:
        """Note how far the work has come."""
        self.progress = progress


class Workroom:
    """Does work in the background and remembers the last results by key.

    ``keep`` results stay in memory; an older one is worked out again when somebody asks for it.
    """

    def __init__(self, *, keep: int = 6) -> None:
        self._keep = keep
        self._jobs: OrderedDict[str, Job] = OrderedDict()
        self._lock = threading.Lock()
        self._one_at_a_time = threading.Lock()

    def known(self, key: str) -> Job | None:
        """The job of that key, if it was ever asked for and is still remembered."""
        with self._lock:
            job = self._jobs.get(key)
            if job is not None:
                self._jobs.move_to_end(key)
            return job

    def ask(self, key: str, work: Work, *, again: bool = False) -> Job:
        """The job of that key, started if need be; a failed one is tried once more where ``again``."""
        with self._lock:
            job = self._jobs.get(key)
            if job is not None and not (again and job.state == "failed"):
                self._jobs.move_to_end(key)
                return job
            job = self._jobs[key] = Job()
            self._forget_oldest()
        # A daemon thread: closing the workbench must not wait for a result nobody will see.
        threading.Thread(target=self._do, args=(job, work), name="laydown-work", daemon=True).start()
        return job

    def _forget_oldest(self) -> None:
        ended = [key for key, job in self._jobs.items() if job.ended.is_set()]
        for key in ended[: max(0, len(self._jobs) - self._keep)]:
            del self._jobs[key]

    def _do(self, job: Job, work: Work) -> None:
        try:
            with self._one_at_a_time:
                job.report(Progress(0, 0, "Starting"))
                result = work(job.report)
                job.report(Progress(job.progress.total, job.progress.total, "Drawing the figures"))
                figures = FigureShelf(result)
                figures.draw_for_page(against_of(result, ""))
                job.result, job.figures = result, figures
        except LaydownError as error:
            job.error = str(error)
        finally:
            if job.result is None and not job.error:
                job.error = UNFORESEEN
            job.ended.set()
