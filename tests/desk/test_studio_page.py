"""The first page: who is listed how, a new player, scores, building."""

from __future__ import annotations

import json
import re
from datetime import date
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest

from excerpts.desk.roster import roster
from excerpts.desk.studio_state import StudioState
from excerpts.weekfile.read_week import read_week
from tests.desk.running import RunningDesk, letters
from tests.music import bars_of
from tests.studio.small import WEEK, studio, week

TODAY = date(2026, 12, 1)
NEW = {
    "name": "Ivo Brandt", "instrument": "viola", "level": "lower", "age": "9", "lesson": "2026-12-01", "time": "16:30",
    "next": "2026-12-08", "minutes": "mon-fri 20, sat 30",
}  # fmt: skip
LOG = "week,date,kind,box,tempo,unit,clean,bars,note\n,,player,,,,,,Mila\n"


def test_players_stand_under_the_weekday_of_their_lesson_in_its_order(folder: Path) -> None:
    for name, lesson in (("Zoe", "tue 9:15"), ("Ben", "tue 16:30"), ("Cleo", "thu"), ("Dora", "tue")):
        week(folder, name, lesson=lesson)
    listed = roster(StudioState(folder), TODAY)
    rows = {day.name: [(row.player.name, row.time) for row in day.rows] for day in listed.days}
    assert rows == {
        "Monday": [("Ada", ""), ("Mila", "")],
        "Tuesday": [("Zoe", "09:15"), ("Ben", "16:30"), ("Dora", "")],
        "Thursday": [("Cleo", "")],
    }
    assert (listed.players, listed.changed) == (6, 6)


def test_what_a_line_says(folder: Path) -> None:
    path = folder / "mila-11-30.toml"
    text = path.read_text().replace('title = "Slow Air"', 'title = "Slow Air"\ndate = 2026-12-12')
    path.write_text(text.replace('bars = "2-3"', 'bars = "2-3"\nsince = 2026-11-09'))
    rows = [f"{week},{week},box,a,60,crotchet,0,,\n" for week in ("2026-11-09", "2026-11-16", "2026-11-23")]
    (folder / "mila-log.csv").write_text(LOG + "".join(rows))
    ada, mila = roster(StudioState(folder), TODAY).days[0].rows
    assert (ada.stuck, ada.performance, ada.ready, ada.boxes, ada.over) == ((), "", "none", 1, False)
    assert (mila.stuck, mila.performance) == (("Slow Air, bars 2–3",), "12 Dec, in 11 days: Slow Air")
    assert mila.dates == "30 Nov – 6 Dec"
    assert {row.over for row in roster(StudioState(folder), date(2026, 12, 7)).days[0].rows} == {True}


def test_names_that_mean_harm_are_letters(desk: RunningDesk) -> None:
    name = "<script>alert(1)</script>"
    text = WEEK.format(name=name, lesson="", start="2026-11-30", bars="2-3")
    (desk.folder / "harm.toml").write_text(text)
    page = desk.get("/").text
    assert name not in page
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page
    assert "alert" not in desk.get("/").headers["content-security-policy"]


def test_a_week_with_faults_is_listed_with_the_way_to_each(desk: RunningDesk) -> None:
    path = desk.folder / "mila-11-30.toml"
    path.write_text(
        path.read_text().replace('bars = "2-3"', 'bars = "2-99"').replace("minutes = 20", "minutes = -1")
    )
    page = desk.get("/").text
    assert "This week cannot be used as it is." in page
    assert re.search(r'href="/week/mila-[0-9a-f]{8}\?at=week%2C%20minutes|at=minutes', page), page
    (desk.folder / "torn.toml").write_text("[player\n")
    page = letters(desk.get("/").text)
    assert "Files that cannot be read" in page
    assert "torn.toml" in page


def test_an_empty_folder_is_greeted_with_three_things(tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    with RunningDesk(tmp_path / "empty") as desk:
        page = desk.get("/").text
        assert page.count("<li><b>") == 3
        assert "Add your scores." in page
        assert desk.upload("/studio/score/upload?name=air.musicxml", bars_of("C5:4")).status == 200
        assert "There are some already." in desk.get("/").text
        assert desk.post("/studio/player", NEW).status == 200
        assert "Three things" not in desk.get("/").text


def test_a_new_player_has_a_first_week_file_without_faults(desk: RunningDesk) -> None:
    answer = desk.post("/studio/player", NEW)
    assert answer.status == 200
    path = desk.folder / "ivo-brandt-2026-12-01.toml"
    read = read_week(path)
    assert (read.faults, read.content is not None) == ((), True)
    assert read.content is not None
    player, first = read.content.player, read.content.week
    assert (player.name, player.instrument, player.age, player.lesson) == ("Ivo Brandt", "viola", 9, "16:30")
    assert (first.start, first.next_lesson) == (date(2026, 12, 1), date(2026, 12, 8))
    assert answer.said["key"] in desk.get("/").text
    assert desk.post("/undo/last", {}).said == {"undone": "Ivo Brandt: first week"}
    assert not path.exists()


def test_a_first_week_file_stands_where_the_others_are(desk: RunningDesk) -> None:
    (desk.folder / "weeks").mkdir()
    for path in desk.folder.glob("*-11-30.toml"):
        path.rename(desk.folder / "weeks" / path.name)
    assert desk.post("/studio/player", NEW).status == 200
    assert (desk.folder / "weeks" / "ivo-brandt-2026-12-01.toml").exists()


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("name", "", "empty"),
        ("name", " mila ", "already a player Mila"),
        ("age", "old", "number"),
        ("age", "200", "110"),
        ("lesson", "", "Choose a day"),
        ("time", "25:99", "not a lesson time"),
        ("next", "2026-12-01", "after the one"),
        ("next", "2027-12-01", "more than 120 days"),
        ("minutes", "many", "not a day with its minutes"),
        ("minutes", "", "mon 30"),
        ("instrument", "kazoo", "kazoo"),
        ("level", "best", "best"),
    ],
)
def test_a_wrong_answer_is_told_beside_its_field(
    desk: RunningDesk, field: str, value: str, said: str
) -> None:
    answer = desk.post("/studio/player", NEW | {field: value})
    assert answer.status == 422
    assert set(answer.said["faults"]) == {field}
    assert said in answer.said["faults"][field]
    assert not list(desk.folder.glob("ivo*"))


@pytest.mark.parametrize("day", ["2026-12-05", "2026-12-08", "2026-12-10", "2026-12-15"])
def test_the_lesson_after_is_the_day_that_was_said(desk: RunningDesk, day: str) -> None:
    desk.post("/studio/player", NEW | {"next": day})
    content = read_week(desk.folder / "ivo-brandt-2026-12-01.toml").content
    assert content is not None
    assert content.week.next_lesson == date.fromisoformat(day)


def test_a_score_is_taken_once_it_was_read_as_music(desk: RunningDesk) -> None:
    path = desk.folder / "scores" / "new air.musicxml"
    data = bars_of("C5:4")
    assert desk.upload("/studio/score/upload?name=new%20air.musicxml", data).said == {"file": path.name}
    assert path.read_bytes() == data
    assert desk.upload("/studio/score/upload?name=new%20air.musicxml", data).status == 200
    other = desk.upload("/studio/score/upload?name=new%20air.musicxml", bars_of("D5:4"))
    assert (other.status, "another score of that name" in other.said["error"]) == (422, True)
    assert path.read_bytes() == data
    desk.post("/undo/last", {})
    assert not path.exists()


@pytest.mark.parametrize(
    "name",
    [
        "../air.musicxml",
        "%2Fetc%2Fair.musicxml",
        ".air.musicxml",
        "a%00.musicxml",
        "",
        "..",
        "a/b.mxl",
        "a%5Cb.mxl",
    ],
)
def test_a_score_cannot_choose_its_folder(desk: RunningDesk, name: str) -> None:
    before = sorted(desk.folder.parent.rglob("*"))
    assert desk.upload(f"/studio/score/upload?name={name}", bars_of("C5:4")).status == 422
    assert sorted(desk.folder.parent.rglob("*")) == before


@pytest.mark.parametrize("name", ["Étude n° 3.musicxml", "Für Mila (2. Satz).xml", "曲.mxl.musicxml"])
def test_a_score_keeps_its_name(desk: RunningDesk, name: str) -> None:
    assert desk.upload(f"/studio/score/upload?name={quote(name)}", bars_of("C5:4")).said == {"file": name}
    assert (desk.folder / "scores" / name).exists()


def test_what_is_no_score_is_not_taken(desk: RunningDesk) -> None:
    for data in (b"no music", b"", b"PK\x03\x04", b"<html/>"):
        answer = desk.upload("/studio/score/upload?name=x.musicxml", data)
        assert answer.status == 422
        assert answer.said["error"].startswith("x.musicxml")
    assert not (desk.folder / "scores" / "x.musicxml").exists()


def events(desk: RunningDesk) -> list[dict[str, Any]]:
    """All that the desk tells of its last build, to its end."""
    text = desk.get("/studio/build/events").text
    return [json.loads(line[6:]) for line in text.splitlines() if line.startswith("data: ")]


@pytest.mark.slow
def test_a_build_is_told_as_it_goes_and_the_page_knows_what_is_ready(desk: RunningDesk) -> None:
    path = desk.folder / "mila-11-30.toml"
    path.write_text(path.read_text().replace('bars = "2-3"', 'bars = "2-99"'))
    assert events(desk) == []
    assert desk.post("/studio/build", {}).status == 200
    first, *done, last = events(desk)
    assert first == {"kind": "begun", "count": 2}
    assert (last["made"], last["failed"]) == (1, 1)
    (failed,) = [one for one in done if one.get("state") == "failed"]
    assert str(failed["key"]).startswith("mila-")
    ((text, key),) = failed["faults"]
    assert "99" in text
    assert key == 'box "a", bars'
    ada, _ = roster(StudioState(desk.folder), TODAY).days[0].rows
    assert ada.ready == "ready"
    page = desk.get("/").text
    assert "up to date" in page
    printed = re.findall(r'href="/file/([\w-]+)"[^>]*>Print file of 30 November', page)
    assert desk.get(f"/file/{printed[0]}").body.startswith(b"%PDF")
    (desk.folder / "ada-11-30.toml").write_text((desk.folder / "ada-11-30.toml").read_text() + "# more\n")
    ada, _ = roster(StudioState(desk.folder), TODAY).days[0].rows
    assert ada.ready == "old"


def test_forty_players_are_one_request_of_bounded_size(tmp_path: Path) -> None:
    names = [f"Player {number:02} Ashby" for number in range(40)]
    root = studio(tmp_path / "studio")
    for number, name in enumerate(names):
        week(
            root,
            name,
            lesson=f"{('mon', 'tue', 'wed', 'thu', 'fri')[number % 5]} 15:00",
            file=f"p{number}.toml",
        )
    with RunningDesk(root) as desk:
        page = desk.get("/").text
        assert all(name in page for name in names)
        assert page.count("<tr>") == 40 + 5
        assert len(page) < 60_000
