"""The page of a part over HTTP: what it says, what it writes, what it refuses (default tier)."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest

from excerpts.engrave.overlay import EARLIER_INK
from excerpts.week import load_week
from excerpts.week.orders import Orders
from tests.desk.part_music import QUAVERS, pickup, repeated, shifting, write_week
from tests.desk.running import RunningDesk
from tests.music import DIVISIONS, bars_of, note

BOX = """# about the box
[[box]]
id = "a"  # mine
piece = "tune"
bars = "2-3"
why = ["shift"]
target = "crotchet = 80"
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "scores").mkdir()
    (tmp_path / "studio.toml").write_text("format = 1\n", encoding="utf-8")
    return tmp_path


def address(desk: RunningDesk) -> str:
    found = re.search(r"/week/([^\"]+)\"", desk.get("/").text)
    assert found
    return f"/part/{found[1]}/tune"


def digest(desk: RunningDesk) -> str:
    found = re.search(r'"digest": "(\w+)"', desk.get(address(desk)).text)
    assert found
    return found[1]


def write(desk: RunningDesk, **said: Any) -> Any:
    return desk.post(f"{address(desk)}/box", {"digest": digest(desk), "width": 180, **said})


def test_lines_tell_their_bars_and_the_boxes_on_them(folder: Path) -> None:
    write_week(folder, pickup(), BOX)
    with RunningDesk(folder) as desk:
        told = desk.get(f"{address(desk)}/lines/0?width=180").said
        assert told["more"] is False
        bars = [bar for system in told["systems"] for bar in system["bars"]]
        assert [bar["label"] for bar in bars] == [str(number) for number in range(10)]
        assert sum(bool(one["tag"]) for over in told["over"] for one in over["boxes"]) == 1
        assert all(set(head) >= {"place", "onset"} for system in told["systems"] for head in system["heads"])
        assert desk.get(f"{address(desk)}/lines/1").said["systems"] == []
        assert desk.get("/part/nobody/tune").status == 404
        assert desk.get(address(desk).replace("tune", "other")).status == 404


def test_a_box_is_written_as_a_teacher_would(folder: Path) -> None:
    path = write_week(folder, pickup(), BOX)
    with RunningDesk(folder) as desk:
        fields = {
            "why": ["speed", "rhythm"],
            "target": "92",
            "note": "Light bow",
            "minutes": "6",
            "start": "",
        }
        done = write(desk, do="add", span=[5, "2", 7, "1"], fields=fields)
        assert done.status == 200
        assert [box["bars"] for box in done.said["boxes"]] == ["2-3", "4:3-6:1"]
        assert [box["called"] for box in done.said["boxes"]] == [
            "bars 2–3",
            "bar 4, beat 3, to bar 6, beat 1",
        ]
        assert path.read_text(encoding="utf-8").endswith(
            '[[box]]\nid = "tune-4-3-6-1"\npiece = "tune"\nbars = "4:3-6:1"\nwhy = ["speed", "rhythm"]\n'
            'note = "Light bow"\ntarget = "crotchet = 92"\nminutes = 6\n'
        )
        assert "# about the box" in path.read_text(encoding="utf-8")
        assert load_week(path).boxes[1].bars == "4:3-6:1"


def test_edges_and_fields_change_and_a_box_goes(folder: Path) -> None:
    path = write_week(folder, pickup(), BOX)
    with RunningDesk(folder) as desk:
        assert write(desk, do="change", id="a", span=[1, "0", 3, None]).status == 200
        assert 'bars = "0-2"' in path.read_text(encoding="utf-8")
        assert write(desk, do="change", id="a", fields={"target": "66", "why": []}).status == 200
        text = path.read_text(encoding="utf-8")
        assert 'target = "crotchet = 66"' in text
        assert "why" not in text
        assert 'id = "a"  # mine' in text
        assert write(desk, do="remove", id="a").status == 200
        assert "[[box]]" not in path.read_text(encoding="utf-8")
        assert len(desk.desk.studio.saves.steps()) == 3


def test_what_would_be_a_fault_is_refused_and_nothing_is_written(folder: Path) -> None:
    path = write_week(folder, pickup(), BOX)
    before = path.read_bytes()
    with RunningDesk(folder) as desk:
        for said in (
            {"do": "add", "span": [4, "0", 99, None]},
            {"do": "add", "span": [4, "0", 3, None]},
            {"do": "add", "span": "everything"},
            {"do": "add", "span": [4, "1/0", 5, None]},
            {"do": "add", "span": [4, "0", 5, None], "fields": {"target": "a lot"}},
            {"do": "add", "span": [4, "0", 5, None], "fields": {"why": ["bad luck"]}},
            {"do": "add", "span": [4, "0", 5, None], "fields": {"start": "200", "target": "100"}},
            {"do": "change", "id": "b", "fields": {"note": "x"}},
            {"do": "burn", "id": "a"},
        ):
            answer = write(desk, **said)
            assert answer.status in {404, 422}, said
            assert answer.said["error"]
    assert path.read_bytes() == before


def test_a_file_that_was_edited_outside_is_not_overwritten(folder: Path) -> None:
    path = write_week(folder, pickup(), BOX)
    with RunningDesk(folder) as desk:
        shown = digest(desk)
        path.write_text(path.read_text(encoding="utf-8") + "# from outside\n", encoding="utf-8")
        said = {"digest": shown, "width": 180, "do": "add", "span": [5, "0", 6, None]}
        refused = desk.post(f"{address(desk)}/box", said)
        assert refused.status == 409
        assert "# from outside" in refused.said["theirs"]
        assert "# from outside" in refused.said["ours"]
        assert 'bars = "4-5"' in refused.said["ours"]
        assert 'bars = "4-5"' not in path.read_text(encoding="utf-8")
        done = desk.post(f"{address(desk)}/box", {**said, "digest": refused.said["digest"]})
        assert done.status == 200
        assert "# from outside" in path.read_text(encoding="utf-8")


def test_bars_that_are_typed_are_found(folder: Path) -> None:
    write_week(folder, repeated())
    with RunningDesk(folder) as desk:
        where = f"{address(desk)}/where"
        assert desk.get(f"{where}?bars=@7:3-@9").said["span"] == [7, "2", 9, None]
        told = desk.get(f"{where}?first=2&start=0&last=3").said
        assert (told["bars"], told["beat"]) == ("@2-@3", "crotchet")
        assert "more than one place" in desk.get(f"{where}?bars=2").said["error"]
        assert desk.get(f"{where}?bars=p.%201").said["span"][0] == 1


def test_a_rehearsal_mark_and_a_page_of_the_score_are_found(folder: Path) -> None:
    mark = "<direction><direction-type><rehearsal>B</rehearsal></direction-type></direction>"
    turned = f'<print new-page="yes"/> {QUAVERS}'
    write_week(folder, bars_of(QUAVERS, QUAVERS, f"{mark} {QUAVERS}", QUAVERS, turned, QUAVERS))
    with RunningDesk(folder) as desk:
        where = f"{address(desk)}/where"
        assert '<option value="B">' in desk.get(address(desk)).text
        for typed, place in (("B", 3), ("B+1", 4), ("p. 2", 5), ("page. 1", 1), ("4", 4)):
            told = desk.get(f"{where}?bars={quote(typed)}").said
            assert told["span"][0] == place, typed
        assert "the pages 1 to 2" in desk.get(f"{where}?bars=p.3").said["error"]


def test_boxes_of_before_are_told_once(folder: Path) -> None:
    from datetime import date

    write_week(folder, pickup(), BOX, date(2026, 11, 23))
    write_week(folder, pickup(), BOX.replace("2-3", "5-6"), date(2026, 11, 30))
    retired = '[[retired]]\nid = "r"\npiece = "tune"\nbars = "8"\nretired = 2026-11-30\n'
    write_week(folder, pickup(), BOX.replace("2-3", "5-6") + retired)
    with RunningDesk(folder) as desk:
        page = desk.get(address(desk)).text
        kinds = re.findall(r'"kind": "(\w+)"', page)
        assert sorted(kinds) == ["earlier", "retired", "week"]
        over = desk.get(f"{address(desk)}/lines/0?width=180").said["over"]
        assert (
            sum(one["svg"].count(f'"{EARLIER_INK}"') for one in over) >= 2
        )  # lighter than those of this week


def test_a_hostile_title_is_letters(folder: Path) -> None:
    path = write_week(folder, pickup(), BOX)
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("A Tune", "</script><b>x</b>"), encoding="utf-8")
    with RunningDesk(folder) as desk:
        page = desk.get(address(desk)).text
        assert "<b>x" not in page
        assert "&lt;b&gt;x" in page


def test_marks_go_into_the_piece_and_a_later_one_replaces_an_earlier(folder: Path) -> None:
    path = write_week(folder, pickup(), BOX)
    with RunningDesk(folder) as desk:

        def mark(**said: Any) -> Any:
            return desk.post(f"{address(desk)}/mark", {"digest": digest(desk), "width": 180, **said})

        note = {"place": 3, "onset": "1/2", "voice": "1"}
        assert mark(kind="finger", value="3", **note).status == 200
        assert mark(kind="finger", value="2", **note).status == 200
        assert mark(kind="string", value="II", **note).status == 200
        assert mark(kind="slur", value="slur", **note, to={**note, "onset": "3/2"}).status == 200
        assert load_week(path).pieces[0].marks == ("2:1.5 finger 2", "2:1.5 string II", "2:1.5-2:2.5 slur")
        told = desk.get(f"{address(desk)}/note?place=3&onset=1/2&voice=1").said
        assert (told["at"], told["marks"]) == ("2:1.5", {"finger": "2", "string": "II", "slur": "2:2.5"})
        assert mark(kind="finger", value="", **note).status == 200
        assert mark(kind="bow", value="up", **note).status == 200
        assert "finger" not in str(load_week(path).pieces[0].marks)
        before = path.read_bytes()
        for said in (
            {"kind": "finger", "value": "7", **note},
            {"kind": "bow", "value": "sideways", **note},
            {"kind": "finger", "value": "1", "place": 3, "onset": "1/3", "voice": "1"},
            {"kind": "finger", "value": "1", "place": 99, "onset": "0", "voice": "1"},
            {"kind": "colour", "value": "1", **note},
        ):
            assert mark(**said).status == 422, said
        assert path.read_bytes() == before
        music = Orders(load_week(path)).boxes[0].music.made()
        assert music is not None
        assert b"<up-bow" in music.xml


FINGERED = "[<notations><technical><fingering>1</fingering></technical></notations>]"


def test_what_is_done_twice_leaves_the_file_as_it_was(folder: Path) -> None:
    """A mark that the score has is taken away by one of ours, and comes back when that goes."""
    path = write_week(folder, bars_of(f"C5:1{FINGERED} D5:1 E5:1 F5:1", QUAVERS, "D4+A4+F5:4"))
    before = path.read_bytes()
    with RunningDesk(folder) as desk:

        def mark(kind: str, value: str, place: int, onset: str, **more: Any) -> tuple[str, ...]:
            said = {"kind": kind, "value": value, "place": place, "onset": onset, "voice": "1", **more}
            done = desk.post(f"{address(desk)}/mark", {"digest": digest(desk), "width": 180, **said})
            assert done.status == 200, done.body
            return load_week(path).pieces[0].marks

        assert mark("finger", "", 1, "0") == ("1:1 no finger",)
        assert desk.get(f"{address(desk)}/note?place=1&onset=0&voice=1").said["marks"] == {}
        assert mark("finger", "3", 1, "0") == ("1:1 finger 3",)
        assert mark("finger", "1", 1, "0") == ()
        assert path.read_bytes() == before
        end = {"place": 1, "onset": "3", "voice": "1"}
        assert mark("slur", "slur", 1, "1", to=end) == ("1:2-1:4 slur",)
        assert mark("slur", "slur", 1, "2", to=end) == ("1:3-1:4 slur",)  # a note has one bow
        assert mark("slur", "slur", 1, "2", to=end) == ()
        assert mark("bow", "up", 2, "1/2") == ("2:1.5 up",)
        assert mark("bow", "", 2, "1/2") == ()
        nothing = {"kind": "bow", "value": "", "place": 2, "onset": "0", "digest": digest(desk)}
        assert desk.post(f"{address(desk)}/mark", nothing).status == 422
        # A chord: the note that is meant, the others as they are.
        assert mark("finger", "4", 3, "0", pitch="F5") == ("3:1 finger 4",)
        assert mark("finger", "1", 3, "0", pitch="D4") == ("3:1 finger 1 - 4",)
        assert mark("string", "III", 3, "0", pitch="A4")[1:] == ("3:1 string - III -",)
        told = desk.get(f"{address(desk)}/note?place=3&onset=0&voice=1&pitch=D4").said
        assert (told["head"], told["heads"], told["marks"]) == (1, 3, {"finger": "1"})
        assert mark("finger", "", 3, "0", pitch="F5")[0] == "3:1 finger 1 - -"
        assert mark("finger", "0 1 2", 3, "0", pitch="F5")[0] == "3:1 finger 0 1 2"
        assert path.read_bytes() != before


def test_marks_of_voices_and_of_grace_notes(folder: Path) -> None:
    low = note("A4:4", "2")
    short = note("D5:1").replace("<note>", "<note><grace/>").replace(f"<duration>{DIVISIONS}</duration>", "")
    back = f"<backup><duration>{4 * DIVISIONS}</duration></backup>"
    path = write_week(folder, bars_of(f"C5:2 D5:2 {back} {low}", f"{short} {short} C5:4 {short}", "C5:4"))
    with RunningDesk(folder) as desk:
        told = desk.get(f"{address(desk)}/lines/0?width=180").said
        heads = [head for system in told["systems"] for head in system["heads"]]
        graces = [(head["place"], head["onset"], head["before"]) for head in heads if head["grace"]]
        assert graces == [(2, "0", 1), (2, "0", 2), (2, "4", 1)]

        def mark(kind: str, value: str, **note: Any) -> str:
            said = {"kind": kind, "value": value, **note}
            done = desk.post(f"{address(desk)}/mark", {"digest": digest(desk), "width": 180, **said})
            assert done.status == 200, done.body
            return load_week(path).pieces[0].marks[-1]

        assert mark("finger", "2", place=1, onset="0", voice="2") == "1:1 finger 2 voice 2"
        assert mark("finger", "1", place=1, onset="0", voice="1") == "1:1 finger 1"
        assert mark("finger", "3", place=2, onset="0", voice="1", grace=2) == "2:1 grace 2 finger 3"
        end = {"place": 2, "onset": "0", "voice": "1"}
        slur = mark("slur", "slur", place=2, onset="0", voice="1", grace=1, to=end)
        assert slur == "2:1 grace slur"
        assert mark("finger", "4", place=2, onset="4", voice="1", grace=1) == "3:1 grace finger 4"
        asked = "place=2&onset=0&voice=1&grace=1"
        assert desk.get(f"{address(desk)}/note?{asked}").said["marks"] == {"slur": "2:1"}
        shown = desk.get(f"{address(desk)}/lines/0?width=180").said
        assert shown["fault"] == ""


def test_a_mark_on_a_piece_that_players_share_says_for_whom(folder: Path) -> None:
    own, section = write_week(folder, pickup()), folder / "section.toml"
    text = own.read_text(encoding="utf-8")
    head, piece = text.split("[[piece]]")
    section.write_text(f"# for all\n[[piece]]{piece}", encoding="utf-8")
    own.write_text(head.replace("[player]", 'include = "section.toml"\n[player]'), encoding="utf-8")
    (folder / "ida.toml").write_text(
        own.read_text(encoding="utf-8").replace("Mila Berg", "Ida Holm"), encoding="utf-8"
    )
    with RunningDesk(folder) as desk:
        here = f"/part/{next(one.key for one in desk.desk.studio.players() if one.name == 'Mila Berg')}/tune"

        def known() -> str:
            found = re.search(r'"digest": "(\w+)"', desk.get(here).text)
            assert found
            return found[1]

        note = {"kind": "finger", "value": "2", "place": 3, "onset": "0", "voice": "1", "width": 180}
        assert "Mila Berg, Ida Holm share" in desk.get(here).text
        refused = desk.post(f"{here}/mark", {**note, "digest": known()})
        assert refused.status == 422
        assert "section.toml" in refused.said["error"]
        before = own.read_bytes(), known()
        done = desk.post(f"{here}/mark", {**note, "digest": known(), "scope": "all"})
        assert done.status == 200
        assert 'marks = ["2:1 finger 2"]' in section.read_text(encoding="utf-8")
        assert own.read_bytes() == before[0]
        late = desk.post(f"{here}/mark", {**note, "value": "1", "digest": before[1], "scope": "all"})
        assert late.status == 409  # somebody has changed the set meanwhile
        assert "# for all" in late.said["theirs"]
        said = {**note, "value": "3", "digest": late.said["digest"], "scope": "own"}
        done = desk.post(f"{here}/mark", said)
        assert done.status == 200
        assert done.said["shared"] is None
        assert 'marks = ["2:1 finger 3"]' in own.read_text(encoding="utf-8")
        assert "finger 2" in section.read_text(encoding="utf-8")
        assert desk.post("/undo/last", {}).status == 200
        assert own.read_bytes() == before[0]
        assert desk.post("/undo/last", {}).status == 200
        assert "marks" not in section.read_text(encoding="utf-8")


def test_a_mark_of_a_box_is_replaced_where_it_stands(folder: Path) -> None:
    path = write_week(folder, pickup(), BOX + 'marks = ["2:1 finger 1"]\n')
    with RunningDesk(folder) as desk:
        said = {"kind": "finger", "value": "4", "place": 3, "onset": "0", "voice": "1"}
        done = desk.post(f"{address(desk)}/mark", {"digest": digest(desk), "width": 180, **said})
        assert done.status == 200
        week = load_week(path)
        assert (week.boxes[0].marks, week.pieces[0].marks) == (("2:1 finger 4",), ())


def test_work_and_fingers_are_told_on_request(folder: Path) -> None:
    write_week(folder, shifting(), BOX)
    with RunningDesk(folder) as desk:
        told = desk.get(f"{address(desk)}/work").said
        assert told["passages"]
        for one in told["passages"]:
            assert one["reasons"]
            assert desk.get(f"{address(desk)}/where?bars={one['bars']}").said["span"] == one["span"]
        fingers = desk.get(f"{address(desk)}/fingers").said["fingers"]
        assert fingers
        assert {one["finger"] for one in fingers} <= {"", "0", "1", "2", "3", "4"}
        first = fingers[0]
        many = [
            {"kind": "finger", "value": first["finger"], "place": first["place"], "onset": first["onset"]}
        ]
        said = {"digest": digest(desk), "width": 180, "many": many}
        assert desk.post(f"{address(desk)}/mark", said).status == 200
        again = desk.get(f"{address(desk)}/fingers").said["fingers"]
        assert {**first, "finger": ""} not in [{**one, "finger": ""} for one in again if one["finger"]]
        assert desk.post(f"{address(desk)}/mark", {**said, "digest": digest(desk)}).status == 422
        page = desk.get(address(desk)).text
        assert "reasons" not in page  # nothing of it stands there unasked


def heard(answer: Any) -> tuple[Any, int]:
    """The samples of a sound and how many of them a second has, as the sound library reads the file again."""
    import io

    import soundfile

    assert answer.status == 200, answer.body
    assert answer.headers["content-type"] == "audio/mpeg"
    samples, rate = soundfile.read(io.BytesIO(answer.body))
    return samples, rate


@pytest.mark.slow
def test_what_is_heard_is_as_long_as_its_bars_and_not_silent(folder: Path) -> None:
    """From a bar on, a box, a variant, at a step, with clicks or a drone. Outside check: the sound library."""
    import numpy as np

    write_week(folder, pickup(), BOX)
    with RunningDesk(folder) as desk:
        lengths: dict[str, float] = {}
        sounds: dict[str, Any] = {}
        asked = ("", "&click=yes", "&drone=yes", "&variant=long-short", "&variant=short-long")
        for query in (*(f"box=a&tempo=60{more}" for more in asked), "box=a&tempo=120", "first=9&tempo=60"):
            samples, rate = heard(desk.get(f"{address(desk)}/hear?{query}"))
            lengths[query], sounds[query] = len(samples) / rate, samples
            loud = [float(np.abs(part).max()) for part in np.array_split(samples[: int(7 * rate)], 7)]
            assert min(loud) > 0.02, query  # each second is heard
        plain = "box=a&tempo=60"
        assert lengths[plain] - lengths["box=a&tempo=120"] == pytest.approx(4, abs=0.3)  # two bars of four
        assert lengths[f"{plain}&click=yes"] - lengths[plain] == pytest.approx(
            4, abs=0.3
        )  # a bar before them
        assert lengths["first=9&tempo=60"] == pytest.approx(lengths[plain], abs=0.3)  # the last two bars
        # A variant is as long and sounds otherwise; a drone goes on through all of it.
        for one in (f"{plain}&variant=long-short", f"{plain}&variant=short-long", f"{plain}&drone=yes"):
            assert lengths[one] == pytest.approx(lengths[plain], abs=1.2)
            assert not np.allclose(sounds[one][:50_000], sounds[plain][:50_000], atol=0.01)
        assert desk.get(f"{address(desk)}/hear?box=a&tempo=9").status == 422
        assert desk.get(f"{address(desk)}/hear?box=nobody").status == 404


def test_a_step_is_in_the_note_of_the_goal(folder: Path) -> None:
    write_week(folder, pickup(), BOX.replace("crotchet = 80", "minim = 40"))
    with RunningDesk(folder) as desk:
        samples, rate = heard(desk.get(f"{address(desk)}/hear?box=a&tempo=40"))
        assert len(samples) / rate == pytest.approx(8 * 0.75, abs=1.0)  # eight crotchets at 80 a minute


def test_a_computer_without_the_library_of_sound_says_so(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import sys

    write_week(folder, pickup(), BOX)
    monkeypatch.delitem(sys.modules, "excerpts.sound.sound_file", raising=False)
    monkeypatch.setitem(sys.modules, "soundfile", None)  # as if it were not installed
    with RunningDesk(folder) as desk:
        told = desk.get(f"{address(desk)}/hear?box=a")
        assert told.status == 422
        assert "lacks the library that writes sound" in told.said["error"]
        assert desk.get(address(desk)).status == 200
