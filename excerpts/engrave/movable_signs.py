"""Words, dynamics, rehearsal marks and fingers of one system: signs that may be moved, each as a whole.

They are set as near to their staff as they can without running into anything: the engraver sets them without regard
for their neighbours to the left and right, and drives words above a stack of fingers far from their notes. Distances
are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache

from excerpts.engrave.prepare import Source
from excerpts.engrave.svg.ink import Ink
from excerpts.engrave.svg.rect import Rect, union
from excerpts.excerpt import Position

WORDS = frozenset({"dir", "tempo"})
MOVED = frozenset({"dir", "tempo", "dynam", "reh"})
"""Marks that are set anew where they collide."""
_MARKS = MOVED | {"harm", "syl", "ending", "fing", "string", "repeatMark"}
_NO_OBSTACLE = frozenset({"staff", "barLine", "system", "grpSym"})


@dataclass(frozen=True, slots=True)
class Attached:
    """What a mark hangs on in the music.

    Attributes:
        at: The point in the excerpt, None where the engraver does not tell.
        staff: Staff from the top of the system, from 1.
        note: Id of its note in the private copy, "" for none.
    """

    at: Position | None
    staff: int = 1
    note: str = ""


def attach(inks: Iterable[Ink], marks: dict[str, dict[str, str]], source: Source) -> dict[str, Attached]:
    """Find what marks hang on.

    Args:
        inks: The ink of a system.
        marks: What the engraver tells of each mark, by its id.
        source: The private copy.
    """
    attached: dict[str, Attached] = {}
    bars = {ink.owner.origin: ink.owner.bar for ink in inks if ink.owner.origin in marks}
    for ident, bar in bars.items():
        facts = marks[ident]
        staff = int(facts.get("staff", "1").split(" ")[0])
        name = facts.get("startid", "").lstrip("#")
        note = source.notes.get(name)
        if note is not None:
            attached[ident] = Attached(Position(note.bar, note.onset), note.staff, name)
            continue
        attached[ident] = Attached(Position(bar, _onset(facts.get("tstamp", "1"), source.beats[bar])), staff)
    return attached


@lru_cache(maxsize=1024)
def _onset(tstamp: str, beat_type: int) -> Fraction:
    """Quarter notes from the start of a bar to a beat of the engraver's.

    Beats count from 1 and come as decimals: a third of a beat becomes a third again.
    """
    beat = Fraction(tstamp).limit_denominator(960) - 1
    return beat * 4 / beat_type


@dataclass(slots=True, eq=False)
class MovableSign:
    """One mark: its ink, and where it stands now.

    Attributes:
        kind: The engraver's word for it.
        inks: Its ink.
        rect: The rectangle of its ink.
        to: What it hangs on.
        outside: It is to stand outside the boxes, above or below them.
    """

    kind: str
    inks: list[Ink]
    rect: Rect
    to: Attached
    outside: bool = False

    def move(self, dx: float = 0.0, dy: float = 0.0) -> None:
        """Move it by so many millimetres."""
        if dx or dy:
            self.inks = [moved(ink, dx, dy) for ink in self.inks]
            self.rect = self.rect.moved(dx, dy)

    @property
    def baseline(self) -> float:
        """Height that its last sign stands on: the note that a metronome mark begins with is raised."""
        letters = [ink for ink in self.inks if ink.paint.fill]
        return float((letters or self.inks)[-1].map.dy)


class Sheet:
    """The ink of one system, with its marks apart.

    Args:
        inks: All ink.
        attached: What the marks hang on, by the ids of the engraver.
        staves: Top and bottom of each staff.
    """

    def __init__(
        self, inks: list[Ink], attached: dict[str, Attached], staves: list[tuple[float, float]]
    ) -> None:
        self.staves = staves
        self.space = (staves[0][1] - staves[0][0]) / 4
        groups: dict[tuple[str, str, str], list[Ink]] = {}
        self.fixed: list[Ink] = []
        for ink in inks:
            if ink.owner.kind in _MARKS:
                groups.setdefault((ink.owner.kind, ink.owner.origin, ink.owner.note), []).append(ink)
            else:
                self.fixed.append(ink)
        self._obstacles = [(ink.rect, ink) for ink in self.fixed if ink.owner.kind not in _NO_OBSTACLE]
        self.marks = [
            MovableSign(kind, group, union(ink.rect for ink in group), attached.get(origin, Attached(None)))
            for (kind, origin, _), group in groups.items()
        ]

    def inks(self, *, outside: bool = False) -> list[Ink]:
        """All ink as it stands now, or only that of the marks that are to stand outside the boxes."""
        marks = [mark for mark in self.marks if mark.outside == outside]
        return [*([] if outside else self.fixed), *(ink for mark in marks for ink in mark.inks)]

    def merge(self, mark: MovableSign, other: MovableSign) -> None:
        """Make two marks that stand on one line one, to be moved together."""
        mark.inks = [*mark.inks, *other.inks]
        mark.rect = union((mark.rect, other.rect))
        self.marks.remove(other)

    def staff(self, mark: MovableSign) -> tuple[float, float]:
        """Top and bottom of the staff that a mark belongs to."""
        return self.staves[min(max(mark.to.staff, 1), len(self.staves)) - 1]

    def above(self, mark: MovableSign) -> bool:
        """Whether a mark stands above its staff."""
        top, bottom = self.staff(mark)
        return mark.rect.top + mark.rect.bottom < top + bottom

    def between_staves(self, top: float, bottom: float, mark: MovableSign) -> bool:
        """Whether a mark at these heights stays clear of the staves that are not its own."""
        own = self.staff(mark)
        return not any(top < low and bottom > high for high, low in self.staves if (high, low) != own)

    def of(self, *kinds: str) -> list[MovableSign]:
        """The marks of some kinds, from left to right."""
        return sorted((mark for mark in self.marks if mark.kind in kinds), key=lambda mark: mark.rect.left)

    def but(self, *marks: MovableSign) -> list[MovableSign]:
        """All marks but these."""
        left_out = set(map(id, marks))
        return [mark for mark in self.marks if id(mark) not in left_out]

    def hits(self, rect: Rect, marks: Iterable[MovableSign]) -> list[tuple[float, float]]:
        """Top and bottom of all that a rectangle would run into: the engraver's fixed ink, and some marks."""
        reaches: list[tuple[float, float]] = []
        for there, ink in self._obstacles:
            if there.left >= rect.right or there.right <= rect.left or not rect.meets(there):
                continue
            reach = ink.between(rect.left, rect.right)
            if reach and reach[0] < rect.bottom and reach[1] > rect.top:
                reaches.append(reach)
        reaches.extend((mark.rect.top, mark.rect.bottom) for mark in marks if rect.meets(mark.rect))
        return reaches


def moved(ink: Ink, dx: float, dy: float = 0.0) -> Ink:
    """Ink somewhere else."""
    at = ink.map
    return replace(ink, map=at._replace(dx=at.dx + dx, dy=at.dy + dy))


_WHITE = 0.4
"""White that a mark keeps from other ink when it is set anew, in staff spaces."""
_OFF_STAFF = 0.7
"""White that it keeps from its staff, in staff spaces."""
_OVERLAP = 0.1
"""Marks that run so many millimetres into other ink are set anew."""
_TOUCHING = 0.2
"""Fingers nearer to a stem or slur than so many staff spaces are set anew."""
_FRAME = 0.3
"""White that the frame of a rehearsal mark has at least, in millimetres."""
_BESIDE = 0.3
"""White between two dynamics that share a place, in staff spaces."""
_WORD = 0.5
"""White that parts words of two marks, in staff spaces: less looks like the space between two words of one."""
_FAR = 5.0
"""Words further from their staff than so many staff spaces are brought nearer where that can be had."""
_ASIDE = 4.0
"""So many staff spaces they may move to the right for it."""
_WORTH = 1.2
"""One staff space aside must bring words so many staff spaces nearer."""


def clear_top(rect: Rect, mark: MovableSign, sheet: Sheet, others: Iterable[MovableSign]) -> float:
    """The top of a mark in the place next to its staff where it runs into nothing.

    Where there is no such place between its staff and the next one, it stays at its height.

    Args:
        rect: The mark's rectangle at the x where it is to stand.
        mark: The mark.
        sheet: The system.
        others: The marks that it must not run into.
    """
    above = sheet.above(mark)
    top, bottom = sheet.staff(mark)
    white, off = _WHITE * sheet.space, _OFF_STAFF * sheet.space
    around = list(others)
    y = top - off - rect.height if above else bottom + off
    while True:
        there = Rect(rect.left - white, y - white, rect.right + white, y + rect.height + white)
        hits = sheet.hits(there, around)
        if not hits:
            return y if sheet.between_staves(y, y + rect.height, mark) else rect.top
        # A hair further than the obstacle, so that no rounding can find it again.
        y = (
            min(t for t, _ in hits) - white - rect.height - 0.01
            if above
            else max(b for _, b in hits) + white + 0.01
        )


def stand(mark: MovableSign, sheet: Sheet, others: Iterable[MovableSign]) -> None:
    """Set a mark, at its x, as near to its staff as it goes."""
    mark.move(dy=clear_top(mark.rect, mark, sheet, others) - mark.rect.top)


def clear_fingers(sheet: Sheet) -> None:
    """Set fingers anew that touch stems, slurs or other fixed ink; words and tempo marks give way to them later."""
    for finger in sheet.of("fing"):
        if sheet.hits(finger.rect.grown(_TOUCHING * sheet.space), ()):
            stand(finger, sheet, [mark for mark in sheet.of("fing", "string") if mark is not finger])


def part_collisions(sheet: Sheet) -> None:
    """Set marks anew that run into notes, signs or marks; of two marks the one that may stand further off."""
    settled = [mark for mark in sheet.marks if mark.kind not in MOVED]
    for kind in ("dynam", "dir", "tempo", "reh"):
        for mark in sheet.of(kind):
            # A frame that all but touches a finger looks like a slip of the pen; letters do not.
            around = mark.rect.grown(_FRAME if kind == "reh" else -_OVERLAP)
            if sheet.hits(around, settled) or _run_on(mark, sheet, settled):
                if not _beside(mark, sheet, settled):
                    stand(mark, sheet, settled)
            settled.append(mark)


def _run_on(mark: MovableSign, sheet: Sheet, settled: list[MovableSign]) -> bool:
    """Whether words or a dynamic stand so near beside others that both read as one."""
    if mark.kind == "reh":
        return False
    for other in settled:
        white = (_BESIDE if other.kind == mark.kind == "dynam" else _WORD) * sheet.space
        around = Rect(mark.rect.left - white, mark.rect.top, mark.rect.right + white, mark.rect.bottom)
        if other.kind in WORDS | {"dynam"} and around.meets(other.rect):
            return True
    return False


def _beside(mark: MovableSign, sheet: Sheet, settled: list[MovableSign]) -> bool:
    """Set a dynamic that stands on another one right of it, as "sf p" is written."""
    under = [it for it in settled if it.kind == mark.kind == "dynam" and it.rect.meets(mark.rect)]
    if not under:
        return False
    dx = max(it.rect.right for it in under) + _BESIDE * sheet.space - mark.rect.left
    if dx > _ASIDE * sheet.space or sheet.hits(mark.rect.moved(dx), settled):
        return False
    mark.move(dx)
    return True


def bring_near(sheet: Sheet) -> None:
    """Set words that a stack of fingers has driven far from the staff beside the stack."""
    for words in sheet.of(*WORDS):
        top, _ = sheet.staff(words)
        if not sheet.above(words) or top - words.rect.bottom < _FAR * sheet.space:
            continue
        others = sheet.but(words)
        best, dx, y = words.rect.top, 0.0, words.rect.top
        for half_spaces in range(int(2 * _ASIDE) + 1):
            aside = half_spaces * sheet.space / 2
            there = clear_top(words.rect.moved(aside), words, sheet, others)
            if there - aside * _WORTH > best + 0.01:
                best, dx, y = there - aside * _WORTH, aside, there
        words.move(dx, y - words.rect.top)
