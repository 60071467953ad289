"""Boxes that are not in work: retired ones, which come back for a check, and parked ones, which wait.

They stand in the week file, each with all that it had as a box, so that no box is lost from week to week.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Annotated, Any, Final

from pydantic import Field

from excerpts.weekfile.items import BoxItem, RealDate
from excerpts.weekfile.lines import KeyPath
from excerpts.weekfile.text_kinds import number_as_text

CHECK_WEEKS: Final = (1, 2, 4)
"""Weeks after it retired at which a box comes back for a check: widening gaps, common practice, no source."""


class RetiredBox(BoxItem):
    """A box that was clean.

    Attributes:
        retired: The day on which it retired.
        checks: How many of its checks it has stood.
    """

    retired: RealDate
    checks: Annotated[int, Field(strict=True, ge=0, le=len(CHECK_WEEKS))] = 0

    @property
    def due(self) -> date | None:
        """The day from which its next check is due; None when it has stood them all."""
        if self.checks == len(CHECK_WEEKS):
            return None
        return self.retired + timedelta(weeks=CHECK_WEEKS[self.checks])


def carried_findings(raw: dict[str, Any]) -> Iterator[tuple[KeyPath, str]]:
    """What does not agree about boxes that are not in work: an id that is there twice, a check of no box.

    Args:
        raw: The file as tomllib reads it; items with faults are passed over here.
    """
    seen = {name: "box" for name in _ids(raw, "box")}
    for kind in ("retired", "parked"):
        for place, name in enumerate(_ids(raw, kind)):
            if name and name in seen:
                yield (kind, place, "id"), f'The id "{name}" is there already, in [[{seen[name]}]].'
            seen[name] = kind
    retired = _ids(raw, "retired")
    for place, name in enumerate(_ids(raw, "technique", "check")):
        if name and name not in retired:
            yield ("technique", place, "check"), f'There is no [[retired]] box with the id "{name}".'


def _ids(raw: dict[str, Any], table: str, key: str = "id") -> list[str]:
    items = raw.get(table, [])
    if not isinstance(items, list):
        return []
    found = [number_as_text(item.get(key, "")) if isinstance(item, dict) else "" for item in items]
    return [name if isinstance(name, str) else "" for name in found]
