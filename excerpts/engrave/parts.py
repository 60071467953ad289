"""The parts of an excerpt: where their staves stand, their short names, and groups of them for pages that hold no more.

Short names are those of the source, else the customary short forms of string parts (common practice, no
source), else the name as it stands.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from lxml import etree

from excerpts.excerpt import Excerpt
from excerpts.instruments.instrument_names import abbreviated
from excerpts.musicxml.format import serialise


@dataclass(frozen=True, slots=True)
class PartStaves:
    """One part of an excerpt of several, and where its staves stand.

    Attributes:
        name: What is printed at its left.
        first: Its first staff from the top of the system, from 0.
        count: How many staves it has.
    """

    name: str
    first: int
    count: int


def short_name(listed: etree._Element | None) -> str:
    """The short name of a part from its `<score-part>`."""
    if listed is None:
        return ""
    given = " ".join((listed.findtext("part-abbreviation") or "").split())
    if given:
        return given
    return abbreviated(" ".join((listed.findtext("part-name") or "").split()))


def part_staves(root: etree._Element) -> tuple[PartStaves, ...]:
    """Find the parts of a score and the most staves that each has anywhere."""
    parts = root.findall("part")
    listed = {entry.get("id"): entry for entry in root.iterfind("part-list/score-part")}
    staves: list[PartStaves] = []
    first = 0
    for part in parts:
        count = max((int(e.text or "1") for e in part.iter("staves")), default=1)
        name = short_name(listed.get(part.get("id"))) if len(parts) > 1 else ""
        staves.append(PartStaves(name, first, count))
        first += count
    return tuple(staves)


def part_count(excerpt: Excerpt) -> int:
    """How many parts an excerpt has."""
    return len(excerpt.tree().findall("part"))


def in_groups(excerpt: Excerpt, count: int) -> list[Excerpt]:
    """The parts of an excerpt in so many groups of neighbours, as equal in staves as can be.

    Args:
        excerpt: An excerpt of at least that many parts.
        count: How many groups.
    """
    parts = part_staves(excerpt.tree())
    staves = sum(part.count for part in parts)
    groups: list[list[int]] = [[] for _ in range(count)]
    for index, part in enumerate(parts):
        place = (2 * part.first + part.count) * count // (2 * staves)
        groups[place].append(index)
    return [_only(excerpt, group[0], group[-1]) for group in groups if group]


def _only(excerpt: Excerpt, first: int, last: int) -> Excerpt:
    """An excerpt with the parts from `first` to `last` alone; brackets of groups go, for they may reach further."""
    root = excerpt.tree()
    staves = part_staves(root)
    above, below = staves[first].first, staves[last].first + staves[last].count
    listed = root.find("part-list")
    for index, part in enumerate(root.findall("part")):
        if not first <= index <= last:
            root.remove(part)
    kept = {part.get("id") for part in root.findall("part")}
    for entry in [] if listed is None else list(listed):
        if listed is not None and (entry.tag == "part-group" or entry.get("id") not in kept):
            listed.remove(entry)
    ends = tuple(
        replace(end, staff=end.staff - above) for end in excerpt.open_ends if above < end.staff <= below
    )
    return replace(excerpt, xml=serialise(root), open_ends=ends)
