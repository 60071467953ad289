"""The bow alone, the left hand alone, one line of double stops (default tier)."""

from __future__ import annotations

from dataclasses import replace

import pytest

from excerpts.errors import VariantError
from excerpts.excerpt import Excerpt
from excerpts.notes import read_line
from excerpts.variants import vary
from excerpts.variants.spanning_marks import slurs
from excerpts.words import Words
from tests.schema import schema_errors
from tests.variants.music import lengths, passage, pitches


def of(part: str, source: Excerpt) -> Excerpt:
    return replace(source, origin=replace(source.origin, part=part))


def warnings(made: Excerpt) -> list[str]:
    return [str(line) for line in made.report if line.action == "warning"]


def marked(source: Excerpt, number: int, marks: str) -> Excerpt:
    """The passage with technical marks on its note of a number, from 0."""
    pieces = source.xml.split(b"</type></note>")
    pieces[number] += b"</type><notations><technical>" + marks.encode() + b"</technical></notations></note>"
    joined = b"</type></note>".join(pieces)
    return replace(source, xml=joined.replace(b"</note></type></note>", b"</note>", 1))


@pytest.mark.parametrize(
    ("part", "text", "expected", "guessed"),
    [
        # the strings of the proposed fingering: the slur stays on one string and leads to third position
        ("Violin I", "(A3/1 C4 D4) A4 E5 C6", "G3 G3 G3 D4 A4 E5", 1),
        ("Violas", "(A3/1 C4 D4) A4 E5 C6", "C3 G3 G3 D4 A4 A4", 3),
        # how sure a string is has not been measured on cello and bass: all are guesses
        ("Violoncello", "(G2/1 C3 E3) A3 B3 E4", "G2 G2 D3 A3 A3 A3", 6),
        ("Kontrabass", "(F2/1 C3 E3) A3 B2 E4", "E2 A2 D3 G3 A2 G3", 6),
    ],
)
def test_each_note_is_its_open_string(part: str, text: str, expected: str, guessed: int) -> None:
    source = of(part, passage("6/4", text))
    made = vary(source, "open-strings")
    assert " ".join(pitches(made)) == expected
    assert lengths(made) == lengths(source)
    assert len(slurs(read_line(made).events)) == 1
    assert schema_errors(made.xml) == []
    told = f"assumed for {guessed} of 6 notes: no string number or fingering shows it"
    assert warnings(made) == [f"warning strings: {told}"]
    assert "strings guessed" in [words.text for words in made.tree().iter("words")]
    german = vary(source, "open-strings", words=Words("de"))
    assert [words.text for words in german.tree().iter("words")] == ["Saiten vermutet"]


def test_notes_that_are_all_of_open_strings_stay_where_they_are() -> None:
    """A first piece is not played with the fourth finger a string lower; a finger says otherwise."""
    bar = "D4/1 D4 A4 E5"
    made = vary(of("Violin", passage("4/4", bar)), "open-strings")
    assert pitches(made) == ["D4", "D4", "A4", "E5"]
    assert not list(made.tree().iter("words"))
    mixed = vary(of("Violin", passage("4/4", "D4/1 E4 F#4 A4")), "open-strings")
    assert pitches(mixed)[0] == "D4"


def test_string_numbers_and_fingers_tell_the_string() -> None:
    """String 1 is the highest; the fourth finger has an E on the A string in first position."""
    source = of("Violin", passage("2/4", "A4/1 E5"))
    told = marked(marked(source, 1, "<fingering>4</fingering>"), 0, "<string>3</string>")
    made = vary(told, "open-strings")
    assert pitches(made) == ["D4", "A4"]
    assert warnings(made) == []
    assert not list(made.tree().iter("words"))
    assert not list(made.tree().iter("fingering"))
    assert not list(made.tree().iter("string"))


def test_double_stops_are_neighbouring_strings() -> None:
    made = vary(of("Violin", passage("4/4", "A3+F4/1 D4+B4 C5+A5 G3+E4+C5")), "open-strings")
    assert pitches(made) == ["G3+D4", "D4+A4", "A4+E5", "G3+D4+A4"]
    assert schema_errors(made.xml) == []


def test_what_is_of_the_left_hand_goes() -> None:
    made = vary(
        of("Violin", passage("4/4", "C5/1! (g:E5/1/2 D5/1) F#5 G5.", fifths=-3)), "open-strings:II-II-I-I"
    )
    assert pitches(made) == ["A4", "A4", "E5", "E5"]
    names = {element.tag for element in made.tree().iter()}
    assert "trill-mark" not in names
    assert "grace" not in names
    assert "staccato" in names
    assert ("dropped", "trill", "the bow alone") in {(r.action, r.what, r.detail) for r in made.report}
    # three flats: A natural and E natural are told, each once
    assert [element.text for element in made.tree().iter("accidental")] == ["natural", "natural"]


def test_open_strings_stand_in_the_instruments_own_clef() -> None:
    tenor = passage("4/4", "C4/1 D4 E4 F4")
    tenor = replace(
        tenor, xml=tenor.xml.replace(b"<sign>G</sign><line>2</line>", b"<sign>C</sign><line>4</line>")
    )
    made = vary(of("Cello", tenor), "open-strings")
    assert [(clef.findtext("sign"), clef.findtext("line")) for clef in made.tree().iter("clef")] == [
        ("F", "4")
    ]
    assert pitches(made) == ["A3"] * 4


@pytest.mark.parametrize(
    ("part", "text", "variant", "message"),
    [
        (
            "Oboe",
            "C5/4",
            "open-strings",
            r"the part 'Oboe' does not say which instrument.*open-strings:violin",
        ),
        ("", "C5/4", "open-strings", r"the passage does not say"),
        ("Violin", "C3/4", "open-strings", r"the violin has no string for C3 in bar 1"),
        ("Violin", "G3+B3/4", "open-strings", r"the violin has no strings for G3\+B3 in bar 1"),
        ("Violin", "C5/4", "open-strings:kazoo", r"there is no instrument 'kazoo'"),
        ("Violin", "C5/4", "lower-line", r"no double stop in bar 1 to play the lower line of"),
        ("Violin", "C5/4", "upper-line:2", r"takes nothing after a colon"),
    ],
)
def test_what_does_not_fit_is_refused(part: str, text: str, variant: str, message: str) -> None:
    with pytest.raises(VariantError, match=message):
        vary(of(part, passage("4/4", text)), variant)


def test_the_instrument_can_be_named() -> None:
    made = vary(of("Part 1", passage("4/4", "C5/4")), "open-strings:viola")
    assert pitches(made) == ["A4"]


def test_one_hand_leaves_the_notes_alone() -> None:
    source = passage("4/4", "C5/4")
    assert {vary(source, name).xml for name in ("left-hand", "silent-bow")} == {source.xml}


def test_one_line_of_double_stops() -> None:
    source = passage("4/4", "(G4+B4/1 D4+A4) C5 F4+D5.", "E4+C5/4", box=(0, 0))
    lower, upper = vary(source, "lower-line"), vary(source, "upper-line")
    assert pitches(lower) == ["G4", "D4", "C5", "F4", "E4"]
    assert pitches(upper) == ["B4", "A4", "C5", "D5", "C5"]
    for made in (lower, upper):
        assert lengths(made) == lengths(source)
        assert len(slurs(read_line(made).events)) == 1
        assert len(list(made.tree().iter("staccato"))) == 1
        assert schema_errors(made.xml) == []


def test_a_tie_of_one_note_stays_with_it() -> None:
    source = passage("4/4", "C4+E4/2 C4+G4/2")
    xml = source.xml.replace(b"<step>C</step><octave>4</octave></pitch><duration>48</duration>", b"@")
    first, second, third = xml.split(b"@")
    whole = b"<step>C</step><octave>4</octave></pitch><duration>48</duration>"
    first += whole + b'<tie type="start"/>'
    second = second.replace(b"</type>", b'</type><notations><tied type="start"/></notations>', 1)
    second += whole + b'<tie type="stop"/>'
    third = third.replace(b"</type>", b'</type><notations><tied type="stop"/></notations>', 1)
    tied = replace(source, xml=first + second + third)
    lower, upper = vary(tied, "lower-line"), vary(tied, "upper-line")
    assert len(list(lower.tree().iter("tie"))) == 2
    assert (len(list(upper.tree().iter("tie"))), pitches(upper)) == (0, ["E4", "G4"])
    assert (schema_errors(lower.xml), schema_errors(upper.xml)) == ([], [])


def test_the_teachers_row_of_strings_goes_before_any_guess() -> None:
    """I is the highest: of a violin the E string; a row that ends begins again."""
    source = of("Violin", passage("4/4", "A4/1 E5 C5 F4"))
    for row in ("II-II-II-III", "2-2-2-3"):
        made = vary(source, f"open-strings:{row}")
        assert pitches(made) == ["A4", "A4", "A4", "D4"]
        assert warnings(made) == []
        assert "strings guessed" not in [words.text for words in made.tree().iter("words")]
    assert pitches(vary(source, "open-strings:viola:II-III")) == ["D4", "G3", "D4", "G3"]


def test_a_double_stop_in_the_row_names_its_lower_string() -> None:
    source = of("Violin", passage("2/4", "B3+D4/1 F4+A4"))
    assert pitches(vary(source, "open-strings:IV-III")) == ["G3+D4", "D4+A4"]


@pytest.mark.parametrize(
    ("variant", "message"),
    [
        ("open-strings:I", "C5 in bar 1 is not on string 1 of the violin"),
        ("open-strings:V", "the violin has 4 strings, and there is a string 5"),
        ("open-strings:II-X", "'II-X' in 'open-strings:II-X' are not strings"),
        ("open-strings:flute", "'open-strings:flute'"),
    ],
)
def test_a_row_that_cannot_be_played_is_refused(variant: str, message: str) -> None:
    with pytest.raises(VariantError, match=message):
        vary(of("Violin", passage("2/4", "C5/1 D5")), variant)
