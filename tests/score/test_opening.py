"""Scores in other formats: what comes through the conversion, what is said to be lost, and what is refused."""

from __future__ import annotations

from fractions import Fraction
from io import BytesIO
from pathlib import Path

import mido
import pytest
from hypothesis import given
from hypothesis import strategies as st

from excerpts.errors import ScoreError
from excerpts.score import Score, open_score
from excerpts.score.abc import from_abc
from excerpts.score.opening import FOREIGN_CAP
from excerpts.system.child.culprit import Culprit, find_culprit
from tests.music import bars_of
from tests.schema import schema_errors
from tests.score.cutting import texts

KERN = """!!!COM: Meridian, Anna
!!!OTL: A Tune
**kern	**kern
*I"Violoncello	*I"Violino
*clefF4	*clefG2
*k[f#]	*k[f#]
*M3/4	*M3/4
=1	=1
2.GG	4g
.	4a
.	4b
=2	=2
2.D	4.cc
.	8b
.	4a-
==	==
*-	*-
"""

ABC = "X:1\nT:A Tune\nC:Anna Meridian\nM:3/4\nL:1/4\nK:G\nGAB|c3/2B/_A|]\n"

MEI = """<?xml version="1.0" encoding="UTF-8"?>
<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="4.0.0"><meiHead><fileDesc><titleStmt>
<title>A Tune</title></titleStmt><pubStmt/></fileDesc></meiHead><music><body><mdiv><score>
<scoreDef meter.count="3" meter.unit="4" key.sig="1s"><staffGrp><staffDef n="1" lines="5" clef.shape="G" clef.line="2"
label="Violin"/></staffGrp></scoreDef><section>
<measure n="1"><staff n="1"><layer n="1"><note pname="g" oct="4" dur="4"/><note pname="a" oct="4" dur="4"/>
<note pname="b" oct="4" dur="4"/></layer></staff></measure>
<measure n="2"><staff n="1"><layer n="1"><note pname="c" oct="5" dur="4" dots="1"/><note pname="b" oct="4" dur="8"/>
<note pname="a" oct="4" dur="4" accid="f"/></layer></staff></measure>
</section></score></mdiv></body></music></mei>
"""


def midi() -> bytes:
    file = mido.MidiFile(ticks_per_beat=480)
    track = mido.MidiTrack()
    file.tracks.append(track)
    track.append(mido.MetaMessage("time_signature", numerator=3, denominator=4))
    for number, ticks in ((67, 480), (69, 480), (71, 480), (72, 720), (71, 240), (68, 480)):
        track.append(mido.Message("note_on", note=number, velocity=80, time=0))
        track.append(mido.Message("note_off", note=number, velocity=0, time=ticks))
    written = BytesIO()
    file.save(file=written)
    return written.getvalue()


FILES = {"tune.krn": KERN.encode(), "tune.abc": ABC.encode(), "tune.mei": MEI.encode(), "tune.mid": midi()}


def opened(folder: Path, name: str, data: bytes) -> Score:
    path = folder / name
    path.write_bytes(data)
    return open_score(path)


@pytest.mark.parametrize("name", list(FILES))
def test_the_notes_come_through(tmp_path: Path, name: str) -> None:
    score = opened(tmp_path, name, FILES[name])
    part = score.part("#1")
    assert part.bars.labels == ("1", "2")
    excerpt = part.passage("2").cut(context=1)
    assert schema_errors(excerpt.xml) == []
    tree = excerpt.tree()
    lengths = [
        Fraction(n.findtext("duration") or 0) / Fraction(tree.findtext(".//divisions") or 1)
        for n in tree.iter("note")
    ]
    assert lengths == [1, 1, 1, Fraction(3, 2), Fraction(1, 2), 1]
    assert texts(excerpt, "step")[:5] == ["G", "A", "B", "C", "B"]
    assert (texts(excerpt, "beats"), texts(excerpt, "beat-type")) == (["3"], ["4"])


@pytest.mark.parametrize("name", list(FILES))
def test_a_word_on_what_may_be_lost(tmp_path: Path, name: str) -> None:
    score = opened(tmp_path, name, FILES[name])
    (warning,) = score.warnings
    assert warning.startswith("converted from ")
    report = [str(line) for line in score.part("#1").passage("1").cut().report]
    assert report[0] == f"warning the score: {warning}"


@pytest.mark.parametrize("name", list(FILES))
def test_the_same_file_gives_the_same_bytes(tmp_path: Path, name: str) -> None:
    first, second = (opened(tmp_path, name, FILES[name]) for _ in range(2))
    assert [info.id for info in first.parts] == [f"P{info.place}" for info in first.parts]
    assert first.part("#1").passage("1").cut().xml == second.part("#1").passage("1").cut().xml
    assert b"music21" not in first.part("#1").passage("1").cut().xml.lower()


def test_title_composer_and_parts(tmp_path: Path) -> None:
    score = opened(tmp_path, "tune.krn", KERN.encode())
    assert (score.title, score.composer) == ("A Tune", "Meridian, Anna")
    assert len(score.parts) == 2
    assert opened(tmp_path, "tune.abc", ABC.encode()).title == "A Tune"
    assert opened(tmp_path, "tune.mid", midi()).title == ""


def test_the_content_decides_not_the_ending(tmp_path: Path) -> None:
    assert opened(tmp_path, "tune.xml", MEI.encode()).warnings[0].startswith("converted from MEI")
    assert opened(tmp_path, "tune.txt", KERN.encode()).warnings[0].startswith("converted from Humdrum kern")
    assert opened(tmp_path, "tune.musicxml", bars_of("C5:4")).warnings == ()


@pytest.mark.parametrize(
    ("name", "data", "message"),
    [
        ("tune.xml", midi(), "this is not MusicXML: it is a MIDI file under another name"),
        ("tune.mid", b"dear teacher", "this is not MIDI, whatever its ending says"),
        ("tune.krn", b"dear teacher", "this is not Humdrum kern, whatever its ending says"),
        ("tune.mid", midi()[:40], "stops before its end"),
        ("tune.krn", KERN[:150].encode(), "stops before its end"),
        ("tune.mei", b"<mei", "stops before its end"),
        ("tune.mei", b"<mei/>", "MEI"),
        ("tune.mei", b'<!DOCTYPE mei [<!ENTITY a "b">]><mei>&a;</mei>', "defines XML entities"),
        ("tune.abc", b"X:1\nK:C\n", "ABC"),
        (
            "tune.abc",
            ABC.encode() + b"\n" + ABC.replace("X:1", "X:2").encode(),
            "holds 2 pieces: A Tune, A Tune.",
        ),
        ("tune.abc", b"X:1\n" + b"%" * FOREIGN_CAP, "larger than 2 MB"),
    ],
)
def test_what_cannot_be_converted_is_explained(tmp_path: Path, name: str, data: bytes, message: str) -> None:
    with pytest.raises(ScoreError) as caught:
        opened(tmp_path, name, data)
    assert message in str(caught.value)
    assert name in str(caught.value)


def test_nothing_is_converted_for_musicxml(tmp_path: Path) -> None:
    import subprocess
    import sys

    path = tmp_path / "a.musicxml"
    path.write_bytes(bars_of("C5:4"))
    code = f"import sys; from excerpts.score import open_score; open_score({str(path)!r})"
    code += "; print('music21' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"


@pytest.mark.parametrize(
    ("name", "old", "new", "message"),
    [
        ("tune.abc", "Q:1/4=60", "Q:s", 'the ABC cannot be read: something is wrong in line 3, "Q:s".'),
        ("tune.abc", "M:3/4", "M:s", 'the ABC cannot be read: something is wrong in line 5, "M:s".'),
        (
            "tune.mei",
            'dur="8"',
            'dur="s"',
            "the MEI cannot be read: something is wrong in bar 2 (Unexpected value for",
        ),
        (
            "tune.mei",
            'key.sig="1s"',
            'key.sig="s"',
            "the MEI cannot be read: something is wrong before the first bar.",
        ),
    ],
)
def test_where_the_conversion_stops_is_told(
    tmp_path: Path, name: str, old: str, new: str, message: str
) -> None:
    text = FILES[name].decode().replace("T:A Tune", "T:A Tune\nQ:1/4=60")
    with pytest.raises(ScoreError) as caught:
        opened(tmp_path, name, text.replace(old, new).encode())
    assert message in str(caught.value)


def test_a_track_that_stops_the_conversion_is_told(tmp_path: Path) -> None:
    file = mido.MidiFile(file=BytesIO(midi()))
    track = mido.MidiTrack([mido.MetaMessage("time_signature", numerator=3, denominator=4)])
    file.tracks.append(track)
    written = BytesIO()
    file.save(file=written)
    data = written.getvalue()
    at = data.rindex(b"\xff\x58\x04")
    broken = data[: at + 4] + b"\xff\xff" + data[at + 6 :]  # 255 over two to the 255th
    with pytest.raises(ScoreError, match=r"the MIDI cannot be read: something is wrong in track 2"):
        opened(tmp_path, "tune.mid", broken)


def test_a_note_that_kern_cannot_mean_is_told_and_not_by_a_library(
    tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    score = opened(tmp_path, "tune.krn", KERN.replace("4.cc", "4.qq").encode())
    assert score.warnings[1:] == ('line 13: "4.qq" cannot be read and is left out',)
    assert capfd.readouterr().err == ""


def test_typed_bars_have_no_line_number_of_the_converter_s() -> None:
    with pytest.raises(ScoreError, match=r'box a: the ABC cannot be read: something is wrong in "Q:fast"'):
        from_abc("Q:fast\nD4 |", name="box a")


@given(st.integers(1, 60), st.data())
def test_the_line_that_a_converter_stops_at_is_found(count: int, data: st.DataObject) -> None:
    lines = [f"line {number}" for number in range(1, count + 1)]
    wrong = data.draw(st.integers(1, count))
    lines[wrong - 1] = "wrong"
    for reader in ("abc", "humdrum"):
        found = find_culprit(reader, "\n".join(lines), lambda begin: "wrong" in begin)
        assert found == Culprit("line", str(wrong), str(wrong), "wrong")


def test_what_stands_before_the_first_bar_is_found() -> None:
    text = "<mei><head/><measure n='7'/><measure/></mei>"
    assert find_culprit("mei", text, lambda begin: "<head" in begin) == Culprit("bar", "", "")
    assert find_culprit("mei", text, lambda begin: "<measure" in begin) == Culprit("bar", "7", "7")
    assert find_culprit("mei", text, lambda begin: begin.count("<measure") == 2) == Culprit("bar", "2", "2")
