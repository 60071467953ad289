"""What is seen on a page: its systems and barlines, where a line's clef and key end, and where one may cut."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np

from excerpts.paper.barlines import System, leaning, levelled, systems
from excerpts.paper.cut_paths import Path, white_path
from excerpts.paper.page_staff import Straight
from excerpts.paper.sheet import Sheet
from excerpts.paper.staves import straightened
from excerpts.paper.value import PageSeen, SystemSeen

_FAR: Final = 5.5
"""Staff spaces over or under a system where it is cut, where there is room."""
_FARTHEST: Final = 9.0
_NEAREST: Final = 0.4
_CLEF: Final = 3.2
"""Staff spaces that a clef takes from the beginning of a line."""
_KEY: Final = 13.0
"""Staff spaces that clef, seven accidentals and a time signature take at most."""
_WHITE: Final = 1.2
"""Staff spaces of white that come after them."""
_BRACE: Final = 3.5
"""Staff spaces before a line in which its brace and its bar number stand at most."""
_OFF: Final = 0.5
"""Staff spaces of white between them and what else stands in front, as a name."""
LEAST_DPI: Final = 150
"""Dots an inch below which barlines are not counted unseen."""


@dataclass(frozen=True)
class Looked:
    """A page that was looked at.

    Attributes:
        page: The page turned straight.
        systems: What stands on it.
        per_mm: Pixels of the straight page to a millimetre.
        dpi: Dots an inch that the file has; None where it is drawn.
        grey: It is a photo, or a scan in greys.
    """

    page: Straight
    systems: tuple[System, ...]
    per_mm: float
    dpi: float | None
    grey: bool

    def on_page(self, x: float, y: float) -> tuple[float, float]:
        """Where a pixel of the straight page stands on the page as it is shown, in millimetres."""
        there = self.page.back(x, y)
        return there[0] * self.page.scale / self.per_mm, there[1] * self.page.scale / self.per_mm

    def from_page(self, x: float, y: float) -> tuple[float, float]:
        """The pixel of the straight page for a place in millimetres."""
        scale = self.per_mm / self.page.scale
        return self.page.turned(x * scale, y * scale)

    def over(self, place: int) -> Path:
        """Where the page is cut above a system."""
        system = self.systems[place]
        before = self.systems[place - 1] if place else None
        top = min(
            staff.top_at(x) for staff in system.staves[:1] for x in (staff.left, staff.middle, staff.right)
        )
        floor = _bottom(before) if before else 0.0
        if floor >= top:  # beside one another
            floor = 0.0
        space = system.space
        low = max(floor + _NEAREST * space, top - _FARTHEST * space)
        wanted = max((floor + top) / 2 if before else 0.0, top - _FAR * space)
        return white_path(self.page.ink, *_reach(system), low, top - _NEAREST * space, wanted)

    def under(self, place: int) -> Path:
        """Where the page is cut below a system."""
        system = self.systems[place]
        after = self.systems[place + 1] if place + 1 < len(self.systems) else None
        bottom, space = _bottom(system), system.space
        ceiling = float(self.page.dark.shape[0])
        if after:
            first = after.staves[0]
            ceiling = min(first.top_at(x) for x in (first.left, first.middle, first.right))
        if ceiling <= bottom:
            ceiling = float(self.page.dark.shape[0])
        high = min(ceiling - _NEAREST * space, bottom + _FARTHEST * space)
        wanted = min((ceiling + bottom) / 2 if after else ceiling, bottom + _FAR * space)
        return white_path(self.page.ink, *_reach(system), bottom + _NEAREST * space, high, wanted)

    @cached_property
    def _lead_ends(self) -> list[float | None]:
        return [_lead_end(self.page, one) for one in self.systems]

    def lead_end(self, system: System) -> float:
        """Where clef and key at the beginning of a system end; where its first note stands close, as in the others."""
        ends = self._lead_ends
        known = [end for end in ends if end is not None]
        usual = float(np.median(known)) if known else _CLEF * system.space
        own = ends[self.systems.index(system)]
        return system.left + (usual if own is None or own > usual + system.space / 2 else own)

    def begin(self, system: System) -> tuple[float, bool]:
        """Where brace, bracket and bar number in front of a system begin, and whether the number is all there.

        It is not where a name stands under it.
        """
        top, space = system.staves[0].top_at(system.left), system.space
        bottom = system.staves[-1].bottom_at(system.left)
        beside = self._begin(system, top - _NEAREST * space, bottom + space)
        number = self._begin(system, top - 4 * space, top - _NEAREST * space)
        if number >= beside:
            return beside, True
        left = round(number)
        rows = slice(max(round(top - _NEAREST * space), 0), round(bottom + space))
        named = bool(self.page.ink[rows, left : round(beside)].any())
        return (beside, False) if named else (number, True)

    def _begin(self, system: System, top: float, bottom: float) -> float:
        """Where the ink in front of a system begins that stands close to it, between two heights."""
        space = system.space
        left, right = (round(system.left - step * space) for step in (_BRACE, -_NEAREST))
        rows = slice(max(round(top), 0), max(round(bottom), 0))
        white = np.r_[np.full(max(-left, 0), True), ~self.page.ink[rows, max(left, 0) : right].any(axis=0)]
        size = max(round(_OFF * space), 1)
        gaps = np.flatnonzero(np.convolve(white, np.ones(size), mode="valid") > size - 0.5)
        ends = gaps[gaps + size <= round((_BRACE + _NEAREST / 2) * space)]
        return min(float(left + ends[-1] + size // 2), system.left) if ends.size else system.left - size

    def over_clef(self, system: System, right: float) -> Path:
        """Where a line's clef and key are cut from the bar number that stands over them."""
        top, space = system.staves[0].top_at(system.left), system.space
        low, high = max(top - 4 * space, 0.0), top - space / 8
        return white_path(self.page.ink, system.left - _OFF * space, right, low, high, top - space / 2)


def _lead_end(page: Straight, system: System) -> float | None:
    """How far clef and key reach from the beginning of a system, to the first wide white; None where there is none."""
    space = system.space
    dark = np.zeros(round(_KEY * space), bool)
    for staff in system.staves:
        band = levelled(page.ink, staff, system)
        rows = np.arange(band.shape[1]) / 12 - 1
        between = np.abs(rows - np.rint(rows)) > 0.2
        columns = band[: dark.size, between].any(axis=1)
        dark[: columns.size] |= columns
    gap = round(_WHITE * space)
    for at in range(round(2.0 * space), dark.size - gap):
        if not dark[at : at + gap].any():
            return at + 0.35 * gap
    return None


def _bottom(system: System) -> float:
    last = system.staves[-1]
    return max(last.bottom_at(x) for x in (last.left, last.middle, last.right))


def _reach(system: System) -> tuple[float, float]:
    return system.left - 1.5 * system.space, system.right + 1.5 * system.space


def look(sheet: Sheet) -> Looked:
    """Look at a page."""
    greys = sheet.greys()
    page = straightened(greys)
    per_mm = greys.shape[1] / sheet.width_mm * page.scale
    return Looked(page, tuple(systems(page)), per_mm, sheet.dpi, sheet.grey)


def seen(sheet: Sheet, looked: Looked) -> PageSeen:
    """What is seen on a page, in millimetres of the page as it is shown."""
    return PageSeen(
        sheet.width_mm, sheet.height_mm, looked.dpi, looked.grey,
        tuple(_seen(looked, system) for system in looked.systems),
    )  # fmt: skip


def _seen(looked: Looked, system: System) -> SystemSeen:
    staves = []
    for staff in system.staves:
        corners = [
            looked.on_page(x, y)
            for x in (staff.left, staff.right)
            for y in (staff.top_at(x), staff.bottom_at(x))
        ]
        (xs, ys) = zip(*corners, strict=True)
        staves.append((min(xs), min(ys), max(xs), max(ys)))
    lines = [_upright(looked, system, x) for x in ((a + b) / 2 for a, b in system.edges)]
    doubts = [_upright(looked, system, x) for x in system.unsure]
    height = 4 * float(np.median([staff.space for staff in system.staves])) / looked.per_mm
    return SystemSeen(tuple(staves), round(height, 3), tuple(lines), tuple(doubts))


def _upright(looked: Looked, system: System, x: float) -> tuple[float, float, float, float]:
    """An upright line of a system: its upper and its lower end."""
    top, last = system.staves[0], system.staves[-1]
    down = last.bottom_at(x) - top.top_at(x)
    upper = looked.on_page(x, top.top_at(x))
    lower = looked.on_page(x + leaning(system, x) * down, last.bottom_at(x))
    return (round(upper[0], 2), round(upper[1], 2), round(lower[0], 2), round(lower[1], 2))
