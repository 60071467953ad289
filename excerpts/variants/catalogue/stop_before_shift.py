"""Stop before the shift: a pause on the last note before each change of position (`position_changes`).

Where the page tells of none, the changes are those of a proposed fingering, and the page says that they are guessed: a
pause in a wrong place does no harm, while a shift that is never stopped for is not practised.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from functools import partial
from typing import Final

from excerpts.errors import VariantError
from excerpts.instruments.instrument import INSTRUMENTS, Instrument
from excerpts.instruments.instrument_names import instrument, instrument_of_part_name
from excerpts.notes import Voice
from excerpts.notes.in_force import signatures_at
from excerpts.variants.pairs import box_bars
from excerpts.variants.passage import where, with_word
from excerpts.variants.position_changes import position_changes, proposed_changes
from excerpts.variants.registry import Variant, VariantInfo
from excerpts.variants.spanning_marks import with_pauses
from excerpts.variants.string_row import check_player
from excerpts.words import Words

_NAME: Final = "stop-before-shift"


def stop_before_shift(line: Voice, parameter: str, words: Words) -> Voice:
    """Put a pause on the note before each shift.

    Raises:
        VariantError: Nothing in the box tells of a shift, and all of it lies in one position.
    """
    player = instrument(parameter) if parameter else _player(line)
    printed = position_changes(line, player)
    changes = printed or proposed_changes(line, player)
    if not changes:
        raise VariantError(
            f"no fingering, string number or position in {box_bars(line)} shows a change of position, "
            "and its notes ask for none.",
            where=where(line),
            hint="Write the first finger after the shift into the score, or into the box's marks.",
        )
    if not printed:
        line = with_word(line, words(f"variant.{_NAME}-note.assumed"))
    return replace(line, events=with_pauses(line.events, [before for before, _ in changes]))


def _player(line: Voice) -> Instrument:
    """The instrument that the part names, else the first that reads its clef."""
    clef = signatures_at(line, Fraction(0)).get("clef")
    named = instrument_of_part_name(line.origin.part)
    reads = (one for one in INSTRUMENTS.values() if one.clef.sign == getattr(clef, "sign", ""))
    return named or next(reads, INSTRUMENTS["violin"])


VARIANT = Variant(
    VariantInfo(_NAME, ("shift", "intonation"), parameter="INSTRUMENT", order=92),
    in_words=stop_before_shift,
    check=partial(check_player, _NAME),
)
