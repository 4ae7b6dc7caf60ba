"""What a measurement file said: the readings of one table, and what was wrong with it."""

from __future__ import annotations

from dataclasses import dataclass, field

from laydown.kernel.arrays import Floats, Ints
from laydown.kernel.problems import Problem
from laydown.kernel.stated import Stated


@dataclass(frozen=True, slots=True)
class Conditions:
    """How the readings were taken, each with where it was found. Nothing here is ever guessed.

    Values are normalised words: ``measurement`` is M0, M1, M2 or M3; ``backing`` is white, black or the
    file's own word; ``illuminant`` such as D50; ``observer`` is "2" or "10" (degrees); ``geometry`` such as
    45:0; ``density_status`` such as T; ``density_zero`` is absolute or paper (read minus the bare medium);
    ``finish`` is coated or uncoated (whether the print carries a protective coating); ``age_hours`` is the
    time from printing to reading.
    """

    measurement: Stated[str] = Stated()
    backing: Stated[str] = Stated()
    illuminant: Stated[str] = Stated()
    observer: Stated[str] = Stated()
    geometry: Stated[str] = Stated()
    instrument: Stated[str] = Stated()
    date: Stated[str] = Stated()
    density_status: Stated[str] = Stated()
    density_zero: Stated[str] = Stated()
    finish: Stated[str] = Stated()
    age_hours: Stated[float] = Stated()


@dataclass(frozen=True, slots=True, eq=False)
class Readings:
    """One table of readings: n patches, in file order.

    ``device`` (n, k) is scaled to 0-1 (RGB: 1 = full light; CMYK and n-ink: 1 = full ink); ``device_scale``
    is what full was in the file (255, 100, 1 ...) and how that is known; ``channels`` names its columns, such
    as ("R", "G", "B"). ``reflectance`` (n, w) is 0-1 over ``wavelengths_nm`` (w,). ``xyz`` has Y = 100 for
    the perfect diffuser; ``lab`` is CIELAB; both as the file gives them. ``densities`` maps a filter name
    (red, green, blue, visual) to (n,). ``lines`` (n,) holds line numbers in the file, 0 where a format has
    none. ``positions`` (n, 2) is (row, column) on the chart where the file says so. What a file does not
    give is None or empty. Missing numbers are NaN.
    """

    file: str
    ids: tuple[str, ...]
    names: tuple[str, ...]
    lines: Ints
    channels: tuple[str, ...] = ()
    device: Floats | None = None
    device_scale: Stated[float] = Stated()
    wavelengths_nm: Floats | None = None
    reflectance: Floats | None = None
    xyz: Floats | None = None
    lab: Floats | None = None
    densities: dict[str, Floats] = field(default_factory=dict)
    positions: Ints | None = None
    conditions: Conditions = Conditions()
    table: str = ""
    format: str = ""

    def __len__(self) -> int:
        return len(self.ids)


@dataclass(frozen=True, slots=True, eq=False)
class FileReadings:
    """All tables found in one file (one per table and measurement condition) and every problem met."""

    file: str
    tables: tuple[Readings, ...]
    problems: tuple[Problem, ...] = ()
