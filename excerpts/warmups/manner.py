"""How a warm-up is to be played, beside its notes: what the teacher asks for, fingers, slurs and hairpins."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal, cast

from excerpts.errors import WarmupError
from excerpts.excerpt import Tempo
from excerpts.instruments.instrument import Instrument
from excerpts.musicxml.elements import Bow, Slur
from excerpts.notes.model import Notation
from excerpts.warmups.note_layout import Layout
from excerpts.warmups.scale_fingering import Chord, Fingers, first_position, given, one_position

SIZES: Final = (2, 3, 4, 6, 8, 12, 24)
"""Notes to a bow that are asked of players: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Bowing:
    """What the right hand does.

    Attributes:
        slurs: First and last note of each slur, counted from 0.
        hairpins: Whether each note grows or fades, where they do.
        signs: Whether the bow signs of the first two notes are shown.
    """

    slurs: tuple[tuple[int, int], ...] = ()
    hairpins: tuple[Literal["crescendo", "diminuendo"], ...] = ()
    signs: bool = False

    def marks(self, note: int) -> tuple[Notation, ...]:
        """The marks of a note, slurs that end before slurs that begin."""
        notations = [_slur("stop") for _, last in self.slurs if last == note]
        notations += [_slur("start") for first, _ in self.slurs if first == note]
        if self.signs and note < 2:
            name = ("down-bow", "up-bow")[note]
            notations.append(Notation(Bow(name)))
        return tuple(notations)


def _slur(edge: str) -> Notation:
    return Notation(Slur(edge, "1"))


def slurred(size: int, layouts: Sequence[Layout], title: str, turn: bool) -> tuple[Layout, Bowing]:
    """Slur a run in groups of so many notes; the last note has a bow of its own.

    Args:
        size: Notes to a bow.
        layouts: Ways to lay it out: the first in which every group starts on a beat is taken.
        title: What the message calls it.
        turn: Whether the turn at the bottom would help.

    Raises:
        WarmupError: The size does not divide the run, or its groups start between beats.
    """
    layout = _holding(size, layouts) if size in SIZES else None
    if layout is not None:
        run = len(layout.lengths) - 1
        return layout, Bowing(tuple((first, first + size - 1) for first in range(0, run, size)))
    fitting = [str(other) for other in SIZES if _holding(other, layouts)]
    count = len(layouts[0].lengths) - 1
    hint = f"Sizes that do: {', '.join(fitting)}." if fitting else "It is played with separate bows."
    if turn:
        hint += " With the turn at the bottom: 2, 3, 4, 6, 8, 12, 24."
    if size < 1:
        raise WarmupError(f"{size} notes to a bow cannot be played.", hint=hint)
    raise WarmupError(
        f"bows of {size} do not divide the {count} notes of {title} (the last note stands alone).", hint=hint
    )


def _holding(size: int, layouts: Sequence[Layout]) -> Layout | None:
    """The first layout in which groups of that size start on beats."""
    for layout in layouts:
        onsets = layout.onsets[:-1]
        if len(onsets) % size == 0 and all(onset % layout.beat == 0 for onset in onsets[::size]):
            return layout
    return None


FingeringKind = Literal["open", "fourth", "usual", "position", "given"]


@dataclass(frozen=True, slots=True)
class Manner:
    """What may be asked for beside key, pattern and octaves.

    Attributes:
        turn: The scale with the turn at the bottom; for three octaves.
        slur: Notes to a bow; None for what the pattern has itself.
        fingerings: "open" or "fourth" (first position by rule, with open strings or the fourth finger), "usual"
            (beyond first position, as it is usually taught), a finger to begin with ("2": one position by rule),
            the fingers one by one ("0123 0123"), or "none"; None for what is usual: those by rule with open strings
            in the scales and arpeggios of the first year.
        tempo: Tempo to print; None for the level's.
        drone: A tone on the tonic sounds with it, in the MIDI file and as a second part in a music file.
        taught: The positions that the player was taught, for "usual" fingers; empty for all.
    """

    turn: bool = False
    slur: int | None = None
    fingerings: str | None = None
    tempo: Tempo | None = None
    drone: bool = False
    taught: tuple[int, ...] = ()

    @property
    def fingering_kind(self) -> FingeringKind | None:
        """Which kind of fingerings is asked for.

        Raises:
            WarmupError: It is none of them.
        """
        text = (self.fingerings or "none").strip()
        if text == "none":
            return None
        if text in {"open", "fourth", "usual"}:
            return cast(FingeringKind, text)
        if re.fullmatch(r"[1-4]", text):
            return "position"
        if re.search(r"[0-4]", text):
            return "given"
        raise WarmupError(
            f"'{self.fingerings}' are not fingerings.",
            hint="Write open or fourth (first position), usual (beyond it), a finger to begin with (2), all of them "
            "(0123 0123) or none.",
        )

    def fingers(self, player: Instrument, notes: Sequence[Chord]) -> Fingers:
        """The finger of each note; empty where none are asked for, and for "usual" ones, which need the layout.

        Raises:
            WarmupError: They cannot be had.
        """
        text = (self.fingerings or "").strip()
        match self.fingering_kind:
            case None | "usual":
                return ()
            case "open" | "fourth" as choice:
                return first_position(player, notes, choice)
            case "position":
                return one_position(player, notes, int(text))
            case "given":
                return given(player, notes, text)
