"""What a box is work for, where the teacher does not say: from a proposed fingering of it."""

from __future__ import annotations

from fractions import Fraction

from excerpts.excerpt import Excerpt, Position
from excerpts.instruments.instrument import Instrument
from excerpts.lefthand.fingering import finger_notes
from excerpts.lefthand.hand_notes import notes_of
from excerpts.lefthand.path import Wishes
from excerpts.lefthand.read_part import USUAL_TEMPO
from excerpts.lefthand.work import faults_of, note_work
from excerpts.notes import read_lines
from excerpts.sound.performance import TempoMap


def box_faults(excerpt: Excerpt, player: Instrument, speed: Fraction | None, wishes: Wishes) -> list[str]:
    """The faults that a box would be worked on for: at most two, what weighs most first; none where nothing does.

    Args:
        excerpt: The box with its context.
        player: The instrument.
        speed: Quarter notes a minute that are to be reached; the excerpt's where None.
        wishes: What the player is asked for.
    """
    printed = excerpt.tempo.quarters_per_minute if excerpt.tempo is not None else USUAL_TEMPO
    clock = TempoMap(((Fraction(0), speed or printed),), speed or printed)
    fingered = finger_notes(notes_of(read_lines(excerpt), player, clock), player, wishes)
    inside = [
        one
        for one in note_work(fingered)
        if any(
            box.start <= Position(one.one.note.measure, one.one.note.within) < box.end
            for box in excerpt.boxes
        )
    ]
    return faults_of(inside)
