"""Words, dynamics, rehearsal marks and numerals: what belongs together stands together, clear of the rest."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from excerpts.engrave import Engraving, Style, System, engrave
from excerpts.engrave.svg.ink import Ink
from excerpts.engrave.svg.rect import Rect, union
from excerpts.excerpt import Excerpt
from tests.engrave.audit import audit
from tests.engrave.music import excerpt

STYLE = Style()
SPACE = STYLE.staff_mm / 4


def direction(*kinds: str, placement: str = "below") -> str:
    inner = "".join(f"<direction-type>{kind}</direction-type>" for kind in kinds)
    return f'<direction placement="{placement}">{inner}</direction>'


P = "<dynamics><p/></dynamics>"
BEAT = "<metronome><beat-unit>{unit}</beat-unit>{dots}<per-minute>63</per-minute></metronome>"


def letters(system: System, *kinds: str) -> list[Ink]:
    return [c.ink for c in system.drawing.inks if c.ink.owner.kind in kinds]


def place(system: System, *kinds: str) -> Rect:
    return union(ink.rect for ink in letters(system, *kinds))


def drawn(music: Excerpt, style: Style = STYLE) -> System:
    (system,) = engrave(music, style, ("1",)).systems
    return system


def test_words_in_one_direction_with_a_dynamic_have_a_space_before_them() -> None:
    system = drawn(excerpt([[direction(P, "<words>dolce</words>"), "C5:w"]]))
    sign, *words = letters(system, "dynam")
    assert len(words) == len("dolce")
    assert words[0].rect.left - sign.rect.right == pytest.approx(0.8 * SPACE, abs=0.35 * SPACE)
    assert {round(ink.map.dy, 3) for ink in words} == {round(sign.map.dy, 3)}


def test_words_before_a_dynamic_have_the_space_after_them() -> None:
    system = drawn(excerpt([[direction("<words>poco</words>", P), "C5:w"]]))
    *words, sign = letters(system, "dynam")
    assert sign.rect.left - words[-1].rect.right > 0.5 * SPACE


@pytest.mark.parametrize("apart", [False, True])
def test_words_that_are_written_before_a_dynamic_stand_before_it(apart: bool) -> None:
    """In one direction or in two it is one mark, "più f", and is never turned into "f più"."""
    marks = ["<words>più</words>", "<dynamics><f/></dynamics>"]
    said = [direction(mark) for mark in marks] if apart else [direction(*marks)]
    system = drawn(excerpt([[*said, "C5:w"]]))
    *words, sign = letters(system, "dynam")
    assert len(words) == len("più")
    assert sign.rect.left - words[-1].rect.right > 0.5 * SPACE
    assert words[0].rect.left < sign.rect.left


def test_words_of_two_marks_do_not_run_into_one_word() -> None:
    music = excerpt(
        [[direction("<words>espressivo</words>"), "C5:q", direction("<words>sempre</words>"), "C5:q", "C5:h"]]
    )
    system = drawn(music, replace(STYLE, justify_up_to=0.5))
    marks: dict[str, list[Rect]] = {}
    for ink in letters(system, "dir"):
        marks.setdefault(ink.owner.origin, []).append(ink.rect)
    one, other = (union(rects) for rects in marks.values())
    assert not one.grown(0.45 * SPACE).meets(other) or abs(one.bottom - other.bottom) > 0.5 * SPACE


def test_brackets_written_as_words_stand_round_the_metronome_mark() -> None:
    """Not "Allegro( ) ♩ = 63" but "Allegro (♩ = 63)", and behind tempo words of a direction of their own."""
    beat = BEAT.format(unit="quarter", dots="")
    together = direction("<words>Allegro (</words>", beat, "<words>)</words>", placement="above")
    brackets = direction("<words>(</words>", beat, "<words>)</words>", placement="above")
    apart = direction("<words>Allegro</words>", placement="above") + brackets
    for said in (together, apart):
        inks = sorted(
            letters(drawn(excerpt([[said, "C5:w"]])), "tempo", "dir"), key=lambda ink: ink.rect.left
        )
        assert len(inks) == len("Allegro(n=63)")
        opening, note, *_, closing = inks[len("Allegro") :]
        assert 0 < opening.rect.left - inks[len("Allegro") - 1].rect.right < 2 * SPACE
        assert opening.rect.right < note.rect.left < note.rect.right < closing.rect.left


def test_a_note_among_words_is_the_note_of_a_metronome_mark() -> None:
    said = direction("<words>Allegro ♩ = 63</words>", placement="above")
    engraving = engrave(excerpt([[said, "C5:w"]]), STYLE)
    beat = BEAT.format(unit="quarter", dots="")
    marked = drawn(excerpt([[direction(beat, placement="above"), "C5:w"]]))
    notes = {ink.outline: ink.rect.height for ink in letters(marked, "tempo")}
    (written,) = [ink for ink in letters(engraving.systems[0], "dir") if ink.rect.height > 4]
    assert engraving.log == ()
    assert written.rect.height == pytest.approx(max(notes.values()), rel=0.1)


def test_notes_that_equal_others_are_drawn() -> None:
    """Swing: MusicXML's `<metronome-note>`, which verovio leaves out without a word."""
    note = "<metronome-note><metronome-type>{}</metronome-type>{}</metronome-note>".format
    three = (
        "<metronome-tuplet type='stop'><actual-notes>3</actual-notes><normal-notes>2</normal-notes>"
        "</metronome-tuplet>"
    )
    notes = (
        f"{note('eighth', '')}{note('eighth', '')}<metronome-relation>equals</metronome-relation>"
        f"{note('quarter', '')}{note('eighth', three)}"
    )
    engraving = engrave(
        excerpt([[direction(f"<metronome>{notes}</metronome>", placement="above"), "C5:w"]]), STYLE
    )
    signs = letters(engraving.systems[0], "dir")
    assert engraving.log == ()
    assert len(signs) == len("♪♪=♩♪(3)")
    assert len({sign.outline for sign in signs}) == len("♪=♩(3)")


def test_a_bracket_stays_close_to_its_dynamic() -> None:
    system = drawn(excerpt([[direction("<words>(</words>", P, "<words>)</words>"), "C5:w"]]))
    opening, sign, closing = letters(system, "dynam")
    assert sign.rect.left - opening.rect.right < 0.5 * SPACE
    assert closing.rect.left - sign.rect.right < 0.5 * SPACE


def test_words_at_the_time_of_a_dynamic_stand_on_its_baseline() -> None:
    system = drawn(excerpt([[direction(P), direction("<words>dolce</words>"), "C5:w"]]))
    sign = letters(system, "dynam")[0]
    words = letters(system, "dir")
    assert {round(ink.map.dy, 3) for ink in words} == {round(sign.map.dy, 3)}
    assert words[0].rect.left - sign.rect.right == pytest.approx(0.8 * SPACE, abs=0.2 * SPACE)


def test_words_at_another_time_than_the_dynamic_stay_where_they_are() -> None:
    apart = drawn(excerpt([[direction(P), "C5:h", direction("<words>dolce</words>"), "C5:h"]]))
    assert place(apart, "dir").left > place(apart, "dynam").right + 5 * SPACE


def test_a_dynamic_on_another_stands_right_of_it() -> None:
    late = direction("<dynamics><sf/></dynamics>").replace("</direction>", "<offset>-7</offset></direction>")
    music = excerpt([[direction(P), "C5:q", late, "C5:h."]])
    first, second = (c.ink for c in drawn(music).drawing.inks if c.ink.owner.kind == "dynam")
    assert second.rect.left > first.rect.right
    assert second.map.dy == pytest.approx(first.map.dy)


def test_words_that_run_a_little_into_a_slur_are_set_clear_of_it() -> None:
    system = drawn(excerpt([[direction("<words>dolce</words>"), "G3:e:slur", "B3:e:/slur", "C5:h."]]))
    words, slur = place(system, "dir"), place(system, "slur")
    assert words.left < slur.right
    assert words.top - slur.bottom > 0.3 * SPACE


@pytest.mark.parametrize(("unit", "dots"), [("quarter", 1), ("half", 1), ("eighth", 1), ("quarter", 2)])
def test_the_dots_of_a_beat_stand_close_to_their_note(unit: str, dots: int) -> None:
    mark = BEAT.format(unit=unit, dots="<beat-unit-dot/>" * dots)
    note, *rest = letters(drawn(excerpt([[direction(mark, placement="above"), "C5:w"]])), "tempo")
    head = [x for x, y in note.samples() if abs(y - note.map.dy) < 0.3 * SPACE]
    edge = max(head)
    for dot in rest[:dots]:
        assert 0.1 * SPACE < dot.rect.left - edge < 0.5 * SPACE
        assert dot.rect.width < 0.6 * SPACE
        edge = dot.rect.right
    assert rest[dots].rect.left - max(edge, note.rect.right) > 0.2 * SPACE


def test_the_note_of_a_beat_is_smaller_than_the_notes_of_the_music() -> None:
    mark = BEAT.format(unit="quarter", dots="")
    system = drawn(excerpt([[direction(mark, placement="above"), "C5:q", "C5:h."]]))
    beat = letters(system, "tempo")[0].rect
    note = system.notes[0].rect
    assert 0.6 * note.height < beat.height < 0.95 * note.height


@pytest.mark.parametrize("first", ["words", "beat"])
def test_tempo_words_and_a_metronome_mark_of_their_own_share_a_line(first: str) -> None:
    marks = [
        direction("<words>Allegro appassionato</words>", placement="above"),
        direction(BEAT.format(unit="quarter", dots=""), placement="above"),
    ]
    bar = marks if first == "words" else marks[::-1]
    system = drawn(excerpt([[*bar, "C6:w"], "C5:w"]))
    words, beat = place(system, "dir"), place(system, "tempo")
    assert 0.5 * SPACE < beat.left - words.right < 1.5 * SPACE
    assert letters(system, "tempo")[-1].map.dy == pytest.approx(letters(system, "dir")[0].map.dy)


@pytest.mark.parametrize("first", ["words", "beat"])
def test_words_in_brackets_stand_behind_the_metronome_mark(first: str) -> None:
    marks = [
        direction('<words font-weight="bold" font-style="normal">(Allegro)</words>', placement="above"),
        direction(BEAT.format(unit="half", dots=""), placement="above"),
    ]
    bar = marks if first == "words" else marks[::-1]
    system = drawn(excerpt([[*bar, "C6:w"], "C5:w"]))
    words, beat = place(system, "dir"), place(system, "tempo")
    assert 0.5 * SPACE < words.left - beat.right < 1.5 * SPACE
    assert letters(system, "tempo")[-1].map.dy == pytest.approx(letters(system, "dir")[0].map.dy)


def rehearsed(words: str) -> Excerpt:
    mark = direction("<rehearsal>B</rehearsal>", placement="above")
    text = direction(f"<words>{words}</words>", placement="above")
    return excerpt(["C5:w", [mark, text, "A5:q:4,II", "C6:h."], "C5:w"], [(2, 0, 2, None)])


def test_a_rehearsal_mark_and_its_tempo_share_a_line() -> None:
    system = drawn(rehearsed("a tempo"))
    mark, words = place(system, "reh"), place(system, "dir")
    assert words.left - mark.right > 0.7 * SPACE
    assert (mark.top + mark.bottom) / 2 == pytest.approx((words.top + words.bottom) / 2, abs=0.1)
    assert audit(engrave(rehearsed("a tempo"), STYLE, ("1",))) == []


def test_a_rehearsal_mark_does_not_run_into_words_that_are_pushed_in_at_the_margin() -> None:
    music = rehearsed("a tempo, cantabile e molto espressivo, sempre")
    assert audit(engrave(music, STYLE, ("1",))) == []


def test_a_rehearsal_mark_over_a_box_line_stands_inside_its_box() -> None:
    mark = direction("<rehearsal>B</rehearsal>", placement="above")
    music = excerpt(["C5:w", [mark, "C5:w"], "C5:w"], [(1, 0, 1, None)])
    system = drawn(music)
    assert place(system, "reh").left > system.boxes[0].rect.left
    assert audit(engrave(music, STYLE, ("1",))) == []


@pytest.mark.parametrize(
    ("onset", "grey"), [(Fraction(0), True), (Fraction(1), True), (Fraction(2), False), (Fraction(3), False)]
)
def test_words_have_one_colour_by_the_beat_they_hang_on(onset: Fraction, grey: bool) -> None:
    """The box takes the second half of the bar; where the words end up on the page says nothing."""
    notes = ["C5:q", "D5:q", "E5:q", "F5:q"]
    notes[int(onset)] += ':"molto_ritenuto'
    music = excerpt([" ".join(notes), "C5:w", "C5:w"], [(0, 2, 1, None)])
    words = [c for c in drawn(music).drawing.inks if c.ink.owner.kind == "dir"]
    assert {c.colour for c in words} == {STYLE.context if grey else STYLE.ink}


def test_an_ending_belongs_to_its_bar() -> None:
    first = '<barline location="left"><ending number="1" type="start"/></barline>'
    last = (
        '<barline location="right"><bar-style>light-heavy</bar-style>'
        '<ending number="1" type="stop"/><repeat direction="backward"/></barline>'
    )
    for box, grey in ((1, True), (2, False)):
        music = excerpt(["C5:w", "C5:w", [first, "C5:w", last], "C5:w"], [(box, 0, box, None)])
        system = drawn(music)
        ending = [c for c in system.drawing.inks if c.ink.owner.kind == "ending"]
        assert {c.colour for c in ending} == {STYLE.context if grey else STYLE.ink}
        assert audit(engrave(music, STYLE, ("1",))) == []


def _numerals(bar: str) -> list[list[Ink]]:
    """The numerals of one crowded line, each as its letters."""
    system = engrave(excerpt([bar]), Style(width_mm=62)).systems[0]
    groups: dict[str, list[Ink]] = {}
    for ink in letters(system, "string"):
        groups.setdefault(ink.owner.origin, []).append(ink)
    return list(groups.values())


def test_numerals_of_quick_notes_keep_a_gap() -> None:
    bar = " ".join(
        f"{note}:s:{string}"
        for note, string in zip(["C4", "A4", "E5", "A4"] * 4, ["IV", "III", "II", "III"] * 4, strict=True)
    )
    rects = [union(ink.rect for ink in letters) for letters in _numerals(bar)]
    assert len(rects) == 16
    for index, one in enumerate(rects):
        for other in rects[index + 1 :]:
            assert not one.grown(0.2).meets(other)


def test_a_numeral_that_repeats_the_one_before_is_left_out_where_it_is_crowded() -> None:
    assert len(_numerals(" ".join(["C4:s:IV"] * 16))) == 1
    assert len(_numerals("C4:h:IV D4:h:IV")) == 2
    assert len(_numerals(" ".join(["C4:s:IV", "A4:s:III"] * 8))) == 16


def test_words_over_a_stack_of_fingers_stand_beside_it() -> None:
    chord = "G3+D4+B4+G5:q:1,2,3,4"
    words = direction("<words>largamente</words>", placement="above")
    system = drawn(excerpt([[words, chord, "C5:h."], "C5:w"]))
    stack, text = place(system, "fing"), place(system, "dir")
    assert stack.height > 4 * SPACE
    assert text.bottom > stack.top + 2 * SPACE
    assert text.left > stack.right


TEMPO = '<words font-weight="bold">Allegro vivace assai e con brio</words>'


def _tempo_in_context(first: str) -> Engraving:
    tempo = direction(TEMPO, placement="above")
    music = excerpt([[tempo, *first.split()], "C5:q C5:q C5:q C5:q", "C5:w"], [(1, 0, 1, None)])
    return engrave(music, STYLE, ("12",))


def test_a_tempo_in_a_short_context_bar_stands_over_the_label() -> None:
    engraving = _tempo_in_context("C5:q")
    system = engraving.systems[0]
    words = place(system, "tempo", "dir").moved(dy=-system.drawing.top_mm)
    tag = system.boxes[0].tag
    assert tag is not None
    assert words.left < tag.left < words.right
    assert words.bottom < tag.top - 0.3
    assert audit(engraving) == []


def test_a_tempo_in_a_long_context_bar_ends_before_the_box() -> None:
    engraving = _tempo_in_context("C5:q C5:q C5:q C5:q C5:q C5:q C5:q")
    system = engraving.systems[0]
    words = place(system, "tempo", "dir").moved(dy=-system.drawing.top_mm)
    assert words.right < system.boxes[0].rect.left - 1.4
    assert words.bottom > system.boxes[0].rect.top - 6
    assert audit(engraving) == []


def _syllables(bar: str, width: float) -> list[Rect]:
    system = engrave(excerpt([bar]), Style(width_mm=width)).systems[0]
    groups: dict[str, list[Rect]] = {}
    for ink in letters(system, "syl"):
        groups.setdefault(ink.owner.note, []).append(ink.rect)
    return [union(rects) for rects in groups.values()]


def test_syllables_keep_clear_of_one_another_at_the_end_of_a_line() -> None:
    """The last syllable is too long for the margin and moves left; those before it give way."""
    rects = _syllables("C5:q:'schwim D5:q:'men E5:q:'des F5:q:'Grenzgewässer", 62)
    assert len(rects) == 4
    for one, other in zip(rects, rects[1:], strict=False):
        assert other.left - one.right > 0.2
    assert rects[-1].right < 62
