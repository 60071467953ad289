"""Bars typed as ABC (the open text notation, https://abcnotation.com/wiki/abc:standard:v2.1)."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from excerpts.errors import ScoreError
from excerpts.instruments.instrument import INSTRUMENTS
from excerpts.instruments.staff import ALTO, BASS, TREBLE
from excerpts.score import Score, open_score
from excerpts.score.abc import abc_faults, from_abc
from excerpts.score.abc_read import AbcReader
from tests.schema import schema_errors


def labels(text: str) -> tuple[str, ...]:
    return from_abc(text).part().bars.labels


@pytest.mark.parametrize("bars", [2, 3, 4, 7])
def test_full_bars_are_numbered_from_one(bars: int) -> None:
    text = "M:4/4\nL:1/4\nK:D\n" + " | ".join(["D F A d"] * bars) + " |]"
    assert labels(text) == tuple(str(n) for n in range(1, bars + 1))


def test_a_pick_up_is_bar_0_and_shows_no_number() -> None:
    part = from_abc("M:4/4\nL:1/4\nK:D\nA | D F A d | d4 | d3 |]").part()
    assert part.bars.labels[:2] == ("0", "1")
    assert part.bars.measures[0].get("implicit") == "yes"


def test_a_header_is_put_in_where_it_is_missing() -> None:
    part = from_abc("D2 F2 A2 d2").part()
    assert [note.findtext("type") for note in part.bars.measures[0].iter("note")] == ["quarter"] * 4


@pytest.mark.parametrize("text", ["", "[[[", "K:D\n", "D" * 5_000])
def test_what_is_not_music_is_refused(text: str) -> None:
    with pytest.raises(ScoreError):
        from_abc(text)


def clefs(score: Score, place: int = 1) -> list[tuple[str, str, str]]:
    part = score.part(place)
    found = (clef for measure in part.bars.measures for clef in measure.iter("clef"))
    return [
        (c.findtext("sign", ""), c.findtext("line", ""), c.findtext("clef-octave-change", "")) for c in found
    ]


def pitches(score: Score, place: int = 1) -> list[str]:
    measures = score.part(place).bars.measures
    return [n.findtext("step", "") + n.findtext("octave", "") for m in measures for n in m.iter("pitch")]


BAR = "D, F, A, D"
LOW = ["D3", "F3", "A3", "D4"]


@pytest.mark.parametrize("bars", [1, 2, 3, 4])
@pytest.mark.parametrize("end", ["", " |", " |]"])
@pytest.mark.parametrize(
    ("asked", "expected"),
    [
        ("K:D clef=bass", ("F", "4", "")),
        ("K:D bass", ("F", "4", "")),
        ("K:D clef=tenor", ("C", "4", "")),
        ("K:D clef=alto", ("C", "3", "")),
        ("K:D clef=alto middle=C", ("C", "3", "")),
        ("K:D clef=treble", ("G", "2", "")),
        ("K:D clef=bass3", ("F", "3", "")),
        ("K:clef=tenor", ("C", "4", "")),
        ("V:1 clef=tenor\nK:D", ("C", "4", "")),
        ("K:D", ("G", "2", "")),
    ],
)
def test_the_clef_asked_for_stands_there_and_moves_no_note(
    bars: int, end: str, asked: str, expected: tuple[str, str, str]
) -> None:
    """ABC 2.1, 4.6: a clef says where notes stand; C is middle C in every clef."""
    score = from_abc(f"M:4/4\nL:1/4\n{asked}\n" + " | ".join([BAR] * bars) + end)
    assert clefs(score) == [expected]
    assert pitches(score) == LOW * bars
    assert len(score.part().bars) == bars


@pytest.mark.parametrize(
    ("asked", "clef", "first"),
    [
        (
            "treble-8",
            ("G", "2", "-1"),
            "D2",
        ),  # typed as it stands in the treble clef, an octave lower to hear
        ("clef=bass+8", ("F", "4", "1"), "D4"),
        ("clef=bass octave=-1", ("F", "4", ""), "D2"),
        ("clef=bass middle=d", ("F", "4", ""), "D1"),  # d is typed for the note on the middle line, D3
    ],
)
def test_octaves_are_as_the_field_says(asked: str, clef: tuple[str, str, str], first: str) -> None:
    score = from_abc(f"M:4/4\nL:1/4\nK:D {asked}\n{BAR} | {BAR} |")
    assert clefs(score) == [clef]
    assert pitches(score)[0] == first


@pytest.mark.parametrize("name", list(INSTRUMENTS))
def test_without_a_clef_it_is_that_of_the_player(name: str) -> None:
    own = INSTRUMENTS[name].clef
    assert clefs(from_abc(f"K:D\n{BAR} |", clef=own)) == [(own.sign, str(own.line), "")]
    assert clefs(from_abc(f"K:D clef=tenor\n{BAR} |", clef=own)) == [("C", "4", "")]


def test_a_clef_changes_at_a_barline_and_each_voice_has_its_own() -> None:
    score = from_abc(f"M:4/4\nL:1/4\nK:D\n{BAR} | [K:clef=tenor] {BAR} |\nK:D treble\n{BAR} |]", clef=BASS)
    assert clefs(score) == [("F", "4", ""), ("C", "4", ""), ("G", "2", "")]
    assert [m.find(".//clef") is not None for m in score.part().bars.measures] == [True, True, True]
    assert pitches(score) == LOW * 3
    two = from_abc(f"M:4/4\nL:1/4\nK:D\nV:1 clef=alto\n{BAR}|{BAR}|\nV:2 bass\n{BAR}|{BAR}|", clef=TREBLE)
    assert (clefs(two, 1), clefs(two, 2)) == ([("C", "3", "")], [("F", "4", "")])


def test_an_excerpt_with_a_clef_of_its_own_is_valid() -> None:
    score = from_abc(f"M:4/4\nL:1/4\nK:D clef=tenor\n{BAR} | [K:bass] {BAR} |", clef=ALTO)
    assert schema_errors(score.passage("1-2").cut(0).xml) == []


@pytest.mark.parametrize(
    ("text", "line", "message"),
    [
        ("hello world", 1, '"hello" is not music in ABC'),
        ("M:4/4\nL:1/4\nD F A d |\nplease play it twice", 4, '"please" is not music in ABC'),
        ("M:4/4\nDEFG ABcd | Z2 |", 2, '"Z2" is not music in ABC'),
        ("M:4/4\nK:Z\nD8", 2, '"K:Z" is not a key. Write for example K:D'),
        ("K:d\nD8", 1, '"K:d" is not a key.'),
        ("K:G# major\nD8", 1, '"K:G# major" would have 8 sharps or flats'),
        ("K:D =c\nD8", 1, '"=c" after the key is not read'),
        ("M:13\nD8", 1, '"M:13" is not a metre. Write for example M:4/4'),
        ("M:4/5\nD8", 1, '"M:4/5" is not a metre.'),
        ("M:(2+3)/8\nD8", 1, '"M:(2+3)/8" is not a metre.'),
        ("L:1/3\nD8", 1, '"L:1/3" is not a note length.'),
        ("K:D clef=perc\nD8", 1, 'There is no clef "perc" here: write treble, alto, tenor or bass.'),
        ("K:D clef=bass middle=E\nD8", 1, "middle=E puts the clef on another line"),
        ("K:D transpose=-2\nD8", 1, "transpose= and stafflines= are not read"),
        ("D4 [K:bass] D4 | D8", 1, "A clef changes at a barline here"),
        ("M:4/4\nL:1/4\nD F A d e | d4 |", 3, "Bar 1 has 5 crotchets, where the metre takes 4."),
        ("M:4/4\nL:1/4\nD F A d e", 3, "Bar 1 has 5 crotchets, where the metre takes 4."),
        (
            "M:4/4\nL:1/4\nA | D F A d | d4\n| D F A | d4 |",
            4,
            "Bar 3 has 3 crotchets, where the metre takes 4.",
        ),
        ("M:6/8\nDEF G2A A | d6 |", 2, "Bar 1 has 7 quavers, where the metre takes 6."),
        ("D4 | D99999 |", 1, '"D99999" is not music in ABC'),
        ("D4 | D9999 |", 1, '"D9999" would last 9999/8 semibreves: no note is that long.'),
        ("D" * 3000 + "?", 1, '"' + "D" * 40 + '…" is not music in ABC'),
        ("M:3/4\nL:1/4\nD>E (3DEF | D3 |", 2, ""),
    ],
)
def test_what_is_no_music_is_told_with_its_line(text: str, line: int, message: str) -> None:
    if not message:
        (fault,) = abc_faults(text)
        assert fault.message == "Bar 1 has 4 crotchets, where the metre takes 3."
        return
    (fault,) = abc_faults(text)
    assert fault.line == line
    assert fault.message.startswith(message)
    with pytest.raises(ScoreError) as caught:
        from_abc(text, name="box run")
    assert str(caught.value).startswith(f"box run, line {line} of the ABC: {message}")


def test_every_fault_is_told() -> None:
    text = "M:13\nK:Z\nhello |"
    assert [fault.line for fault in abc_faults(text)] == [1, 2, 3]
    with pytest.raises(ScoreError, match=r"2 more things in it are wrong"):
        from_abc(text)


@pytest.mark.parametrize(
    "text",
    [
        "M:C\nL:1/4\nK:Dmin\nA | D F A d | (DF) [Ad] z | D>E F/<G/ A/B/ | (3DEF z2 | (3:2:3GAB A2 | d3 |]",
        "M:6/8\nK:A dorian\n|: e | ABA e2d | c3 A2 :|\n|: e | ABA A3 | a3- a2 :|",
        'M:4/4\n%%note\n"Am"D4 !f!.D2 vE2 | {g}d8 || u[DA]8 | (5DEFGA D4 |]  % the end\nw: la la',
        "M:7/8\nL:1/8\nDEF GA Bc | (dc)B (AG) (FE) |",
        "M:none\nD3 | D7 | D |",
        "M:3/4\nL:1/4\nD2 F- |1 F3 :|2 d3 |] [M:2/4] D2 | d2 |",
        "D2 F2 A2 d2",
    ],
)
def test_what_is_music_has_no_fault(text: str) -> None:
    assert abc_faults(text) == ()
    assert len(from_abc(text).part("#1").bars) == AbcReader(text).parts[0].bars


def test_no_metre_is_made_up() -> None:
    for text in ("K:D\nD2 F2 A2 d2 e2 |", "D8 | D8", "M:none\nD3 |"):
        measures = from_abc(text).part().bars.measures
        assert all(measure.find(".//time") is None for measure in measures)
        assert len(measures) == AbcReader(text).parts[0].bars


_LENGTHS = st.sampled_from(["", "2", "/", "3", "3/2", "4"])
_VALUES = {"": 1.0, "2": 2.0, "/": 0.5, "3": 3.0, "3/2": 1.5, "4": 4.0}


@given(st.lists(st.lists(_LENGTHS, min_size=1, max_size=6), min_size=1, max_size=5))
def test_bars_are_too_long_where_their_notes_are(bars: list[list[str]]) -> None:
    text = "M:4/4\nL:1/4\nK:D\n" + "|\n".join(" ".join(f"D{one}" for one in bar) for bar in bars) + "|]"
    totals = [sum(_VALUES[one] for one in bar) for bar in bars]
    wrong = [
        number
        for number, total in enumerate(totals)
        if total > 4 or (total < 4 and 0 < number < len(totals) - 1)
    ]
    assert [fault.line - 4 for fault in abc_faults(text)] == wrong


@given(st.text(alphabet="ABCDEFGabcdefgzKMLV:|[](){}<>/,'^_=-!\"0123456789 \n%+clefbass&~", max_size=60))
def test_any_text_is_read_or_told(text: str) -> None:
    reader = AbcReader(text)
    assert reader.plain.count("\n") == max(len(text.splitlines()) - 1, 0)
    assert all(1 <= fault.line <= len(text.splitlines()) for fault in reader.faults)


# Files


def opened(folder: Path, text: str) -> Score:
    path = folder / "tune.abc"
    path.write_text(text, encoding="utf-8")
    return open_score(path)


def test_a_file_has_its_clef_and_its_first_bar_is_bar_1(tmp_path: Path) -> None:
    score = opened(tmp_path, f"X:1\nM:4/4\nL:1/4\nK:D clef=bass\n{BAR} |\n")
    assert (clefs(score), pitches(score), score.part().bars.labels) == ([("F", "4", "")], LOW, ("1",))
    score = opened(tmp_path, f"X:1\nM:4/4\nL:1/4\nK:D clef=tenor\n{BAR} | {BAR} | {BAR} |]\n")
    assert (clefs(score), pitches(score)) == ([("C", "4", "")], LOW * 3)
    assert score.part().bars.labels == ("1", "2", "3")
    assert opened(tmp_path, f"X:1\nM:4/4\nL:1/4\nK:D\nA | {BAR} | {BAR} |]\n").part().bars.labels[0] == "0"


def test_what_is_wrong_in_a_file_is_said_with_every_excerpt(tmp_path: Path) -> None:
    score = opened(tmp_path, "X:1\nM:4/4\nL:1/4\nK:D\nD F A d e | d4 |\n")
    assert score.warnings[1:] == ("line 5: Bar 1 has 5 crotchets, where the metre takes 4.",)


def beams_of(text: str) -> list[str]:
    """How many notes share each beam of the first level, for each bar."""
    found: list[str] = []
    for measure in from_abc(text).part().bars.measures:
        marks = [beam.text for beam in measure.iter("beam") if beam.get("number") == "1"]
        sizes = "".join({"begin": "(", "continue": "x", "end": ")"}[mark or ""] for mark in marks)
        found.append(sizes)
    return found


@pytest.mark.parametrize(
    ("music", "beams"),
    [
        ("M:7/8\nK:D\nDEF GA Bc | DE FG ABc", ["(x)()()", "()()(x)"]),  # 3+2+2, then 2+2+3
        ("M:4/4\nK:C\nCD EF GABc | C`D`E`F G A B c", ["()()(xx)", "(xx)"]),  # back quotes part nothing
        ("M:4/4\nK:C\nCDzE FGAB | C2DE F4", ["()(xx)", "()"]),  # a rest and a crotchet end a beam
        ("M:4/4\nK:C\nC>D E/F/G/A/ {g}B4 | CDEF\nGABc |", ["()(xx)", "(xx)(xx)"]),  # so does a line
        ("M:4/4\nK:C\nC D E F G A B c", ["()()()()"]),  # nothing is written together: by the metre
    ],
)
def test_notes_are_beamed_as_they_are_typed(music: str, beams: list[str]) -> None:
    """ABC standard v2.1, section 4.7: a space ends a beam."""
    assert beams_of(music) == beams
