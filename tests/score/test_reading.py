"""Opening files: every form that MusicXML comes in, and a sentence for everything that is not MusicXML."""

from __future__ import annotations

import zipfile
from io import BytesIO
from pathlib import Path

import pytest
from lxml import etree

from excerpts.errors import PartError, ScoreError
from excerpts.score import container, limits, open_score, parse, score_from_bytes
from tests.music import bars_of, part, score

PLAIN = bars_of("C5:4", "D5:4")
DOCTYPE = (
    b'<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 3.1 Partwise//EN" '
    b'"http://www.musicxml.org/dtds/partwise.dtd">'
)


def zipped(members: dict[str, bytes]) -> bytes:
    memory = BytesIO()
    with zipfile.ZipFile(memory, "w", zipfile.ZIP_DEFLATED) as box:
        for name, data in members.items():
            box.writestr(name, data)
    return memory.getvalue()


CONTAINER = b'<container><rootfiles><rootfile full-path="a.xml"/><rootfile full-path="b.xml"/></rootfiles></container>'


def labels(data: bytes) -> tuple[str, ...]:
    return score_from_bytes(data, "test").part().bars.labels


@pytest.mark.parametrize(
    "data",
    [
        PLAIN,
        b"\xef\xbb\xbf" + PLAIN,
        b'<?xml version="1.0" encoding="UTF-16"?>'.decode().encode("utf-16")
        + PLAIN.decode().encode("utf-16-le"),
        b'<?xml version="1.0" encoding="ISO-8859-1"?>'
        + PLAIN.decode().replace("Violin", "Bratsché").encode("latin-1"),
        b'<?xml version="1.0"?>' + DOCTYPE + PLAIN,
        b"<!-- a comment --><?style one?>" + PLAIN,
        PLAIN.replace(b' version="4.0"', b' version="1.0"'),
        PLAIN.replace(b' version="4.0"', b""),
        PLAIN.replace(b"<score-partwise", b'<score-partwise xmlns="http://example.org/music"'),
        zipped({"META-INF/container.xml": CONTAINER, "b.xml": b"<no/>", "a.xml": PLAIN}),
        zipped({"__MACOSX/a.xml": b"junk", "a.musicxml": PLAIN}),
    ],
    ids=[
        "plain",
        "bom",
        "utf-16",
        "latin-1",
        "doctype",
        "comment",
        "1.0",
        "no version",
        "namespace",
        "mxl",
        "bare zip",
    ],
)
def test_every_form_gives_the_same_bars(data: bytes) -> None:
    assert labels(data) == ("1", "2")


def test_latin_1_letters_are_read() -> None:
    text = '<?xml version="1.0" encoding="ISO-8859-1"?>' + PLAIN.decode().replace("Violin", "Bratsché")
    assert score_from_bytes(text.encode("latin-1"), "test").parts[0].name == "Bratsché"


def test_timewise_is_turned_around() -> None:
    data = b"""<score-timewise version="3.0"><part-list><score-part id="P1"><part-name>Violin</part-name></score-part>
    <score-part id="P2"><part-name>Cello</part-name></score-part></part-list>
    <measure number="1"><part id="P1"><attributes><divisions>1</divisions></attributes><note><rest/>
    <duration>4</duration></note></part><part id="P2"><note><rest/><duration>4</duration></note></part></measure>
    <measure number="2"><part id="P1"><note><pitch><step>A</step><octave>4</octave></pitch><duration>4</duration></note>
    </part></measure></score-timewise>"""
    opened = score_from_bytes(data, "test")
    assert [info.name for info in opened.parts] == ["Violin", "Cello"]
    assert opened.part("Violin").bars.measures[1].findtext("note/pitch/step") == "A"
    assert len(opened.part("Cello").bars) == 2


BOMB = b"""<!DOCTYPE score-partwise [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;">]><score-partwise>&b;</score-partwise>"""
OUTSIDE = b"""<!DOCTYPE score-partwise [<!ENTITY x SYSTEM "file:///etc/hostname">]><score-partwise>&x;</score-partwise>"""


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"", "the file is empty"),
        (b"  \n ", "the file is empty"),
        (b"dear teacher", "this is not XML"),
        (PLAIN[: len(PLAIN) // 2], "the file stops before its end"),
        (b"MThd\x00\x00\x00\x06", "this is not MusicXML: it is a MIDI file"),
        (b"%PDF-1.7", "it is a PDF"),
        (b"<html><body/></html>", "it is a web page"),
        (b"<opus/>", "it is a list of other scores"),
        (b"<mei/>", "it is MEI"),
        (b'<score-partwise version="4.0"><part-list/></score-partwise>', "the score has no parts in it"),
        (b"PK\x03\x04 and then nothing", "the compressed score is damaged"),
        (zipped({"readme.txt": b"hello"}), "the compressed file has no score in it"),
        (BOMB, "defines XML entities"),
        (OUTSIDE, "defines XML entities"),
        (DOCTYPE + PLAIN.replace(b"Violin", b"Bratsch&eacute;"), "the entity &eacute; is not defined"),
    ],
)
def test_what_is_not_a_score_is_named(data: bytes, message: str) -> None:
    with pytest.raises(ScoreError) as caught:
        score_from_bytes(data, "home/broken.xml")
    assert message in str(caught.value)
    assert str(caught.value).startswith("home/broken.xml")


def test_an_entity_is_never_expanded() -> None:
    with pytest.raises(ScoreError) as caught:
        score_from_bytes(BOMB, "test")
    assert "haha" not in str(caught.value)


def test_a_missing_file_and_a_folder(tmp_path: Path) -> None:
    with pytest.raises(ScoreError, match="there is no such file"):
        open_score(tmp_path / "none.xml")
    with pytest.raises(ScoreError, match="not a file"):
        open_score(tmp_path)


def test_a_score_beyond_the_cap_is_refused(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    for room in (parse, container, limits):
        monkeypatch.setattr(room, "SIZE_CAP", 1_000)
    (tmp_path / "long.mxl").write_bytes(zipped({"a.xml": PLAIN + b" " * 5_000}))
    (tmp_path / "long.xml").write_bytes(PLAIN + b" " * 5_000)
    for name in ("long.mxl", "long.xml"):
        with pytest.raises(ScoreError, match="larger than"):
            open_score(tmp_path / name)


TWO = score(part(["C5:4"]), part(["C3:4"], part_id="P2"), names=("Violin", "Cello"))


@pytest.mark.parametrize(
    ("wanted", "place"), [("Violin", 1), ("cello", 2), ("P2", 2), ("#2", 2), (" #1 ", 1)]
)
def test_a_part_by_name_id_or_place(wanted: str, place: int) -> None:
    assert score_from_bytes(TWO, "test").part(wanted).info.place == place


@pytest.mark.parametrize("wanted", ["Viola", "#3", "#0", "", "#12345678901234567890"])
def test_an_unknown_part_lists_what_there_is(wanted: str) -> None:
    with pytest.raises(PartError, match="#1 Violin, #2 Cello"):
        score_from_bytes(TWO, "test").part(wanted)


QUARTET = ("Violin I", "Violin II", "Viola", "Cello")
CALLED = [("Violin I", 1), ("violine 1", 1), ("Vl. 1", 1), ("1. Geige", 1), ("first violin", 1), ("Violino II", 2),
          ("2nd Vln.", 2), ("Bratsche", 3), ("Violoncello", 4), ("Vc.", 4), ("1", 1), ("#4", 4)]  # fmt: skip


@pytest.mark.parametrize(("wanted", "place"), CALLED)
def test_a_part_by_what_people_call_it(wanted: str, place: int) -> None:
    parts = (part(["C5:4"], part_id=f"P{number}") for number in range(1, 5))
    assert score_from_bytes(score(*parts, names=QUARTET), "test").part(wanted).info.place == place


@pytest.mark.parametrize("wanted", ["Geige", "Violin III", "Kontrabass", "5"])
def test_what_can_mean_no_part_or_two_lists_the_parts(wanted: str) -> None:
    parts = (part(["C5:4"], part_id=f"P{number}") for number in range(1, 5))
    with pytest.raises(PartError, match="#1 Violin I, #2 Violin II, #3 Viola, #4 Cello"):
        score_from_bytes(score(*parts, names=QUARTET), "test").part(wanted)


def test_the_only_violin_may_be_called_the_first_and_not_the_second() -> None:
    trio = score_from_bytes(
        score(part(["C5:4"]), part(["C3:4"], part_id="P2"), names=("Violin", "Cello")), "test"
    )
    assert trio.part("Violine I").info.place == 1
    with pytest.raises(PartError):
        trio.part("Violin II")


def test_no_part_named_in_a_score_of_several() -> None:
    with pytest.raises(PartError, match="the score has several parts"):
        score_from_bytes(TWO, "test").part()


def test_two_parts_of_one_name() -> None:
    data = score(part(["C5:4"]), part(["C5:4"], part_id="P2"), names=("Violin", "Violin"))
    with pytest.raises(PartError, match="more than one part is called 'Violin'"):
        score_from_bytes(data, "test").part("Violin")


def test_the_parser_asks_nothing_of_the_network(monkeypatch: pytest.MonkeyPatch) -> None:
    import socket

    def refuse(*_: object) -> None:
        raise AssertionError("the network was asked")

    monkeypatch.setattr(socket.socket, "connect", refuse)
    assert labels(DOCTYPE + PLAIN) == ("1", "2")
    assert etree.fromstring(PLAIN).tag == "score-partwise"
