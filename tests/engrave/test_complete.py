"""Everything that should be printed has ink, and what has none is told (default tier; one test: corpus).

Outside check: the notes are counted in the MusicXML itself, not in what the engraver was given.
"""

from __future__ import annotations

import random
import re
from collections import Counter
from collections.abc import Sequence
from fractions import Fraction
from multiprocessing import get_context
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from excerpts.engrave import Engraving, Missing, Style, engrave, engraving
from excerpts.engrave.drawable import settle_note
from excerpts.engrave.verovio_page import Page, draw
from excerpts.errors import InputError
from excerpts.excerpt import BarRef, Excerpt, Origin
from excerpts.score import open_score, score_from_bytes
from tests.engrave.sample import corpus_files
from tests.score.random_scores import FEATURES, make_score

STYLE = Style()


def one(
    pitch: str, ticks: int, kind: str, *, chord: bool = False, inside: str = "", grace: bool = False
) -> str:
    """A note or rest of so many eighths of a crotchet; what is `inside` comes after its type."""
    what = "<rest/>" if pitch == "R" else f"<pitch><step>{pitch}</step><octave>5</octave></pitch>"
    length = "" if grace else f"<duration>{ticks}</duration>"
    written = f"<type>{kind}</type>" if kind else ""
    head = "<grace/>" * grace + "<chord/>" * chord
    return f"<note>{head}{what}{length}<voice>1</voice>{written}{inside}</note>"


def beam(kind: str) -> str:
    return f'<beam number="1">{kind}</beam>'


def tremolo(kind: str, before: str = "") -> str:
    return f'{before}<notations><ornaments><tremolo type="{kind}">2</tremolo></ornaments></notations>'


def music(*bars: str, attributes: str = "") -> Excerpt:
    """Bars of four crotchets."""
    head = (
        "<attributes><divisions>8</divisions><key><fifths>0</fifths></key><time><beats>4</beats>"
        f"<beat-type>4</beat-type></time><clef><sign>G</sign><line>2</line></clef>{attributes}</attributes>"
    )
    measures = "".join(
        f'<measure number="{number}">{head if number == 1 else ""}{bar}</measure>'
        for number, bar in enumerate(bars, 1)
    )
    document = (
        '<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Violin</part-name></score-part>'
        f'</part-list><part id="P1">{measures}</part></score-partwise>'
    )
    refs = tuple(
        BarRef(place, str(place), Fraction(4 * place - 4), Fraction(4)) for place in range(1, len(bars) + 1)
    )
    return Excerpt(document.encode(), refs, (), origin=Origin(score="some.musicxml"))


def heads(drawn: Engraving) -> Counter[str]:
    return Counter("note" if note.pitch else "rest" for system in drawn.systems for note in system.notes)


def ink(drawn: Engraving, kind: str) -> int:
    return sum(mark.owner.kind == kind for system in drawn.systems for mark in system.music)


CROTCHETS = one("D", 8, "quarter") * 4
STOPS = "".join(
    one("D", 4, "eighth", inside=beam(kind)) + one("B", 4, "eighth", chord=True, inside=beam(kind))
    for kind in ("begin", "continue", "continue", "end") * 2
)
REST_IN_BEAM = (
    one("D", 4, "eighth", inside=beam("begin")) + one("R", 4, "") + one("D", 4, "eighth", inside=beam("end"))
)
THIRD = "<time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes></time-modification>"
TRIPLET = (
    '<note><rest measure="yes"/><duration>4</duration><voice>1</voice><type>eighth</type>'
    f'{THIRD}<notations><tuplet type="start"/></notations></note>'
    + one("D", 4, "eighth", inside=THIRD)
    + one("D", 4, "eighth", inside=f'{THIRD}<notations><tuplet type="stop"/></notations>')
)
HOSTILE = {
    "a beam on each note of a chord": STOPS,
    "other beams on the second note of a chord": STOPS.replace("<chord/>", "<chord/>", 1).replace(
        f"<type>eighth</type>{beam('continue')}</note><note><pitch>", "<type>eighth</type></note><note><pitch>"
    ),
    "grace notes in thirds, each with a beam": one("D", 0, "16th", grace=True, inside=beam("begin"))
    + one("F", 0, "16th", grace=True, chord=True, inside=beam("begin"))
    + one("E", 0, "16th", grace=True, inside=beam("end"))
    + one("G", 0, "16th", grace=True, chord=True, inside=beam("end"))
    + CROTCHETS,
    "a rest without a type in a beam": REST_IN_BEAM + one("D", 4, "eighth") + one("D", 8, "quarter") * 2,
    "a rest of the whole bar with a dot": one("R", 32, "half", inside="<dot/>").replace(
        "<rest/>", '<rest measure="yes"/>'
    ),
    "a rest of the whole bar with a beam": one("R", 32, "", inside=beam("begin")),
    "a rest of the whole bar in a tuplet": one(
        "R", 32, "", inside='<notations><tuplet type="start" number="1"/></notations>'
    ),
    "a short rest called one of the whole bar, in a triplet": TRIPLET + one("D", 4, "eighth") + one("D", 16, "half"),
    "beams over the longest notes": one("D", 16, "maxima", inside=beam("begin"))
    + one("E", 16, "maxima", inside=beam("end")),
    "a maxima in the middle of a beam": one("D", 4, "eighth", inside=beam("begin"))
    + one("D", 4, "maxima", inside=beam("continue"))
    + one("D", 4, "eighth", inside=beam("end"))
    + one("D", 4, "eighth") * 5,
    "a breve that ends a beam": one("D", 4, "eighth", inside=beam("begin"))
    + one("D", 4, "eighth", inside=beam("continue"))
    + one("D", 4, "breve", inside=beam("end"))
    + one("D", 4, "eighth") * 5,
    "a cluster in a chord": one("D", 8, "quarter", inside="<notehead>cluster</notehead>")
    + one("F", 8, "quarter", chord=True)
    + one("D", 8, "quarter") * 3,
}  # fmt: skip


@pytest.mark.parametrize("name", HOSTILE)
def test_no_note_is_lost(name: str) -> None:
    made = music(HOSTILE[name], CROTCHETS)
    notes = made.tree().findall(".//note")
    rests = sum(note.find("rest") is not None for note in notes)
    drawn = engrave(made, STYLE)
    assert heads(drawn) == Counter({"note": len(notes) - rests, "rest": rests})
    assert drawn.missing == ()


def test_notes_without_a_type_are_drawn_as_long_as_they_last() -> None:
    drawn = engrave(music(one("D", 4, "") * 2 + one("D", 12, "") + one("R", 4, "") + one("D", 8, "")), STYLE)
    assert (ink(drawn, "stem"), ink(drawn, "flag"), ink(drawn, "dots")) == (4, 2, 1)
    assert (ink(drawn, "rest"), ink(drawn, "mRest")) == (1, 0)


def test_a_tremolo_of_two_notes_stays() -> None:
    pair = one("D", 4, "eighth", inside=tremolo("start", beam("begin"))) + one(
        "F", 4, "eighth", inside=tremolo("stop", beam("end"))
    )
    drawn = engrave(music(pair * 4), STYLE)
    assert heads(drawn)["note"] == 8
    assert ink(drawn, "fTrem") >= 8
    assert drawn.missing == ()


GRACE = one("E", 0, "eighth", grace=True)
LONE = {
    "over a note": one("D", 8, "quarter") * 2,
    "over a grace note": GRACE,
    "over a rest": one("R", 8, "quarter"),
    "over a gap": "<forward><duration>8</duration><voice>1</voice></forward>",
}


@pytest.mark.parametrize("name", LONE)
def test_a_tremolo_that_joins_no_neighbours_is_told(name: str) -> None:
    ends = one("D", 8, "quarter", inside=tremolo("start")), one("F", 8, "quarter", inside=tremolo("stop"))
    made = music(CROTCHETS, LONE[name].join(ends))
    drawn = engrave(made, STYLE)
    count = len(made.tree().findall(".//note"))
    assert sum(heads(drawn).values()) == count
    assert drawn.missing == (Missing("2", "tremolo", 1, 1),)


def test_a_beam_that_begins_inside_a_tremolo_hides_nothing() -> None:
    bar = (
        one("D", 4, "eighth", inside=tremolo("start"))
        + one("F", 4, "eighth", inside=tremolo("stop", beam("begin")))
        + one("D", 4, "eighth", inside=beam("end"))
        + one("D", 4, "eighth")
        + one("D", 16, "half")
    )
    drawn = engrave(music(bar), STYLE)
    assert heads(drawn)["note"] == 5
    assert drawn.missing == ()


def test_what_is_not_known_to_hide_notes_is_taken_out_and_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """The last resort, as if beams in chords were not known."""

    def settled(note: etree._Element, facts: dict[str, str], length: Fraction, *, fills: bool) -> bool:
        assert settle_note.__name__ == "settle_note"
        return False

    monkeypatch.setattr("excerpts.engrave.prepare.settle_note", settled)
    drawn = engrave(music(CROTCHETS, STOPS), STYLE)
    assert heads(drawn)["note"] == 4 + 16
    assert [str(lost) for lost in drawn.missing] == ["bar 2: 4 of 4 beams could not be drawn"]


def test_after_a_crash_the_music_is_drawn_without_beams_and_that_is_told(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The last resort, as if beams that notes were taken out of were not known to end the engraver."""
    monkeypatch.setattr("excerpts.engrave.prepare.settle_beams", lambda part: None)
    crash = HOSTILE["a maxima in the middle of a beam"]
    drawn = engrave(music(CROTCHETS, crash), STYLE)
    assert heads(drawn)["note"] == 4 + 8
    assert ink(drawn, "beam") == 0
    assert [str(lost) for lost in drawn.missing] == ["bar 2: the only beam could not be drawn"]


def _without(kind: str, count: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the engraver lose its last `count` groups of a class."""

    def spoilt(text: bytes, page_width: int, **options: object) -> Page:
        page = draw(text, page_width, **options)  # type: ignore[arg-type]
        root = etree.fromstring(page.svg)
        for group in root.xpath(f"//*[@class='{kind}'][*]")[-count:]:
            group.getparent().remove(group)
        return Page(etree.tostring(root), page.log, page.marks)

    monkeypatch.setattr(engraving, "draw", spoilt)


DETAILS = (
    '<accidental>sharp</accidental><notations><slur type="start" number="1"/><tied type="start"/><technical>'
    "<down-bow/><fingering>3</fingering></technical><articulations><staccato/></articulations><fermata/>"
    "<ornaments><trill-mark/></ornaments></notations>"
)
FULL = (
    "<direction><direction-type><dynamics><p/></dynamics></direction-type></direction>"
    '<direction><direction-type><wedge type="crescendo" number="1"/></direction-type></direction>'
    + one("D", 8, "quarter", inside=DETAILS)
    + '<direction><direction-type><wedge type="stop" number="1"/></direction-type></direction>'
    + one("D", 8, "quarter", inside='<notations><tied type="stop"/></notations>')
    + one("F", 8, "quarter", inside='<notations><slur type="stop" number="1"/></notations>')
    + one("R", 8, "quarter")
)


@pytest.mark.parametrize(
    ("group", "what", "of"),
    [
        ("note", "note", 3), ("rest", "rest", 1), ("fing", "fingering", 1), ("slur", "slur", 1), ("tie", "tie", 1),
        ("artic", "bow sign or articulation", 2), ("dynam", "text or dynamic", 1), ("hairpin", "hairpin", 1),
        ("accid", "accidental", 1), ("fermata", "fermata", 1), ("trill", "ornament", 1),
    ],
)  # fmt: skip
def test_what_the_engraver_loses_is_told_by_bar(
    group: str, what: str, of: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert engrave(music(CROTCHETS, FULL), STYLE).missing == ()
    _without(group, 1, monkeypatch)
    assert Missing("2", what, 1, of) in engrave(music(CROTCHETS, FULL), STYLE).missing


@pytest.mark.parametrize(
    ("inside", "told"),
    [
        ("<notations><technical><double-tongue/></technical></notations>", "the only double tongue sign"),
        ("<notations><technical><heel/><heel/></technical></notations>", "2 of 2 heel signs"),
        ("<notations><articulations><scoop/></articulations></notations>", "the only scoop sign"),
    ],
)
def test_a_sign_that_the_engraver_does_not_know_is_told(inside: str, told: str) -> None:
    drawn = engrave(music(CROTCHETS, one("D", 32, "whole", inside=inside)), STYLE)
    assert [str(lost) for lost in drawn.missing] == [f"bar 2: {told} could not be drawn"]


def _direction(inside: str) -> str:
    return f"<direction><direction-type>{inside}</direction-type></direction>"


def test_a_pedal_line_whose_end_does_not_say_that_it_is_one_is_drawn() -> None:
    start, stop = _direction('<pedal type="start" line="yes"/>'), _direction('<pedal type="stop"/>')
    drawn = engrave(music(CROTCHETS, start + CROTCHETS + stop), STYLE)
    assert ink(drawn, "pedal") > 1
    assert drawn.missing == ()


def test_a_tempo_mark_behind_the_last_note_of_the_lower_staff_is_drawn() -> None:
    low = one("D", 8, "quarter", inside="<staff>2</staff>")
    clef = '<clef number="2"><sign>F</sign><line>4</line></clef>'
    mark = "<metronome><beat-unit>quarter</beat-unit><per-minute>66</per-minute></metronome>"
    back = "<backup><duration>32</duration></backup>"
    made = music(CROTCHETS + back + low + _direction(mark), attributes=f"<staves>2</staves>{clef}")
    drawn = engrave(made, STYLE)
    assert ink(drawn, "tempo") > 0
    assert drawn.missing == ()


def test_what_is_hidden_is_not_missed() -> None:
    hidden = one("D", 8, "quarter").replace("<note>", '<note print-object="no">')
    headless = one("D", 8, "quarter", inside="<notehead>none</notehead>")
    assert engrave(music(CROTCHETS, hidden + headless + one("D", 16, "half")), STYLE).missing == ()
    slashes = '<measure-style><slash type="start" use-stems="no"/></measure-style>'
    assert engrave(music(one("R", 32, ""), attributes=slashes), STYLE).missing == ()


def test_a_line_of_the_log_that_means_loss_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    def logged(text: bytes, page_width: int, **options: object) -> Page:
        page = draw(text, page_width, **options)  # type: ignore[arg-type]
        lines = "[Warning] Insufficient space to draw mixed beam", "[Error] Adding 'verse' to a 'proport'"
        return Page(page.svg, lines, page.marks)

    monkeypatch.setattr(engraving, "draw", logged)
    (told,) = engrave(music(CROTCHETS), STYLE).missing
    assert told == Missing("", "Adding 'verse' to a 'proport'")
    assert "may not be drawn as it is written" in str(told)


SPANS = frozenset({"glissando", "hairpin", "ornament"})
"""What the engraver does not draw where it has no length, ends before it starts, or ends on a note already joined."""


@pytest.mark.slow
@settings(max_examples=60, deadline=None)
@given(
    features=st.frozensets(st.sampled_from(FEATURES), max_size=14),
    bars=st.integers(2, 5),
    seed=st.integers(0, 10_000),
)
def test_random_scores_lose_nothing(features: frozenset[str], bars: int, seed: int) -> None:
    part = score_from_bytes(make_score(seed, bars, features), "random").part("#1")
    for missing in engrave(part.passage(f"@1-@{bars}").cut(), STYLE).missing:
        assert missing.what not in {"note", "rest"}
        assert missing.what in SPANS or not missing.bar, missing


def _lost(path: Path) -> tuple[int, list[str]]:
    """How many excerpts of a file were drawn, and where notes or rests are missing: two ranges of every part."""
    dice = random.Random(path.name)
    try:
        score = open_score(path)
    except InputError:
        return 0, []
    count, found = 0, []
    for info in score.parts:
        part = score.part(f"#{info.place}")
        for _ in range(2):
            first = dice.randint(1, len(part.bars))
            address = f"@{first}-@{min(len(part.bars), first + dice.randint(0, 7))}"
            try:
                made = part.passage(address).cut()
            except InputError:
                continue
            count += 1
            lost = [one for one in engrave(made, STYLE).missing if one.what in {"note", "rest"}]
            found += [f"{path.name} #{info.place} {address}: {one}" for one in lost]
    return count, found


def _total(results: Sequence[tuple[int, list[str]]]) -> tuple[int, list[str]]:
    return sum(count for count, _ in results), [line for _, lines in results for line in lines]


@pytest.mark.corpus
def test_no_excerpt_of_the_corpus_loses_a_note() -> None:
    with get_context("spawn").Pool(2) as pool:
        count, found = _total(pool.map(_lost, corpus_files(), chunksize=8))
    assert count > 5000
    assert found == []


@pytest.mark.slow
def test_no_excerpt_of_a_sample_loses_a_note() -> None:
    count, found = _total([_lost(path) for path in random.Random(12).sample(corpus_files(), 12)])
    assert count > 40
    assert found == []


def test_missing_things_are_named_in_plain_words() -> None:
    told = [Missing("12", "note", 3, 8), Missing("4a", "slur", 1, 1), Missing("2", "text or dynamic", 2, 2)]
    assert [str(one) for one in told] == [
        "bar 12: 3 of 8 notes could not be drawn",
        "bar 4a: the only slur could not be drawn",
        "bar 2: 2 of 2 texts or dynamics could not be drawn",
    ]
    assert not any(re.search(r"\d+ of 1\b", str(one)) for one in told)
