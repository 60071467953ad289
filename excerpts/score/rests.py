"""Rests of several bars printed as one: they must not run past the end of a cut."""

from __future__ import annotations

from excerpts.score.slice import Slice


def clamp_rests(piece: Slice) -> None:
    """Shorten a rest of several bars to the bars that are left; a single bar is an ordinary rest."""
    for k, measure in enumerate(piece.measures):
        for count in measure.findall("attributes/measure-style/multiple-rest"):
            told = (count.text or "").strip()
            left = len(piece.measures) - k
            if not told.isdecimal() or int(told) <= left:
                continue
            piece.note_down("closed", "rest of several bars", piece.first + k, f"{told} bars in the source")
            count.text = str(left)
            style = count.getparent()
            if left == 1 and style is not None and (attributes := style.getparent()) is not None:
                attributes.remove(style)
