"""Reader of CxF3 / ISO 17972 XML: measurements joined to their device values, one table per condition."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.kernel.errors import UnreadableFile
from laydown.kernel.problems import Problem
from laydown.kernel.stated import Stated
from laydown.science.readings.assembly import RawTable, finish_table
from laydown.science.readings.conditions import Statement
from laydown.science.readings.cxf_conditions import ColourSpecification, file_statements, read_specifications
from laydown.science.readings.cxf_objects import Colour, CxfObject, Device, read_objects
from laydown.science.readings.cxf_tree import local, parse_xml
from laydown.science.readings.limits import MAX_REPORTED_PER_KIND, MAX_TABLES
from laydown.science.readings.types import FileReadings, Readings
from laydown.science.readings.wordings import DEVICE_ONLY

_KIND = "CxF3"
_CONDITION = re.compile(r"(?<![A-Za-z0-9])M([0-3])(?![A-Za-z0-9])")
_NO_IDS = {"", "-1"}
_PAGE, _ROW, _COLUMN = ("page", "pagenum", "pagenumber"), ("row", "rownum", "samplerow"), (
    "column", "col", "columnnum", "samplecolumn",
)  # fmt: skip


@dataclass(slots=True)
class _Group:
    """Objects measured the same way; ``word`` is M0 to M3 where anything says so."""

    word: str = ""
    statements: list[Statement] = field(default_factory=list)
    rows: dict[int, dict[str, Colour]] = field(default_factory=dict)
    measured: bool = False


def read_cxf(data: bytes, *, file: str) -> FileReadings:
    """Read the measurements of a CxF3 file.

    Device values may stand with the measurement or in target objects of their own; those are joined by name
    or, where names are missing or all the same, by the page, row and column tags.

    Parameters
    ----------
    data : XML bytes.
    file : the file's name, for messages.

    Returns
    -------
    FileReadings
        One table for each measuring condition.

    Raises
    ------
    UnreadableFile
        Where the XML is unsafe or damaged, is not CxF, or holds no measured colours.

    Checked against
    ---------------
    Files built to the published schema's core; no file of a real instrument was at hand.
    """
    root = parse_xml(data, file=file)
    if local(root) != "CxF":
        what = f'this XML file is not CxF (its first element is "{local(root)[:40]}").'
        raise UnreadableFile(what, todo="Export the readings as CxF3 or CGATS.", file=file)
    specifications = read_specifications(root)
    objects = read_objects(root)
    groups = _group(objects, specifications)
    if not groups:
        if any(item.device for item in objects):
            raise UnreadableFile(DEVICE_ONLY, todo="Use the file the instrument writes.", file=file)
        what = "this CxF file holds no spectra, Lab, XYZ or densities."
        raise UnreadableFile(what, todo="Export the readings again.", file=file)
    if len(groups) > MAX_TABLES.value:
        what = f"the file holds more than {MAX_TABLES.value:g} measuring conditions."
        raise UnreadableFile(what, todo="Split the file.", file=file)
    devices = _join_devices(objects)
    inherited = file_statements(root)
    tables: list[Readings] = []
    problems: list[Problem] = []
    for number, group in enumerate(groups, start=1):
        name = str(number) if len(groups) > 1 else ""
        raw, found = _raw_table(objects, group, specifications, devices, file, name)
        problems += found
        if raw is not None:
            table, found = finish_table(replace(raw, inherited=inherited))
            tables.append(table)
            problems += found
    if not tables:
        first = problems[0]
        what = f"no patch could be read; the first one: {first.what}"
        raise UnreadableFile(what, todo=first.todo, file=file, line=first.line)
    return FileReadings(file=file, tables=tuple(_named(tables)), problems=tuple(problems))


def _named(tables: Sequence[Readings]) -> list[Readings]:
    """Tables named by their condition where that tells them apart."""
    if len(tables) < 2:
        return list(tables)
    words = [str(table.conditions.measurement) for table in tables]
    unique = len(set(words)) == len(words)
    return [replace(table, table=word) if unique else table for table, word in zip(tables, words)]


def _group(objects: Sequence[CxfObject], specifications: dict[str, ColourSpecification]) -> list[_Group]:
    """Colours grouped by how they were measured; computed colours go with the one measurement there is."""
    groups: dict[tuple[str, ...], _Group] = {}
    unmeasured: list[tuple[int, str, Colour]] = []
    for index, item in enumerate(objects):
        kind = _condition_word(item.kind)
        for colour in item.colours:
            spec = specifications.get(colour.specification, ColourSpecification())
            if not spec.measured and colour.kind != "spectrum":
                unmeasured.append((index, kind, colour))
                continue
            # What a specification says of its own colour stands above the name of the object's type.
            own = next((word for s in spec.statements if (word := _condition_word(s.value))), "")
            group = groups.setdefault((own or kind, *spec.key), _Group(word=own or kind, measured=True))
            _add(group, index, colour, spec, item, "" if own else kind)
    for index, kind, colour in unmeasured:
        spec = specifications.get(colour.specification, ColourSpecification())
        homes = [group for group in groups.values() if group.measured and index in group.rows]
        homes = [group for group in homes if not kind or group.word == kind] or homes
        if len(homes) == 1:
            _add(homes[0], index, colour, spec, objects[index], "")
        else:
            home = groups.setdefault((kind, "computed"), _Group(word=kind))
            _add(home, index, colour, spec, objects[index], kind)
    return list(groups.values())


def _condition_word(text: str) -> str:
    """M0 to M3 in a name such as ``M1_Daylight``; empty where there is none."""
    match = _CONDITION.search(text)
    return f"M{match[1]}" if match else ""


def _add(
    group: _Group, index: int, colour: Colour, spec: ColourSpecification, item: CxfObject, kind: str
) -> None:
    """Put a colour in a group; of two of a kind for the same object the first stays."""
    row = group.rows.setdefault(index, {})
    if colour.kind == "density" and "density" in row:
        first = row["density"]
        row["density"] = replace(first, values=first.values + colour.values, axes=first.axes + colour.axes)
    elif colour.kind in row:
        return
    else:
        row[colour.kind] = colour
    stated = list(spec.statements)
    if kind:
        stated.append(Statement("MEASUREMENT_CONDITION", kind, item.line, shown="ObjectType"))
    known = {(s.keyword, s.value) for s in group.statements}
    group.statements += [s for s in stated if (s.keyword, s.value) not in known]


def _place(item: CxfObject) -> tuple[str, str, str] | None:
    """Page, row and column tags of an object; None without row and column."""

    def tag(names: tuple[str, ...]) -> str:
        return next((item.tags[name] for name in names if name in item.tags), "")

    row, column = tag(_ROW), tag(_COLUMN)
    return (tag(_PAGE), row, column) if row and column else None


def _sample_id(item: CxfObject) -> str:
    return item.tags.get("sampleid", item.name)


def _join_devices(objects: Sequence[CxfObject]) -> dict[int, Device]:
    """Device values for every measured object: its own, or those of the target object it belongs to."""
    targets = [item for item in objects if item.device is not None and not item.colours]
    measured = [(index, item) for index, item in enumerate(objects) if item.colours]
    found = {index: item.device for index, item in measured if item.device is not None}
    keys: tuple[Callable[[CxfObject], object], ...] = (_sample_id, lambda item: item.name, _place)
    for key in keys:
        counts = Counter(key(item) for item in targets)
        known = {key(item): item.device for item in targets if counts[key(item)] == 1}
        for index, item in measured:
            name = key(item)
            if index not in found and name is not None and name not in _NO_IDS:
                device = known.get(name)
                if device is not None:
                    found[index] = device
    return found


def _raw_table(
    objects: Sequence[CxfObject],
    group: _Group,
    specifications: dict[str, ColourSpecification],
    devices: dict[int, Device],
    file: str,
    table: str,
) -> tuple[RawTable | None, list[Problem]]:
    """Arrays of one group, without the objects whose numbers do not fit."""
    problems: list[Problem] = []
    axis = _axis(objects, group, specifications)
    kept: list[int] = []
    for index, colours in group.rows.items():
        fault = _fault(colours, axis, specifications)
        if fault:
            todo = "Correct it, or read this patch again."
            item = objects[index]
            problems.append(
                Problem("error", f"{fault}; the patch was left out.", todo, file, item.line, _sample_id(item))
            )
        else:
            kept.append(index)
    limit = int(MAX_REPORTED_PER_KIND.value)
    if len(problems) > limit:
        what = f"{len(problems) - limit} more patches could not be read and were left out."
        problems = [*problems[:limit], Problem("error", what, file=file)]
    if not kept:
        return None, problems
    rows = [group.rows[index] for index in kept]
    items = [objects[index] for index in kept]
    channels, device, full, found = _device_array([devices.get(index) for index in kept], file)
    problems += found
    return RawTable(
        file=file,
        format=_KIND,
        ids=_ids(items),
        names=tuple(item.name for item in items),
        lines=np.array([item.line for item in items], dtype=np.int64),
        channels=channels,
        device=device,
        device_scale=full,
        wavelengths_nm=axis,
        spectra=_values(rows, "spectrum", axis.size) if axis is not None else None,
        spectral_scale="stated 0-1",
        xyz=_values(rows, "xyz", 3),
        lab=_values(rows, "lab", 3),
        densities=_densities(rows),
        positions=_positions(items),
        statements=group.statements,
        table=table,
    ), problems


def _axis(
    objects: Sequence[CxfObject], group: _Group, specifications: dict[str, ColourSpecification]
) -> Floats | None:
    """Wavelengths of the group: those of its first spectrum that says where it starts and steps."""
    del objects
    for colours in group.rows.values():
        spectrum = colours.get("spectrum")
        if spectrum is not None and spectrum.values:
            start, step = _start_step(spectrum, specifications)
            if np.isfinite(start) and step > 0:
                return start + step * np.arange(len(spectrum.values), dtype=np.float64)
    return None


def _start_step(spectrum: Colour, specifications: dict[str, ColourSpecification]) -> tuple[float, float]:
    """Start and step in nm, from the spectrum itself or from its specification."""
    spec = specifications.get(spectrum.specification, ColourSpecification())
    start = spectrum.start_nm if np.isfinite(spectrum.start_nm) else spec.start_nm
    step = spectrum.increment_nm if np.isfinite(spectrum.increment_nm) else spec.increment_nm
    return start, step


def _fault(
    colours: dict[str, Colour], axis: Floats | None, specifications: dict[str, ColourSpecification]
) -> str:
    """What is wrong with an object's colours; empty where nothing is."""
    for kind, colour in colours.items():
        if not colour.values or not np.isfinite(colour.values).all():
            return f"its {kind} holds something that is not a number"
        if kind == "spectrum":
            start, step = _start_step(colour, specifications)
            if axis is None or not np.isfinite(start) or not np.isfinite(step):
                return "its spectrum does not say at which wavelengths it was read"
            if (
                len(colour.values) != axis.size
                or start != axis[0]
                or (axis.size > 1 and step != axis[1] - axis[0])
            ):
                return "its spectrum has other wavelengths than the first patch"
    return ""


def _values(rows: Sequence[dict[str, Colour]], kind: str, width: int) -> Floats | None:
    """Numbers of one kind, NaN where an object has none; None where no object has any."""
    if not any(kind in row for row in rows):
        return None
    nothing = (float("nan"),) * width
    return np.array([row[kind].values if kind in row else nothing for row in rows], dtype=np.float64)


def _densities(rows: Sequence[dict[str, Colour]]) -> dict[str, Floats]:
    given = [
        dict(zip(row["density"].axes, row["density"].values)) if "density" in row else {} for row in rows
    ]
    names = dict.fromkeys(name for each in given for name in each)
    return {name: np.array([each.get(name, float("nan")) for each in given]) for name in names}


def _positions(items: Sequence[CxfObject]) -> np.ndarray[tuple[int, ...], np.dtype[np.int64]] | None:
    places = [_place(item) for item in items]
    cells = [(place[1], place[2]) for place in places if place and place[1].isdigit() and place[2].isdigit()]
    if len(cells) != len(items) or any(len(word) > 9 for cell in cells for word in cell):
        return None
    return np.array([(int(row), int(column)) for row, column in cells], dtype=np.int64)


def _ids(items: Sequence[CxfObject]) -> tuple[str, ...]:
    """Sample ids where they are given, else names, else object ids, else place on the chart, else numbers."""
    places = ["-".join(part for part in (_place(item) or ()) if part) for item in items]
    for ids in (
        [_sample_id(item) for item in items],
        [item.name for item in items],
        places,
        [i.identity for i in items],
    ):
        if all(name not in _NO_IDS for name in ids) and (len(set(ids)) > 1 or len(ids) == 1):
            return tuple(ids)
    return tuple(str(number) for number in range(1, len(items) + 1))


def _device_array(
    devices: Sequence[Device | None], file: str
) -> tuple[tuple[str, ...], Floats | None, Stated[float], list[Problem]]:
    """Device values of all rows, NaN where an object has none."""
    given = [device for device in devices if device is not None]
    if not given:
        return (), None, Stated(), []
    (channels, full), most = Counter((device.channels, device.full) for device in given).most_common(1)[0]
    nothing = (float("nan"),) * len(channels)
    values = [
        device.values
        if device is not None and (device.channels, device.full) == (channels, full)
        else nothing
        for device in devices
    ]
    problems: list[Problem] = []
    if most < len(devices):
        what = (
            f"{len(devices) - most} patches have no device values of the common kind ({', '.join(channels)})."
        )
        problems.append(Problem("warning", what, todo="Export the chart's device values too.", file=file))
    scale = Stated(full, "CxF3 device values") if full > 0 else Stated(255.0, "CxF3 device values")
    return channels, np.array(values, dtype=np.float64), scale, problems
