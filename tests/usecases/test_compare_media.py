"""The whole comparison: what is read alike is compared, what is not is refused, nothing is lost."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from laydown.compute.runner import ProcessRunner, SerialRunner
from laydown.kernel.errors import BadSetting, RefusedInput
from laydown.records.measurement_files import find_measurement_files
from laydown.report import to_json
from laydown.science.deciding import Quantity, judge
from laydown.science.findings import METRICS
from laydown.usecases.compare_media import CompareOptions, Progress, compare_media
from laydown.usecases.comparison import Comparison
from laydown.usecases.demo_trial import HOUSE, build_demo_trial
from laydown.usecases.trial_file import MarginSetting, Trial, parse_margins, parse_trial

DEMO = build_demo_trial()
TWIN = "Tidemill Cotton"
GLOSS = "Samphire Gloss"
Run = Callable[..., Comparison]


@pytest.fixture
def run(tmp_path: Path) -> Run:
    """``run(files, **options)`` writes files by relative path, then compares the folder."""

    def go(files: dict[str, bytes], runner: object = None, sub: str = "", **options: object) -> Comparison:
        for name, data in files.items():
            path = tmp_path / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)
        found = find_measurement_files([tmp_path / sub])
        told = parse_trial(found.trial, file="trial.json") if found.trial else Trial()
        return compare_media(
            found.files,
            options=CompareOptions(trial=told, **options),  # type: ignore[arg-type]
            runner=runner,  # type: ignore[arg-type]
        )

    return go


def some(*media: str, sheets: int = 9, conditions: tuple[str, ...] = ("M1",)) -> dict[str, bytes]:
    """Part of the demo trial's plain files."""
    return {
        name: data
        for name, data in DEMO.items()
        if name.split("/")[0] in media
        and any(f"sheet{n}-" in name for n in range(1, sheets + 1))
        and any(f"-{c}." in name for c in conditions)
    }


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Comparison:
    folder = tmp_path_factory.mktemp("whole")
    for name, data in DEMO.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(data)
    found = find_measurement_files([folder])
    assert found.trial is not None
    return compare_media(
        found.files, options=CompareOptions(trial=parse_trial(found.trial, file="trial.json"))
    )


def test_the_demo_says_what_was_planted(whole: Comparison) -> None:
    """The invented trial's truth is known: a twin, a gloss with a deeper black, an over-inked canvas."""
    calls = {(d.candidate, d.finding): d.call for d in whole.differences if d.against == HOUSE}
    assert {call for (name, _), call in calls.items() if name == TWIN} <= {"same", "cannot_tell"}
    assert calls["Samphire Gloss", "dmax_visual"] == "better"
    assert calls["Samphire Gloss", "gamut_volume"] == "better"
    assert calls["Withy Canvas", "dmax_visual"] == "worse"
    assert calls["Withy Canvas", "shadow_steps_lost"] == "worse"
    assert calls["Gullwing White", "brightener_db"] == "higher"
    hook = whole.candidate("Withy Canvas").finding("ink_limit_hook")
    assert hook is not None
    assert "hook" in hook.detail
    assert whole.invented


def test_the_misread_sheet_is_reported_by_file_line_and_patch(whole: Comparison) -> None:
    told = [p for p in whole.problems if "Withy Canvas/sheet2" in (p.file or "") and p.severity != "note"]
    assert any("looks swapped with patch" in p.what for p in told)
    assert all(p.line and p.patch and p.todo for p in told)
    assert {p.file.split("/")[0] for p in whole.problems if p.file and p.severity != "note"} == {
        "Withy Canvas"
    }


def test_every_number_says_under_what_it_was_found(whole: Comparison) -> None:
    for candidate in whole.candidates:
        for finding in candidate.findings:
            assert finding.unit
            assert finding.condition.startswith(("M1, white backing", "M2, white backing"))
            assert finding.n >= 1
            assert finding.method
            assert finding.source


def test_the_runner_makes_no_difference(run: Run) -> None:
    files = some(HOUSE, GLOSS, sheets=2)
    serial = to_json(run(files, SerialRunner()))
    assert serial == to_json(run(files, ProcessRunner(workers=2, at_least=2)))


def test_one_sheet_each_calls_nothing(run: Run) -> None:
    answer = run(some(HOUSE, GLOSS, sheets=1), house=HOUSE)
    assert {d.call for d in answer.differences} == {"cannot_tell"}
    assert "nothing is called" in answer.summary[0]
    assert all("one sheet" in f.note for c in answer.candidates for f in c.findings)


def test_unlike_finish_is_refused(run: Run) -> None:
    files = some(HOUSE, GLOSS, sheets=2)
    files = {
        name: data.replace(b"uncoated", b"coated") if name.startswith(GLOSS) else data
        for name, data in files.items()
    }
    answer = run(files, house=HOUSE)
    assert answer.differences
    assert all(d.refused and "unlike finish" in d.reason for d in answer.differences)
    assert "cannot be compared" in " ".join(answer.summary)


def test_the_trial_file_states_what_files_do_not(run: Run) -> None:
    bare = {
        name: b"\n".join(line for line in data.split(b"\n") if not line.startswith((b"FINISH", b"PRINT_AGE")))
        for name, data in some(HOUSE, GLOSS, sheets=2).items()
    }
    trial = {
        "candidates": {
            HOUSE: {"finish": "coated", "age_hours": 30},
            GLOSS: {"finish": "uncoated"},
            "Gone": {},
        }
    }
    answer = run({**bare, "trial.json": json.dumps(trial).encode()})
    facts = {fact.name: fact for fact in answer.candidate(HOUSE).facts}
    assert (facts["Finish"].value, facts["Finish"].where) == ("coated", "trial file")
    assert facts["Age"].value == "30 h after printing"
    assert all(d.refused for d in answer.differences)
    assert any('speaks of "Gone"' in p.what for p in answer.problems)


def test_the_condition_can_be_chosen_and_defaults_to_m1(run: Run) -> None:
    files = some(HOUSE, GLOSS, sheets=2, conditions=("M1", "M2"))
    assert run(files).condition.startswith("M1")
    assert run(files, condition="M2").condition.startswith("M2")


def test_margins_may_be_relative(run: Run) -> None:
    margins = parse_margins(b'{"gamut_volume": "50 %"}', file="m.json")
    answer = run(some(HOUSE, "Withy Canvas", sheets=3), house=HOUSE, margins=margins)
    volume = answer.candidate(HOUSE).finding("gamut_volume")
    told = next(d for d in answer.differences if d.finding == "gamut_volume")
    assert volume is not None
    assert told.margin == pytest.approx(volume.value / 2)
    assert told.call == "same"
    assert "m.json" in told.margin_source


def test_a_preference_turns_higher_into_better(run: Run) -> None:
    margins = {"white_b": MarginSetting(prefer="lower")}
    answer = run(some(HOUSE, "Withy Canvas", sheets=3), house=HOUSE, margins=margins)
    assert next(d for d in answer.differences if d.finding == "white_b").call == "better"


def test_a_house_that_is_not_there_is_named(run: Run) -> None:
    with pytest.raises(BadSetting, match="Nowhere"):
        run(some(GLOSS, sheets=1), house="Nowhere")


def test_nothing_usable_is_one_sentence(run: Run) -> None:
    with pytest.raises(RefusedInput, match="no file could be used"):
        run({"A/a.txt": b"nothing", "B/b.txt": b""})


def test_a_second_reading_of_a_sheet_is_not_a_second_sheet(run: Run) -> None:
    one = some(GLOSS, sheets=1)
    ((name, data),) = one.items()
    again = data.replace(b"0.", b"0.0", 1)
    answer = run({name: data, name.replace("-M1", "-M1-read2"): again})
    assert len(answer.candidates[0].sheets) == 1


def test_a_copied_file_does_not_add_a_sheet(run: Run) -> None:
    ((name, data),) = some(GLOSS, sheets=1).items()
    answer = run({name: data, name.replace("sheet1", "sheet7"): data})
    assert len(answer.candidates[0].sheets) == 1
    assert any("number for number" in p.what for p in answer.problems)


def test_different_charts_are_not_compared_where_it_matters(run: Run) -> None:
    files = some(HOUSE, GLOSS, sheets=2)
    lines = {name: data.split(b"\n") for name, data in files.items() if name.startswith(GLOSS)}
    for name, text in lines.items():
        start = text.index(b"BEGIN_DATA") if b"BEGIN_DATA" in text else text.index(b"BEGIN_DATA\r")
        files[name] = b"\n".join(text[: start + 1] + text[start + 1 : start + 350] + [b"END_DATA", b""])
    answer = run(files)
    refused = {d.finding for d in answer.differences if d.refused}
    assert "gamut_volume" in refused
    assert "white_b" not in refused


def test_progress_is_told_to_the_end(tmp_path: Path) -> None:
    for name, data in some(GLOSS, sheets=2).items():
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_bytes(data)
    told: list[Progress] = []
    compare_media(find_measurement_files([tmp_path]).files, progress=told.append)
    assert told[-1].done == told[-1].total
    assert [p.done for p in told] == sorted(p.done for p in told)


def test_a_choice_nothing_was_read_under_is_refused(run: Run) -> None:
    with pytest.raises(BadSetting, match="nothing was read under M3 of"):
        run(some(HOUSE, GLOSS, sheets=2), condition="M3")


def test_the_condition_with_most_sheets_is_judged_under(run: Run) -> None:
    files = some(GLOSS, sheets=3, conditions=("M2",)) | some(GLOSS, sheets=1, conditions=("M1",))
    files |= some(HOUSE, sheets=3, conditions=("M1", "M2"))
    answer = run(files)
    assert answer.condition.startswith("M2")
    assert all(finding.n == 3 for c in answer.candidates for finding in c.findings if finding.judged)


def test_every_comparison_of_the_trial_is_counted(whole: Comparison) -> None:
    """Each probability is that of its quantity alone, times the number of quantities judged."""
    count = len({d.finding for d in whole.differences})
    assert count > 20
    samples = {}
    for candidate in whole.candidates:
        found = candidate.finding("white_l")
        assert found is not None
        samples[candidate.name] = [value for _, value in found.per_sheet]
    quantity = Quantity("white_l", "L*", margin=0.5, resolution=METRICS["white_l"].resolution)
    alone = {
        (d.candidate, d.against): d.p_adjusted
        for d in judge(samples, quantity, quantities_judged=1, house=HOUSE).differences
    }
    told = {(d.candidate, d.against): d.p_adjusted for d in whole.differences if d.finding == "white_l"}
    assert told == pytest.approx({pair: min(1.0, count * p) for pair, p in alone.items()})


def test_an_unlike_sheet_that_comes_last_is_seen(run: Run) -> None:
    files = some(HOUSE, GLOSS, sheets=3)
    last = f"{GLOSS}/sheet3-M1.txt"
    files[last] = files[last].replace(b"uncoated", b"coated")
    answer = run(files, house=HOUSE)
    assert any(p.file == last and "not taken like the other readings" in p.what for p in answer.problems)
    assert len(answer.candidate(GLOSS).sheets) == 2
    assert not any(d.refused for d in answer.differences)


def test_a_files_own_word_wins_over_the_trial_file(run: Run) -> None:
    trial = {"candidates": {HOUSE: {"finish": "coated"}}}
    answer = run({**some(HOUSE, GLOSS, sheets=2), "trial.json": json.dumps(trial).encode()})
    facts = {fact.name: fact for fact in answer.candidate(HOUSE).facts}
    assert facts["Finish"].value == "uncoated"


def test_a_copy_in_another_medium_is_pointed_out(run: Run) -> None:
    (data,) = some(HOUSE, sheets=1).values()
    answer = run({"A/s1.txt": data, "B/s1.txt": data})
    assert any("another medium" in p.what and p.severity == "warning" for p in answer.problems)


def test_what_may_not_be_compared_lends_no_spread_and_shares_no_letter(run: Run) -> None:
    files = some(HOUSE, GLOSS, "Withy Canvas", sheets=3)
    coated = {
        name: data.replace(b"uncoated", b"coated") if name.startswith("Withy") else data
        for name, data in files.items()
    }
    apart = run(coated, house=HOUSE)
    two = {name: data for name, data in files.items() if not name.startswith("Withy")}
    without = run({f"alone/{name}": data for name, data in two.items()}, sub="alone", house=HOUSE)
    for finding in ("dmax_visual", "white_l"):
        pair = [
            d
            for d in apart.differences
            if d.finding == finding and d.candidate == GLOSS and d.against == HOUSE
        ]
        alone = [d for d in without.differences if d.finding == finding]
        assert (pair[0].low, pair[0].high) == pytest.approx((alone[0].low, alone[0].high))
    letters = next(c.letters for c in apart.by_finding if c.finding == "white_l")
    assert letters["Withy Canvas"] not in (letters[HOUSE], letters[GLOSS])


def test_gamuts_under_unlike_finish_are_not_set_against_each_other(run: Run) -> None:
    files = some(HOUSE, GLOSS, sheets=2)
    files = {n: d.replace(b"uncoated", b"coated") if n.startswith(GLOSS) else d for n, d in files.items()}
    answer = run(files)
    media = {HOUSE, GLOSS}
    assert not any(o.candidate in media and o.other in media for o in answer.overlaps)
    assert any(o.other == "sRGB" for o in answer.overlaps)
