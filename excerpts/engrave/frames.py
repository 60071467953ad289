"""Frames round words are as wide as the words: the engraver reckons with the widths of another text face."""

from __future__ import annotations

from typing import Final

from fontTools.misc.transform import Transform

from excerpts.engrave.svg.ink import Ink

FRAMED: Final = frozenset({"dir", "reh", "tempo", "dynam"})
"""Groups of the engraving that words in a frame stand in."""


def fit_frame(inks: list[Ink], start: int) -> None:
    """Widen the frame in a group of ink until its words have the white on the right that they have on the left.

    Where a group has several frames, which words stand in which is not known, and they stay as they are.

    Args:
        inks: The ink of a system so far.
        start: Index of the first ink of the group.
    """
    group = range(start, len(inks))
    frames = [index for index in group if not inks[index].paint.fill and not inks[index].stretches]
    letters = [inks[index].rect for index in group if inks[index].paint.fill]
    if len(frames) != 1 or not letters:
        return
    frame = inks[frames[0]]
    left, right = frame.rect.left, frame.rect.right
    wanted = max(rect.right for rect in letters) + max(min(rect.left for rect in letters) - left, 0.0)
    if wanted <= right or right <= left:
        return
    by = (wanted - left) / (right - left)
    wider = Transform(by, 0.0, 0.0, 1.0, left * (1 - by), 0.0)
    inks[frames[0]] = Ink(frame.outline, wider.transform(frame.map), frame.owner, frame.paint)
