"""The whole part of a piece as lines of music, drawn some bars at a time, so that the first stand there at once.

Each portion of bars is engraved by itself and gives all its systems but the last, with which the next one begins. So
the lines are those of a whole part, and a mark that changes one bar lets one portion be drawn anew.
"""

from __future__ import annotations

from collections import OrderedDict
from contextlib import suppress
from dataclasses import dataclass, field
from fractions import Fraction
from hashlib import sha256
from threading import Event, Lock, Thread
from typing import Any, Final

from excerpts.engrave import Boxed, Engraving, Overlay, Style, System, cut_points, engrave, overlay
from excerpts.engrave.geometry import geometry_of
from excerpts.engrave.long_rests import with_long_rests
from excerpts.errors import ExcerptsError
from excerpts.excerpt import Excerpt
from excerpts.musicxml.pitch import name_of_pitch
from excerpts.score import Part
from excerpts.score.address import beat_in, beats_of
from excerpts.score.bars import Bars
from excerpts.score.continued import continued
from excerpts.score.marked_note import graces_before
from excerpts.score.score import score_from_bytes
from excerpts.score.write_address import beat_text, last_beat

FIRST_BARS: Final = 24
"""Bars of the first portion: what a screen shows, in a tenth of a second."""
MORE_BARS: Final = 40
WIDTHS: Final = (70, 300)
"""Millimetres that lines may be wide: a telephone, and a large screen."""
STAFF: Final = 7.0
_KEPT_PORTIONS: Final = 300
_KEPT_PARTS: Final = 8


@dataclass(slots=True)
class Lines:
    """Some lines of a part.

    Attributes:
        engraving: What they were engraved in; its last system is not always one of them.
        systems: The lines.
        first: Index of the measure that they begin with.
        after: Index of the measure behind them.
        told: What the page was told of them, once it was.
    """

    engraving: Engraving
    systems: tuple[System, ...]
    first: int
    after: int
    _overlays: dict[tuple[int, tuple[Boxed, ...]], Overlay] = field(default_factory=dict)
    told: list[dict[str, Any]] = field(default_factory=list)

    def overlays(self, boxes: tuple[Boxed, ...]) -> list[Overlay]:
        """What lies over each of the lines."""
        laid: list[Overlay] = []
        for number, system in enumerate(self.systems):
            first = self.engraving.bars[system.bars[0].bar].place
            last = self.engraving.bars[system.bars[-1].bar]
            end = last.place + last.count
            # Boxes elsewhere do not change it; their places in the list do, for they name the boxes.
            key = (
                number,
                tuple(box if box.start[0] < end and box.end[0] >= first else _ELSEWHERE for box in boxes),
            )
            if key not in self._overlays:
                if len(self._overlays) > len(self.systems) * 20:
                    self._overlays.clear()
                self._overlays[key] = overlay(self.engraving, system, boxes)
            laid.append(self._overlays[key])
        return laid


_ELSEWHERE: Final = Boxed((0, Fraction(0)), (0, Fraction(0)))


class PartPicture:
    """One part in one width.

    Args:
        part: The part, with the teacher's marks in it.
        width: How wide its lines are, in millimetres.
        pupil_bars: How much higher the bar numbers of the pupil's own edition are.
        drawn: Stretches that were drawn before.
    """

    def __init__(self, part: Part, width: int, pupil_bars: int, drawn: Drawn) -> None:
        self.part = part
        self.pupil_bars = pupil_bars
        self._style = Style(
            width_mm=float(min(max(width, WIDTHS[0]), WIDTHS[1])),
            staff_mm=STAFF,
            grey_context=False,
            draw_box=False,
            bar_numbers="none",
        )
        self._drawn = drawn
        self._lines: list[Lines] = []
        self._lock = Lock()
        self._ahead = Event()
        _ = part.bars.lengths  # all bars timed at once: beats of single bars ask for it again and again

    def lines(self, number: int) -> Lines | None:
        """The lines of a portion, from 0; None behind the last."""
        if number < len(self._lines):
            return self._lines[number]  # nobody waits for what is there, while more is drawn
        with self._lock:
            while len(self._lines) <= number:
                first = self._lines[-1].after if self._lines else 0
                if first >= len(self.part.bars):
                    return None
                self._lines.append(self._next(first))
            return self._lines[number]

    def made(self) -> list[Lines]:
        """The portions that were drawn so far."""
        return list(self._lines)

    def draw_ahead(self) -> None:
        """Draw all of it while the page is still on its way to the reader; once."""
        if not self._ahead.is_set():
            self._ahead.set()
            Thread(target=self._draw_all, daemon=True).start()

    def _draw_all(self) -> None:
        # What cannot be drawn is told to whoever asks for it.
        with suppress(ExcerptsError):
            while self.lines(len(self._lines)) is not None:
                pass

    def _next(self, first: int) -> Lines:
        count, end = FIRST_BARS if first == 0 else MORE_BARS, len(self.part.bars)
        while True:
            last = min(end, first + count)
            excerpt = with_long_rests(continued(self.part, first, last - 1, self.pupil_bars))
            engraving = self._drawn.engraved(excerpt, self._style)
            systems = engraving.systems
            if last == end:
                return Lines(engraving, systems, first, end)
            if len(systems) > 1:
                after = engraving.bars[systems[-1].bars[0].bar].place - 1
                return Lines(engraving, systems[:-1], first, after)
            count *= 2


class Drawn:
    """What was engraved and what was shown last: by the music itself, so that nothing of it is drawn twice."""

    def __init__(self) -> None:
        self._engraved: OrderedDict[bytes, Engraving] = OrderedDict()
        self._parts: OrderedDict[tuple[object, ...], PartPicture] = OrderedDict()
        self._lock = Lock()

    def engraved(self, excerpt: Excerpt, style: Style) -> Engraving:
        """An excerpt engraved."""
        key = sha256(repr((excerpt.xml, excerpt.bars, excerpt.open_ends, style)).encode()).digest()
        with self._lock:
            if key in self._engraved:
                self._engraved.move_to_end(key)
                return self._engraved[key]
        made = engrave(excerpt, style)
        with self._lock:
            self._engraved[key] = made
            while len(self._engraved) > _KEPT_PORTIONS:
                self._engraved.popitem(last=False)
        return made

    def picture(self, part: Part, width: int, pupil_bars: int) -> PartPicture:
        """The picture of a part, which is kept as long as its score is the same."""
        key = id(part.score), part.index, width, pupil_bars
        with self._lock:
            picture_of = self._parts.get(key)
            # The picture holds its score, so that no other can come to stand at the same address.
            if picture_of is None:
                picture_of = self._parts[key] = PartPicture(part, width, pupil_bars, self)
            self._parts.move_to_end(key)
            while len(self._parts) > _KEPT_PARTS:
                self._parts.popitem(last=False)
            return picture_of


_SMALL: Final = b"""<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>-</part-name></score-part>
</part-list><part id="P1"><measure number="1"><attributes><divisions>1</divisions><time><beats>1</beats>
<beat-type>4</beat-type></time><clef><sign>G</sign><line>2</line></clef></attributes><direction placement="above">
<direction-type><words>Allegro</words></direction-type><direction-type><metronome><beat-unit>quarter</beat-unit>
<per-minute>60</per-minute></metronome></direction-type></direction><note><pitch><step>A</step><octave>4</octave></pitch>
<duration>1</duration><type>quarter</type></note></measure></part></score-partwise>"""


def get_ready() -> None:
    """Draw a note with a tempo, so that the first part that is opened does not wait for the engraver and the faces."""
    with suppress(ExcerptsError):  # whoever draws next is told
        Drawn().picture(score_from_bytes(_SMALL, "a note").part(), WIDTHS[0], 0).lines(0)


def as_json(picture: PartPicture, lines: Lines) -> list[dict[str, Any]]:
    """Lines for the page: their geometry (see `excerpts.engrave.geometry`), their pictures, and more of their bars.

    A head has besides `voice` and `before` (which of the grace notes that lead to a note it is, from 1; 0 for none),
    a bar `count` (for how many it stands) and `cuts`: where the side of a box stands that begins or ends
    inside of it, as [onset, x, whether a beat begins there, whether a box may end there]. A box ends where its end is
    named by a beat or by a note that begins on it, as a teacher says it: nobody writes "33:1.25" for a quaver.
    """
    if lines.told:
        return lines.told
    engraving = lines.engraving
    systems = geometry_of(lines.systems, engraving.bars).to_json()["systems"]
    for system, as_drawn in zip(lines.systems, systems, strict=True):
        as_drawn["svg"] = system.svg
        for note, head in zip((one for one in system.notes if not one.rest), as_drawn["heads"], strict=True):
            head["voice"] = note.voice
        _number_graces(picture.part.bars, as_drawn["heads"])
        for bar, shown in zip(system.bars, as_drawn["bars"], strict=True):
            reference = engraving.bars[bar.bar]
            shown["count"] = reference.count
            points = _points(picture, system, bar.bar, reference.place - 1) if reference.count == 1 else {}
            places = cut_points(engraving, system, bar.bar, list(points))
            shown["cuts"] = [
                [str(onset), round(x, 2), int(points[onset][0]), int(points[onset][1])]
                for onset, x in zip(points, places, strict=True)
            ]
    lines.told = systems
    return lines.told


def _number_graces(bars: Bars, heads: list[dict[str, Any]]) -> None:
    """Say of each head which of the grace notes that lead to a note it is."""
    known: dict[tuple[int, str, str], list[tuple[str, int]]] = {}
    for head in heads:
        head["before"] = 0
        if not head["grace"]:
            continue
        index, onset = head["place"] - 1, Fraction(head["onset"])
        key = index, head["onset"], head["voice"]
        if key not in known:
            behind = onset == bars.length(index)
            at = (index + 1, Fraction(0)) if behind else (index, onset)
            run = graces_before(bars, *at, head["voice"]) or graces_before(bars, *at)
            known[key] = [
                (name_of_pitch(note), number)
                for number, one in enumerate(run, start=1)
                for note in one.heads
                if one.bar == index
            ]
        left = known[key]
        grace = next((one for one in left if one[0] == head["pitch"]), None)
        if grace is not None:
            left.remove(grace)
            head["before"] = grace[1]


def _points(picture: PartPicture, system: System, bar: int, index: int) -> dict[Fraction, tuple[bool, bool]]:
    """The onsets inside a measure at which a box may begin: whether each is a beat, and whether a box may end there."""
    bars = picture.part.bars
    run = bars.run_at(index)
    beats = beats_of(bars, run)
    points: dict[Fraction, bool] = {}
    if beats is not None:
        for number in range(-(-beats[0] // 1), int(beats[1]) + 1):
            at = beat_in(bars, run, Fraction(number))
            if at is not None and at[0] == index and at[1] > 0:
                points[at[1]] = True
    onsets = {note.onset for note in system.placed.values() if note.bar == bar and not note.grace}
    for onset in sorted(onsets - {Fraction(0)} - points.keys()):
        if beat_text(bars, run, index, onset) is not None:
            points[onset] = False

    def may_end(onset: Fraction) -> bool:
        beat = last_beat(bars, run, index, onset)
        if beat is None or beat.denominator == 1:
            return beat is not None
        at = beat_in(bars, run, beat)
        return at is not None and at[0] == index and at[1] in onsets

    return {onset: (points[onset], may_end(onset)) for onset in sorted(points)}
