"""Which finger reaches which semitone: the left hand of each instrument in one table.

Common practice, no source. Semitones count from the usual place of the first finger; in first position that
place is a tone above the open string. Violin and viola move each finger by a semitone inside one form of the
hand; the cello's hand is closed, or opened between the first two fingers; the bass has a finger to a semitone
with the third and fourth together.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

Form = Mapping[int, tuple[int, ...]]
"""Fingers by semitones from the usual place of the first finger; the usual finger first."""

FIRST_POSITION: Final = 2
"""Semitones from the nut to the usual place of the first finger in first position."""

_NARROW: Final[Form] = {-1: (1,), 0: (1, 2), 1: (2,), 2: (2, 3), 3: (3,), 4: (3, 4), 5: (4,), 6: (4,)}
"""Low 1, 1, low 2, 2, 3, high 3 or low 4, 4, and 4 stretched; 2 and 3 lie lower still beside a low 1."""

_CLOSED: Final[Form] = {0: (1,), 1: (2,), 2: (3,), 3: (4,)}
_BACK: Final[Form] = {-1: (1,), 1: (2,), 2: (3,), 3: (4,)}
_FORWARD: Final[Form] = {0: (1,), 2: (2,), 3: (3,), 4: (4,)}
_TONE: Final[Form] = {0: (1,), 1: (2,), 2: (4,)}
_HALF: Final[Form] = {-1: (1,), 0: (2,), 1: (4,)}

FORMS: Final[dict[str, tuple[Form, ...]]] = {
    "violin": (_NARROW,),
    "viola": (_NARROW,),
    "cello": (_CLOSED, _BACK, _FORWARD),
    "bass": (_TONE, _HALF),
}
"""The forms of each instrument's hand, the usual one first."""

LETTER_FINGERS: Final = frozenset({"violin", "viola"})
"""Instruments on which the next finger is the next letter: the hand spans a fourth."""

FOURTH_FINGER: Final = frozenset({"violin", "viola"})
"""Instruments on which the fourth finger reaches the next open string in first position."""


def reach(player: str) -> int:
    """Highest semitone of the hand above the open string in first position, the stretched finger left out."""
    most = 5 if player in LETTER_FINGERS else max(max(form) for form in FORMS[player])
    return FIRST_POSITION + most
