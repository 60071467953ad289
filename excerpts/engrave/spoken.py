"""What a spoken description of an excerpt's picture says, as values: the page puts the words to them."""

from __future__ import annotations

from dataclasses import dataclass

from lxml import etree

from excerpts.excerpt import Excerpt

_NAMELESS = frozenset({"MusicXML Part", "Part 1", "Part_1"})
"""What programs write where nobody named the part (seen in files); it tells a player nothing."""


@dataclass(frozen=True, slots=True)
class Spoken:
    """Parameters of the alternative text.

    Attributes:
        first: Label of the first boxed bar (of the first bar where there is no box).
        last: Label of the last boxed bar.
        part: Name of the part, "" if not known; the names of several, apart by commas.
        fifths: Sharps (positive) or flats (negative) of the first key signature, None where there is none.
        mode: "major", "minor" …, or "" where the source does not say.
        beats: Upper number of the first time signature, "" where there is none.
        beat_type: Its lower number.
    """

    first: str
    last: str
    part: str = ""
    fifths: int | None = None
    mode: str = ""
    beats: str = ""
    beat_type: str = ""


def spoken(excerpt: Excerpt, root: etree._Element | None = None) -> Spoken:
    """Gather what the description of an excerpt says.

    Args:
        excerpt: The excerpt.
        root: Its tree, where there is one already.
    """
    root = excerpt.tree() if root is None else root
    first, last = 0, len(excerpt.bars) - 1
    if excerpt.boxes:
        first = excerpt.boxes[0].start.bar
        ends = [box.end.bar if box.end.onset > 0 else box.end.bar - 1 for box in excerpt.boxes]
        last = max(ends)
    boxed = excerpt.bars[first : last + 1]  # chains may begin with the last bar
    fifths = _first(root, "key", "fifths")
    return Spoken(
        min(boxed, key=lambda bar: bar.place).label,
        max(boxed, key=lambda bar: bar.place).label,
        _parts(root) or (excerpt.origin.part if excerpt.origin.part not in _NAMELESS else ""),
        int(fifths) if fifths is not None else None,
        _first(root, "key", "mode") or "",
        _first(root, "time", "beats") or "",
        _first(root, "time", "beat-type") or "",
    )


def _first(root: etree._Element, sign: str, name: str) -> str | None:
    """The first text of a part of a signature, None where there is none."""
    found = (e.findtext(name) for e in root.iter(sign) if _is_attribute(e))
    return next((text for text in found if text is not None), None)


def _is_attribute(element: etree._Element) -> bool:
    parent = element.getparent()
    return parent is not None and parent.tag == "attributes"


def _parts(root: etree._Element) -> str:
    """The names of the parts where there are several."""
    names = [(name.text or "").strip() for name in root.iterfind("part-list/score-part/part-name")]
    return ", ".join(name for name in names if name) if len(names) > 1 else ""
