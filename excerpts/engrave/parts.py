"""The parts of an excerpt: where their staves stand, and their short names.

Short names are those of the source, else the customary short forms of string parts (common practice, no
source), else the name as it stands.
"""

from __future__ import annotations

from dataclasses import dataclass

from lxml import etree

from excerpts.instruments.instrument import abbreviated


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
    found: list[PartStaves] = []
    first = 0
    for part in parts:
        count = max((int(e.text or "1") for e in part.iter("staves")), default=1)
        name = short_name(listed.get(part.get("id"))) if len(parts) > 1 else ""
        found.append(PartStaves(name, first, count))
        first += count
    return tuple(found)
