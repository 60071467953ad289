"""What is wrong on an engraved page, found in the geometry of its ink.

The tolerance is 0.2 mm unless said: what overlaps by less is not seen at reading distance.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import combinations

from excerpts.engrave import Engraving, Rect, Style, System
from excerpts.engrave.engraving import _draw
from excerpts.engrave.prepare import prepare
from excerpts.engrave.svg.ink import Ink
from excerpts.engrave.svg.rect import union
from excerpts.excerpt import Excerpt

TOLERANCE = 0.2
TEXT = frozenset({"dir", "tempo", "dynam", "reh", "fing", "string", "harm", "syl", "repeatMark"})
_MAY_CROSS_SIDES = frozenset({"staff", "barLine", "ledgerLines", "grpSym", "system"})
_OURS = frozenset({"box", "label"})


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong.

    Attributes:
        kind: "line through ink", "side through sign", "broken side", "label on ink", "text on text",
            "text on note" or "outside the picture".
        system: Index of the system.
        what: The kinds of the things that meet.
        at: Where, in millimetres.
    """

    kind: str
    system: int
    what: str
    at: Rect


def audit(engraving: Engraving) -> list[Fault]:
    """All faults of an engraving."""
    faults: list[Fault] = []
    for index, system in enumerate(engraving.systems):
        music = [c.ink for c in system.drawing.inks if c.ink.owner.kind not in _OURS]
        found = [*_box_faults(system, music), *_label_faults(system, music), *text_faults(music)]
        found += _outside(system, engraving.style)
        faults.extend(Fault(kind, index, what, at) for kind, what, at in found)
    return faults


def raw_faults(excerpt: Excerpt, style: Style) -> list[Fault]:
    """The faults of text where the engraver itself sets it."""
    systems, _ = _draw(excerpt, prepare(excerpt), style)
    return [
        Fault(kind, index, what, at)
        for index, system in enumerate(systems)
        for kind, what, at in text_faults(system.inks)
    ]


def count(faults: Iterable[Fault]) -> Counter[str]:
    """How many faults there are of each kind."""
    return Counter(fault.kind for fault in faults)


Found = tuple[str, str, Rect]


def _box_faults(system: System, music: list[Ink]) -> list[Found]:
    top = system.drawing.top_mm
    found: list[Found] = []
    for box in system.boxes:
        rect = box.rect.moved(dy=top)
        for ink in music:
            reach = ink.between(rect.left + 0.05, rect.right - 0.05)
            for y in (rect.top, rect.bottom):
                if reach and reach[0] - 0.3 < y < reach[1] + 0.3:
                    found.append(("line through ink", ink.owner.kind, ink.rect))
        open_sides = ((rect.left, box.open_left), (rect.right, box.open_right))
        for x in [x for x, is_open in open_sides if not is_open]:
            found.extend(_side_faults(x, rect, system, music))
    return found


def _side_faults(x: float, rect: Rect, system: System, music: list[Ink]) -> list[Found]:
    lines = [
        c.ink.rect
        for c in system.drawing.inks
        if c.ink.owner.kind == "box" and not c.ink.paint.fill
        and c.ink.rect.left - 0.1 < x < c.ink.rect.right + 0.1
    ]  # fmt: skip
    upright = [
        line for line in lines if line.width < 0.5 and line.top < rect.bottom and line.bottom > rect.top
    ]
    signs = [i for i in music if not i.stretches and i.owner.kind not in _MAY_CROSS_SIDES]
    whole = (
        [Rect(x - 0.1, rect.top, x + 0.1, rect.bottom)]
        if any(li.width > 0.5 and li.height > 0.5 for li in lines)
        else upright
    )
    found = [
        ("side through sign", s.owner.kind, s.rect)
        for s in signs
        if any(s.rect.meets(w, 0.01) for w in whole)
    ]
    if len(upright) > 1:
        near = {s.owner.kind for s in signs if s.rect.left - 0.4 < x < s.rect.right + 0.4}
        found.append(("broken side", ", ".join(sorted(near)), rect))
    return found


def _label_faults(system: System, music: list[Ink]) -> list[Found]:
    numbers = [bar.number for bar in system.bars if bar.number]
    tags = [box.tag for box in system.boxes if box.tag]
    signs = [(i.owner.kind, i.rect.moved(dy=-system.drawing.top_mm)) for i in music if not i.stretches]
    found = [
        ("label on ink", kind, label)
        for label in [*numbers, *tags]
        for kind, rect in signs
        if label.meets(rect, 0.05)
    ]
    found += [("label on ink", "label", a) for a, b in combinations([*numbers, *tags], 2) if a.meets(b, 0.05)]
    return found


def text_faults(music: list[Ink]) -> list[Found]:
    """Texts that overlap one another, or a notehead."""
    groups: dict[tuple[str, str, str], list[Rect]] = {}
    for ink in music:
        owner = ink.owner
        if owner.kind in TEXT:
            groups.setdefault((owner.kind, owner.origin, owner.note), []).append(ink.rect)
    texts = [(key[0], union(rects)) for key, rects in groups.items()]
    heads = [ink.rect for ink in music if ink.owner.kind == "notehead"]
    found = [
        ("text on text", f"{a} and {b}", one)
        for (a, one), (b, other) in combinations(texts, 2)
        if one.meets(other, TOLERANCE)
    ]
    found += [
        ("text on note", kind, rect) for kind, rect in texts for head in heads if rect.meets(head, TOLERANCE)
    ]
    return found


def _outside(system: System, style: Style) -> list[Found]:
    page = Rect(0.0, 0.0, style.width_mm, system.height_mm)
    inks = [(c.ink.owner.kind, c.ink.rect.moved(dy=-system.drawing.top_mm)) for c in system.drawing.inks]
    return [("outside the picture", kind, rect) for kind, rect in inks if not page.holds(rect, 0.3)]
