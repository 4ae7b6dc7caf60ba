"""What the pages work with: the uploads, the background work, and the way from files to a comparison."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import Protocol

from starlette.requests import Request

from laydown.compute.runner import Runner
from laydown.kernel.errors import RefusedInput
from laydown.records.measurement_files import MeasurementFile
from laydown.records.upload_names import suggest_media
from laydown.records.upload_record import MARGINS_FILE, TRIAL_FILE, StoredFile, Upload
from laydown.records.uploads import UploadStore
from laydown.usecases.check_file import CheckedFile, check_file
from laydown.usecases.compare_media import CompareOptions, Progress
from laydown.usecases.comparison import Comparison
from laydown.usecases.trial_file import Trial, parse_margins, parse_trial
from laydown.web.workroom import Job, Workroom

DEMO = "demo"
DEMO_KEY = "the demo trial"
_CHECKS_KEPT = 1000


class Compare(Protocol):
    """From files to a comparison; ``usecases.compare_media`` in earnest."""

    def __call__(
        self,
        files: Sequence[MeasurementFile],
        *,
        options: CompareOptions | None,
        runner: Runner | None,
        progress: Callable[[Progress], None],
    ) -> Comparison:
        """Compare the files."""
        ...


@dataclass(frozen=True, slots=True)
class Desk:
    """Everything a page may use, handed to it through the application's state."""

    store: UploadStore
    runner: Runner
    compare: Compare
    demo: Callable[[], tuple[Sequence[MeasurementFile], CompareOptions]]
    workroom: Workroom = field(default_factory=Workroom)
    checks: dict[str, CheckedFile] = field(default_factory=dict)

    def job_of_demo(self) -> Job:
        """The demo trial's comparison, begun on first need."""

        def work(progress: Callable[[Progress], None]) -> Comparison:
            files, options = self.demo()
            return self.compare(files, options=options, runner=self.runner, progress=progress)

        return self.workroom.ask(DEMO_KEY, work)

    def job_of(self, comparison_id: str, *, again: bool = False) -> Job:
        """The comparison of that id, worked out anew if it is no longer in memory; ``demo`` is one.

        One that failed is tried ``again`` only where somebody asks for that.
        """
        if comparison_id == DEMO:
            return self.job_of_demo()
        upload = self.store.get(comparison_id, shelves=("comparisons",))
        return self.workroom.ask(
            upload.fingerprint, lambda progress: self._work(upload, progress), again=again
        )

    def run_draft(self, draft: Upload) -> Job:
        """Work out a draft; it becomes a kept comparison if that succeeds and stays a draft if not."""

        def work(progress: Callable[[Progress], None]) -> Comparison:
            result = self._work(draft, progress)
            self.store.keep(draft.id)
            return result

        return self.workroom.ask(draft.fingerprint, work, again=True)

    def _work(self, upload: Upload, progress: Callable[[Progress], None]) -> Comparison:
        files, options = self.request_of(upload)
        return self.compare(files, options=options, runner=self.runner, progress=progress)

    def request_of(self, upload: Upload) -> tuple[tuple[MeasurementFile, ...], CompareOptions]:
        """The measurement files of an upload under their media, and what was asked for.

        Raises
        ------
        RefusedInput
            No file is used, or a trial or margins file cannot be read.
        """
        media = media_of(upload)
        used = [file for file in measured_files(upload) if not file.left_out]
        if not used:
            raise RefusedInput("no measurement file is used.", todo="Add files, or tick some that are there.")
        files = tuple(
            MeasurementFile(media[f.stored], f"{media[f.stored]}/{f.name}", self.store.path_of(upload, f))
            for f in sorted(used, key=lambda f: (media[f.stored], f.path))
        )
        trial = self.trial_of(upload)
        margins = self._setting(upload, MARGINS_FILE)
        options = CompareOptions(
            house=upload.house,
            condition=upload.condition,
            title=upload.title,
            margins=parse_margins(margins[0], file=margins[1]) if margins else {},
            trial=replace(trial, question=upload.question or trial.question),
        )
        return files, options

    def trial_of(self, upload: Upload) -> Trial:
        """What the trial file of an upload says; nothing where there is none."""
        found = self._setting(upload, TRIAL_FILE)
        return parse_trial(found[0], file=found[1]) if found else Trial()

    def _setting(self, upload: Upload, name: str) -> tuple[bytes, str] | None:
        """The bytes and path of the settings file of that name nearest the top, if there is one."""
        found = [f for f in upload.files if f.name.lower() == name]
        if not found:
            return None
        file = min(found, key=lambda f: (f.path.count("/"), f.path))
        return self.store.path_of(upload, file).read_bytes(), file.path

    def checked(self, upload: Upload, file: StoredFile) -> CheckedFile:
        """What one file holds; each content is read once."""
        known = self.checks.get(file.sha256)
        if known is None or known.file != file.path:
            path = self.store.path_of(upload, file)
            known = check_file(MeasurementFile("", file.path, path))
            self.checks[file.sha256] = known
            while len(self.checks) > _CHECKS_KEPT:
                self.checks.pop(next(iter(self.checks)), None)
        return known


def media_of(upload: Upload) -> dict[str, str]:
    """The medium of each stored measurement file: what the user said, else what its folder says."""
    measured = [file for file in upload.files if not file.is_setting]
    suggested = suggest_media([file.path for file in measured])
    return {file.stored: file.medium or suggested[file.path] for file in measured}


def measured_files(upload: Upload) -> tuple[StoredFile, ...]:
    """The files of an upload that are not settings, by path."""
    return tuple(sorted((f for f in upload.files if not f.is_setting), key=lambda file: file.path))


def desk_of(request: Request) -> Desk:
    """The desk of the application a request came to."""
    desk = request.app.state.desk
    assert isinstance(desk, Desk)
    return desk
