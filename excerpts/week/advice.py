"""Which practice variants a box gets when the teacher names none: by what goes wrong in it.

Common practice of string teachers, no source and no proof: defaults that a list in the week file replaces. The
teacher's notes say so; the player's pages give the variants without a claim.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from itertools import islice
from typing import Final

from excerpts.instruments.instrument import Level
from excerpts.weekfile.item_values import FaultName
from excerpts.weekfile.items import BoxItem

BY_FAULT: Final[Mapping[FaultName, tuple[str, ...]]] = {
    # the long note gives time to think, the short one makes the fingers quick; then other groups, then weight
    "uneven": (
        *("long-short", "short-long", "long-short-short-short", "short-short-short-long"),
        *("long-short-short", "short-short-long", "accent"),  # three notes to a beat
    ),
    # the crossings alone, without fingers; then stops in which the bow gets to the next string
    "crossing": ("open-strings", "short-long", "burst:4:landing", "separate"),
    # time before the hand moves, and time on the note that it has reached
    "shift": ("stop-before-shift", "long-short", "short-long", "left-hand"),
    # one clear stroke to each finger, then several, then short notes that show every delay
    "coordination": ("separate", "repeat:2", "double-dotted", "burst:4"),
    # a few notes up to tempo, then more; the slow and the fast one side by side
    "speed": ("burst:2", "burst:4", "half-and-full", "burst:8", "burst:3"),
    # the pulse first, then the values in it, then without the fingers' trouble
    "rhythm": ("count-aloud", "subdivide", "evened", "one-pitch"),
    # hear it against something that is in tune, know it before it is played
    "intonation": ("drone", "ringing", "sing", "lower-line"),
    # the bow alone, then with little of it, then many notes in it
    "tone": ("open-strings", "bow-part:upper-half", "portato:4", "separate"),
    # how much bow each note has, without the fingers
    "bow-distribution": ("open-strings", "bow-part:lower-half", "one-pitch", "portato:4"),
    # starts that are not the beginning, then without the page
    "memory": ("last-bar-first", "look-away", "outline", "sing"),
    # what carries the line, then a little more at a time
    "reading": ("outline", "count-aloud", "add-a-beat", "doubled"),
}
"""The variants for each fault, the first choice first."""

_ELSE: Final = ("separate", "long-short", "short-long")
"""For a box without a fault: what any running passage gains from."""

_MOST: Final[Mapping[Level, int]] = {"first": 2, "lower": 2, "middle": 3, "upper": 4, "advanced": 4}


def box_variants(
    box: BoxItem,
    level: Level,
    fits: Callable[[str], bool] | None = None,
    suits: Callable[[str], bool] | None = None,
    work: Callable[[], Sequence[FaultName]] | None = None,
) -> tuple[str, ...]:
    """The variants of a box: the teacher's own list, else by its faults, at most as many as the level bears.

    The first choice for each fault comes first, then the second for each. What cannot be made gives way to the next
    choice, in the teacher's own list too.

    Args:
        box: The box.
        level: The player's.
        fits: Whether a variant can be made of its music. None where the music is not known.
        suits: Whether it fits and is for the player: asked for all that the teacher did not name. None as above.
        work: What the box is most work for, asked where the teacher names neither faults nor variants. None as above.
    """
    faults = box.why or (work() if work is not None and box.variants is None else ())
    lists = [BY_FAULT[fault] for fault in faults] or [_ELSE]
    by_rank = [names[rank] for rank in range(max(map(len, lists))) for names in lists if rank < len(names)]
    if box.variants is None:
        usual = (name for name in dict.fromkeys(by_rank) if suits is None or suits(name))
        return tuple(islice(usual, _MOST[level]))
    if fits is None or suits is None:
        return box.variants
    others = (name for name in dict.fromkeys((*by_rank, *_ELSE)) if name not in box.variants and suits(name))
    own = (name if fits(name) else next(others, "") for name in box.variants)
    return tuple(filter(None, own))
