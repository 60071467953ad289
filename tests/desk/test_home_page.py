"""What goes home: folders, messages, and who was given what."""

from __future__ import annotations

import re
from datetime import date
from html import unescape
from pathlib import Path

import pytest

from excerpts.desk.given_list import Given, given_to, read_given, with_line
from excerpts.desk.home_folder import home_folder
from excerpts.desk.studio_state import StudioState
from excerpts.errors import InputError
from excerpts.player_page.owner import page_owner
from tests.desk.running import RunningDesk, letters
from tests.studio.small import week

LINE = Given("2026-11-30", "Mila", "2026-11-30", "workbook, sounds")


def test_lines_come_back_as_they_were_written() -> None:
    data = with_line(with_line(b"", LINE), Given("2026-12-01", '=1+1 "x", y', "2026-11-30", "workbook"))
    assert data.splitlines()[0] == b"date,player,week,what"
    assert [one.player for one in read_given(data)] == ["Mila", '=1+1 "x", y']
    assert b"'=1+1" in data
    assert given_to(read_given(data), "mila", date(2026, 11, 30)) == [LINE]
    assert given_to(read_given(data), "mila", date(2026, 12, 7)) == []


def test_what_a_teacher_typed_into_the_table_stays() -> None:
    typed = b"date,player,week,what\n2026-11-23,Ada,2026-11-23,book \xe2\x80\x93 on paper"
    assert with_line(typed, LINE).startswith(typed + b"\n")
    with pytest.raises(InputError, match="first line"):
        with_line(b"a,b\n1,2\n", LINE)


def test_two_players_of_one_short_name_have_folders_of_their_own(folder: Path) -> None:
    week(folder, "Zoë", file="one.toml")
    week(folder, "Zoe", file="two.toml")
    state = StudioState(folder)
    players = state.players()
    folders = {one.name: home_folder(state, one, "2026-11-30", players).name for one in players}
    assert folders["Mila"] == "mila"
    assert len(set(folders.values())) == len(players)


def test_the_page_shows_the_players_of_one_day_and_messages_without_other_names(desk: RunningDesk) -> None:
    week(desk.folder, "Zoe", lesson="tue 9:15")
    page = desk.get("/home?day=2026-11-30").text
    assert ("Mila" in letters(page), "Ada" in letters(page), "Zoe" in letters(page)) == (True, True, False)
    messages = [
        unescape(text) for text in re.findall(r"<textarea[^>]*>(.*?)</textarea>", page, flags=re.DOTALL)
    ]
    assert [("Ada" in text, "Mila" in text) for text in messages] == [(True, False), (False, True)]
    assert all("If anything hurts: stop" in text for text in messages)
    assert "Zoe" in letters(desk.get("/home?day=2026-12-01").text)
    assert desk.get("/home?day=nonsense").status == 200


def test_nothing_is_written_down_before_a_folder_is_made(desk: RunningDesk) -> None:
    key = next(one.key for one in StudioState(desk.folder).players() if one.name == "Mila")
    answer = desk.post("/home/given", {"player": key, "day": "2026-11-30"})
    assert (answer.status, "put together" in answer.said["error"]) == (422, True)
    assert not (desk.folder / "given.csv").exists()
    for said in ({"player": key, "day": "../.."}, {"player": key}):
        assert desk.post("/home/make", said).status == 422
    assert desk.post("/home/make", {"player": "../mila", "day": "2026-11-30"}).status == 404


@pytest.mark.slow
def test_a_folder_holds_what_was_chosen_and_the_table_says_so(desk: RunningDesk) -> None:
    key = next(one.key for one in StudioState(desk.folder).players() if one.name == "Mila")
    said = {"player": key, "day": "2026-11-30"}
    end = desk.made("/home/make", said | {"workbook": True, "sounds": True, "page": True})[-1]
    folder = desk.folder / "home" / "2026-11-30" / "mila"
    assert len(end["files"]) >= 3, end
    assert (folder / "mila-2026-11-30.pdf").read_bytes() == (desk.folder / "mila-2026-11-30.pdf").read_bytes()
    assert list((folder / "sound").glob("*.mp3"))
    assert page_owner(folder / "mila-2026-11-30.html") == "Mila"
    (folder / "note.txt").write_text("by hand")
    assert desk.post("/home/given", said).said["given"].endswith("workbook, sounds, page")
    assert [one.what for one in read_given((desk.folder / "given.csv").read_bytes())] == [
        "workbook, sounds, page"
    ]
    assert "workbook, sounds, page" in desk.get("/home?day=2026-11-30").text
    desk.made("/home/make", said | {"workbook": True, "sounds": False})
    assert sorted(path.name for path in folder.rglob("*.*")) == ["mila-2026-11-30.pdf", "note.txt"]
    assert desk.post("/undo/last", {}).said == {"undone": "Mila: given"}
    assert not (desk.folder / "given.csv").exists()


@pytest.mark.slow
def test_a_link_does_not_lead_a_folder_out_of_the_studio(desk: RunningDesk) -> None:
    outside = desk.folder.parent / "outside"
    outside.mkdir()
    (desk.folder / "home").symlink_to(outside)
    key = next(one.key for one in StudioState(desk.folder).players() if one.name == "Mila")
    end = desk.made("/home/make", {"player": key, "day": "2026-11-30", "workbook": True})[-1]
    assert "outside" in end["failed"]
    assert list(outside.iterdir()) == []


def test_a_message_says_of_the_page_that_is_in_the_folder(desk: RunningDesk) -> None:
    says = "The page (mila-2026-11-30.html) opens in a browser"
    (file,) = desk.folder.glob("mila-*.toml")
    text = file.read_text(encoding="utf-8")
    shown = [text, text.replace("[week]", "page = true\n[week]")]
    found = []
    for one in shown:
        file.write_text(one, encoding="utf-8")
        page = unescape(desk.get("/home?day=2026-11-30").text)
        messages = re.findall(r"<textarea.*?>(.*?)</textarea>", page, flags=re.DOTALL)
        found.append([says in message for message in messages])
    assert found == [[False, False], [False, True]]  # Ada, Mila
