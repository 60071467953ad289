"""The lesson without a browser: which week it ends, who comes next, what is chosen, what the proposals say."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from excerpts.desk.lesson_week import lesson, next_of_day
from excerpts.desk.next_choices import read_choices, typed_choices
from excerpts.desk.proposal_lines import Proposal, proposals
from excerpts.desk.studio_state import NotThereError, StudioState
from excerpts.errors import InputError
from excerpts.log import next_week
from excerpts.words import Words
from tests.desk.running import RunningDesk
from tests.log.weeks import HEAD, RUN, TONE, row
from tests.log.weeks import week as written
from tests.studio.small import studio, week

MORE = """
[[parked]]
id = "later"
piece = "song"
place = "bar 30"
"""


@pytest.fixture
def state(tmp_path: Path) -> StudioState:
    folder = studio(tmp_path / "studio")
    week(folder, "Ada", lesson="mon 15:00")
    week(folder, "Mila", lesson="mon 9:00")
    week(folder, "Noor", lesson="mon")
    week(folder, "Tove", lesson="tue 9:00")
    return StudioState(folder)


def _key(state: StudioState, name: str) -> str:
    return next(one.key for one in state.players() if one.name == name)


def test_the_lessons_of_a_day_by_their_times(state: StudioState) -> None:
    mila, ada, noor, tove = (state.player(_key(state, name)) for name in ("Mila", "Ada", "Noor", "Tove"))
    assert next_of_day(state, mila) == (ada.key, "15:00")
    assert next_of_day(state, ada) == (noor.key, "")
    assert next_of_day(state, noor) is None
    assert next_of_day(state, tove) is None


def test_a_week_that_was_just_written_is_not_the_one_that_ends(state: StudioState) -> None:
    key = _key(state, "Ada")
    first, second = date(2026, 11, 30), date(2026, 12, 7)
    assert lesson(state, key, "", first).week.week.start == first
    week(state.folder, "Ada", second)
    for today, start in ((first, first), (second, first), (date(2026, 12, 8), second)):
        assert lesson(state, key, "", today).week.week.start == start
    assert lesson(state, key, "2026-11-30", date(2026, 12, 20)).week.week.start == first
    after = lesson(state, key, "", second).next_file
    assert after is not None
    assert after.name == "ada-12-07.toml"
    with pytest.raises(NotThereError):
        lesson(state, key, "2026-11-23", second)


def test_choices_as_they_are_typed(tmp_path: Path) -> None:
    said = typed_choices(
        {
            "ways": {"run": "keep", "tone": "park"},
            "starts": {"run": "66", "tone": "60", "gone": "50"},
            "boxes": [
                {"piece": "song", "bars": "5", "why": "Shift; thumb late, intonation", "goal": "60"},
                {"piece": "song", "bars": "6", "goal": "one breath"},
                {"piece": "song", "bars": "", "why": "speed"},
                {"piece": "song", "bars": "7", "goal": "crotchet = 9999"},
            ],
            "notes": ["", "Sing"],
        }
    )
    read = read_choices(said, written(tmp_path, HEAD + RUN + TONE))
    assert read.choices.kept == {"box run"}
    assert read.choices.ways == {"tone": "park"}
    assert not read.choices.starts  # what is left as it is, or is parked, starts as before
    first, second, third = read.choices.boxes
    assert (first.why, first.note, first.target) == (("shift", "intonation"), "thumb late", "60")
    assert (second.goal, second.target) == ("one breath", "")
    assert third.target == "crotchet = 9999"  # the check of the new week tells that it is none
    assert read.choices.notes == ("Sing",)
    assert set(read.faults) == {"start tone", "new 2 bars"}
    assert read.places == (0, 1, 3)


@pytest.mark.parametrize("said", [{"ways": {"run": "burn"}}, {"start": "soon"}, {"boxes": [{}]}, {"more": 1}])
def test_choices_from_elsewhere_are_refused(said: dict[str, object]) -> None:
    with pytest.raises(InputError, match="the choices cannot be read"):
        typed_choices(said)


def test_each_proposal_with_what_can_be_done_about_it(tmp_path: Path) -> None:
    old = written(tmp_path, HEAD.replace("[week]\n", '[week]\nnotes = ["Sing"]\n') + RUN + TONE + MORE)
    rows = [row(kind="heard"), row("song", kind="run-through", bars="12", note="memory")]
    told = next_week(old, rows).carried.told
    shown = {one.about: one for one in proposals(told, old, Words())}
    assert shown["box run"].line.startswith("Box 1, Song, bar 4: heard clean in the lesson; retired")
    assert not shown["box run"].start  # it is in work no longer
    assert shown["box tone"].ways == ("keep", "park")
    assert shown["box later"].takeable
    assert shown["notes"].refusable
    broke = shown["broke song 12"]
    assert broke.box is not None
    assert (broke.box["bars"], broke.box["why"]) == ("12", ["memory"])
    assert not any("--" in line for one in shown.values() for line in _lines(one))


def _lines(one: Proposal) -> tuple[str, ...]:
    return (one.line, *one.reasons)


@pytest.mark.parametrize("choice", ["uk", "us", "de"])
def test_no_line_names_an_option_of_the_command(choice: str) -> None:
    words = Words(choice)
    for message in (
        "parked",
        "room_for_parked",
        "back_parked",
        "focus",
        "proposed",
        "broke_in_retired",
        "after_rest",
    ):
        assert "--" not in words(f"desk.next.{message}")
        assert words(f"desk.next.{message}") != words(f"log.next.{message}")


def test_nobody_else_is_named(desk: RunningDesk) -> None:
    key = _key(desk.desk.studio, "Ada")
    page = desk.get(f"/lesson/{key}")
    assert page.status == 200
    assert "Mila" not in page.text
    assert desk.get("/lesson/nobody").status == 404
    assert desk.get(f"/lesson/{key}?week=2020-01-01").status == 404


def test_writing_what_cannot_be_read_writes_nothing(desk: RunningDesk, folder: Path) -> None:
    key = _key(desk.desk.studio, "Ada")
    record = {"boxes": {"a": {"lines": [{"was": None, "day": None, "noticed": "x", "broke": "99"}]}}}
    answer = desk.post(f"/lesson/{key}/write", {"record": record, "next": True, "of_log": "", "digest": ""})
    assert answer.status == 422
    assert answer.said["doubts"]
    assert not list(folder.glob("*-log.csv"))
    agreed = [f"{cell} {doubt}" for cell, doubt in answer.said["doubts"].items()]
    said = {"record": record, "next": True, "of_log": "", "digest": "", "agreed": agreed}
    assert desk.post(f"/lesson/{key}/write", said).status == 200
    assert (folder / "ada-2026-12-07.toml").exists()
    assert len((folder / "ada-log.csv").read_text(encoding="utf-8").splitlines()) == 3
    # sent once more by a page that does not know it: nothing is doubled, and the page is asked
    again = desk.post(f"/lesson/{key}/write?week=2026-11-30", said | {"choices": {"focus": "x"}})
    assert (again.status, again.said["which"]) == (409, "digest")
    assert len((folder / "ada-log.csv").read_text(encoding="utf-8").splitlines()) == 3


FAULTS = {
    "bars": ({"boxes": [{"piece": "air", "bars": "2-300"}]}, "new 0 bars", "300"),
    "no bars": ({"boxes": [{"piece": "air", "bars": "", "goal": "60"}]}, "new 0 bars", "Which bars?"),
    "goal": ({"boxes": [{"piece": "air", "bars": "4", "goal": "crotchet = 9999"}]}, "new 0 goal", "9999"),
    "second": (
        {"boxes": [{"piece": "air", "bars": ""}, {"piece": "air", "bars": "x:y:z"}]},
        "new 1 bars",
        "x:y:z",
    ),
    "note": ({"boxes": [{"piece": "air", "bars": "4", "why": "a" * 2001}]}, "new 0 why", "2000"),
    "notes": ({"notes": ["a" * 2001]}, "notes", "2000"),
    "focus": ({"focus": "a" * 301}, "focus", "300"),
    "way": ({"ways": {"a": "simplify"}}, "way a", "no target tempo"),
    "start": ({"starts": {"a": "60"}}, "start a", "give the beat"),
    "first day": ({"start": "2026-11-01"}, "start", "2026-11-01"),
    "last day": ({"until": "2026-12-01"}, "until", "before it starts"),
    "far day": ({"until": "2028-12-01"}, "until", "120 days"),
}


@pytest.mark.parametrize("case", FAULTS)
def test_every_fault_of_the_next_week_stands_at_its_field(desk: RunningDesk, folder: Path, case: str) -> None:
    choices, name, part = FAULTS[case]
    key = _key(desk.desk.studio, "Ada")
    said = {"record": {}, "choices": choices, "next": True, "of_log": "", "digest": ""}
    answer = desk.post(f"/lesson/{key}/write", said)
    assert answer.status == 422
    assert list(answer.said["faults"]) == [name]
    assert part in answer.said["faults"][name]
    assert "Slow Air" in answer.said["next"]  # the proposals are still there to be changed
    assert not list(folder.glob("*-log.csv"))
    assert not list(folder.glob("ada-2026-*.toml"))
