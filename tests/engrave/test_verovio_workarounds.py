"""What the engraver would drop without a word (measured on verovio 6.4.1) is printed all the same."""

from __future__ import annotations

import pytest

from excerpts.engrave import Style, engrave
from excerpts.engrave.prepare import prepare
from excerpts.engrave.svg.letters import THUMB, letter
from tests.engrave.music import excerpt

BRACKET = (
    '<direction placement="above"><direction-type><words>sul G</words></direction-type><direction-type>'
    '<bracket type="start" number="1" line-type="solid" line-end="none"/></direction-type></direction>'
)
BRACKET_END = (
    '<direction placement="above"><direction-type>'
    '<bracket type="stop" number="1" line-type="solid" line-end="down"/></direction-type></direction>'
)


def _letters(bars: list[str]) -> int:
    system = engrave(excerpt(bars), Style(bar_numbers="none")).systems[0]
    return len([c for c in system.drawing.inks if c.ink.owner.kind in {"fing", "string"}])


def test_string_numbers_are_printed_as_roman_numerals() -> None:
    assert _letters(["C5:w"]) == 0
    assert _letters(["C5:w:III"]) == 3
    assert _letters(["C5:w:2,III"]) == 4


def test_the_string_stands_outside_the_finger() -> None:
    root = prepare(excerpt(["C5:w:III,2"])).root
    assert [mark.text for mark in root.iter("fingering")] == ["2", "III"]


def test_the_thumb_is_printed_as_its_sign() -> None:
    system = engrave(excerpt(["A3:w:thumb"]), Style(bar_numbers="none")).systems[0]
    outlines = [c.ink.outline for c in system.drawing.inks if c.ink.owner.kind == "fing"]
    thumb = letter(THUMB, bold=True, italic=False, music=False)
    assert thumb is not None
    assert thumb.outline is not None
    assert [outline.ops for outline in outlines] == [thumb.outline.ops]


def test_open_string_and_bows_are_drawn_by_the_engraver() -> None:
    plain = engrave(excerpt(["A4:w"]), Style()).systems[0]
    for mark in ("open", "up", "down"):
        marked = engrave(excerpt([f"A4:w:{mark}"]), Style()).systems[0]
        assert len(marked.drawing.inks) == len(plain.drawing.inks) + 1


def test_a_bracket_after_words_keeps_its_hook() -> None:
    system = engrave(excerpt([[BRACKET, "G3:h", "A3:h"], ["B3:h", "C4:h", BRACKET_END]]), Style()).systems[0]
    assert [c for c in system.drawing.inks if c.ink.owner.kind == "bracketSpan"]


def test_a_bracket_without_a_line_type_has_a_line() -> None:
    """Only the hooks are drawn otherwise; the line goes from the one to the other."""
    start, end = (mark.replace(' line-type="solid"', "") for mark in (BRACKET, BRACKET_END))
    start = start.replace("<words>sul G</words></direction-type><direction-type>", "")
    system = engrave(excerpt([[start, "G3:h", "A3:h"], ["B3:h", "C4:h", end]]), Style()).systems[0]
    widths = [c.ink.rect.width for c in system.drawing.inks if c.ink.owner.kind == "bracketSpan"]
    bar = system.bars[1]
    assert max(widths) > bar.right - bar.left


def test_a_frame_stands_round_its_words() -> None:
    words = BRACKET.replace("<words>sul G<", '<words enclosure="rectangle">5-7<')
    system = engrave(excerpt([[words, "C6:q", "C5:h.", BRACKET_END]]), Style()).systems[0]
    inks = [c.ink for c in system.drawing.inks if c.ink.owner.kind in ("dir", "extender")]
    (frame,) = [ink.rect for ink in inks if ink.paint.stroke]
    letters = [ink.rect for ink in inks if not ink.paint.stroke]
    assert len(letters) == 3
    assert all(frame.left < r.left and r.right < frame.right for r in letters)
    assert all(frame.top < r.top and r.bottom < frame.bottom for r in letters)


@pytest.mark.parametrize("text", ["15-17 from memory", "MWMW", "illi", "Tempo di Minuetto"])
@pytest.mark.parametrize("look", ["", " font-style='italic'", " font-weight='bold'", " font-size='20'"])
@pytest.mark.parametrize("shape", ["rectangle", "circle"])
def test_a_frame_is_as_wide_as_its_words(text: str, look: str, shape: str) -> None:
    words = f"<direction><direction-type><words enclosure='{shape}'{look}>{text}</words></direction-type></direction>"
    system = engrave(excerpt([[words, "C5:w"], ["C5:w"], ["C5:w"]]), Style()).systems[0]
    inks = [c.ink for c in system.drawing.inks if c.ink.owner.kind == "dir"]
    (frame,) = [ink.rect for ink in inks if ink.paint.stroke]
    letters = [ink.rect for ink in inks if not ink.paint.stroke]
    assert len(letters) == len(text.replace(" ", ""))
    left = min(rect.left for rect in letters) - frame.left
    assert left > 0
    assert frame.right - max(rect.right for rect in letters) > left - 0.1


def test_words_and_metronome_do_not_run_together() -> None:
    mark = (
        '<direction placement="above"><direction-type><words>Allegro</words></direction-type><direction-type>'
        "<metronome><beat-unit>quarter</beat-unit><per-minute>92</per-minute></metronome></direction-type></direction>"
    )
    root = prepare(excerpt([[mark, "C5:w"]])).root
    assert root.findtext(".//words") == "Allegro\u00a0"


def _direction(kind: str) -> str:
    return f'<direction placement="above"><direction-type>{kind}</direction-type></direction>'


def _marked(notations: str, more: str = "") -> str:
    """A quarter A with marks; `more` stands between type and notations."""
    return (
        "<note><pitch><step>A</step><octave>4</octave></pitch><duration>8</duration><voice>1</voice>"
        f"<type>quarter</type>{more}<notations>{notations}</notations></note>"
    )


def _outlines(text: str, **faces: bool) -> list[tuple[str, ...]]:
    """The shapes of a text as the drawing steps of its letters, without their numbers."""
    found = [letter(c, faces.get("bold", False), faces.get("italic", False), music=False) for c in text]
    return [tuple(step for step, _ in it.outline.ops) for it in found if it and it.outline]


def _shapes(bar: list[str], kind: str) -> list[tuple[str, ...]]:
    """The same of what is drawn of a kind; the bar is filled up with a half note and a quarter."""
    engraving = engrave(excerpt([[*bar, "C5:h."]]), Style(bar_numbers="none"))
    assert engraving.log == ()
    inks = [c.ink for c in engraving.systems[0].drawing.inks if c.ink.owner.kind == kind]
    return [tuple(step for step, _ in ink.outline.ops) for ink in inks]


@pytest.mark.parametrize(
    ("mark", "text"),
    [
        ("<half-muted/>", "\ue5e6"),
        ("<tap/>", "T"),
        ('<hammer-on type="start">H</hammer-on>', "H"),
        ('<pull-off type="start"/>', "P"),
        ("<pluck>m</pluck>", "m"),
        ("<other-technical>punta</other-technical>", "punta"),
        ('<other-technical smufl="pluckedDamp"/>', "\ue638"),
    ],
)
def test_technical_marks_that_would_be_lost_stand_over_their_note(mark: str, text: str) -> None:
    found = _shapes([_marked(f"<technical>{mark}</technical>")], "fing")
    assert found == _outlines(text, bold=True)


@pytest.mark.parametrize(
    ("mark", "text"),
    [
        ("<stress/>", "\ue4b6"),
        ("<unstress/>", "\ue4b7"),
        ("<other-articulation>sec</other-articulation>", "sec"),
    ],
)
def test_articulations_that_would_be_lost_stand_over_their_note(mark: str, text: str) -> None:
    found = _shapes([_marked(f"<articulations>{mark}</articulations>")], "fing")
    assert found == _outlines(text, bold=True)


@pytest.mark.parametrize(
    ("kind", "text"),
    [
        ('<string-mute type="on"/>', "con sord."),
        ('<string-mute type="off"/>', "senza sord."),
        ("<other-direction>alla corda</other-direction>", "alla corda"),
        ("<symbol>coda</symbol>", "\ue048"),
        ("<damp/>", "\ue638"),
        ("<damp-all/>", "\ue639"),
        (
            '<scordatura><accord string="4"><tuning-step>F</tuning-step><tuning-alter>1</tuning-alter>'
            "<tuning-octave>3</tuning-octave></accord></scordatura>",
            "IV = F♯",
        ),
    ],
)
def test_directions_that_would_be_lost_become_words(kind: str, text: str) -> None:
    italic = "string-mute" in kind
    found = _shapes([_direction(kind), "C5:q"], "dir")
    assert found == _outlines(text, italic=italic)
    assert found


def test_a_mute_whose_words_are_there_is_not_said_twice() -> None:
    both = (
        '<direction placement="above"><direction-type><words>con sordino</words></direction-type>'
        '<direction-type><string-mute type="on"/></direction-type></direction>'
    )
    assert _shapes([both, "C5:q"], "dir") == _outlines("con sordino", italic=True)


def test_what_is_not_to_be_printed_is_not() -> None:
    hidden = _direction('<other-direction print-object="no">cue</other-direction>')
    root = prepare(excerpt([[hidden, "C5:w"]])).root
    assert root.find(".//words") is None


def test_a_sign_among_words_has_the_size_of_the_music() -> None:
    system = engrave(excerpt([[_direction("<symbol>coda</symbol>"), "C5:w"]]), Style()).systems[0]
    (sign,) = [c.ink.rect for c in system.drawing.inks if c.ink.owner.kind == "dir"]
    assert sign.height > 1.5 * Style().staff_mm / 4


def test_an_open_mark_is_drawn_as_the_open_string() -> None:
    assert len(_shapes([_marked("<technical><open/></technical>")], "artic")) == 1


def test_a_shake_is_drawn_as_the_ornament_that_looks_like_it() -> None:
    assert len(_shapes([_marked("<ornaments><shake/></ornaments>")], "mordent")) == 1


def test_the_word_of_a_glissando_is_printed_once_over_its_start() -> None:
    start = '<glissando type="start" number="1" line-type="wavy">gliss.</glissando>'
    stop = '<glissando type="stop" number="1" line-type="wavy"/>'
    found = _shapes([_marked(start), _marked(stop), "C5:h"], "dir")
    assert found == _outlines("gliss.", italic=True)


def test_a_double_flat_by_another_name_is_drawn_and_no_name_is_no_sign() -> None:
    flat = "<accidental>double-flat</accidental>"
    assert len(_shapes([_marked("", flat)], "accid")) == 1
    assert _shapes([_marked("", "<accidental/>")], "accid") == []


def test_a_heavy_barline_that_is_not_known_stays_heavy() -> None:
    def widest(style: str) -> float:
        mark = f'<barline location="left"><bar-style>{style}</bar-style></barline>'
        engraving = engrave(excerpt(["C5:w", [mark, "C5:w"]]), Style())
        assert engraving.log == ()
        lines = [c.ink for c in engraving.systems[0].drawing.inks if c.ink.owner.kind == "barLine"]
        return max(ink.paint.stroke for ink in lines)

    assert widest("heavy-light") > 2 * widest("regular")


@pytest.mark.parametrize(
    "before", ["", '<barline location="right"><bar-style>light-heavy</bar-style>{}</barline>']
)
def test_a_repeat_keeps_its_dots(before: str) -> None:
    """Notation programs write heavy-light with every forward repeat: two dots stand right of its thin line."""
    forward = (
        '<barline location="left"><bar-style>heavy-light</bar-style><repeat direction="forward"/></barline>'
    )
    backward = before.format('<repeat direction="backward"/>')
    engraving = engrave(excerpt([["C5:w", backward] if backward else "C5:w", [forward, "C5:w"]]), Style())
    assert engraving.log == ()
    inks = [c.ink for c in engraving.systems[0].drawing.inks if c.ink.owner.kind == "barLine"]
    dots = [ink for ink in inks if not ink.paint.stroke]
    heavy = max((ink for ink in inks if ink.paint.stroke), key=lambda ink: ink.paint.stroke)
    assert len(dots) == (4 if backward else 2)
    assert sum(dot.rect.left > heavy.rect.right for dot in dots) == 2


def _harmonic(kind: str) -> str:
    return _marked(f"<technical><harmonic>{kind}</harmonic></technical>")


def _second(note: str, octave: int) -> str:
    return note.replace("<note>", "<note><chord/>").replace("<octave>4", f"<octave>{octave}")


def test_a_touched_note_has_a_hollow_diamond_and_no_circle() -> None:
    """A touched fourth: the stopped note is a plain head, the touched one a hollow diamond."""
    base = _harmonic("<artificial/><base-pitch/>")
    touched = _second(_harmonic("<artificial/><touching-pitch/>"), 5)
    root = prepare(excerpt([[base, touched, "C5:h."]])).root
    heads = [note.find("notehead") for note in root.iter("note")]
    assert heads[0] is None
    assert heads[1] is not None
    assert (heads[1].text, heads[1].get("filled")) == ("diamond", "no")
    assert _shapes([base, touched], "artic") == []
    assert len(_shapes([base, touched], "notehead")) == 3


def test_a_natural_harmonic_keeps_its_circle_and_a_chord_has_one() -> None:
    natural = _harmonic("<natural/>")
    assert len(_shapes([natural], "artic")) == 1
    assert len(_shapes([natural, _second(natural, 5)], "artic")) == 1


def test_a_head_that_the_source_chose_is_kept() -> None:
    note = _harmonic("<natural/><touching-pitch/>").replace(
        "<notations>", "<notehead>triangle</notehead><notations>"
    )
    root = prepare(excerpt([[note, "C5:h."]])).root
    assert [head.text for head in root.iter("notehead")] == ["triangle"]


def _trill(*notations: str) -> tuple[str, str]:
    pitch = "<pitch><step>A</step><octave>4</octave></pitch><duration>32</duration><type>whole</type>"
    line = '<notations><ornaments><wavy-line type="stop"/></ornaments></notations>'
    marks = "".join(f"<notations>{marks}</notations>" for marks in notations)
    return f"<note>{pitch}{marks}</note>", f"<note>{pitch}{line}</note>"


def test_a_trill_keeps_its_line_wherever_the_file_has_it() -> None:
    """K. 458 in music21's corpus has the sign and the line in two `<notations>` of one note."""
    sign, line = "<trill-mark/>", '<wavy-line type="start"/>'
    together = _trill(f"<ornaments>{sign}{line}</ornaments>")
    apart = _trill(f"<ornaments>{sign}</ornaments>", f"<ornaments>{line}</ornaments>")
    alone = _trill(f"<ornaments>{sign}</ornaments>")
    drawn = []
    for bars in (together, apart, alone):
        system = engrave(excerpt([[bar] for bar in bars]), Style(bar_numbers="none")).systems[0]
        drawn.append(len([c for c in system.drawing.inks if c.ink.owner.kind == "trill"]))
    assert drawn[0] == drawn[1] > drawn[2]
