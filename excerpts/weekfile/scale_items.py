"""Warm-ups and technique of a week file: scales and the like, bars of a study, words. The names are the keys."""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import (
    AfterValidator,
    Field,
    ValidationInfo,
    model_validator,
)

from excerpts.instruments.keys import Key
from excerpts.warmups import Manner, find_pattern
from excerpts.weekfile.item_values import InstrumentName, SomeMinutes, SomeTempo, Table, Variants, refused
from excerpts.weekfile.text_kinds import Bars, Id, Line, Prose


def _pattern(name: str) -> str:
    with refused():
        return find_pattern(name).name


def _key(text: str, info: ValidationInfo) -> str:
    """Check that the pattern can be played on this key: no G sharp major scale, but a chromatic scale on G sharp."""
    with refused():
        find_pattern(info.data.get("pattern") or "scale").key(text)
    return text


class ScaleFields(Table):
    """What tells a scale, an arpeggio or another pattern in a key.

    Attributes:
        pattern: What is played ("scale", "arpeggio", "thirds" …); a scale when left out.
        key: Key as a musician says it ("D", "F# minor"), or the first note where the pattern goes by that.
        octaves: How many; the most that fit the level when left out.
        from_: Note to start on (`from` in the file).
        turn: Three octaves with the turn at the bottom.
        slur: Notes to a bow.
        fingerings: "open", "fourth", "usual", a finger to begin with ("2"), a finger for each note
            ("0123 0123"), or "none".
        tempo: The tempo to print; the level's when left out.
        variants: Practice variants.
        instrument: When it is not the player's.
        note: A word about it, printed under its name.
    """

    pattern: Annotated[Line, AfterValidator(_pattern)] | None = None
    key: Annotated[Line, AfterValidator(_key)] | None = None
    octaves: Annotated[int, Field(strict=True, ge=1, le=4)] | None = None
    from_: Line | None = Field(default=None, alias="from")
    turn: Annotated[bool, Field(strict=True)] = False
    slur: Annotated[int, Field(strict=True, ge=1, le=24)] | None = None
    fingerings: Line | None = None
    tempo: SomeTempo = None
    variants: Variants = ()
    instrument: InstrumentName | None = None
    note: Prose | None = None

    @property
    def key_read(self) -> Key | None:
        """The key, where there is one."""
        return find_pattern(self.pattern or "scale").key(self.key) if self.key else None

    @property
    def manner(self) -> Manner:
        """How it is to be played."""
        return Manner(self.turn, self.slur, self.fingerings, self.tempo)


class WarmupItem(ScaleFields):
    """A scale, arpeggio or other pattern in a key, or a warm-up in words.

    Attributes:
        text: A warm-up in words.
        minutes: Minutes for it on a day that it is played.
    """

    text: Prose | None = None
    minutes: SomeMinutes | None = None

    @model_validator(mode="after")
    def _key_or_text(self) -> Self:
        if (self.key is None) == (self.text is None):
            raise ValueError('A warm-up is either a key (key = "D") or words (text = "…").')
        given = self.model_fields_set - {"text", "minutes"}
        if self.text is not None and given:
            raise ValueError("A warm-up in words takes minutes only; the other keys need a key to play in.")
        return self


class TechniqueItem(ScaleFields):
    """Bars of a study, a drill on a box, a scale that is technique rather than warm-up, or technique in words.

    Attributes:
        piece: Id of the study's [[piece]].
        bars: Address in its score.
        short: Address of the few bars that a short day takes; found in the music when left out.
        drill: Id of the box that it is a drill for.
        text: Technique in words.
        minutes: Minutes for it on a day that it is played.
        check: Id of the retired box that the words are a check of.
    """

    piece: Id | None = None
    bars: Bars | None = None
    short: Bars | None = None
    drill: Id | None = None
    text: Prose | None = None
    minutes: SomeMinutes | None = None
    check: Id | None = None

    @model_validator(mode="after")
    def _one_kind(self) -> Self:
        study = self.piece is not None or self.bars is not None
        if study + sum(given is not None for given in (self.key, self.drill, self.text)) != 1:
            raise ValueError(
                "Technique is one of four: bars of a study (piece and bars), a drill on a box (drill), "
                "a scale or the like (key), or words (text)."
            )
        if study and (self.piece is None or self.bars is None):
            missing = "bars" if self.bars is None else "piece"
            raise ValueError(f"Bars of a study need a piece and bars; {missing} is missing.")
        if self.short is not None and not study:
            raise ValueError("The bars for a short day (short) belong to bars of a study.")
        if self.text is not None and self.variants:
            raise ValueError("Technique in words has no variants.")
        if self.text is None and self.check is not None:
            raise ValueError("The check of a retired box is described in words (text).")
        if self.key is None and self.model_fields_set & set(ScaleFields.model_fields) - {"variants"}:
            raise ValueError("pattern, octaves, slur and the like need a key to play in.")
        return self
