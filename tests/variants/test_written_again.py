"""What a variant writes again stays valid and true: ids, accidentals of joined notes, uneven chords, no metre."""

from __future__ import annotations

from fractions import Fraction

import pytest

from excerpts.errors import VariantError
from excerpts.excerpt import Excerpt
from excerpts.notes import read_line
from excerpts.notes.spell_events import bar_metres
from excerpts.variants import variants, vary
from tests.notes.lines import beams
from tests.schema import schema_errors
from tests.score.cutting import cut, cut_invalid
from tests.variants.laws import unfilled
from tests.variants.other_readers import complaints

F = Fraction

ALL = [name for info in variants() for name in info.examples]


def score(*bars: str, time: str = "<time><beats>4</beats><beat-type>4</beat-type></time>") -> bytes:
    """A part of bars, four divisions to a quarter note."""
    first = (
        f"<attributes><divisions>4</divisions><key><fifths>0</fifths></key>{time}"
        "<clef><sign>G</sign><line>2</line></clef></attributes>"
    )
    measures = "".join(
        f'<measure number="{number}">{"" if number > 1 else first}{bar}</measure>'
        for number, bar in enumerate(bars, 1)
    )
    return (
        '<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Violin</part-name>'
        '<score-instrument id="I1"><instrument-name>Violin</instrument-name></score-instrument></score-part>'
        f'</part-list><part id="P1">{measures}</part></score-partwise>'
    ).encode()


def note(
    name: str, ticks: int, kind: str, more: str = "", chord: bool = False, ident: str = "", tie: str = ""
) -> str:
    """A note; `more` stands behind its type, `tie` are the ends of ties at it."""
    ties = "".join(f'<tie type="{edge}"/>' for edge in tie.split())
    tied = "".join(f'<tied type="{edge}"/>' for edge in tie.split())
    own = f' id="{ident}"' if ident else ""
    alter = "<alter>1</alter>" if "#" in name else ""
    return (
        f"<note{own}>{'<chord/>' if chord else ''}"
        f"<pitch><step>{name[0]}</step>{alter}<octave>{name[-1]}</octave></pitch><duration>{ticks}</duration>{ties}"
        f'<instrument id="I1"/><voice>1</voice><type>{kind}</type>{more}'
        f"{f'<notations>{tied}</notations>' if tied else ''}</note>"
    )


def made(excerpt: Excerpt) -> dict[str, Excerpt]:
    """Every variant that fits."""
    found: dict[str, Excerpt] = {}
    for name in ALL:
        try:
            found[name] = vary(excerpt, name)
        except VariantError:
            continue
    return found


def test_an_id_is_never_written_twice() -> None:
    """W3C MusicXML 4.0: ids are xs:ID. A note that is written again is another element."""
    bars = [
        "".join(
            note(name, 2, "eighth", ident=f"n{bar}{place}")
            for place, name in enumerate("C5 D5 E5 F5".split() * 2)
        )
        for bar in range(2)
    ]
    words = '<direction id="d1"><direction-type><words>dolce</words></direction-type></direction>'
    source = cut(score(words + bars[0], bars[1], note("C5", 16, "whole", ident="last")), "1-2", 1)
    for name, variant in made(source).items():
        assert schema_errors(variant.xml) == [], name
    chain = vary(source, "add-a-bar").tree()
    assert [one.get("id") for one in chain.iter("note")][:10] == [f"n0{n}" for n in range(8)] + [None] * 2
    assert {one.get("id") for one in chain.iter("instrument")} == {"I1"}


def test_joined_tied_notes_have_one_accidental_and_one_stem() -> None:
    """Doubled and joined: what stood at both segments stands once. The schema allows no second one."""
    signs = "<accidental>sharp</accidental><stem>none</stem>"
    tied = note("F#5", 8, "half", signs, tie="start") + note("F#5", 4, "quarter", signs, tie="stop")
    source = cut(score(tied + note("G5", 4, "quarter"), note("A5", 16, "whole")), "1", 1)
    variant = vary(source, "doubled")
    assert schema_errors(variant.xml) == []
    first = next(variant.tree().iter("note"))
    assert (len(first.findall("accidental")), len(first.findall("stem"))) == (1, 1)
    for name, other in made(source).items():
        assert schema_errors(other.xml) == [], name


def uneven(*, long_first: bool) -> Excerpt:
    """Two chords whose notes are a crotchet and a minim long, in either order, the second one at the end."""
    low, high = (
        (("C4", 8, "half"), ("A4", 4, "quarter")) if long_first else (("C4", 4, "quarter"), ("A4", 8, "half"))
    )
    chord = note(*low) + note(*high, chord=True)
    filled = chord * 2 if long_first else chord + note("D4", 4, "quarter") + chord + note("E4", 4, "quarter")
    return cut_invalid(score(filled, note("C5", 16, "whole")), "1", 1)


def written(excerpt: Excerpt) -> list[tuple[str, Fraction | int, str]]:
    """Step, length in quarter notes and type of each note."""
    root = excerpt.tree()
    divisions = F(root.findtext(".//divisions") or "1")
    return [
        (
            one.findtext("pitch/step") or "r",
            F(one.findtext("duration") or "0") / divisions,
            (one.findtext("type") or "") + "." * len(one.findall("dot")),
        )
        for one in root.iter("note")
    ]


def test_doubled_doubles_each_note_of_a_chord() -> None:
    notes = written(vary(uneven(long_first=False), "doubled"))
    assert notes[:3] == [("C", 2, "half"), ("A", 4, "whole"), ("D", 2, "half")]
    notes = written(vary(uneven(long_first=True), "doubled"))
    assert notes[:2] == [("C", 4, "whole"), ("A", 2, "half")]


def test_the_line_of_a_chord_lasts_as_long_as_it_is_written() -> None:
    upper = written(vary(uneven(long_first=True), "upper-line"))
    assert upper[:4] == [("A", 1, "quarter"), ("r", 1, "quarter")] * 2
    lower = written(vary(uneven(long_first=True), "lower-line"))
    assert lower[:2] == [("C", 2, "half")] * 2
    upper = written(vary(uneven(long_first=False), "upper-line"))  # no longer than the chord: D follows
    assert upper[:4] == [("A", 1, "quarter"), ("D", 1, "quarter"), ("A", 1, "quarter"), ("E", 1, "quarter")]


@pytest.mark.parametrize("long_first", [True, False])
def test_type_and_duration_of_uneven_chords_agree(long_first: bool) -> None:
    source = uneven(long_first=long_first)
    kinds: dict[Fraction | int, str] = {
        F(4): "whole",
        F(2): "half",
        F(1): "quarter",
        F(1, 2): "eighth",
        F(3): "half.",
        F(3, 2): "quarter.",
    }
    assert set(made(source)) >= {"doubled", "upper-line", "lower-line", "separate"}
    for name, variant in made(source).items():
        for step, length, kind in written(variant):
            assert step == "r" or kinds.get(length) == kind, (name, step, length, kind)


def test_an_uneven_chord_over_a_barline_is_tied_as_far_as_each_note_goes() -> None:
    """3/2 doubled in bars of 4/4: the short note ends in the first of them."""
    chord = note("C4", 12, "half", "<dot/>") + note("A4", 4, "quarter", chord=True) + note("D4", 4, "quarter")
    time = "<time><beats>3</beats><beat-type>2</beat-type></time>"
    bars = (chord + note("E4", 8, "half"), note("C5", 16, "whole") + note("D5", 8, "half"))
    variant = vary(cut_invalid(score(*bars, time=time), "1", 1), "doubled")
    assert written(variant)[:4] == [("C", 4, "whole"), ("A", 2, "half"), ("C", 2, "half"), ("D", 2, "half")]
    assert [len(one.findall("tie")) for one in variant.tree().iter("note")][:4] == [1, 0, 1, 0]


def without_metre(time: str = "") -> Excerpt:
    """Two bars of nine quavers without a time signature."""
    run = "".join(note(name, 2, "eighth") for name in "C5 D5 E5 F5 G5 A5 B5 C5 D5".split())
    return cut(score(run, run, note("C5", 16, "whole"), time=time), "1-2", 1)


@pytest.mark.parametrize("time", ["", "<time><senza-misura/></time>"])
def test_no_variant_writes_a_metre_that_the_source_lacks(time: str) -> None:
    """The bars of every variant are as long as what is in them; 9/8, 1/4 and 1/8 were written."""
    found = made(without_metre(time))
    assert len(found) > 30
    for name, variant in found.items():
        assert variant.tree().findall(".//beats") == [], name
        assert len(variant.tree().findall(".//senza-misura")) <= bool(time), name
        line = read_line(variant)
        assert unfilled(line) == [], name
        assert all(shift == 0 for _, shift in bar_metres(line))
        assert schema_errors(variant.xml) == [], name


def test_without_a_metre_quavers_are_beamed_in_twos() -> None:
    """Eight of them stood under one beam, for nothing said where half of the bar is."""
    assert beams(vary(without_metre(), "add-a-beat"))[:3] == ["[ ]", "[ ] [ ]", "[ ] [ ] [ ]"]


def tuplet_edges(excerpt: Excerpt) -> list[str]:
    """Ends of tuplet brackets in order."""
    return [str(edge.get("type")) for edge in excerpt.tree().iter("tuplet")]


def test_a_tuplet_that_begins_with_a_rest_stays_whole() -> None:
    """Beethoven, op. 59 no. 1, i, bar 371: the bracket stood over the rest alone, and its notes had none."""
    ratio = "<actual-notes>3</actual-notes><normal-notes>2</normal-notes>"
    third = f"<type>eighth</type><time-modification>{ratio}</time-modification>"
    edge = '<notations><tuplet type="{}"/></notations>'
    rest = f"<note><rest/><duration>2</duration><voice>1</voice>{third}{edge.format('start')}</note>"
    notes = [
        f"<note><pitch><step>{name}</step><octave>5</octave></pitch><duration>2</duration><voice>1</voice>"
        f"{third}{edge.format('stop') if name == 'E' else ''}</note>"
        for name in "GE"
    ]
    run = "".join(note(name, 3, "eighth") for name in "B5 G5 E5 D5".split())
    bar = rest + "".join(notes) + run + note("C5", 6, "quarter")
    data = score(bar, note("C5", 24, "whole")).replace(b"<divisions>4<", b"<divisions>6<")
    source = cut(data, "1", 1)
    for name, variant in made(source).items():
        edges = tuplet_edges(variant)
        assert edges == ["start", "stop"] * (len(edges) // 2), name
        assert complaints(variant) == [], name
    assert tuplet_edges(vary(source, "repeat")) == ["start", "stop"]
    triplets = cut(
        score((rest + "".join(notes)) * 4, note("C5", 24, "whole")).replace(b"ns>4<", b"ns>6<"), "1", 1
    )
    assert made(triplets)
    for name, variant in made(triplets).items():
        assert complaints(variant) == [], name


def test_a_rest_in_half_a_bar_is_as_long_as_it_is() -> None:
    """Mozart, K. 80 iv, bars 8 and 9: a rest that is said to fill its bar is read as a bar of four crotchets."""
    rest = "<note><rest/><duration>8</duration><voice>1</voice></note>"
    half = (
        note("C5", 2, "eighth") + note("D5", 2, "eighth") + note("E5", 2, "eighth") + note("F5", 2, "eighth")
    )
    data = score(note("C5", 16, "whole"), half, rest, note("C5", 16, "whole"))
    variant = vary(cut(data, "2-3", 1), "separate")
    (silent,) = [one for one in variant.tree().iter("note") if one.find("rest") is not None]
    assert silent.find("rest").get("measure") is None  # type: ignore[union-attr]
    assert silent.findtext("type") == "half"
    assert complaints(variant) == []
