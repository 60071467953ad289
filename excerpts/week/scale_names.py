"""What the scales of a list are called in the log: "G minor arpeggio", "D scale"."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from excerpts.errors import WeekError
from excerpts.week.scale_list import ScaleList
from excerpts.weekfile.faults import nearest


def scale_names(listed: ScaleList) -> tuple[str, ...]:
    """A name for each scale of a list, no two alike: key and pattern, where needed its octaves, then its place."""
    names = [f"{' '.join((scale.key or '').split())} {scale.pattern or 'scale'}" for scale in listed.scales]
    octaves = [str(scale.octaves or "") for scale in listed.scales]
    names = [
        f"{name} {count}".strip() if _twice(name, names) else name
        for name, count in zip(names, octaves, strict=True)
    ]
    return tuple(
        f"{name} ({place})" if _twice(name, names) else name for place, name in enumerate(names, start=1)
    )


def _twice(name: str, names: Sequence[str]) -> bool:
    return Counter(map(str.casefold, names))[name.casefold()] > 1


def find_scale(text: str, names: Sequence[str]) -> str:
    """The scale that is meant: its name, or its key alone where that says enough; a key alone is first a scale.

    Args:
        text: What was typed.
        names: The names of the scales of the list.

    Raises:
        WeekError: There is none of that name, or more than one.
    """
    typed = " ".join(text.split()).casefold()
    for wanted in (typed, f"{typed} scale"):
        if found := [name for name in names if name.casefold() == wanted]:
            return found[0]
    begun = [name for name in names if name.casefold().startswith(f"{typed} ")]
    if len(begun) == 1:
        return begun[0]
    if begun:
        raise WeekError(
            f'"{text}" can be {len(begun)} scales of the list.', hint=f"Say {' or '.join(begun)}."
        )
    otherwise = f"There are: {', '.join(names)}."
    raise WeekError(f'there is no scale "{text}" in the list.', hint=nearest(text, names, otherwise))
