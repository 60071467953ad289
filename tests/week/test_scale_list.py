"""A player's list of scales: read, spread over the weeks, ticked. Default tier."""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from excerpts.cli import main
from excerpts.errors import WeekError
from excerpts.excerpt import Tempo
from excerpts.week import load_week, week_faults
from excerpts.week.added_warmups import IN_TURN, MOST_LISTED, scales_of_week
from excerpts.week.orders.check import check_week, check_week_music
from excerpts.week.plan import plan_week
from excerpts.weekfile.faults import WeekFaultsError
from excerpts.weekfile.scale_list import ListedScale, ScaleList, read_list_file
from tests.week.weeks import HEAD, write

CSV = (
    "key,pattern,octaves,bowing,tempo,heard\nD,,2,separate,crotchet = 60,2026-12-07\nG minor,arpeggio,2,3,,\n"
)
TOML = """
start = 2026-11-30
until = 2026-12-20
[[scale]]
key = "D"
octaves = 2
bowing = 4
[[scale]]
key = "Bb"
turn = true
octaves = 3
heard = 2026-12-01
[[scale]]
key = "C"
pattern = "chromatic"
"""
START = date(2026, 11, 30)


def file(folder: Path, name: str, text: str) -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def listed_in(path: Path) -> ScaleList:
    """The list in a file; all of its faults are told at once where it has any."""
    read = read_list_file(path)
    if read.faults or read.listed is None:
        raise WeekFaultsError(read.faults)
    return read.listed


def test_a_list_as_a_table(tmp_path: Path) -> None:
    first, second = listed_in(file(tmp_path, "scales.csv", CSV)).scales
    assert (first.key, first.octaves, first.heard) == ("D", 2, date(2026, 12, 7))
    assert (first.warmup.slur, first.warmup.tempo) == (1, Tempo(Fraction(60)))
    assert (second.warmup.pattern, second.warmup.slur, second.heard) == ("arpeggio", 3, None)


def test_a_list_with_semicolons_and_empty_rows_is_the_same(tmp_path: Path) -> None:
    other = CSV.replace(",", ";").replace("\nG", "\n;;;;;\n\nG")
    assert listed_in(file(tmp_path, "a.csv", other)) == listed_in(file(tmp_path, "b.csv", CSV))


def test_a_list_as_toml(tmp_path: Path) -> None:
    listed = listed_in(file(tmp_path, "scales.toml", TOML))
    assert (listed.start, listed.until, len(listed.scales)) == (START, date(2026, 12, 20), 3)
    assert listed.scales[1].warmup.manner.turn


@pytest.mark.parametrize(
    ("name", "text", "message"),
    [
        (
            "s.csv",
            "key,patern\nD,scale\n",
            's.csv, line 1: There is no column "patern". Did you mean "pattern"?',
        ),
        ("s.csv", "pattern\nscale\n", "s.csv: The first row has to name the columns."),
        ("s.csv", "", "s.csv: The first row has to name the columns."),
        ("s.csv", "key\nD,2\n", "s.csv, line 2: This row has 2 cells under 1 columns."),
        ("s.csv", "key,octaves\nD,2\n\nH,1\n", "s.csv, line 4, scale 2, key: There is no H in English"),
        ("s.csv", "key,octaves\nD,two\n", "s.csv, line 2, scale 1, octaves"),
        ("s.csv", "key,heard\nD,yesterday\n", "s.csv, line 2, scale 1, heard: This is not a date."),
        ("s.toml", "scale = []\n", "s.toml: The list has no scale."),
        (
            "s.toml",
            TOML.replace("until", "#"),
            "s.toml: A list runs from start to until; until is missing.",
        ),
        ("s.toml", TOML.replace("2026-12-20", "2026-11-20"), "s.toml: The list ends on 2026-11-20, before"),
        ("s.toml", TOML.replace('"Bb"', '"G#"'), "s.toml, line 9, scale 2, key: G-sharp major would need 8"),
        ("none.csv", None, "There is no such file."),
    ],
)
def test_faults_are_told_with_their_place(tmp_path: Path, name: str, text: str | None, message: str) -> None:
    path = tmp_path / name if text is None else file(tmp_path, name, text)
    with pytest.raises(WeekError) as caught:
        listed_in(path)
    assert message in str(caught.value)
    assert caught.value.exit_status == 2


def test_each_scale_has_its_week_and_what_was_not_heard_comes_again(tmp_path: Path) -> None:
    listed = listed_in(file(tmp_path, "scales.toml", TOML))
    weeks = [scales_of_week(listed, START + timedelta(days=7 * week)) for week in range(4)]
    assert weeks == [[0], [0], [0, 2], [0, 2]]  # the second, in its week, was heard the day before


def listed_scales(count: int, heard: list[int], weeks: int | None) -> ScaleList:
    scales = [
        {"key": "D", "heard": START - timedelta(days=1)} if place in heard else {"key": "D"}
        for place in range(count)
    ]
    span = {} if weeks is None else {"start": START, "until": START + timedelta(days=7 * weeks - 1)}
    return ScaleList.model_validate({"scale": scales, **span})


@given(st.integers(1, 60), st.integers(1, 30))
def test_over_its_weeks_every_scale_comes(count: int, weeks: int) -> None:
    """Nothing heard, nothing lost: each scale has its own week; a week with room takes late ones too."""
    listed = listed_scales(count, [], weeks)
    found = [scales_of_week(listed, START + timedelta(days=7 * week)) for week in range(weeks)]
    assert {place for places in found for place in places} == set(range(count))
    assert all(len(set(places)) == len(places) <= max(MOST_LISTED, -(-count // weeks)) for places in found)
    assert found == [scales_of_week(listed, START + timedelta(days=7 * week)) for week in range(weeks)]


@given(st.integers(1, 40), st.lists(st.integers(0, 39), max_size=40))
def test_without_a_last_day_a_few_take_turns_and_heard_ones_rest(count: int, heard: list[int]) -> None:
    listed = listed_scales(count, heard, None)
    left = [place for place in range(count) if place not in heard]
    seen = set()
    for week in range(count):
        places = scales_of_week(listed, START + timedelta(days=7 * week))
        assert len(places) == min(IN_TURN, len(left) or count)
        assert not left or set(places) <= set(left)
        seen |= set(places)
    assert seen == set(left or range(count))


def test_the_week_plays_what_the_list_has_for_it(tmp_path: Path) -> None:
    file(tmp_path, "scales.toml", TOML)
    path = write(tmp_path, HEAD.replace("format = 1", 'format = 1\nscales = "scales.toml"'))
    week = load_week(path)
    assert [(item.key, item.slur, item.note) for item in week.warmups] == [
        ("D", 4, "From the list of scales.")
    ]
    assert any(item.warmup == 0 for day in plan_week(week).days for item in day.items)


def test_a_list_that_is_missing_is_told_at_its_name_and_its_faults_at_their_own_lines(tmp_path: Path) -> None:
    text = HEAD.replace("format = 1", 'format = 1\nscales = "scales.toml"')
    (missing,) = week_faults(write(tmp_path, text))
    assert (missing.line, missing.key) == (2, "scales")
    assert missing.message.startswith('There is no file "scales.toml"')
    listed = file(tmp_path, "scales.toml", TOML.replace("octaves = 2", "octaves = 4", 1))
    checked = check_week(write(tmp_path, text))
    (high,), (turned,) = checked.faults, checked.told
    assert (turned.line, turned.key) == (8, "scale 2")
    assert "beyond the violin at level" in turned.message  # asked for, so it is made
    assert (high.file, high.line, high.key) == (listed, 4, "scale 1")
    assert high.message.startswith("Four octaves of D major do not fit")
    file(tmp_path, "scales.toml", TOML.replace('"Bb"', '"G#"'))
    (none,) = week_faults(write(tmp_path, text))
    assert (none.file.name, none.line) == ("scales.toml", 9)


def test_a_listed_scale_is_a_warm_up_with_all_it_says() -> None:
    scale = ListedScale.model_validate(
        {"key": "A", "from": "A3", "bowing": "separate", "fingerings": "open", "tempo": "minim = 40"}
    )
    assert (scale.warmup.from_, scale.warmup.slur, scale.warmup.manner.fingerings) == ("A3", 1, "open")


def test_check_tries_every_scale_of_the_list_and_not_only_this_week_s(tmp_path: Path) -> None:
    """A scale that does not fit is told at once, and not in the week in which it comes."""
    scales = "".join(
        f'[[scale]]\nkey = "{key}"\noctaves = {n}\n' for key, n in (("D", 1), ("E", 4), ("B", 4))
    )
    file(tmp_path, "scales.toml", f"start = 2026-11-30\nuntil = 2026-12-20\n{scales}")
    week = load_week(write(tmp_path, HEAD.replace("format = 1", 'format = 1\nscales = "scales.toml"')))
    assert [item.key for item in week.warmups] == ["D"]
    told = [(fault.line, fault.key, fault.message[:25]) for fault in check_week_music(week).faults]
    assert told == [
        (6, "scale 2", "Four octaves of E major d"),
        (9, "scale 3", "Four octaves of B major d"),
    ]


def test_the_rows_of_a_csv_list_are_told_by_the_line_of_the_file(tmp_path: Path) -> None:
    listed = file(tmp_path, "scales.csv", "key,octaves,bowing\nD,2,4\n\nG,2,17\nA,4,\n")
    path = write(tmp_path, HEAD.replace("format = 1", 'format = 1\nscales = "scales.csv"'))
    checked = check_week(path)
    assert [(fault.file, fault.line) for fault in checked.faults] == [(listed, 4)]
    assert (listed, 5) in [(fault.file, fault.line) for fault in checked.told]


def test_slips_are_refused_for_rows_that_no_instrument_plays(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A scale that only the cello or only an advanced player has is no fault: the list may serve anybody."""
    rows = "key,pattern,octaves,bowing\nC,,4,\nD,,2,17\nB,,3,\nC,drones,,\n"
    listed = file(tmp_path, "scales.csv", rows)
    target = tmp_path / "slips.pdf"
    assert main(["warmup", "--list", str(listed), "-o", str(target)]) == 2
    assert "There is no" in capsys.readouterr().err
    file(tmp_path, "scales.csv", rows.replace("C,drones,,\n", ""))
    assert main(["warmup", "--list", str(listed), "-o", str(target)]) == 2
    said = capsys.readouterr().err
    assert "scales.csv, line 3, scale 2: Bows of 17 do not divide" in said
    assert not target.exists()
    file(tmp_path, "scales.csv", rows.replace("C,drones,,\n", "").replace("17", "4"))
    assert main(["warmup", "--list", str(listed), "-o", str(target)]) == 0
