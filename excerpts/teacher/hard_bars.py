"""Bars with the most left-hand work: reasons in words, and passages as boxes to paste into a week file."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from excerpts.errors import AddressError
from excerpts.excerpt import Tempo
from excerpts.lefthand.fingering import FingeredNote, Fingering, finger_part
from excerpts.lefthand.path import Wishes, taught_positions
from excerpts.lefthand.read_part import USUAL_TEMPO, read_part
from excerpts.lefthand.work import (
    BarWork,
    Kind,
    NoteWork,
    WorkPassage,
    faults_of,
    is_fast,
    passages,
    speed_of,
    work_of,
)
from excerpts.log.next_week_draft import MOST_BOXES
from excerpts.notes.in_force import tempo_at_box
from excerpts.score import Part
from excerpts.variants.tempo_steps import slow_start
from excerpts.week.bars_in_words import bars_text
from excerpts.weekfile.new.typed import box_id, piece_id
from excerpts.weekfile.new.week_files import table_text
from excerpts.weekfile.tempo_text import beat_name, tempo_text
from excerpts.words import Words

KINDS: Final[tuple[Kind, ...]] = ("shift", "crossing", "stops", "height", "fourth", "rhythm", "note")
"""The kinds of work, in the order in which they are told and drawn."""

_MOST_REASONS: Final = 3
_THIRDS: Final = re.compile(r"\.(333|667)$")
"""Thirds of a beat as they are typed; they are told as fractions."""


@dataclass(frozen=True, slots=True)
class HardBars:
    """A part by its work.

    Attributes:
        fingering: Its fingering.
        bars: The work of its measures, in order.
        words: The words of the teacher.
    """

    fingering: Fingering
    bars: tuple[BarWork, ...]
    words: Words

    def label(self, measure: int) -> str:
        """The number of a bar as printed; its place where it has none."""
        return self.fingering.read.label(measure)

    def hardest(self, most: int) -> list[BarWork]:
        """The bars with the most work, the fullest first."""
        full = [bar for bar in self.bars if bar.notes]
        return sorted(full, key=lambda bar: (-bar.load, bar.measure))[:most]

    def reasons(self, bars: Sequence[BarWork]) -> list[str]:
        """Why bars are much work, in words, what weighs most first."""
        weights = {kind: sum(bar.of(kind) * bar.seconds for bar in bars) for kind in KINDS}
        sentences: list[str] = []
        for kind in sorted(KINDS, key=lambda kind: -weights[kind]):
            if weights[kind]:
                sentences += self._told(kind, [note for bar in bars for note in bar.notes])
        if any(is_fast(bar.notes) for bar in bars):
            speed = max(speed_of(bar.notes) for bar in bars)
            sentences.insert(_MOST_REASONS - 1, self.words("hard.speed", n=round(speed)))
        return sentences[:_MOST_REASONS]

    def _told(self, kind: Kind, notes: Sequence[NoteWork]) -> Iterator[str]:
        having = [note for note in notes if note.loads.get(kind)]
        n = len(having)
        if kind == "shift":
            yield self._shift(max(having, key=lambda note: note.loads["shift"]))
        elif kind == "crossing":
            yield self._counted("crossing", n)
            if skipped := sum(note.skipped for note in having):
                yield self._counted("skipped", skipped)
        elif kind == "height":
            yield self.words("hard.height", n=max(_position(note.one) for note in having))
        elif kind in {"stops", "fourth", "rhythm"}:
            yield self._counted(kind, n)

    def _counted(self, what: str, n: int) -> str:
        return self.words(f"hard.{what}.{'one' if n == 1 else 'many'}", n=n)

    def _shift(self, note: NoteWork) -> str:
        struck, words = note.one.note, self.words
        start, end = (words("hard.half") if position == 0 else position for position in note.moved or (0, 0))
        bar = words("bar.one", label=self.label(struck.measure))
        beat = _THIRDS.sub(lambda end: "⅓" if end[0] == ".333" else "⅔", self.fingering.read.beat(struck))
        place = words("hard.beat", bar=bar, beat=beat) if not struck.grace else bar
        try:
            length = beat_name(struck.duration, words)
        except ValueError:  # a grace note, or one of a tuplet
            return words("hard.shift", start=start, end=end, place=place)
        return words("hard.shift_on", start=start, end=end, place=place, note=length)

    def faults(self, passage: WorkPassage) -> list[str]:
        """What a passage would be boxed for: at most two faults, what weighs most first."""
        faults = faults_of(passage.notes)
        return faults or (["speed"] if any(is_fast(bar.notes) for bar in passage.bars) else [])

    def address(self, passage: WorkPassage) -> str:
        """The bars of a passage as they are typed; by their places where numbers do not tell them."""
        read = self.fingering.read
        first, last = passage.first.note, passage.last.note
        by_label = _span(self.label(first.measure), self.label(last.measure))
        by_place = _span(f"@{first.measure + 1}", f"@{last.measure + 1}")
        if not passage.whole:
            start, end = read.beat(first), read.beat(last).partition(".")[0]
            beats = f"{self.label(first.measure)}:{start}-{self.label(last.measure)}:{end}"
            if start and end and self._is(beats, passage):
                return beats
        return by_label if self._is(by_label, passage) else by_place

    def _is(self, address: str, passage: WorkPassage) -> bool:
        try:
            span = self.fingering.read.part.passage(address).span
        except AddressError:
            return False
        return (span.first, span.last) == (passage.first.note.measure, passage.last.note.measure)

    @property
    def title(self) -> str:
        """What a list of them is called."""
        part = self.fingering.read.part
        called = ", ".join(
            text for text in (part.score.title or Path(part.score.name).stem, part.info.name) if text
        )
        return f"{called}: {self.words('hard.title')}"

    def told(self, chosen: Sequence[WorkPassage]) -> list[str]:
        """A line for each passage: its bars, and why."""
        return [
            f"{bars_text(self.address(passage), self.words)}: {'; '.join(self.reasons(passage.bars))}"
            for passage in chosen
        ]

    def passages(self, most: int) -> list[WorkPassage]:
        """The passages with the most work, at most so many, in the order of the part."""
        return passages(self.fingering, self.bars, most)

    def boxes(self, chosen: Sequence[WorkPassage], taken: Collection[str] = ()) -> str:
        """Passages as boxes of a week file; what speaks of work stands behind "#", for the teacher alone."""
        part = self.fingering.read.part
        piece = piece_id(part.score.title or Path(part.score.name).stem, taken)
        texts: list[str] = []
        ids: set[str] = set()
        for passage in chosen:
            address = self.address(passage)
            name = box_id(piece, address, ids)
            ids.add(name)
            target, printed = self._target(address)
            items: dict[str, Any] = {"id": name, "piece": piece, "bars": address}
            if faults := self.faults(passage):
                items["why"] = faults
            items |= {
                "target": tempo_text(target, self.words),
                "start": tempo_text(slow_start(target), self.words),
            }
            notes = ["; ".join(self.reasons(passage.bars))]
            notes += [] if printed else [self.words("hard.assumed")]
            texts.append("".join(f"# {note}\n" for note in notes if note) + table_text("[[box]]", items))
        return "\n".join(texts)

    def _target(self, address: str) -> tuple[Tempo, bool]:
        """The tempo in force at a passage, and whether the score says it."""
        tempo = tempo_at_box(self.fingering.read.part.passage(address).cut(0))
        return (tempo, True) if tempo is not None else (Tempo(USUAL_TEMPO), False)

    def as_json(self, chosen: Sequence[WorkPassage]) -> dict[str, Any]:
        """All bars, and the passages, for other programs."""
        return {
            "format": 1,
            "part": self.fingering.read.part.info.name,
            "bars": [
                {
                    "bar": self.label(bar.measure),
                    "place": bar.measure + 1,
                    "load": round(bar.load, 2),
                    "kinds": {kind: round(load, 2) for kind in KINDS if (load := bar.of(kind))},
                    "reasons": self.reasons([bar]),
                }
                for bar in self.bars
            ],
            "passages": [
                {
                    "bars": self.address(passage),
                    "load": round(passage.load, 2),
                    "why": self.faults(passage),
                    "reasons": self.reasons(passage.bars),
                }
                for passage in chosen
            ],
        }


def hard_bars(fingering: Fingering, words: Words) -> HardBars:
    """The work of a part, from its fingering."""
    return HardBars(fingering, tuple(work_of(fingering)), words)


def offered(part: Part, player: Mapping[str, Any]) -> list[str]:
    """The passages of a part with the most work, for a player as a week file has it: as many as the level bears."""
    wishes = Wishes(taught_positions((), player["level"]))
    fingering = finger_part(read_part(part, player["instrument"]), wishes)
    made = hard_bars(fingering, Words(player.get("words", "uk")))
    return made.told(made.passages(MOST_BOXES[player["level"]]))


def _span(first: str, last: str) -> str:
    return first if first == last else f"{first}-{last}"


def _position(one: FingeredNote) -> int:
    return one.place.hand.position if one.place is not None else 0
