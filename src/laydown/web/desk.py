"""What the pages work with: the uploads, the background work, and the way from files to a comparison."""

from __future__ import annotations

import logging
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from typing import Protocol, TypeVar

from starlette.requests import Request

from laydown.compute.runner import Runner
from laydown.kernel.errors import BadSetting, LaydownError, RefusedInput, UnknownUpload
from laydown.records.ledger import Records
from laydown.records.measurement_files import MeasurementFile
from laydown.records.upload_names import suggest_media
from laydown.records.upload_record import MARGINS_FILE, TRIAL_FILE, StoredFile, Upload
from laydown.records.uploads import UploadStore
from laydown.usecases.check_file import CheckedFile, check_file
from laydown.usecases.compare_media import CompareOptions, Progress
from laydown.usecases.comparison import Comparison
from laydown.usecases.read_media import Source
from laydown.usecases.trial_file import MarginSetting, Trial, parse_margins, parse_trial
from laydown.web.drawing_table import DrawingTable
from laydown.web.passed_over import is_passed_over
from laydown.web.trial_comparison import (
    TrialComparisonId,
    TrialRequests,
    refuse_nothing,
    trial_comparison_id,
)
from laydown.web.workroom import Job, Workroom

DEMO = "demo"
DEMO_KEY = "the demo trial"
_CHECKS_KEPT = 1000
_logger = logging.getLogger(__name__)
Parsed = TypeVar("Parsed")
Parsed_co = TypeVar("Parsed_co", covariant=True)


class Compare(Protocol):
    """From files to a comparison; ``usecases.compare_media`` in earnest."""

    def __call__(
        self,
        files: Sequence[Source],
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
    records: Records
    secret: bytes
    runner: Runner
    compare: Compare
    demo: Callable[[], tuple[Sequence[MeasurementFile], CompareOptions]]
    workroom: Workroom = field(default_factory=Workroom)
    checks: dict[str, CheckedFile] = field(default_factory=dict)
    requests: TrialRequests = field(default_factory=TrialRequests)
    drawings: DrawingTable = field(default_factory=DrawingTable)
    lan: bool = False
    reached_at: str = ""

    def job_of_demo(self) -> Job:
        """The demo trial's comparison, begun on first need."""

        def work(progress: Callable[[Progress], None]) -> Comparison:
            files, options = self.demo()
            return self.compare(files, options=options, runner=self.runner, progress=progress)

        return self.workroom.ask(DEMO_KEY, work)

    def job_of(self, comparison_id: str, *, again: bool = False) -> Job:
        """The comparison of that id, worked out anew if it is no longer in memory; ``demo`` is one.

        That of a trial's sheets is worked out anew whenever what it depends on has changed. One that failed
        is tried ``again`` only where somebody asks for that.
        """
        if comparison_id == DEMO:
            return self.job_of_demo()
        if (of_trial := trial_comparison_id(comparison_id)) is not None:
            return self.job_of_trial(of_trial, again=again)
        upload = self.store.get(comparison_id, shelves=("comparisons",))
        return self.workroom.ask(
            upload.fingerprint, lambda progress: self._work(upload, progress), again=again
        )

    def job_of_trial(self, wanted: TrialComparisonId, *, again: bool = False) -> Job:
        """The comparison of a trial's sheets as they are now."""
        told = self.requests.of(self.records, wanted)

        def work(progress: Callable[[Progress], None]) -> Comparison:
            refuse_nothing(told, wanted.by)
            return self.compare(told.files, options=told.options, runner=self.runner, progress=progress)

        return self.workroom.ask(f"{wanted} {told.fingerprint}", work, again=again)

    def run_draft(self, draft: Upload) -> Job:
        """Work out a draft; it becomes a kept comparison if that succeeds and stays a draft if not."""
        return self._run(draft, again=True)

    def job_of_draft(self, draft: Upload) -> Job | None:
        """The work on an arranged draft; None where nobody arranged it yet.

        Another process may have been asked for it, or this one before it was started anew: then it is begun
        here too.
        """
        known = self.workroom.known(draft.fingerprint)
        return known if known is not None or not is_arranged(draft) else self._run(draft, again=False)

    def _run(self, draft: Upload, *, again: bool) -> Job:
        def work(progress: Callable[[Progress], None]) -> Comparison:
            result = self._work(draft, progress)
            with suppress(UnknownUpload):  # another process that worked it out too was quicker to keep it
                self.store.keep(draft.id)
            return result

        return self.workroom.ask(draft.fingerprint, work, again=again)

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
        # What the form says of the house goes before the trial file, "no house" too: it was shown there.
        house = upload.house if is_arranged(upload) else upload.house or trial.house
        options = CompareOptions(
            house=house,
            condition=upload.condition,
            title=upload.title,
            margins=self.margins_of(upload),
            trial=replace(trial, question=upload.question or trial.question, house=house),
        )
        return files, options

    def trial_of(self, upload: Upload) -> Trial:
        """What the trial file of an upload says; nothing where there is none."""
        file = setting_of(upload, TRIAL_FILE)
        return self.parsed(upload, file, parse_trial) if file else Trial()

    def margins_of(self, upload: Upload) -> Mapping[str, MarginSetting]:
        """The margins file of an upload; nothing where there is none."""
        file = setting_of(upload, MARGINS_FILE)
        return self.parsed(upload, file, parse_margins) if file else {}

    def parsed(self, upload: Upload, file: StoredFile, parse: Parser[Parsed]) -> Parsed:
        """What a settings file says.

        Raises
        ------
        BadSetting
            It says something that makes no sense, or something nobody foresaw.
        """
        try:
            return parse(self.store.path_of(upload, file).read_bytes(), file=file.path)
        except LaydownError:
            raise
        except Exception as error:
            _logger.exception("A settings file could not be read: %s", file.path)
            raise BadSetting(
                f"this file could not be read ({type(error).__name__}).",
                todo="Compare it with the example in the guide, or leave it out.",
                file=file.path,
            ) from error

    def checked(self, upload: Upload, file: StoredFile) -> CheckedFile:
        """What one file holds; each content is read once.

        Whatever one file does to the reader, the others must stay usable: what was not foreseen is an answer
        about that file.
        """
        known = self.checks.get(file.sha256)
        if known is None or known.file != file.path:
            known = _checked(MeasurementFile("", file.path, self.store.path_of(upload, file)))
            self.checks[file.sha256] = known
            while len(self.checks) > _CHECKS_KEPT:
                self.checks.pop(next(iter(self.checks)), None)
        return known


class Parser(Protocol[Parsed_co]):
    """Reads the bytes of a settings file; ``file`` is its name for messages."""

    def __call__(self, data: bytes, *, file: str) -> Parsed_co:
        """What the file says."""
        ...


def _checked(file: MeasurementFile) -> CheckedFile:
    try:
        return check_file(file)
    except LaydownError as error:
        said = str(error)
    except Exception as error:
        _logger.exception("A file could not be checked: %s", file.name)
        said = (
            f"{file.name}: this file could not be checked; something in it was not foreseen "
            f"({type(error).__name__}). Export it again, as text if you can."
        )
    return CheckedFile(file.name, said, (), ())


def setting_of(upload: Upload, name: str) -> StoredFile | None:
    """The settings file of that name nearest the top, if there is one."""
    found = [file for file in upload.files if file.name.lower() == name]
    return min(found, key=lambda file: (file.path.count("/"), file.path), default=None)


def is_arranged(upload: Upload) -> bool:
    """Whether the arranging form was ever sent: from then on, what it said counts, even where it is empty."""
    return any(file.medium for file in upload.files)


def media_of(upload: Upload) -> dict[str, str]:
    """The medium of each stored measurement file: what the user said, else what its folder says."""
    measured = measured_files(upload)
    suggested = suggest_media([file.path for file in measured])
    return {file.stored: file.medium or suggested[file.path] for file in measured}


def measured_files(upload: Upload) -> tuple[StoredFile, ...]:
    """The files of an upload that are neither settings nor passed over, by path."""
    measured = (f for f in upload.files if not f.is_setting and not is_passed_over(f.path))
    return tuple(sorted(measured, key=lambda file: file.path))


def passed_over_files(upload: Upload) -> tuple[StoredFile, ...]:
    """The files of an upload of which only the name was kept, by path."""
    return tuple(sorted((f for f in upload.files if is_passed_over(f.path)), key=lambda file: file.path))


def desk_of(request: Request) -> Desk:
    """The desk of the application a request came to."""
    desk = request.app.state.desk
    assert isinstance(desk, Desk)
    return desk
