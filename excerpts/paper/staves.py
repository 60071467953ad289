"""Finds staves on a page: how it is turned, how far its lines are apart, and where five of them stand together.

Line and space are told by the commonest run of black and the white after it (Cardoso and Rebelo 2010, from memory), the
angle by the sharpest projection, staves by a comb of five lines in upright strips that are then linked.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter

from excerpts.paper.light import paper_light
from excerpts.paper.page_staff import INK, Staff, Straight
from excerpts.paper.sheet import Greys

_STEEPEST: Final = 5.0
"""Degrees that a page may be turned."""
_STRAIGHT: Final = 1e-3
"""Radians up to which a page need not be turned: two pixels from side to side."""
_LEAST_SPACE: Final = 5.0
"""Pixels between two lines below which nothing can be told."""
_STRIPS: Final = 24
_FINE: Final = (11.0, 20.0)
"""Pixels between two lines that are enough, and not too many."""
_WANTED: Final = 14.0
_BETTER: Final = 0.01
"""How much more of its lines a bowed staff has to cover than a straight one."""
_CRISP: Final = 0.36
"""How dark thin lines are on a page that need not be made sharper: some way over what ink is."""
_CLEAR: Final = 0.5
"""How dark they are made on another."""
_FAINTEST: Final = 0.12
_BESIDE: Final = 6
_SOFT: Final = 2.0
"""Pixels within which a page is made sharper, and how much."""
_SHARPER: Final = 2.0
_LARGEST: Final = 4500
"""Pixels of a side, about, up to which a small page is enlarged."""


def straightened(greys: Greys) -> Straight:
    """Find the staves of a page; none where it has none that can be told."""
    dark, scale = _sized(_crisp((1 - greys / paper_light(greys)).clip(0, 1).astype(np.float32)))
    angle = _angle(dark > 1 - INK)
    if abs(angle) < _STRAIGHT:
        angle = 0.0  # each staff has a slope of its own besides
    else:
        turned = Image.fromarray(dark).rotate(float(np.degrees(angle)), Image.Resampling.BICUBIC)
        dark = np.asarray(turned).clip(0, 1)
    space = _space(dark > 1 - INK)
    if space < _LEAST_SPACE:
        return Straight(dark, angle, scale, ())
    staves: list[Staff] = []
    for guess in sorted(_linked(_combs(dark, space), space), key=len, reverse=True):
        if any(_within(guess, staff, dark.shape[1]) for staff in staves):
            continue
        staff = _fitted(dark, guess, space)
        if staff and not any(_overlap(staff, other) for other in staves):  # the same staff, a line off
            staves.append(staff)
    return Straight(dark, angle, scale, tuple(sorted(staves, key=lambda staff: staff.top_at(staff.left))))


def _crisp(dark: NDArray[np.float32]) -> NDArray[np.float32]:
    """A page that is out of focus, or printed faintly, made so sharp that its thin lines are ink."""
    if (line := _thin_ink(dark)) > _CRISP:
        return dark
    picture = Image.fromarray(np.rint(dark * 255).astype(np.uint8))
    soft = np.asarray(picture.filter(ImageFilter.GaussianBlur(_SOFT))) / 255
    sharp = (dark + _SHARPER * (dark - soft)).astype(np.float32)
    made: NDArray[np.float32] = (sharp * (_CLEAR / max(_thin_ink(sharp), line))).clip(0, 1)
    return made


def _thin_ink(dark: NDArray[np.float32]) -> float:
    """How dark the middles of thin level lines are: most of what is darker than what stands over and under it."""
    width = dark.shape[1] // _BESIDE
    # Pixels beside one another taken together: the grain of a photo is no line.
    columns = dark[:, : width * _BESIDE].reshape(-1, width, _BESIDE).mean(axis=2)
    middle = columns[1:-1]
    peaks = middle[(middle >= columns[:-2]) & (middle > columns[2:]) & (middle > _FAINTEST)]
    return float(np.median(peaks)) if peaks.size > 1000 else 1.0


def _sized(dark: NDArray[np.float32]) -> tuple[NDArray[np.float32], float]:
    """The page so large that its lines are told apart, and no larger; and how much it was enlarged."""
    space = _space(dark > 1 - INK)
    if space < 3 or _FINE[0] <= space <= _FINE[1]:
        return dark, 1.0
    height, width = dark.shape
    scale = min(_WANTED / space, _LARGEST / (height * width) ** 0.5)
    size = round(width * scale), round(height * scale)
    how = Image.Resampling.BICUBIC if scale > 1 else Image.Resampling.BILINEAR
    return np.asarray(Image.fromarray(dark).resize(size, how)).clip(0, 1), size[0] / width


def _within(chain: list[tuple[int, float]], staff: Staff, width: int) -> bool:
    """Whether most of a chain runs along a staff that is there."""
    near = 0
    for strip, row in chain:
        x = (strip + 0.5) * width / _STRIPS
        near += staff.left < x < staff.right and abs(row - staff.top_at(x)) < 4.5 * staff.space
    return 2 * near > len(chain)


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
    tops: list[float] = []
    for row in np.argsort(-score):
        if score[row] < least:
            break
        if all(abs(row - other) > 4.5 * space for other in tops):
            tops.append(float(row))
    return sorted(tops)


def _linked(strips: list[list[float]], space: float) -> list[list[tuple[int, float]]]:
    """Combs of neighbouring strips that go on in one line, as (strip, row)."""
    chains: list[list[tuple[int, float]]] = []
    for strip, rows in enumerate(strips):
        for row in rows:
            near = [
                (off, chain)
                for chain in chains
                if 0 < strip - chain[-1][0] <= 4 and (off := abs(_ahead(chain, strip) - row)) < 0.45 * space
            ]
            if near:
                min(near, key=lambda one: one[0])[1].append((strip, row))
            else:
                chains.append([(strip, row)])
    return [chain for chain in chains if len(chain) >= 3]


def _ahead(chain: list[tuple[int, float]], strip: int) -> float:
    """Where a chain is looked for in a strip to come."""
    (first, top), (last, row) = chain[-4:][0], chain[-1]
    slope = (row - top) / (last - first) if last > first else 0.0
    return row + slope * (strip - last)


def _fitted(dark: NDArray[np.float32], chain: list[tuple[int, float]], space: float) -> Staff | None:
    """A staff through all places where its lines stand alone: straight, or bowed where its ink follows that better."""
    width = dark.shape[1]
    at = np.array([(strip + 0.5) * width / _STRIPS for strip, _ in chain])
    tops = np.array([row for _, row in chain])
    best: tuple[float, Staff] | None = None
    for bends in (1, 4):
        curve = _curve(dark, at, tops, space, bends)
        if curve is not None:
            covered, staff = _on_its_lines(dark, curve, (float(at[0]), float(at[-1])))
            if best is None or covered > best[0] + _BETTER:
                best = covered, staff
    if best is None:
        return None
    ends = _ends(dark, best[1])
    return None if ends is None else Staff(*ends, best[1].curve, best[1].spaces)


def _curve(
    dark: NDArray[np.float32], at: NDArray[np.float64], tops: NDArray[np.float64], space: float, bends: int
) -> Staff | None:
    """A staff by least squares, from the page's left edge to its right."""
    width = dark.shape[1]
    columns = np.arange(0, width, 3)
    scaled = columns / width
    powers = scaled[:, None] ** np.arange(bends + 1)
    keep = np.ones(at.size, bool)
    for _ in range(3):
        guess = np.polynomial.Polynomial.fit(at[keep], tops[keep], min(bends, 2, int(keep.sum()) // 3))
        off = np.abs(guess(at) - tops)
        keep = off <= max(0.3 * space, float(np.median(off)))
    rows, spaces = guess(columns), np.full(columns.size, space)
    for limit in (0.3, 0.15, 0.1):
        x, k, y = _line_points(dark, columns, rows, spaces)
        if x.size < 50:
            return None
        x = x / width
        known = np.column_stack([x[:, None] ** np.arange(bends + 1), k, k * x])
        facts = _least_squares(known, y)
        near = np.abs(y - known @ facts) < limit * space
        facts = _least_squares(known[near], y[near])
        rows, spaces = powers @ facts[: bends + 1], facts[-2] + facts[-1] * scaled
    if not 0.7 * space < spaces.min() <= spaces.max() < 1.4 * space:
        return None
    curve = tuple(float(value) / width**power for power, value in enumerate(facts[:-2]))
    return Staff(0.0, float(width), curve, (float(facts[-2]), float(facts[-1]) / width))


def _least_squares(known: NDArray[np.float64], wanted: NDArray[np.float64]) -> NDArray[np.float64]:
    """The same as `lstsq`, which is slow for many points and few facts."""
    return np.asarray(np.linalg.lstsq(known.T @ known, known.T @ wanted, rcond=None)[0], dtype=np.float64)


def _on_its_lines(dark: NDArray[np.float32], staff: Staff, ends: tuple[float, float]) -> tuple[float, Staff]:
    """How much of the least of its five lines has ink, and the staff, moved by a line where it was one off."""
    columns = np.arange(int(ends[0]), int(ends[1]) + 1)
    tops, spaces = staff.tops(columns.astype(float)), staff.spaces_at(columns)
    covered = []
    for line in range(-1, 6):
        rows = np.rint(tops + line * spaces).astype(int).clip(1, dark.shape[0] - 2)
        near = np.maximum.reduce([dark[rows + step, columns] for step in (-1, 0, 1)])
        covered.append(float((near > 0.3).mean()))
    by_shift = {shift: min(covered[1 + shift : 6 + shift]) for shift in (0, -1, 1)}
    shift = max(by_shift, key=lambda one: by_shift[one])
    curve = (staff.curve[0] + shift * staff.spaces[0], staff.curve[1] + shift * staff.spaces[1])
    return by_shift[shift], Staff(staff.left, staff.right, (*curve, *staff.curve[2:]), staff.spaces)


def _line_points(
    dark: NDArray[np.float32],
    columns: NDArray[np.int_],
    tops: NDArray[np.float64],
    spaces: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Middles of lines by their darkness: column, which line, row; where something touches a line there is none."""
    space = float(np.median(spaces))
    reach = max(int(0.35 * space), 2)
    steps = np.arange(-reach, reach + 1)
    points: list[tuple[NDArray[np.float64], ...]] = []
    for line in range(5):
        rows = np.rint(tops + line * spaces).astype(int)
        inside = (rows > reach) & (rows < dark.shape[0] - reach - 1)
        x, y = columns[inside], rows[inside]
        window = dark[y[:, None] + steps, x[:, None]]
        weight = window.sum(axis=1)
        alone = (window[:, 0] + window[:, -1] < 0.15) & (weight > 0.35) & (weight < 0.6 * space)
        middle = y[alone] + (window[alone] * steps).sum(axis=1) / weight[alone]
        points.append((x[alone].astype(float), np.full(int(alone.sum()), float(line)), middle))
    x, k, y = (np.concatenate(parts) for parts in zip(*points, strict=True))
    return x, k, y


def _ends(dark: NDArray[np.float32], staff: Staff) -> tuple[float, float] | None:
    """Where at least four of the five lines begin and end."""
    height, width = dark.shape
    columns = np.arange(width)
    tops, spaces = staff.tops(columns.astype(float)), staff.spaces_at(columns)
    lines = np.zeros(width)
    for line in range(5):
        rows = np.rint(tops + line * spaces).astype(int).clip(1, height - 2)
        lines += np.maximum.reduce([dark[rows + step, columns] for step in (-1, 0, 1)]) > 0.3
    size = max(int(staff.space), 3)
    there = np.convolve(lines >= 4, np.ones(size) / size, mode="same") > 0.6
    whole = np.flatnonzero(there)
    if whole.size < 4 * staff.space:
        return None
    return float(whole[0]) - 0.1 * size, float(whole[-1]) + 0.1 * size
