"""Finds staves on a page: how it is turned, how far its lines are apart, and where five of them stand together.

Line and space are told by the commonest run of black and the white after it (Cardoso and Rebelo 2010, from memory), the
angle by the sharpest projection, staves by a comb of five lines in upright strips that are then linked.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from excerpts.paper.light import paper_light
from excerpts.paper.sheet import Greys

_INK: Final = 0.72
"""What is darker than so much of its paper is ink."""
_STEEPEST: Final = 5.0
"""Degrees that a page may be turned."""
_STRAIGHT: Final = 1e-3
"""Radians up to which a page need not be turned: two pixels from side to side."""
_LEAST_SPACE: Final = 5.0
"""Pixels between two lines below which nothing can be told."""
_STRIPS: Final = 24


@dataclass(frozen=True, slots=True)
class Staff:
    """Five lines on the page turned straight; all in pixels.

    Attributes:
        left: Where its lines begin.
        right: Where they end.
        top: Middle of its top line at the page's left edge.
        slope: How far it still runs down to the right, for each pixel.
        space: From the middle of a line to the middle of the next.
    """

    left: float
    right: float
    top: float
    slope: float
    space: float

    def top_at(self, x: float) -> float:
        """The middle of the top line at a place."""
        return self.top + self.slope * x

    def bottom_at(self, x: float) -> float:
        """The middle of the bottom line at a place."""
        return self.top_at(x) + 4 * self.space


@dataclass(frozen=True, slots=True)
class Straight:
    """A page turned straight about its middle.

    Attributes:
        dark: How dark each pixel is against its paper, 0 to 1.
        angle: How far its lines ran down to the right, in radians.
        staves: Its staves, from the top.
    """

    dark: NDArray[np.float32]
    angle: float
    staves: tuple[Staff, ...]

    @property
    def ink(self) -> NDArray[np.bool_]:
        """Where there is ink."""
        return self.dark > 1 - _INK


def straightened(greys: Greys) -> Straight:
    """Find the staves of a page; none where it has none that can be told."""
    dark = (1 - greys / paper_light(greys)).clip(0, 1).astype(np.float32)
    angle = _angle(dark > 1 - _INK)
    if abs(angle) < _STRAIGHT:
        angle = 0.0  # each staff has a slope of its own besides
    else:
        turned = Image.fromarray(dark).rotate(float(np.degrees(angle)), Image.Resampling.BICUBIC)
        dark = np.asarray(turned).clip(0, 1)
    space = _space(dark > 1 - _INK)
    if space < _LEAST_SPACE:
        return Straight(dark, angle, ())
    staves: list[Staff] = []
    for guess in sorted(_linked(_combs(dark, space), space), key=len, reverse=True):
        staff = _fitted(dark, guess, space)
        if staff and not any(_overlap(staff, other) for other in staves):  # the same staff, a line off
            staves.append(staff)
    return Straight(dark, angle, tuple(sorted(staves, key=lambda staff: staff.top_at(staff.left))))


def _overlap(staff: Staff, other: Staff) -> bool:
    x = max(staff.left, other.left)
    return x < min(staff.right, other.right) and abs(staff.top_at(x) - other.top_at(x)) < 4.5 * other.space


def _angle(ink: NDArray[np.bool_]) -> float:
    """The angle at which rows of ink are sharpest."""
    width = ink.shape[1]
    edges = np.linspace(0, width, 2 * _STRIPS + 1).astype(int)
    strips = np.add.reduceat(ink.astype(np.int32), edges[:-1], axis=1).T
    middles = (edges[:-1] + edges[1:]) / 2 - width / 2

    def sharpness(degrees: float) -> float:
        rows = np.rint(middles * np.tan(np.radians(degrees))).astype(int)
        summed = sum(np.roll(strip, -row) for strip, row in zip(strips, rows, strict=True))
        return float((np.asarray(summed, dtype=float) ** 2).sum())

    best = 0.0
    for reach, step in ((_STEEPEST, 0.2), (0.2, 0.02)):
        tries = np.arange(best - reach, best + reach + step / 2, step)
        scores = [sharpness(degrees) for degrees in tries]
        best = float(tries[int(np.argmax(scores))])
    return float(np.radians(best))


def _space(ink: NDArray[np.bool_]) -> float:
    """Pixels from line to line: the commonest length of a run of black with the white after it."""
    columns = np.pad(ink[:, ::3], ((1, 1), (0, 0))).T
    changes = np.diff(columns.astype(np.int8), axis=1).ravel()
    starts = np.flatnonzero(changes == 1)
    lengths = np.diff(starts)
    lengths = lengths[lengths < 80]
    if lengths.size < 50:
        return 0.0
    counts = np.bincount(lengths, minlength=81).astype(float)
    smooth = np.convolve(counts, (0.5, 1, 0.5), mode="same")
    smooth[: int(_LEAST_SPACE)] = 0
    at = int(np.argmax(smooth))
    near = slice(max(at - 1, 0), at + 2)
    return float((np.arange(81)[near] * counts[near]).sum() / max(counts[near].sum(), 1))


def _combs(dark: NDArray[np.float32], space: float) -> list[list[float]]:
    """In each upright strip the rows where a top line begins a comb of five."""
    edges = np.linspace(0, dark.shape[1], _STRIPS + 1).astype(int)
    return [_comb(dark[:, a:b].mean(axis=1), space) for a, b in zip(edges, edges[1:], strict=False)]


def _comb(rows: NDArray[np.float32], space: float) -> list[float]:
    """The tops of combs in one strip."""
    wide = np.maximum(rows, np.maximum(np.roll(rows, 1), np.roll(rows, -1)))
    reach = int(5 * space) + 2
    if rows.size < 2 * reach:
        return []
    size = rows.size - reach
    lines = np.array([wide[round(k * space) : round(k * space) + size] for k in range(5)])
    gaps = np.array([rows[round((k + 0.5) * space) : round((k + 0.5) * space) + size] for k in range(4)])
    outside = np.roll(rows, round(space))[:size], rows[round(5 * space) : round(5 * space) + size]
    score = lines.min(axis=0) - np.median(gaps, axis=0)
    score -= 0.5 * np.minimum(*outside)  # a sixth line: the comb is one off
    least = max(0.15, 0.4 * float(score.max()))
    found: list[float] = []
    for row in np.argsort(-score):
        if score[row] < least:
            break
        if all(abs(row - other) > 4.5 * space for other in found):
            found.append(float(row))
    return sorted(found)


def _linked(strips: list[list[float]], space: float) -> list[list[tuple[int, float]]]:
    """Combs of neighbouring strips at nearly the same height, as (strip, row)."""
    chains: list[list[tuple[int, float]]] = []
    for strip, rows in enumerate(strips):
        for row in rows:
            near = [
                chain
                for chain in chains
                if 0 < strip - chain[-1][0] <= 4 and abs(chain[-1][1] - row) < 0.45 * space
            ]
            if near:
                min(near, key=lambda chain: abs(chain[-1][1] - row)).append((strip, row))
            else:
                chains.append([(strip, row)])
    return [chain for chain in chains if len(chain) >= 3]


def _fitted(dark: NDArray[np.float32], chain: list[tuple[int, float]], space: float) -> Staff | None:
    """A staff by least squares through all places where its lines stand alone."""
    height, width = dark.shape
    at = np.array([(strip + 0.5) * width / _STRIPS for strip, _ in chain])
    tops = np.array([row for _, row in chain])
    slope, top = np.polyfit(at, tops, 1)
    columns = np.arange(width)
    for _ in range(3):
        x, k, y = _line_points(dark, columns, top + slope * columns, space)
        if x.size < 100:
            return None
        facts = np.column_stack([np.ones_like(x), x, k])
        off = np.zeros_like(y)
        for limit in (0.3, 0.1):
            keep = np.abs(off) < limit * space
            top, slope, space = np.linalg.lstsq(facts[keep], y[keep], rcond=None)[0]
            off = y - facts @ np.array([top, slope, space])
    found = Staff(0.0, float(width), float(top), float(slope), float(space))
    ends = _ends(dark, found)
    return None if ends is None else Staff(*ends, found.top, found.slope, found.space)


def _line_points(
    dark: NDArray[np.float32], columns: NDArray[np.int_], tops: NDArray[np.float64], space: float
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Middles of lines by their darkness: column, which line, row; where something touches a line there is none."""
    reach = max(int(0.35 * space), 2)
    steps = np.arange(-reach, reach + 1)
    found: list[tuple[NDArray[np.float64], ...]] = []
    for line in range(5):
        rows = np.rint(tops + line * space).astype(int)
        inside = (rows > reach) & (rows < dark.shape[0] - reach - 1)
        x, y = columns[inside], rows[inside]
        window = dark[y[:, None] + steps, x[:, None]]
        weight = window.sum(axis=1)
        alone = (window[:, 0] + window[:, -1] < 0.15) & (weight > 0.35) & (weight < 0.6 * space)
        middle = y[alone] + (window[alone] * steps).sum(axis=1) / weight[alone]
        found.append((x[alone].astype(float), np.full(int(alone.sum()), float(line)), middle))
    x, k, y = (np.concatenate(parts) for parts in zip(*found, strict=True))
    return x, k, y


def _ends(dark: NDArray[np.float32], staff: Staff) -> tuple[float, float] | None:
    """Where at least four of the five lines begin and end."""
    height, width = dark.shape
    columns = np.arange(width)
    lines = np.zeros(width)
    for line in range(5):
        rows = np.rint(staff.top + staff.slope * columns + line * staff.space).astype(int).clip(1, height - 2)
        lines += np.maximum.reduce([dark[rows + step, columns] for step in (-1, 0, 1)]) > 0.3
    size = max(int(staff.space), 3)
    there = np.convolve(lines >= 4, np.ones(size) / size, mode="same") > 0.6
    found = np.flatnonzero(there)
    if found.size < 4 * staff.space:
        return None
    return float(found[0]) - 0.1 * size, float(found[-1]) + 0.1 * size
