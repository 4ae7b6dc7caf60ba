from __future__ import annotations

from pathlib import Path

import pytest

from laydown.kernel.errors import RefusedInput
from laydown.records.measurement_files import find_measurement_files


def _write(folder: Path, *names: str) -> None:
    for name in names:
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"x")


def test_each_subfolder_is_a_medium_and_each_file_in_it_a_sheet(tmp_path: Path) -> None:
    _write(tmp_path, "Rag/s1.txt", "Rag/s2.txt", "Canvas/s1.txt", "trial.json", "Rag/.hidden", "Rag/look.png")
    found = find_measurement_files([tmp_path])
    assert [(f.candidate, f.name) for f in found.files] == [
        ("Canvas", "Canvas/s1.txt"),
        ("Rag", "Rag/s1.txt"),
        ("Rag", "Rag/s2.txt"),
    ]
    assert found.trial == b"x"


def test_each_loose_file_is_a_medium(tmp_path: Path) -> None:
    _write(tmp_path, "a.txt", "b.txt", "one/c.txt", "two/c.txt")
    paths = [tmp_path / name for name in ("a.txt", "b.txt", "one/c.txt", "two/c.txt")]
    found = find_measurement_files(paths)
    assert [f.candidate for f in found.files] == ["a", "b", "one/c.txt", "two/c.txt"]


def test_a_flat_folder_is_one_medium_per_file(tmp_path: Path) -> None:
    _write(tmp_path, "a.txt", "b.txt")
    assert [f.candidate for f in find_measurement_files([tmp_path]).files] == ["a", "b"]


def test_nothing_there_is_said(tmp_path: Path) -> None:
    with pytest.raises(RefusedInput, match="no measurement files"):
        find_measurement_files([tmp_path])
    with pytest.raises(RefusedInput, match="no such file"):
        find_measurement_files([tmp_path / "gone"])


def test_a_file_that_cannot_be_opened_names_itself(tmp_path: Path) -> None:
    _write(tmp_path, "a.txt", "b.txt")
    found = find_measurement_files([tmp_path])
    (tmp_path / "a.txt").unlink()
    with pytest.raises(RefusedInput, match=r"a\.txt: the file cannot be opened"):
        found.files[0].read()
