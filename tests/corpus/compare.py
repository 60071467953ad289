"""An excerpt against the slice of the source that it should be, note for note and mark for mark.

Both are read by the independent reader; the excerpt as a whole file of its own.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property

from lxml import etree

from excerpts.excerpt import Excerpt
from tests.corpus.accidentals import left_out
from tests.corpus.edges import expected_spans, expected_ties, open_ends_of, spans_of
from tests.corpus.force import Force, changes, in_force, key_alter, tempo_line, tempo_marks
from tests.corpus.pairing import Spans, Ties, pair_spans, pair_ties, turns
from tests.corpus.playing import added_dynamics, is_held, is_state_in_words
from tests.corpus.reading import Bar, Canon, Item, Note, Reading, document, read_part
from tests.corpus.tuplets import restated, unnumbered

_ALTERS = {-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}


class Source:
    """A whole score, read once and held against many cuts."""

    def __init__(self, root: etree._Element) -> None:
        self.root = root
        self.parts = [read_part(part) for part in root.findall("part")]

    def part(self, index: int) -> SourcePart:
        return SourcePart(self, index)


@dataclass
class SourcePart:
    score: Source
    index: int

    @property
    def reading(self) -> Reading:
        return self.score.parts[self.index]

    @cached_property
    def spans(self) -> Spans:
        return pair_spans(self.reading)

    @cached_property
    def ties(self) -> Ties:
        return pair_ties(self.reading)

    @cached_property
    def tied_to(self) -> set[int]:
        """The notes that a tie leads to, by identity."""
        return {id(stop) for _, stop in self.ties.pairs}

    @cached_property
    def force(self) -> list[Force]:
        return in_force(self.reading)

    def differences(self, excerpt: Excerpt, first: int, last: int) -> list[str]:
        """What is not as it should be in a cut of bars `first` to `last` (places from 0); empty when right."""
        parts = document(excerpt.xml).findall("part")
        if len(parts) != 1:
            return [f"{len(parts)} parts"]
        return _Comparison(self, excerpt, read_part(parts[0]), first, last).run()


class _Comparison:
    def __init__(self, source: SourcePart, excerpt: Excerpt, read: Reading, first: int, last: int) -> None:
        self.source = source
        self.excerpt = excerpt
        self.read = read
        self.first = first
        self.last = last
        self.wrong: list[str] = []
        self.bars = source.reading.bars[first : last + 1]
        self.report = {(line.action, line.what) for line in excerpt.report}

    def run(self) -> list[str]:
        if len(self.bars) != len(self.read.bars):
            return [f"{len(self.read.bars)} bars, not {len(self.bars)}"]
        ours = pair_spans(self.read)
        self._hold("lone ends", Counter(map(str, ours.lone)), Counter())
        found, wanted = spans_of(ours, 0), expected_spans(self.source, self.first, self.last)
        self._hold("spans", found, wanted + restated(self.read, ours, found - wanted))
        self.wrong.extend(unnumbered(self.read, ours))
        self._ties()
        self._hold(
            "open ends",
            Counter((e.kind, e.edge, e.at.bar, e.at.onset, e.pitch) for e in self.excerpt.open_ends),
            open_ends_of(self.source, self.first, self.last),
        )
        for k, (theirs, mine) in enumerate(zip(self.bars, self.read.bars, strict=True)):
            self._bar(k, theirs, mine)
        self._force()
        self._tempo()
        self._endings()
        return self.wrong

    def _hold(self, what: str, found: Counter[object], wanted: Counter[object]) -> None:
        """Note down what is missing and what is too much."""
        self.wrong.extend(f"{what}: lacks {item}" for item in (wanted - found))
        self.wrong.extend(f"{what}: has {item}" for item in (found - wanted))

    def _same(self, what: str, found: object, wanted: object) -> None:
        if found != wanted:
            self.wrong.append(f"{what}: {found} instead of {wanted}")

    def _bar(self, k: int, theirs: Bar, mine: Bar) -> None:
        bar = f"bar {theirs.label} (@{self.first + k + 1})"
        self._same(f"{bar} label", mine.label, theirs.label)
        self._same(f"{bar} implicit", mine.implicit, theirs.implicit)
        self._same(f"{bar} attributes", mine.attributes, theirs.attributes)
        self._same(f"{bar} length", mine.length, theirs.length)
        told = self.excerpt.bars[k]
        self._same(f"{bar} reference", (told.place, told.label), (self.first + k + 1, theirs.label))
        if theirs.length:
            self._same(f"{bar} told length", told.length, theirs.length)
        self._notes(bar, theirs.notes, mine.notes)
        self._beams(bar, theirs.notes, mine.notes)
        self._items(bar, k, theirs, mine)
        self._same(f"{bar} barlines", mine.barlines, theirs.barlines)
        self._changes(bar, k, theirs, mine)

    def _notes(self, bar: str, theirs: list[Note], mine: list[Note]) -> None:
        if len(theirs) != len(mine):
            self.wrong.append(f"{bar}: {len(mine)} notes, not {len(theirs)}")
            return
        for want, have in zip(theirs, mine, strict=True):
            accidental = self._accidental(want)
            for name in ("duration", "voice", "staff", "pitch", "chord", "grace", "rest"):
                self._same(f"{bar} note {want.place.order} {name}", getattr(have, name), getattr(want, name))
            self._same(f"{bar} note {want.place.order} onset", have.place.onset, want.place.onset)
            self._same(f"{bar} note {want.place.order} accidental", have.accidental, accidental)
            lost = ((want.sounding - have.sounding) | (want.drawn - have.drawn)) & have.ties
            self._same(f"{bar} note {want.place.order} half of a tie", lost, frozenset())
            extra = Counter(have.content) - Counter(want.content)
            lacks = Counter(want.content) - Counter(have.content)
            self.wrong.extend(f"{bar} note {want.place.order} lacks {c}" for c in lacks)
            self.wrong.extend(
                f"{bar} note {want.place.order} has {c}" for c in extra if not self._restated(want, c)
            )

    def _restated(self, note: Note, mark: Canon) -> bool:
        """A bow direction on the first boxed note, or a finger held from before; the report names both."""
        if is_held(self.source, self.excerpt, note, mark, self.first):
            return True
        box = self.excerpt.boxes[0]
        index = note.place.bar - self.first
        in_box = (box.start.bar, box.start.onset) <= (index, note.place.onset)
        if mark[0] != "technical" or not in_box:
            return False
        name = mark[3][0][0].replace("-", " ")
        return name in ("up bow", "down bow") and ("restated", name) in self.report

    def _accidental(self, note: Note) -> Canon | None:
        """What the accidental should be: the note's own, or the one that it lacks."""
        return self._untied(note) or self.left_out.get(id(note), note.accidental)

    @cached_property
    def left_out(self) -> dict[int, Canon]:
        return left_out(self.source, self.first, self.last)

    def _untied(self, note: Note) -> Canon | None:
        """A note that a tie no longer reaches says its own accidental."""
        if note.accidental is not None or note.pitch is None or note.place.onset:
            return None
        if "stop" not in note.ties and id(note) not in self.source.tied_to:
            return None
        at_ending = turns(self.bars[note.place.bar - self.first], "start", "forward")
        if not (note.place.bar == self.first and self.first) and not at_ending:
            return None
        for start, stop in self.source.ties.pairs:
            if stop is note and start.place.bar >= self.first:
                return None
        inside = {child[0]: child[2] for child in note.pitch[3]}
        alter = Fraction(inside.get("alter") or 0)
        in_key = key_alter(self.source.force[note.place.bar], note.staff, inside["step"])
        if alter == in_key or alter not in _ALTERS:
            return None
        return "accidental", (), _ALTERS[int(alter)], ()

    def _beams(self, bar: str, theirs: list[Note], mine: list[Note]) -> None:
        was, now = [n.beams for n in theirs], [n.beams for n in mine]
        if was != now and not any(
            line.what == "beam" and line.action == "repaired" and f"bar {line.bar} " in bar + " "
            for line in self.excerpt.report
        ):
            self.wrong.append(f"{bar}: beams changed without a word")

    def _items(self, bar: str, k: int, theirs: Bar, mine: Bar) -> None:
        wanted = Counter(_from(item, self.first) for item in theirs.items)
        wanted.update(item for item in self.dynamics.elements() if item.place.bar == k)
        found = Counter(_from(item, 0) for item in mine.items)
        self.wrong.extend(f"{bar} lacks {item}" for item in wanted - found)
        self.wrong.extend(f"{bar} has {i}" for i in found - wanted if not self._added(i))

    def _added(self, item: Item) -> bool:
        """A tempo of another part or from before (what that tempo is, is held elsewhere), or a state in words."""
        if is_state_in_words(self.source, self.excerpt, item, self.first):
            return True
        at = (item.place.bar, item.place.onset)
        if any((t.place.bar, t.place.onset) == at for t in self.read.bars[at[0]].tempos) and _is_metronome(
            item
        ):
            return True
        return _is_tempo(item, [i for r in self.source.score.parts for b in r.bars for i in b.items])

    @cached_property
    def dynamics(self) -> Counter[Item]:
        return added_dynamics(self.source, self.first, self.last)

    def _changes(self, bar: str, k: int, theirs: Bar, mine: Bar) -> None:
        wanted, found = changes(theirs, self.first), changes(mine, 0)
        for change in wanted - found:
            merged = k == 0 and change[3][0] == "staff-details"
            if not (merged or self._shortened(k, change[3]) or self._written_out(change[3])):
                self.wrong.append(f"{bar} lacks {change}")
        for change in found - wanted:
            at_start = k == 0 and change[:3] == (0, Fraction(0), 0)
            if not at_start and not self._is_rest(change[3]):
                self.wrong.append(f"{bar} has {change}")

    def _written_out(self, style: Canon) -> bool:
        """A sign that repeats bars: they are written out, and the report says so."""
        said = any(line.what.endswith(" repeat") for line in self.excerpt.report)
        return said and any(child[0] in ("measure-repeat", "beat-repeat") for child in style[3])

    def _is_rest(self, style: Canon) -> bool:
        return style[0] == "measure-style" and any(child[0] == "multiple-rest" for child in style[3])

    def _shortened(self, k: int, style: Canon) -> bool:
        """A rest of several bars that would run past the end; its new count must be what is left."""
        if not self._is_rest(style) or int(style[3][0][2]) <= len(self.bars) - k:
            return False
        counts = [
            int(child.findtext("multiple-rest") or 0)
            for _, attributes in self.read.bars[k].changes
            for child in attributes.findall("measure-style")
        ]
        return len(self.bars) - k in counts

    def _force(self) -> None:
        mine = in_force(self.read)
        for k, theirs in enumerate(self.source.force[self.first : self.last + 2]):
            at_end = k == len(self.bars)
            if at_end and self.last + 1 < len(self.source.reading.bars):
                break
            for key in sorted(theirs.keys() | mine[k].keys()):
                self._same(f"in force in bar @{self.first + k + 1}: {key}", mine[k].get(key), theirs.get(key))

    def _tempo(self) -> None:
        theirs = tempo_line(self.source.score.parts, self.source.index, self.first, self.last)
        mine = tempo_line([self.read], 0, 0, len(self.bars))
        self._same("tempos", mine, theirs)
        wanted = tempo_marks(self.source.score.parts, self.source.index, self.first, self.last)
        lost = wanted - tempo_marks([self.read], 0, 0, len(self.bars))
        self.wrong.extend(f"tempo: lacks {mark}" for mark in lost)
        told = self.excerpt.tempo
        at_start = theirs[0][2] if theirs and theirs[0][:2] == (0, Fraction(0)) else None
        told_quarters = told.quarters_per_minute if told else None
        # Where what is printed and what sounds disagree, the number told is the printed one.
        printed = {t.printed for part in self.source.score.parts for bar in part.bars for t in bar.tempos}
        if told_quarters not in printed or at_start is None:
            self._same("tempo told", told_quarters, at_start)

    def _endings(self) -> None:
        """Every bracket inside is whole, and stands over the bars that it covers in the source."""
        theirs = _covered(self.source.reading.bars)[self.first : self.last + 1]
        self._same("endings", _covered(self.read.bars), theirs)
        kinds = [kind for bar in self.read.bars for kind, _, _ in bar.endings]
        whole = all(a == "start" and b != "start" for a, b in zip(kinds[::2], kinds[1::2], strict=False))
        if len(kinds) % 2 or not whole:
            self.wrong.append(f"half an ending: {kinds}")

    def _ties(self) -> None:
        ours = pair_ties(self.read)
        for note in (*ours.lone_starts, *ours.lone_stops):
            self.wrong.append(f"a tie hangs at {note.place}")
        found: Counter[object] = Counter((_at(start, 0), _at(stop, 0)) for start, stop in ours.pairs)
        self._hold("ties", found, expected_ties(self.source, self.first, self.last))


def _at(note: Note, first: int) -> tuple[int, int]:
    return note.place.bar - first, note.place.order


def _from(item: Item, first: int) -> Item:
    return replace(item, place=replace(item.place, bar=item.place.bar - first))


def _is_tempo(item: Item, known: list[Item]) -> bool:
    if item.kind == "sound":
        return all(name == "tempo" for name, _ in item.content[0][1])
    tempi = [i.content for i in known if i.kind == "direction"]
    types = [c for c in item.content if c[0] == "direction-type"]
    return any(all(c in content for c in types) for content in tempi)


def _is_metronome(item: Item) -> bool:
    """A metronome mark and nothing else: what number it should have, the tempos tell."""
    kinds = [c[3] for c in item.content if c[0] == "direction-type"]
    return item.kind == "direction" and [k[0][0] for k in kinds] == ["metronome"]


def _covered(bars: list[Bar]) -> list[str | None]:
    """The number of the ending that each bar stands under."""
    found: list[str | None] = []
    now: str | None = None
    for bar in bars:
        for kind, number, _ in bar.endings:
            if kind == "start":
                now = number
        found.append(now)
        if any(kind != "start" for kind, _, _ in bar.endings):
            now = None
    return found
