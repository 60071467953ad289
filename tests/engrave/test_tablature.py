"""Tablature: frets on the lines of their strings, or refused in words (default tier)."""

from __future__ import annotations

from pathlib import Path

import pytest

from excerpts.cli import main
from excerpts.engrave import Style, engrave
from excerpts.errors import ScoreError, VariantError
from excerpts.excerpt import Excerpt
from excerpts.score import score_from_bytes
from excerpts.variants import vary
from tests.music import bar, part, score
from tests.schema import schema_errors


def attributes(lines: int, sign: str = "TAB") -> str:
    clef = f"<clef><sign>{sign}</sign><line>2</line></clef>"
    details = f"<staff-details><staff-lines>{lines}</staff-lines></staff-details>"
    time = "<time><beats>4</beats><beat-type>4</beat-type></time>"
    return f"<attributes><divisions>24</divisions>{time}{clef}{details}</attributes>"


def fretted(text: str, length: str = "1") -> str:
    """Notes as "6/0 5/3": string and fret; "-" is left out."""
    made = ""
    for word in text.split():
        string, fret = word.split("/")
        marks = f"<string>{string}</string>" if string != "-" else ""
        marks += f"<fret>{fret}</fret>" if fret != "-" else ""
        inner = f"<notations><technical>{marks}</technical></notations>" if marks else ""
        made += bar(f"E3:{length}").replace("</note>", f"{inner}</note>")
    return made


def cut(*bars: str) -> Excerpt:
    data = score(part(list(bars)), names=("Guitar",))
    assert schema_errors(data) == []
    return score_from_bytes(data, "tab.musicxml").part().passage(f"1-{len(bars)}").cut(0)


@pytest.mark.parametrize("lines", [4, 6])
def test_each_fret_stands_on_the_line_of_its_string(lines: int) -> None:
    """String 1 is the uppermost line (W3C MusicXML 4.0: strings are numbered from high to low)."""
    strings = [string + 1 for string in range(4)]
    excerpt = cut(attributes(lines) + fretted(" ".join(f"{string}/{string + 2}" for string in strings)))
    engraving = engrave(excerpt, Style())
    (system,) = engraving.systems
    levels = sorted(
        {
            round((c.ink.rect.top + c.ink.rect.bottom) / 2, 2)
            for c in system.drawing.inks
            if c.ink.owner.kind == "staff"
        }
    )
    assert len(levels) == lines
    for place, string in enumerate(strings):
        rect = next(c.ink.rect for c in system.drawing.inks if c.ink.owner.note == f"note{place}")
        assert rect.top < levels[string - 1] < rect.bottom
        assert abs((rect.top + rect.bottom) / 2 - levels[string - 1]) < 0.5
    assert (engraving.log, engraving.missing) == ((), ())


def test_strings_of_notes_in_five_lines_stay_numerals() -> None:
    system = engrave(cut(attributes(5, "G") + fretted("1/0 2/3 3/0 4/2")), Style()).systems[0]
    assert sum(c.ink.owner.kind == "string" for c in system.drawing.inks) >= 4


@pytest.mark.parametrize(
    ("bars", "said"),
    [
        (
            (attributes(6) + fretted("6/0 5/- 5/3 4/2"),),
            "tab.musicxml, bar 1: a note in tablature has no string",
        ),
        (
            (attributes(6) + fretted("6/0 -/3 5/3 4/2"),),
            "a note in tablature has no string or no fret. Give it",
        ),
        (
            (attributes(4) + fretted("1/0", "4"), fretted("6/0", "4")),
            "bar 2: a note in tablature is on string 6",
        ),
        (
            (attributes(6) + fretted("6/0", "4"), f"{attributes(5, 'G')} E4:4"),
            "bar 2: a staff changes between",
        ),
    ],
)
def test_what_has_no_place_is_refused(bars: tuple[str, ...], said: str) -> None:
    excerpt = cut(*bars)
    with pytest.raises(ScoreError) as error:
        engrave(excerpt, Style())
    assert said in str(error.value)
    assert str(error.value).endswith("It can still be cut to a .musicxml file.")


def test_tablature_that_cannot_be_drawn_can_be_cut(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    data = score(part([attributes(6) + fretted("6/0 5/- 5/3 4/2")]), names=("Guitar",))
    Path("tab.musicxml").write_bytes(data)
    assert main(["cut", "tab.musicxml", "1", "-o", "out.pdf"]) == 2
    assert "tab.musicxml, bar 1: a note in tablature has no string or no fret." in capsys.readouterr().err
    assert not Path("out.pdf").exists()
    assert main(["cut", "tab.musicxml", "1", "-o", "out.musicxml"]) == 0
    assert schema_errors(Path("out.musicxml").read_bytes()) == []


@pytest.mark.parametrize(
    ("variant", "fits"), [("separate", True), ("long-short", True), ("one-pitch", False)]
)
def test_variants_of_tablature_keep_its_frets_or_are_refused(variant: str, *, fits: bool) -> None:
    excerpt = cut(attributes(4) + fretted("4/0 4/3 3/2 2/0 2/2 1/0 1/1 1/3", "1/2"))
    if fits:
        made = vary(excerpt, variant)
        assert [fret.text for fret in made.tree().iter("fret")] == ["0", "3", "2", "0", "2", "0", "1", "3"]
        engraving = engrave(made, Style())
        assert (engraving.log, engraving.missing) == ((), ())
    else:
        with pytest.raises(VariantError, match="tablature notes without a string and a fret"):
            vary(excerpt, variant)


def test_nothing_of_tablature_is_told_as_missing() -> None:
    """Rests, dots (one for all notes of a chord), values from the minim to the semiquaver, a chord."""
    chord = fretted("3/0", "3/2").replace("<note>", "<note><chord/>")
    first = f"{attributes(6)} {fretted('4/2', '3/2')}{chord} r:1/2 r:2"
    engraving = engrave(cut(first, f"{fretted('1/3', '2')} {fretted('2/1 2/3 2/5 2/3', '1/4')} r:1"), Style())
    assert (engraving.log, engraving.missing) == ((), ())
