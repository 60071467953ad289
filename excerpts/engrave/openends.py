"""Ties, slurs and hairpins that the cut left open, drawn up to the edge of the excerpt.

A curve that leaves the excerpt ends at its last barline, one that comes in begins behind clef and key, as
a copyist breaks it at the end of a line. They are shaped like the engraver's own.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from fontTools.misc.transform import Transform

from excerpts.engrave.places import BarPlace, NotePlace
from excerpts.engrave.svg.ink import Ink, Owner, Paint, heights
from excerpts.engrave.svg.paths import Outline, polyline
from excerpts.engrave.svg.rect import Rect, union
from excerpts.excerpt import OpenEnd

_HEAD = frozenset({"notehead", "accid", "dots"})
_NOTE_INK = frozenset({"notehead", "stem", "flag", "beam", "accid", "artic", "dots", "rest", "ledgerLines"})
_SIGNS = frozenset({"clef", "keySig", "keyAccid", "meterSig"})
_FULL_HAIRPIN = 1.0
"""Opening of a hairpin, in staff spaces."""
_PART_HAIRPIN = 0.4
"""Opening of a hairpin where the edge cuts it, in staff spaces."""


@dataclass(frozen=True, slots=True)
class StaffLine:
    """One system, as far as open ends need it.

    Attributes:
        bars: Its bars.
        notes: Its notes by their ids.
        inks: Its ink.
        staves: Top and bottom of each staff.
    """

    bars: list[BarPlace]
    notes: dict[str, NotePlace]
    inks: list[Ink]
    staves: list[tuple[float, float]]

    @property
    def space(self) -> float:
        """One staff space in millimetres."""
        top, bottom = self.staves[0]
        return (bottom - top) / 4

    @property
    def start(self) -> float:
        """Where the music begins behind clef, key and time."""
        bar = self.bars[0]
        notes = [note.rect.left for note in self.notes.values() if note.bar == bar.bar and note.pitch]
        limit = min(notes, default=(bar.left + bar.right) / 2)
        ends = [i.rect.right for i in self.inks if i.owner.kind in _SIGNS and i.rect.right <= limit + 0.1]
        return max(ends, default=bar.left) + 0.1 * self.space

    @property
    def end(self) -> float:
        """Where the last barline stands."""
        return self.bars[-1].right - 0.1

    def around(self, staff: int) -> StaffLine:
        """What belongs to one staff: its notes, and the ink that is nearer to it than to another staff."""
        if len(self.staves) == 1:
            return self
        index = min(staff, len(self.staves)) - 1
        high = self._middle(index - 1) if index > 0 else -inf
        low = self._middle(index) if index + 1 < len(self.staves) else inf
        notes = {ident: note for ident, note in self.notes.items() if note.staff == staff}
        inks = [ink for ink in self.inks if high < (ink.rect.top + ink.rect.bottom) / 2 < low]
        return StaffLine(self.bars, notes, inks, self.staves)

    def _middle(self, index: int) -> float:
        """The height between a staff and the one under it."""
        return (self.staves[index][1] + self.staves[index + 1][0]) / 2

    def staff(self, number: int) -> tuple[float, float]:
        """Top and bottom of a staff, from 1."""
        return self.staves[min(number, len(self.staves)) - 1]


def open_inks(open_ends: tuple[OpenEnd, ...], line: StaffLine) -> list[Ink]:
    """Draw what of the open ends shows on one system."""
    inks: list[Ink] = []
    for end in open_ends:
        draw = {"hairpin": _hairpin, "tie": _tie, "slur": _slur}[end.kind]
        inks.extend(draw(end, line.around(end.staff)))
    return inks


def _find(end: OpenEnd, line: StaffLine) -> tuple[str, NotePlace] | None:
    """The note that an open end hangs on, if it stands on this system."""
    candidates = [
        (ident, note)
        for ident, note in line.notes.items()
        if note.bar == end.at.bar and note.onset == end.at.onset and note.staff == end.staff and note.pitch
    ]
    exact = [item for item in candidates if item[1].pitch == end.pitch and item[1].voice == end.voice]
    same = [item for item in candidates if item[1].pitch == end.pitch]
    return next(iter(exact or same or candidates), None)


def _parts(ident: str, line: StaffLine, kinds: frozenset[str]) -> list[Ink]:
    return [ink for ink in line.inks if ink.owner.note == ident and ink.owner.kind in kinds]


def _above(ident: str, note: NotePlace, line: StaffLine, detail: str) -> bool:
    """Whether an arc at a note lies above: as the source says, outside a chord, else opposite the stem."""
    if detail in {"above", "below"}:
        return detail == "above"
    chord = [
        n for n in line.notes.values() if (n.bar, n.onset, n.voice) == (note.bar, note.onset, note.voice)
    ]
    middle = (note.head.top + note.head.bottom) / 2
    if len(chord) > 1:
        return middle <= sum((n.head.top + n.head.bottom) / 2 for n in chord) / len(chord)
    stems = _parts(ident, line, frozenset({"stem"}))
    if stems:
        return stems[0].rect.bottom > note.head.bottom + 0.5 * line.space
    top, bottom = line.staff(note.staff)
    return middle <= (top + bottom) / 2 + 0.1


def _tie(end: OpenEnd, line: StaffLine) -> list[Ink]:
    anchor = _find(end, line)
    if anchor is None:
        return []
    ident, note = anchor
    space = line.space
    rects = [ink.rect for ink in _parts(ident, line, _HEAD)]
    if end.edge == "start":
        x1 = min(rect.left for rect in rects) - 0.15 * space
        x0 = min(max(line.start, x1 - 5 * space), x1 - 1.1 * space)
    else:
        x0 = max(rect.right for rect in rects) + 0.15 * space
        x1 = max(line.end, x0 + 1.3 * space)
    side = 1 if _above(ident, note, line, end.detail) else -1
    y = (note.head.top + note.head.bottom) / 2 - side * 0.35 * space
    rise = side * space * min(1.0, 0.3 + 0.06 * (x1 - x0) / space)
    owner = Owner(note.bar, "tie", ident)
    return [Arc(x0, y, x1, y, rise).ink(owner, 4 * space)]


def _slur(end: OpenEnd, line: StaffLine) -> list[Ink]:
    first, last = line.bars[0].bar, line.bars[-1].bar
    passes = end.at.bar < first if end.edge == "end" else end.at.bar > last
    anchor = _find(end, line)
    if anchor is None and not passes:
        return []
    x0, x1 = line.start, line.end
    side = 1 if end.detail != "below" else -1
    if anchor is not None:
        ident, note = anchor
        middle = (note.head.left + note.head.right) / 2
        x0, x1 = (x0, middle) if end.edge == "start" else (middle, x1)
        side = 1 if _above(ident, note, line, end.detail) else -1
    if x1 - x0 < 1.5 * line.space:
        x0, x1 = (x1 - 1.5 * line.space, x1) if end.edge == "start" else (x0, x0 + 1.5 * line.space)
    bar = end.at.bar if anchor is not None else first
    free = (anchor is None or end.edge == "start", anchor is None or end.edge == "end")
    arc = _over(x0, x1, side, end.staff, free, line)
    return [arc.ink(Owner(bar, "slur", "", "", passes), 4 * line.space)]


def _over(x0: float, x1: float, side: int, staff: int, free: tuple[bool, bool], line: StaffLine) -> Arc:
    """An arc that clears all notes between two x, above them (side 1) or below (side -1).

    An end that is free stands at the edge of a system and not at a note.
    """
    space = line.space
    top, bottom = line.staff(staff)
    rects = [
        ink.rect
        for ink in line.inks
        if ink.owner.kind in _NOTE_INK
        and top - 7 * space < (ink.rect.top + ink.rect.bottom) / 2 < bottom + 7 * space
        and ink.rect.right > x0 - space
        and ink.rect.left < x1 + space
    ]

    def level(x: float, reach: float) -> float:
        near = [rect for rect in rects if rect.left < x + reach and rect.right > x - reach]
        if not near:
            return top if side > 0 else bottom
        ends = [rect.top if side > 0 else rect.bottom for rect in near]
        return (min(ends) if side > 0 else max(ends)) - side * 0.4 * space

    # A free end has no note under it: it takes its height from the notes next to the edge.
    y0, y1 = (level(x, (4.0 if is_free else 0.7) * space) for x, is_free in zip((x0, x1), free, strict=True))
    rise = side * space * min(1.6, 0.5 + 0.05 * (x1 - x0) / space)
    arc = Arc(x0, y0, x1, y1, rise)
    for _ in range(24):
        if all(_clears(arc, rect, side, 0.25 * space) for rect in rects):
            break
        arc = Arc(x0, y0, x1, y1, arc.rise + side * 0.35 * space)
    return arc


def _clears(arc: Arc, rect: Rect, side: int, white: float) -> bool:
    xs = [x for x in (rect.left, (rect.left + rect.right) / 2, rect.right) if arc.x0 + 0.8 < x < arc.x1 - 0.8]
    edge = rect.top if side > 0 else rect.bottom
    return all(side * (edge - arc.at(x)) >= white for x in xs)


def _hairpin(end: OpenEnd, line: StaffLine) -> list[Ink]:
    """The part of an open hairpin on one system: below the notes, closed only at its own point."""
    first, last = line.bars[0].bar, line.bars[-1].bar
    here = first <= end.at.bar <= last
    passes = end.at.bar < first if end.edge == "end" else end.at.bar > last
    if not here and not passes:
        return []
    space = line.space
    x0, x1 = line.start, line.end - 0.3 * space
    point, middle = _hairpin_point(end, line) if here else (0.0, None)
    if here:
        x0, x1 = (x0, point) if end.edge == "start" else (point, x1)
    x0, x1 = _between_dynamics(x0, x1, end, line)
    if x1 - x0 < 2 * space:
        return []
    wide, narrow = _FULL_HAIRPIN * space, _PART_HAIRPIN * space
    grows = end.detail != "diminuendo"
    open0, open1 = (narrow, wide) if grows else (wide, narrow)
    if here and end.edge == "end" and grows:
        open0, open1 = 0.0, wide
    elif here and end.edge == "start" and not grows:
        open0, open1 = wide, 0.0
    _, bottom = line.staff(end.staff)
    under = [ink for ink in line.inks if ink.owner.kind not in {"dynam", "barLine", "staff"}]
    low = heights(under, x0, x1)
    y = max(bottom + 1.8 * space, (low[1] if low else bottom) + 0.9 * space, middle or 0.0)
    return hairpin(x0, open0, x1, open1, y, Owner(end.at.bar, "hairpin", "", "", passes), 4 * space)


def _between_dynamics(x0: float, x1: float, end: OpenEnd, line: StaffLine) -> tuple[float, float]:
    """A dynamic on the way ends a hairpin towards the edge, and begins one that comes from there."""
    signs = [ink.rect for ink in line.inks if ink.owner.kind == "dynam"]
    inside = [r for r in signs if x0 + line.space < (r.left + r.right) / 2 < x1 - line.space]
    if not inside:
        return x0, x1
    if end.edge == "end":
        return x0, min(r.left for r in inside) - 0.4 * line.space
    return max(r.right for r in inside) + 0.4 * line.space, x1


def _hairpin_point(end: OpenEnd, line: StaffLine) -> tuple[float, float | None]:
    """Where a hairpin begins or stops, clear of a dynamic that stands there, and that dynamic's height."""
    bar = next(place for place in line.bars if place.bar == end.at.bar)
    heads = [n.head.left for n in line.notes.values() if n.bar == bar.bar and n.onset >= end.at.onset]
    x = min(heads, default=bar.right - 0.3 * line.space)
    signs = [ink.rect for ink in line.inks if ink.owner.kind == "dynam" and ink.owner.bar == bar.bar]
    near = [r for r in signs if r.left - line.space < x < r.right + 1.5 * line.space]
    if not near:
        return x, None
    rect = union(near)
    middle = (rect.top + rect.bottom) / 2
    return (rect.right + 0.4 * line.space if end.edge == "end" else rect.left - 0.4 * line.space), middle


_STROKE = 9 / 720
"""Stroke round an arc, in staff heights, as the engraver's ties have."""
_THICK = 0.055
"""How far the outer curve of an arc lies outside the inner, in staff heights."""
_HAIRPIN_STROKE = 18 / 720


@dataclass(frozen=True, slots=True)
class Arc:
    """A tie or slur as a lens between two points.

    Attributes:
        x0: Left end, in millimetres.
        y0: Height of the left end.
        x1: Right end.
        y1: Height of the right end.
        rise: How far it bulges: upwards if positive.
    """

    x0: float
    y0: float
    x1: float
    y1: float
    rise: float

    def at(self, x: float) -> float:
        """Height of the inner curve at an x (the handles stand at a quarter, so x is nearly even)."""
        t = min(1.0, max(0.0, (x - self.x0) / (self.x1 - self.x0)))
        return self.y0 + t * (self.y1 - self.y0) - self.rise * 3 * t * (1 - t)

    def ink(self, owner: Owner, staff_mm: float) -> Ink:
        """The arc as ink."""
        outline = self._outline(_THICK * staff_mm * (1 if self.rise > 0 else -1))
        return Ink(outline, Transform(), owner, Paint(stroke=_STROKE * staff_mm, cap="round"))

    def _outline(self, thick: float) -> Outline:
        a, b = self.x0 + 0.25 * (self.x1 - self.x0), self.x1 - 0.25 * (self.x1 - self.x0)
        ya = self.y0 + 0.25 * (self.y1 - self.y0) - self.rise
        yb = self.y1 - 0.25 * (self.y1 - self.y0) - self.rise
        return Outline(
            (
                ("M", (self.x0, self.y0)),
                ("C", (a, ya - thick, b, yb - thick, self.x1, self.y1)),
                ("C", (b, yb, a, ya, self.x0, self.y0)),
                ("Z", ()),
            )
        )


def hairpin(
    x0: float, open0: float, x1: float, open1: float, y: float, owner: Owner, staff_mm: float
) -> list[Ink]:
    """Two lines round the height `y`, `open0` apart on the left and `open1` on the right."""
    paint = Paint(fill=False, stroke=_HAIRPIN_STROKE * staff_mm, cap="square")
    return [
        Ink(polyline([(x0, y + side * open0 / 2), (x1, y + side * open1 / 2)]), Transform(), owner, paint)
        for side in (-1, 1)
    ]
