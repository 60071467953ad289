"""Measures the music of a week in its scores: how long pieces and boxes are, and where rehearsal marks stand."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Final

from lxml import etree

from excerpts.excerpt import Excerpt, Tempo
from excerpts.instruments.instrument import Instrument
from excerpts.score import Part
from excerpts.score.tempo import tempo_marks
from excerpts.technique import drills
from excerpts.technique.useful import FEW, few_useful_bars
from excerpts.week.model import BoxMusic, Week, WeekMusic, typed_bars
from excerpts.week.printed_bars import measured_on_pages
from excerpts.weekfile.items import BoxItem

_USUAL: Final = Fraction(60)
"""Quarter notes a minute of a study whose score gives no tempo."""

_REMEMBERED: Final = 200
"""Studies and boxes whose hard places are remembered: a plan that is made again and again finds them once."""

_Tempos = list[tuple[int, Fraction, Fraction]]
"""Measure (from 0), onset in it, and quarter notes a minute from there."""


@dataclass(frozen=True, slots=True)
class _Measured:
    """A part, its tempi, and how much higher the bar numbers of the pupil's own edition are."""

    part: Part
    tempos: _Tempos
    pupil_bars: int


def week_music(week: Week) -> WeekMusic:
    """Measure the pieces and boxes of a week.

    Raises:
        InputError: A score, part or bar is not there.
    """
    music = WeekMusic()
    parts: dict[str, _Measured] = {}
    for piece in week.pieces:
        part = week.part(piece.id)
        if part is not None:
            tempos = _tempos(part)
            parts[piece.id] = _Measured(part, tempos, piece.pupil_bars)
            music.marks[piece.id] = tuple(dict.fromkeys(mark.text for mark in part.bars.marks))
    for box in week.boxes:
        if measured := _box(box, parts, week):
            music.boxes[box.id] = measured
    for piece_id, one in parts.items():
        boxes = [(box.target, music.boxes.get(box.id)) for box in week.boxes if box.piece == piece_id]
        if seconds := _seconds(one, [(target, box) for target, box in boxes if target and box]):
            music.seconds[piece_id] = seconds
    _measure_studies(week, parts, music)
    music.no_drills.update(_no_drills(week, parts))
    return music


def _measure_studies(week: Week, parts: dict[str, _Measured], music: WeekMusic) -> None:
    """Measure each study, and find the few most useful bars where it is longer and the file names none."""
    why = {fault for box in week.boxes for fault in box.why}
    for place, item in enumerate(week.technique):
        if item.piece not in parts or item.bars is None:
            continue
        study = parts[item.piece]
        measured = _span(item.bars, study)
        music.studies[place] = measured.quarters * 60 / (measured.tempo or _USUAL)
        if item.short is not None or measured.bars <= FEW:
            continue
        passage = study.part.passage(item.bars, study.pupil_bars)
        excerpt = passage.cut(0, piece_marks=week.piece(item.piece).marks)
        labels = _labels(excerpt, week.player.plays, frozenset(why))
        if labels:  # the halves of a split bar have one number
            music.few[place] = "-".join(dict.fromkeys((labels[0], labels[-1])))


@lru_cache(maxsize=_REMEMBERED)
def _labels(excerpt: Excerpt, player: Instrument, why: frozenset[str]) -> tuple[str, ...]:
    """The numbers of the few most useful bars of a study."""
    return tuple(bar.label for bar in few_useful_bars(excerpt, player, why) if bar.label)


@lru_cache(maxsize=_REMEMBERED)
def _has_drills(excerpt: Excerpt, player: Instrument) -> bool:
    """Whether there is a drill for a box."""
    return bool(drills(excerpt, player))


def _no_drills(week: Week, parts: dict[str, _Measured]) -> Iterator[int]:
    """The drills that their boxes cannot give; nobody knows it of boxes on paper and of ways that the file names."""
    for place, item in enumerate(week.technique):
        if item.drill and not item.variants:
            music = _music(week, week.box(item.drill), parts)
            if music is not None and not _has_drills(music, week.player.plays):
                yield place


def _music(week: Week, box: BoxItem, parts: dict[str, _Measured]) -> Excerpt | None:
    """The music of a box with the teacher's marks; None for a box on paper only."""
    if box.abc is not None:
        return typed_bars(box).cut(0, box.marks)
    if box.in_score is None or box.piece not in parts:
        return None
    measured = parts[box.piece]
    return measured.part.passage(box.in_score, measured.pupil_bars).cut(
        1, box.marks, week.piece(box.piece).marks
    )


def _tempos(part: Part) -> _Tempos:
    """The tempi in force over a part, those that only other parts have too; marks without a number are passed over."""
    bars = part.score.bars
    tempos: _Tempos = []
    for mark in tempo_marks(bars, len(part.bars) - 1):
        tempo = mark.tempo(bars[mark.part].state(mark.bar).time)
        if tempo is not None and tempo.quarters_per_minute > 0:
            tempos.append((mark.bar, mark.onset, tempo.quarters_per_minute))
    return tempos


def _seconds(measured: _Measured, boxes: Sequence[tuple[Tempo, BoxMusic]]) -> Fraction | None:
    """How long a part takes with its repeats; None where nothing gives a tempo to begin with.

    A piece goes as fast as its slowest box: the tempi of the score are slowed down or quickened to the goal of the
    box that is farthest below them; a score without a tempo goes at the slowest goal. Common practice, no source.
    Calls back to a sign or to the beginning (D.C., D.S.) are not followed: it is an estimate.

    Args:
        measured: The part and its tempi.
        boxes: The goals of its boxes, each with its music.
    """
    part, tempos = measured.part, measured.tempos
    if not tempos and boxes:
        tempos = [(0, Fraction(0), min(goal.quarters_per_minute for goal, _ in boxes))]
    if not tempos or tempos[0][:2] != (0, Fraction(0)):
        return None
    slower = [box.tempo / goal.quarters_per_minute for goal, box in boxes if box.tempo]
    times = _times(part.bars.measures)
    total = Fraction(0)
    now = tempos[0][2]
    for index, length in enumerate(part.bars.lengths):
        at = Fraction(0)
        bar = Fraction(0)
        for _, onset, following in (one for one in tempos if one[0] == index):
            bar += max(min(onset, length) - at, Fraction(0)) * 60 / now
            at, now = min(onset, length), following
        bar += (length - at) * 60 / now
        total += bar * times[index]
    return total * max(slower, default=Fraction(1))


def _times(measures: Sequence[etree._Element]) -> list[int]:
    """How often each measure is played, by its repeat signs and endings."""
    endings = _endings(measures)
    times = [len(numbers) or 1 for numbers in endings]
    start = 0
    for index, measure in enumerate(measures):
        if measure.find("barline/repeat[@direction='forward']") is not None:
            start = index
        back = measure.find("barline/repeat[@direction='backward']")
        if back is not None:
            given = back.get("times") or ""
            again = max(int(given), 1) if given.isdecimal() and len(given) < 3 else 2
            for place in range(start, index + 1):
                times[place] = len(endings[place]) or again
        follows = bool(index + 1 < len(measures) and endings[index + 1])
        if (back is not None or endings[index]) and not follows:
            start = index + 1
    return times


def _endings(measures: Sequence[etree._Element]) -> list[tuple[str, ...]]:
    """The numbers of the ending that each measure stands in; none outside of endings."""
    endings: list[tuple[str, ...]] = []
    now: tuple[str, ...] = ()
    for measure in measures:
        for ending in measure.iterfind("barline/ending[@type='start']"):
            now = tuple((ending.get("number") or "1").replace(" ", "").split(","))
        endings.append(now)
        if any(ending.get("type") != "start" for ending in measure.iterfind("barline/ending")):
            now = ()
    return endings


def _box(box: BoxItem, parts: dict[str, _Measured], week: Week) -> BoxMusic | None:
    if box.abc is not None:
        part = typed_bars(box).part
        return BoxMusic(sum(part.bars.lengths, Fraction(0)), len(part.bars), _tempo_at(_tempos(part), 0))
    if box.in_score is None or box.piece not in parts:
        return measured_on_pages(box, week)
    return _span(box.in_score, parts[box.piece])


def _span(bars: str, measured: _Measured) -> BoxMusic:
    """The music of some bars."""
    part = measured.part
    span = part.passage(bars, measured.pupil_bars).span
    lengths = [part.bars.length(index) for index in range(span.first, span.last + 1)]
    quarters = sum(lengths, Fraction(0)) - span.start - (lengths[-1] - span.end)
    label = part.bars.labels[span.first]
    first = int(label) if label.isdecimal() and len(label) < 7 else None
    return BoxMusic(quarters, len(lengths), _tempo_at(measured.tempos, span.first), first)


def _tempo_at(tempos: _Tempos, index: int) -> Fraction | None:
    before = [tempo for bar, onset, tempo in tempos if (bar, onset) <= (index, Fraction(0))]
    return before[-1] if before else None
