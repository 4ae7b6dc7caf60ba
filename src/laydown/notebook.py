"""The Python face: what ``import laydown`` offers for scripts and notebooks.

Readers, metrics and the comparison, with files named by path. Everything here is also reachable piece by
piece: readers in ``laydown.science.readings``, metrics in ``laydown.science``, the comparison in
``laydown.usecases.compare_media``.
"""

from __future__ import annotations

import os
from pathlib import Path

from laydown import boot
from laydown.records.measurement_files import MeasurementFile, find_measurement_files
from laydown.science.readings import FileReadings, read_measurements
from laydown.usecases.compare_media import CompareOptions, compare_media
from laydown.usecases.comparison import Comparison
from laydown.usecases.trial_file import Trial, parse_margins, parse_trial

AnyPath = str | os.PathLike[str]


def read(path: AnyPath) -> FileReadings:
    """Read one measurement file of any supported format.

    Parameters
    ----------
    path
        CGATS text, CxF3, CSV or TSV, or an ICC profile that carries its characterisation data.

    Returns
    -------
    FileReadings
        Its tables (one per table and measuring condition) and every problem met. Reflectance is 0-1,
        device values 0-1, Lab and XYZ with Y = 100.

    Raises
    ------
    UnreadableFile
        The file cannot mean measurements; the message says why and what to do.

    Examples
    --------
    >>> import laydown
    >>> table = laydown.read("sheet1-M1.txt").tables[0]         # doctest: +SKIP
    >>> table.conditions.measurement                            # doctest: +SKIP
    Stated(value='M1', where='MEASUREMENT_SOURCE, line 7')
    """
    file = Path(path)
    return read_measurements(MeasurementFile(file.stem, file.name, file).read(), file=file.name)


def compare(
    *paths: AnyPath,
    house: str = "",
    condition: str = "",
    margins: AnyPath | None = None,
    trial: AnyPath | None = None,
) -> Comparison:
    """Compare media from their measurement files, and call every difference.

    Parameters
    ----------
    paths
        One folder whose sub-folders are media and whose files are sheets; or several files, each a medium.
    house
        Name of the medium used now; the others are called against it.
    condition
        M0-M3, to judge under; empty takes the best one all media share.
    margins, trial
        Paths of a margins file and a trial file (JSON); a ``trial.json`` in the folder is found by itself.

    Returns
    -------
    Comparison
        Frozen; the same object page, PDF, JSON and terminal are made from.

    Raises
    ------
    RefusedInput
        Nothing could be read, or a name or setting makes no sense.

    Examples
    --------
    >>> import laydown
    >>> answer = laydown.compare("trial", house="House rag")    # doctest: +SKIP
    >>> print(*answer.summary, sep="\\n")                        # doctest: +SKIP
    """
    found = find_measurement_files([Path(path) for path in paths])
    told = Path(trial).read_bytes() if trial else found.trial
    options = CompareOptions(
        house=house,
        condition=condition,
        margins=parse_margins(Path(margins).read_bytes(), file=str(margins)) if margins else {},
        trial=parse_trial(told, file=str(trial or found.trial_name)) if told is not None else Trial(),
    )
    return compare_media(found.files, options=options, runner=boot.runner())
