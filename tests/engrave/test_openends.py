"""Ties, slurs and hairpins that a cut left open run to the edge of the music."""

from __future__ import annotations

from fractions import Fraction

import pytest

from excerpts.engrave import Engraving, Style, engrave
from excerpts.engrave.svg.ink import Ink
from excerpts.excerpt import OpenEnd, Position
from excerpts.score import score_from_bytes
from tests.engrave.music import excerpt
from tests.music import bars_of, note

BARS = ["C5:h:p G5:h", "F#4:e D5:e E5:e F5:e G5:q C5:q", "A4:q B4:q C5:h"]
LONG = ["C5:q C5:q F5:q A5:q"] * 10


def _at(bar: int, onset: int) -> Position:
    return Position(bar, Fraction(onset))


def _drawn(engraving: Engraving, kind: str) -> list[tuple[int, Ink]]:
    return [
        (index, c.ink)
        for index, system in enumerate(engraving.systems)
        for c in system.drawing.inks
        if c.ink.owner.kind == kind
    ]


def _one(bars: list[str], end: OpenEnd) -> Engraving:
    return engrave(excerpt(bars, open_ends=[end]), Style())


def test_a_tie_that_goes_on_ends_at_the_last_barline() -> None:
    engraving = _one(BARS, OpenEnd("tie", "end", _at(2, 2), pitch="C5"))
    ((_, tie),) = _drawn(engraving, "tie")
    head = engraving.systems[0].notes[-1].head
    assert head.right < tie.rect.left < head.right + 1.5
    assert tie.rect.right == pytest.approx(engraving.systems[0].bars[-1].right, abs=0.5)


def test_a_tie_that_comes_in_begins_behind_the_time_signature() -> None:
    engraving = _one(BARS, OpenEnd("tie", "start", _at(0, 0), pitch="C5"))
    ((_, tie),) = _drawn(engraving, "tie")
    head = engraving.systems[0].notes[0].head
    assert head.left - 1.5 < tie.rect.right < head.left
    meter = max(ink.rect.right for _, ink in _drawn(engraving, "meterSig"))
    assert tie.rect.left > meter - 1.0


@pytest.mark.parametrize(("detail", "side"), [("above", -1), ("below", 1)])
def test_the_source_says_on_which_side(detail: str, side: int) -> None:
    for kind in ("tie", "slur"):
        end = OpenEnd(kind, "end", _at(2, 2), pitch="C5", detail=detail)
        engraving = _one(BARS, end)
        ((_, arc),) = _drawn(engraving, kind)
        head = engraving.systems[0].notes[-1].head
        top = engraving.systems[0].drawing.top_mm
        middle = (arc.rect.top + arc.rect.bottom) / 2 - top
        assert (middle - (head.top + head.bottom) / 2) * side > 0


def test_a_slur_runs_over_all_systems_up_to_the_edge() -> None:
    engraving = _one(LONG, OpenEnd("slur", "end", _at(1, 1), pitch="C5"))
    assert len(engraving.systems) >= 2
    arcs = _drawn(engraving, "slur")
    assert [index for index, _ in arcs] == list(range(len(engraving.systems)))
    for index, arc in arcs:
        assert arc.rect.right == pytest.approx(engraving.systems[index].bars[-1].right, abs=0.6)


def test_a_slur_clears_the_notes_under_it() -> None:
    engraving = _one(
        ["C5:q C5:q G6:q C5:q"] * 2, OpenEnd("slur", "end", _at(0, 0), pitch="C5", detail="above")
    )
    ((_, arc),) = _drawn(engraving, "slur")
    top = engraving.systems[0].drawing.top_mm
    high = next(note.head for note in engraving.systems[0].notes if note.pitch == "G6")
    over = [y - top for x, y in arc.samples() if high.left <= x <= high.right]
    assert over
    assert max(over) < high.top


@pytest.mark.parametrize(
    ("edge", "detail", "opens_left"),
    [("end", "crescendo", False), ("end", "diminuendo", True), ("start", "diminuendo", True)],
)
def test_a_hairpin_opens_the_right_way(edge: str, detail: str, opens_left: bool) -> None:
    end = OpenEnd("hairpin", edge, _at(1, 0), detail=detail)  # type: ignore[arg-type]
    lines = [ink for _, ink in _drawn(_one(BARS, end), "hairpin")]
    assert len(lines) == 2
    ends = [ink.outline.ops for ink in lines]
    left = abs(ends[0][0][1][1] - ends[1][0][1][1])
    right = abs(ends[0][1][1][1] - ends[1][1][1][1])
    assert (left > right) == opens_left
    assert max(left, right) == pytest.approx(7.5 / 4, abs=0.01)


@pytest.mark.parametrize(("bar", "onset"), [(0, 0), (1, 2), (2, 0), (2, 3)])
@pytest.mark.parametrize(
    ("kind", "edge"), [("tie", "end"), ("tie", "start"), ("slur", "end"), ("slur", "start")]
)
def test_an_open_end_hangs_on_its_own_note_among_many_of_its_pitch(
    kind: str, edge: str, bar: int, onset: int
) -> None:
    end = OpenEnd(kind, edge, _at(bar, onset), pitch="C5")  # type: ignore[arg-type]
    engraving = _one(["C5:q C5:q C5:q C5:q"] * 3, end)
    ((_, arc),) = _drawn(engraving, kind)
    assert len(engraving.systems) == 1
    head = next(n.head for n in engraving.systems[0].notes if n.bar == bar and n.onset == onset)
    if kind == "slur":
        at, bare = (head.left + head.right) / 2, 0.1
    else:
        at, bare = (head.right, 0.6) if edge == "end" else (head.left, 0.6)
    near = arc.rect.left if edge == "end" else arc.rect.right
    assert near == pytest.approx(at, abs=bare)


@pytest.mark.parametrize("voice", ["1", "of another name"])
@pytest.mark.parametrize("pitch", ["E4", "G4", "C5"])
def test_an_open_tie_hangs_on_its_own_note_of_a_chord(pitch: str, voice: str) -> None:
    engraving = _one(["C5:w", "E4+G4+C5:w"], OpenEnd("tie", "end", _at(1, 0), 1, voice, pitch, "above"))
    ((_, tie),) = _drawn(engraving, "tie")
    (head,) = (n.head for n in engraving.systems[0].notes if n.bar == 1 and n.pitch == pitch)
    foot = tie.rect.bottom - engraving.systems[0].drawing.top_mm
    assert head.top < foot < head.bottom


@pytest.mark.parametrize("voice", ["1", "2"])
def test_of_two_voices_in_unison_the_open_tie_hangs_on_its_own(voice: str) -> None:
    second = (
        "<backup><duration>32</duration></backup><note><pitch><step>C</step><octave>5</octave></pitch>"
        "<duration>32</duration><voice>2</voice><type>whole</type></note>"
    )
    music = excerpt(
        [["C5:h", "C5:h", second]], open_ends=[OpenEnd("tie", "end", _at(0, 0), voice=voice, pitch="C5")]
    )
    engraving = engrave(music, Style())
    ((_, tie),) = _drawn(engraving, "tie")
    heads = {n.voice: n.head for n in engraving.systems[0].notes if n.onset == 0}
    assert abs(heads["1"].right - heads["2"].right) > 0.5
    assert tie.rect.left == pytest.approx(heads[voice].right, abs=0.6)


def test_an_open_end_at_a_note_that_is_not_there_draws_nothing() -> None:
    assert _drawn(_one(BARS, OpenEnd("tie", "end", _at(2, 3), pitch="E2")), "tie") == []


@pytest.mark.parametrize("alter", ["-1", "-1.0", "-0.5"])
def test_in_a_double_stop_each_tie_is_drawn_at_its_own_note(alter: str) -> None:
    tied = '[<notations><tied type="{}"/></notations>]'
    stops = [
        note(f"D4:4{tied.format(kind)}")
        + note(f"Bb4:4{tied.format(kind)}").replace("<note>", "<note><chord/>")
        for kind in ("start", "stop")
    ]
    data = bars_of("A4:4", *stops).replace(b"<alter>-1</alter>", f"<alter>{alter}</alter>".encode())
    cut = score_from_bytes(data, "stops").part().passage("2").cut(context=0)
    assert len({end.pitch for end in cut.open_ends}) == 2
    engraving = engrave(cut, Style())
    top = engraving.systems[0].drawing.top_mm
    lower, upper = sorted((ink.rect for _, ink in _drawn(engraving, "tie")), key=lambda rect: -rect.top)
    heads = {place.pitch[0]: place.head for place in engraving.systems[0].notes}
    middle = (heads["D"].bottom + heads["B"].top) / 2
    assert upper.bottom - top < middle < lower.top - top
