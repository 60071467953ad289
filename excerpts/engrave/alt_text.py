"""What a spoken description of an excerpt's picture says, as values: the page puts the words to them."""

from __future__ import annotations

from dataclasses import dataclass

from lxml import etree

from excerpts.excerpt import Excerpt
from excerpts.notes.in_force import signs_at_box

_NAMELESS = frozenset({"MusicXML Part", "Part 1", "Part_1"})
"""What programs write where nobody named the part (seen in files); it tells a player nothing."""


@dataclass(frozen=True, slots=True)
class Spoken:
    """Parameters of the alternative text.

    Attributes:
        first: What the first boxed bar is called (the first bar where there is no box).
        last: What the last boxed bar is called; "" where there is only a pick-up.
        part: Name of the part, "" if not known; the names of several, apart by commas.
        fifths: Sharps (positive) or flats (negative) at the first note of the box, None where there is no signature.
        mode: "major", "minor" …, or "" where the source does not say.
        beats: Upper number of the time signature there, "" where there is none.
        beat_type: Its lower number.
        pickup: Whether the bars begin with a pick-up, and with which (see `excerpts.score.numbering`).
    """

    first: str
    last: str
    part: str = ""
    fifths: int | None = None
    mode: str = ""
    beats: str = ""
    beat_type: str = ""
    pickup: str = ""


def spoken(excerpt: Excerpt, root: etree._Element | None = None) -> Spoken:
    """Gather what the description of an excerpt says.

    Args:
        excerpt: The excerpt.
        root: Its tree, where there is one already.
    """
    root = excerpt.tree() if root is None else root
    origin = excerpt.origin
    first, last = (origin.first_bar, origin.last_bar) if origin.first_bar else _ends(excerpt)
    signs = signs_at_box(excerpt, root)
    fifths = _text(signs.key, "fifths")
    return Spoken(
        first,
        last,
        _parts(root) or (origin.part if origin.part not in _NAMELESS else ""),
        int(fifths) if fifths else None,
        _text(signs.key, "mode"),
        _text(signs.time, "beats"),
        _text(signs.time, "beat-type"),
        origin.pickup,
    )


def _ends(excerpt: Excerpt) -> tuple[str, str]:
    """The labels of the first and last boxed bar of music that is cut out of no score."""
    first, last = 0, len(excerpt.bars) - 1
    if excerpt.boxes:
        first = excerpt.boxes[0].start.bar
        last = max(box.last_bar for box in excerpt.boxes)
    boxed = excerpt.bars[first : last + 1]  # chains may begin with the last bar
    return min(boxed, key=lambda bar: bar.place).label, max(boxed, key=lambda bar: bar.place).label


def _text(sign: etree._Element | None, name: str) -> str:
    """The text of a part of a signature, "" where there is none."""
    return "" if sign is None else (sign.findtext(name) or "").strip()


def _parts(root: etree._Element) -> str:
    """The names of the parts where there are several."""
    names = [(name.text or "").strip() for name in root.iterfind("part-list/score-part/part-name")]
    return ", ".join(name for name in names if name) if len(names) > 1 else ""
