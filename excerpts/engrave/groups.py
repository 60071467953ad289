"""Takes an excerpt of many parts apart into groups of parts, for pages that hold no more."""

from __future__ import annotations

from dataclasses import replace

from excerpts.engrave.parts import part_staves
from excerpts.excerpt import Excerpt
from excerpts.musicxml.format import serialise


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
