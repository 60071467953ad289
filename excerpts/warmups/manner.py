"""How a warm-up is to be played, beside its notes: what the teacher asks for and what is said about it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, cast

from excerpts.errors import WarmupError
from excerpts.excerpt import Tempo
from excerpts.instruments.instrument import Instrument
from excerpts.warmups.fingering import Chord, Fingers, first_position, one_position
from excerpts.warmups.given import given

FingeringKind = Literal["open", "fourth", "position", "given"]


@dataclass(frozen=True, slots=True)
class Manner:
    """What may be asked for beside key, pattern and octaves.

    Attributes:
        turn: The scale with the turn at the bottom; for three octaves.
        slur: Notes to a bow; None for what the pattern has itself.
        fingerings: "open" or "fourth" (first position by rule, with open strings or the fourth finger), a finger
            to begin with ("2": one position by rule), or the fingers one by one ("0123 0123"); None for none.
        tempo: Tempo to print; None for the level's.
        drone: A tone on the tonic sounds with it, in the MIDI file and as a second part in a music file.
    """

    turn: bool = False
    slur: int | None = None
    fingerings: str | None = None
    tempo: Tempo | None = None
    drone: bool = False

    @property
    def fingering_kind(self) -> FingeringKind | None:
        """Which kind of fingerings is asked for.

        Raises:
            WarmupError: It is none of them.
        """
        if self.fingerings is None:
            return None
        text = self.fingerings.strip()
        if text in {"open", "fourth"}:
            return cast(FingeringKind, text)
        if re.fullmatch(r"[1-4]", text):
            return "position"
        if re.search(r"[0-4]", text):
            return "given"
        raise WarmupError(
            f"'{self.fingerings}' are not fingerings.",
            hint="Write open or fourth (first position), a finger to begin with (2), or all of them (0123 0123).",
        )

    def fingers(self, player: Instrument, notes: Sequence[Chord]) -> Fingers:
        """The finger of each note; empty where none are asked for.

        Raises:
            WarmupError: They cannot be had.
        """
        text = (self.fingerings or "").strip()
        match self.fingering_kind:
            case None:
                return ()
            case "open" | "fourth" as choice:
                return first_position(player, notes, choice)
            case "position":
                return one_position(player, notes, int(text))
            case "given":
                return given(player, notes, text)
