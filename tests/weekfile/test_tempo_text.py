import re
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from excerpts.excerpt import Tempo
from excerpts.weekfile.tempo_text import parse_tempo, tempo_text
from excerpts.words import Words, choices


@pytest.mark.parametrize(
    ("text", "number", "unit"),
    [
        ("crotchet = 92", 92, "1"),
        ("quarter = 92", 92, "1"),
        ("Quarter note=92", 92, "1"),
        ("dotted crotchet = 92", 92, "3/2"),
        ("dotted-quarter-note = 60", 60, "3/2"),
        ("double-dotted minim = 40", 40, "7/2"),
        ("crotchets = 100", 100, "1"),
        ("quaver = 120", 120, "1/2"),
        ("semiquaver = 200", 200, "1/4"),
        ("sixteenth note = 200", 200, "1/4"),
        ("semibreve = 30", 30, "4"),
        ("♩ = 92", 92, "1"),
        ("♩. = 60", 60, "3/2"),
        ("♪ = 116", 116, "1/2"),
        ("\U0001d15e = 54", 54, "2"),
        ("\U0001d15f\U0001d16d = 60", 60, "3/2"),
        ("crotchet = 92.5", "92.5", "1"),
        ("Viertel = 100", 100, "1"),
        ("punktierte Viertel = 60", 60, "3/2"),
        ("Punktiertes Viertel=60", 60, "3/2"),
        ("Achtel. = 60", 60, "3/4"),
        ("Halbe = 50", 50, "2"),
        ("Achtelnoten = 120", 120, "1/2"),
    ],
)
def test_reads_uk_and_us_words_and_signs(text: str, number: int | str, unit: str) -> None:
    assert parse_tempo(text) == Tempo(Fraction(number), Fraction(unit))


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("92", '"92" is not a tempo. Write it like "crotchet = 92"'),
        ("crotchet 92", '"crotchet 92" is not a tempo.'),
        ("crotchett = 92", '"crotchett" is not the name of a note length. Did you mean "crotchet"?'),
        ("bar = 92", '"bar" is not the name of a note length.'),
        ("= 92", '"" is not the name of a note length.'),
        ("crotchet = fast", '"fast" is not a number of beats a minute.'),
        ("crotchet = -60", '"-60" is not a number of beats a minute.'),
        ("crotchet = 9", "9 beats a minute is not between 10 and 600."),
        ("crotchet = 0", "0 beats a minute is not between 10 and 600."),
        ("crotchet = 9999", "9999 beats a minute is not between 10 and 600."),
    ],
)
def test_says_what_is_wrong_with_a_tempo(text: str, message: str) -> None:
    with pytest.raises(ValueError, match=f"^{re.escape(message)}"):
        parse_tempo(text)


def test_prints_in_the_players_words() -> None:
    tempo = Tempo(Fraction(92), Fraction(3, 2))
    assert tempo_text(tempo, Words("uk")) == "dotted crotchet = 92"
    assert tempo_text(tempo, Words("us")) == "dotted quarter note = 92"
    assert tempo_text(Tempo(Fraction("92.5")), Words("uk")) == "crotchet = 92.5"


@settings(deadline=None)
@given(
    number=st.integers(1000, 60000).map(lambda n: Fraction(n, 100)),
    unit=st.sampled_from(["4", "2", "1", "1/2", "1/4", "1/8", "6", "3", "3/2", "3/4", "7/4"]).map(Fraction),
    column=st.sampled_from(choices()),
)
def test_what_is_printed_reads_back_the_same(number: Fraction, unit: Fraction, column: str) -> None:
    assert parse_tempo(tempo_text(Tempo(number, unit), Words(column))) == Tempo(number, unit)
