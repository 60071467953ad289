"""Reading and writing again changes nothing that is written in the music.

Default tier: hand-made bars, generated lines, a quartet movement. Corpus tier: every part of music21's corpus.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from excerpts.notes import Event, Head, Voice, read_line, read_lines, write_line
from excerpts.notes.spell_events import bar_metres
from tests.notes.lines import line, pitch
from tests.notes.sources import corpus, excerpt, of_file, parse
from tests.schema import schema_errors

FULL = """<attributes><divisions>12</divisions><key><fifths>-2</fifths></key>
<time symbol="common"><beats>4</beats><beat-type>4</beat-type></time>
<clef><sign>C</sign><line>3</line></clef></attributes>
<direction placement="above"><direction-type><words font-weight="bold">Allegro</words></direction-type>
<direction-type><metronome><beat-unit>quarter</beat-unit><per-minute>96</per-minute></metronome>
</direction-type><sound tempo="96"/></direction>
<direction placement="below"><direction-type><wedge type="crescendo"/></direction-type></direction>
<note><grace slash="yes"/><pitch><step>A</step><octave>3</octave></pitch><voice>1</voice><type>eighth</type>
<notations><slur type="start" number="1"/></notations></note>
<note default-x="80"><pitch><step>B</step><alter>-1</alter><octave>3</octave></pitch><duration>12</duration>
<voice>1</voice><type>quarter</type><stem>up</stem><notations><slur type="stop" number="1"/>
<technical><fingering>2</fingering><string>3</string><down-bow/></technical>
<articulations><accent/><tenuto placement="above"/></articulations></notations></note>
<note><pitch><step>C</step><octave>4</octave></pitch><duration>4</duration><voice>1</voice><type>eighth</type>
<time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes></time-modification>
<beam number="1">begin</beam>
<notations><tuplet type="start" bracket="yes"/><slur type="start" number="2" line-type="dashed"/></notations></note>
<note><rest><display-step>C</display-step><display-octave>4</display-octave></rest><duration>4</duration>
<voice>1</voice><type>eighth</type><time-modification><actual-notes>3</actual-notes>
<normal-notes>2</normal-notes></time-modification></note>
<note><pitch><step>D</step><octave>4</octave></pitch><duration>4</duration><voice>1</voice><type>eighth</type>
<time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes></time-modification>
<beam number="1">end</beam><notations><tuplet type="stop"/><slur type="stop" number="2"/></notations></note>
<direction placement="below"><direction-type><wedge type="stop"/></direction-type><offset>-2</offset></direction>
<note><pitch><step>F</step><alter>1</alter><octave>4</octave></pitch><duration>12</duration><tie type="start"/>
<voice>1</voice><type>quarter</type><accidental editorial="yes">sharp</accidental>
<notations><tied type="start" orientation="over"/><ornaments><trill-mark/><wavy-line type="start" number="1"/>
</ornaments></notations></note>
<note><chord/><pitch><step>A</step><octave>4</octave></pitch><duration>12</duration><voice>1</voice>
<type>quarter</type><notations><technical><fingering>0</fingering><open-string/></technical></notations></note>
<note><pitch><step>F</step><alter>1</alter><octave>4</octave></pitch><duration>12</duration><tie type="stop"/>
<voice>1</voice><type>quarter</type><notations><tied type="stop"/><fermata type="upright"/><ornaments>
<wavy-line type="stop" number="1"/></ornaments></notations><lyric number="1"><syllabic>single</syllabic>
<text>ah</text></lyric></note>
<note><grace/><pitch><step>G</step><octave>4</octave></pitch><voice>1</voice><type>16th</type></note>
<attributes><clef><sign>F</sign><line>4</line></clef></attributes>
<barline location="right"><bar-style>light-heavy</bar-style></barline>"""


def test_everything_that_is_written_survives() -> None:
    source = excerpt(f'<measure number="12a" implicit="yes" width="200">{FULL}</measure>')
    assert schema_errors(source.xml) == []
    first = read_line(source)
    made = write_line(first)
    assert schema_errors(made.xml) == []
    assert read_line(made) == first
    for tag in ("fingering", "string", "down-bow", "accent", "tenuto", "slur", "wedge", "words", "metronome",
                "sound", "trill-mark", "wavy-line", "fermata", "lyric", "tuplet", "accidental", "grace", "chord",
                "clef", "bar-style", "display-step", "open-string", "tied", "offset", "beam"):  # fmt: skip
        assert len(list(made.tree().iter(tag))) == len(list(source.tree().iter(tag))), tag
    bar = made.tree().find("part/measure")
    assert bar is not None
    assert dict(bar.attrib) == {"number": "12a", "implicit": "yes"}


_LENGTHS = [
    Fraction(n, d) for n, d in ((1, 4), (1, 2), (3, 4), (1, 1), (3, 2), (2, 1), (5, 4), (1, 8), (7, 4))
]
_GROUPS = [
    *([length] for length in _LENGTHS),
    [Fraction(1, 3)] * 3,
    [Fraction(2, 3), Fraction(1, 3)],
    [Fraction(1, 6)] * 3,
    [Fraction(2, 3)] * 3,
    [Fraction(1, 5)] * 5,
    [Fraction(-1)],
    [Fraction(-1, 2)],
    [Fraction(-1, 4)],
]
_PITCHES = [f"{step}{sign}{octave}" for step in "CDEFGAB" for sign in ("", "#", "b") for octave in (4, 5)]


@st.composite
def lines(draw: st.DrawFn) -> Voice:
    """Lines in many metres whose last bar is filled with rests; some notes are chords."""
    time = draw(
        st.sampled_from(["4/4", "3/4", "2/4", "2/2", "6/8", "9/8", "12/8", "3/8", "5/8", "7/8", "5/4"])
    )
    groups = draw(st.lists(st.sampled_from(_GROUPS), min_size=1, max_size=12))
    lengths = [length for group in groups for length in group]
    beats, unit = (int(part) for part in time.split("/"))
    full = Fraction(4 * beats, unit)
    rest = -sum((abs(length) for length in lengths), Fraction(0)) % full
    made = line(time, [*lengths, -rest] if rest else lengths, "", draw(st.integers(-5, 5)))
    events: list[Event] = []
    for event in made.events:
        size = draw(st.integers(1, 2))
        names = draw(st.lists(st.sampled_from(_PITCHES), min_size=size, max_size=size, unique=True))
        heads = () if event.is_rest else tuple(Head(pitch(name)) for name in names)
        events.append(replace(event, heads=heads))
    return replace(made, events=tuple(events))


def _facts(music: Voice) -> list[tuple[object, ...]]:
    """What sounds: onset, length and pitches of each note."""
    return [
        (event.onset, event.duration, tuple(head.pitch for head in event.heads))
        for event in music.events
        if not event.is_rest
    ]


@settings(max_examples=60, deadline=None)
@given(lines())
def test_any_line_is_written_validly_and_reads_back(music: Voice) -> None:
    """Law: what is written sounds as the line says, bar by bar exactly full, valid, the same every time."""
    made = write_line(music)
    assert schema_errors(made.xml) == []
    back = read_line(made)
    assert _facts(back) == _facts(music)
    for measure, bar in zip(made.tree().iter("measure"), made.bars, strict=True):
        divisions = int(made.tree().findtext(".//divisions") or 0)
        played = [n for n in measure.iter("note") if n.find("chord") is None]
        total = sum(int(note.findtext("duration") or 0) for note in played)
        assert Fraction(total, divisions) == bar.length
        assert measure.find("backup") is None
        assert measure.find("forward") is None
    assert write_line(back).xml == made.xml


@settings(max_examples=40, deadline=None)
@given(lines())
def test_types_dots_and_tuplets_add_up_to_the_durations(music: Voice) -> None:
    """Law: the written value times the tuplet's ratio is the duration, as W3C MusicXML 4.0 has it."""
    sizes = {"breve": Fraction(8), "whole": Fraction(4), "half": Fraction(2), "quarter": Fraction(1)}
    sizes |= {"eighth": Fraction(1, 2)} | {
        f"{n}{'nd' if n == 32 else 'th'}": Fraction(4, n) for n in (16, 32, 64, 128, 256)
    }
    root = write_line(music).tree()
    divisions = int(root.findtext(".//divisions") or 0)
    for note in root.iter("note"):
        if note.find("rest[@measure='yes']") is not None:
            continue
        dots = len(note.findall("dot"))
        value = sizes[note.findtext("type") or ""] * (2 - Fraction(1, 2**dots))
        ratio = note.find("time-modification")
        if ratio is not None:
            value *= Fraction(
                int(ratio.findtext("normal-notes") or 0), int(ratio.findtext("actual-notes") or 0)
            )
        assert value == Fraction(int(note.findtext("duration") or 0), divisions)


def differences(path: Path, index: int) -> Counter[str]:
    """What is not the same after reading and writing one part of a score.

    Accidentals that the source leaves out although key and bar call for them, and types, are added. A rest that fills a
    bar shorter than its metre, as a pick-up, is written as long as it is: a whole rest would stand for the whole metre,
    and where no one rest is that long there are several. No difference.
    """
    source = of_file(path, index)
    valid = not schema_errors(source.xml)
    found: Counter[str] = Counter()
    for music in read_lines(source):
        made = write_line(music)
        found["lines"] += 1
        if valid and schema_errors(made.xml):
            found["invalid"] += 1
        back = read_lines(made)
        if len(back) != 1:
            found["lines split"] += 1
            continue
        staff = music.events[0].staff if music.events else 1
        metres = zip(music.bars, bar_metres(music), strict=True)
        short = {bar.start for bar, (metre, _) in metres if bar.length < metre.length}
        rests = [event for event in music.events if event.full_bar and event.onset in short]
        written = _full_rests(back[0].events, rests)
        events = tuple(
            _without_additions(replace(new, staff=staff), old)
            for new, old in zip(written, music.events, strict=False)
        )
        same = [_unbeamed(event) for event in events] == [_unbeamed(event) for event in music.events]
        found["events"] += not same or len(written) != len(events)
        # Half a beam, and music without any beam, is beamed anew: counted, but no fault.
        found["beamed anew"] += same and events != music.events
        for name in ("placed", "measures", "part", "head"):
            found[name] += getattr(back[0], name) != getattr(music, name)
    return found


def _full_rests(events: Sequence[Event], rests: Sequence[Event]) -> list[Event]:
    """The events with one rest for all that are written for one of these, which fill short bars."""
    joined = list(events)
    for rest in rests:
        written = [e for e in joined if e.is_rest and rest.onset <= e.onset and e.end <= rest.end]
        if sum(event.duration for event in written) == rest.duration:
            place = joined.index(written[0])
            full = replace(
                written[0], duration=rest.duration, segments=rest.segments, printed=(), full_bar=True
            )
            joined[place : place + len(written)] = [full]
    return joined


def _without_additions(new: Event, old: Event) -> Event:
    """The new event without what the source leaves out."""
    heads = []
    for head, before in zip(new.heads, old.heads, strict=False):
        had = any(mark.family == "accidental" for mark in before.marks)
        marks = head.marks if had else tuple(m for m in head.marks if m.family != "accidental")
        heads.append(replace(head, marks=marks))
    untyped = not old.printed and len(new.segments) == len(old.segments)
    return replace(new, heads=tuple(heads), printed=() if untyped else new.printed)


def _unbeamed(event: Event) -> Event:
    return replace(event, printed=tuple(replace(printed, beams=()) for printed in event.printed))


def test_the_bracket_over_grace_notes_without_a_type_survives() -> None:
    """So in Beethoven, op. 18 no. 5."""
    pitch_and_voice = "<pitch><step>D</step><octave>5</octave></pitch>{}<voice>1</voice>"
    ends = (f"<notations><tuplet type='{kind}'/></notations>" for kind in ("start", "stop"))
    graces = "".join(f"<note><grace/>{pitch_and_voice.format('')}{end}</note>" for end in ends)
    whole = f"<note>{pitch_and_voice.format('<duration>4</duration>')}<type>whole</type></note>"
    before = read_line(excerpt(graces + whole))
    after = read_line(write_line(before))
    assert [event.heads for event in after.events] == [event.heads for event in before.events]


@pytest.mark.parametrize("part", [0, 1, 2, 3])
def test_a_quartet_movement_is_the_same_after_reading_and_writing(part: int) -> None:
    """Mozart, K. 458 iii, from music21's corpus."""
    found = differences(corpus() / "mozart" / "k458" / "movement3.mxl", part)
    assert found["lines"] >= 1
    assert +found == Counter(lines=found["lines"])


@pytest.mark.corpus
def test_all_of_the_corpus_is_the_same_after_reading_and_writing() -> None:
    """Corpus tier: every voice of every partwise MusicXML file of music21's corpus."""
    total: Counter[str] = Counter()
    wrong: list[str] = []
    for path in sorted(corpus().rglob("*")):
        if path.suffix not in {".mxl", ".xml", ".musicxml"}:
            continue
        try:
            parts = len(parse(path).findall("part"))
        except etree.XMLSyntaxError:
            total["not XML"] += 1
            continue
        for index in range(parts):
            found = differences(path, index)
            total += found
            if set(+found) - {"lines", "beamed anew"}:
                wrong.append(f"{path.name} {index}: {dict(+found)}")
    print(total)  # noqa: T201
    assert wrong == []
