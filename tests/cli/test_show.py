"""`excerpts show`."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from excerpts.cli import main
from tests.music import bars_of
from tests.score.test_address import mark

HEAD = (
    b"<work><work-title>Slow Air</work-title></work><identification><creator type='composer'>N. N.</creator>"
)
DATA = bars_of(
    "<direction><direction-type><words>Andante</words></direction-type><sound tempo='72'/></direction> C5:1",
    f"{mark('A')} C5:4",
    "<attributes><key><fifths>-3</fifths><mode>minor</mode></key></attributes> C5:4",
    numbers=['0" implicit="yes', "1", "2"],
).replace(b"<part-list>", HEAD + b"</identification><part-list>")


@pytest.fixture
def score(tmp_path: Path) -> Path:
    path = tmp_path / "air.musicxml"
    path.write_bytes(DATA)
    return path


def test_what_is_in_a_score(score: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["show", str(score)]) == 0
    shown = capsys.readouterr().out
    assert shown.splitlines()[:2] == ["Slow Air", "N. N."]
    assert "#1  Violin, id P1" in shown
    assert "bars     0 to 2 (3 in all)" in shown
    assert "2 sharps (bar 0), C minor (bar 2)" in shown
    assert "4/4 (bar 0)" in shown
    assert "Andante, crotchet = 72 when played (bar 0)" in shown
    assert "A (bar 1)" in shown


@pytest.mark.parametrize(
    ("setting", "option", "lines"),
    [
        ("us", [], ("    measures 0 to 2 (3 in all)", "quarter note = 72 when played (measure 0)")),
        ("us", ["--words", "uk"], ("    bars     0 to 2 (3 in all)", "crotchet = 72 when played (bar 0)")),
        ("de", [], ("    Takte      0 bis 2 (3 im Ganzen)", "c-Moll (Takt 2)")),
        (None, ["--words", "de"], ("    Takte      0 bis 2 (3 im Ganzen)", "Viertel = 72 beim Abspielen (Takt 0)")),
    ],
)  # fmt: skip
def test_it_is_told_in_the_words_of_the_setting(
    score: Path,
    capsys: pytest.CaptureFixture[str],
    setting: str | None,
    option: list[str],
    lines: tuple[str, ...],
) -> None:
    if setting:
        (score.parent / "studio.toml").write_text(f'words = "{setting}"\n')
    assert main(["show", str(score), *option]) == 0
    shown = capsys.readouterr().out
    for line in lines:
        assert line in shown


@pytest.mark.parametrize("text", ['words = "fr"\n', "words = \n"])
def test_a_setting_that_cannot_be_read_is_named(
    score: Path, capsys: pytest.CaptureFixture[str], text: str
) -> None:
    (score.parent / "studio.toml").write_text(text)
    assert main(["show", str(score)]) == 2
    assert "studio.toml" in capsys.readouterr().err


def test_the_same_as_json(score: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["show", str(score), "--json"]) == 0
    facts = json.loads(capsys.readouterr().out)
    assert (facts["title"], facts["composer"]) == ("Slow Air", "N. N.")
    (part,) = facts["parts"]
    assert part["bars"][0] == {"label": "0", "place": 1, "length": 1}
    assert part["marks"] == [{"text": "A", "place": 2}]
    assert part["keys"][1] == {"bar": "2", "place": 3, "onset": 0, "is": "C minor"}


def test_passages_that_are_marked_in_the_score(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "marked.musicxml"
    box = "<direction><direction-type><words enclosure='rectangle'>2-3</words></direction-type></direction>"
    path.write_bytes(bars_of("C5:4", f"{box} C5:4", "C5:4"))
    assert main(["show", str(path), "--boxes"]) == 0
    assert capsys.readouterr().out.splitlines() == [
        "#1  Violin",
        "    2-3          words in a rectangle: 2-3",
    ]
    assert main(["show", str(path), "--boxes", "--json"]) == 0
    (found,) = json.loads(capsys.readouterr().out)["boxes"]
    assert found == {
        "part": 1,
        "name": "Violin",
        "bars": "2-3",
        "by": "rectangle",
        "text": "2-3",
        "why": [],
        "note": "",
    }


def test_what_marked_passages_say_and_what_is_no_box(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "marked.musicxml"
    box = "<direction><direction-type><words enclosure='rectangle'>{}</words></direction-type></direction>"
    path.write_bytes(
        bars_of("C5:4", f"{box.format('bars 2–3 shift: land softly')} C5:4", f"{box.format('pizz.')} C5:4")
    )
    assert main(["show", str(path), "--boxes"]) == 0
    assert capsys.readouterr().out.splitlines() == [
        "#1  Violin",
        "    2-3          words in a rectangle: bars 2–3 shift: land softly; why: shift; note: land softly",
        "    not boxed:",
        '      bar 3: "pizz." in a rectangle names no passage; to box one, write its bars ("bars 12-16"), '
        'a fault ("shift") or "box" in it.',
    ]
    assert main(["show", str(path), "--boxes", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["boxes"][0]["why"], told["boxes"][0]["note"]) == (["shift"], "land softly")
    assert (told["not_boxed"][0]["part"], told["not_boxed"][0]["bars"]) == (1, ["3"])


def test_no_marked_passage_is_said(score: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["show", str(score), "--boxes"]) == 0
    assert "No passage is marked." in capsys.readouterr().out
