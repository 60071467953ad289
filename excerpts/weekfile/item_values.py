"""Values that stand in the items of a week file, and the checks of each."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from fractions import Fraction
from functools import lru_cache
from typing import Annotated, Any, Final, Literal, get_args

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainValidator,
    ValidationInfo,
)

from excerpts.errors import InputError
from excerpts.excerpt import Tempo
from excerpts.instruments.instrument_names import instrument
from excerpts.score.marked_words import FAULTS
from excerpts.score.marking_syntax import parse_mark
from excerpts.variants.grammar import parse_variant
from excerpts.weekfile.days import real_date
from excerpts.weekfile.tempo_text import parse_number, parse_tempo
from excerpts.weekfile.text_kinds import Line, one_or_more
from excerpts.words import Words, capital, choices

Status = Literal["learning", "review", "performance"]
FaultName = Literal[
    "uneven", "crossing", "shift", "coordination", "speed", "rhythm", "intonation", "tone",
    "bow-distribution", "memory", "reading",
]  # fmt: skip
SomeMinutes = Annotated[int, Field(strict=True, ge=1, le=1440)]
RealDate = Annotated[date, BeforeValidator(real_date)]


def _instrument(value: Any) -> Any:
    if not isinstance(value, str):
        return value
    with refused():
        return instrument(value).name


def _reads(read: Callable[[str], Any]) -> AfterValidator:
    """A check that `read` accepts the text; its error becomes the fault."""

    def check(text: str) -> str:
        with refused():
            read(text)
        return text

    return AfterValidator(check)


@contextmanager
def refused() -> Iterator[None]:
    """Turns the error of another stage into one that pydantic collects.

    Raises:
        ValueError: What was found, as a sentence.
    """
    try:
        yield
    except InputError as error:
        raise ValueError(sentence(error)) from error


def sentence(error: InputError) -> str:
    """The message of another stage, with a capital, since it follows the name of the key; a file keeps its name."""
    text = str(error)
    return text if error.where else capital(text)


BEAT_OF_BAR: Final = Fraction(0)
"""The unit of a tempo that is a number alone, until its score tells which note beats in its bar."""


def which_note(value: object) -> str:
    """What is said of a tempo that is a number alone, where no score tells its beat."""
    return f'Say which note has the beat: "crotchet = {value}" or "dotted quarter = {value}".'


def _target(value: Any) -> Tempo | None:
    if value is None or value == "none":
        return None
    if not isinstance(value, str):
        raise ValueError(which_note(value))
    return parse_tempo(value)


def _box_target(value: Any) -> Tempo | None:
    if isinstance(value, int | float | str) and re.fullmatch(r"\s*[\d.]+\s*", str(value)):
        return Tempo(parse_number(str(value)), BEAT_OF_BAR)
    return _target(value)


def _start(value: Any, info: ValidationInfo) -> Tempo | None:
    if value is None or isinstance(value, Tempo):
        return value
    if "target" not in info.data:
        return None  # the target itself has a fault, which is told; without it a number means nothing
    target = info.data["target"]
    if "=" not in str(value) and target is not None and not isinstance(value, bool):
        return Tempo(parse_number(str(value)), target.unit)
    return _target(value)


def fault_name(value: Any) -> Any:
    """A fault by another word for it ("string crossings", "Lagenwechsel", as it is printed); anything else as it is."""
    if not isinstance(value, str):
        return value
    said = " ".join(value.casefold().split())
    return FAULTS.get(said) or _printed_faults().get(said, value)


@lru_cache(maxsize=1)
def _printed_faults() -> dict[str, str]:
    """Faults by the words that are printed for them, in any language that has a words file."""
    names = get_args(FaultName)
    return {Words(choice)(f"fault.short.{name}").casefold(): name for choice in choices() for name in names}


Variants = Annotated[tuple[Annotated[Line, _reads(parse_variant)], ...], one_or_more, Field(max_length=20)]
"""Practice variants as teachers type them; see `excerpts.variants.registry`."""

OwnMarks = Annotated[tuple[Annotated[Line, _reads(parse_mark)], ...], one_or_more, Field(max_length=200)]
"""Fingers, bows, slurs and strings of the teacher's own ("43:2 finger 3"); see `excerpts.score.marking_syntax`."""

InstrumentName = Annotated[str, BeforeValidator(_instrument)]
"""An instrument by the name that `excerpts.instruments.instrument` knows it by."""

Faults = Annotated[tuple[Annotated[FaultName, BeforeValidator(fault_name)], ...], one_or_more]
"""What goes wrong in a box."""

SomeTempo = Annotated[Tempo | None, PlainValidator(_target)]
"""A tempo with its note, or none."""

Target = Annotated[Tempo | None, PlainValidator(_box_target)]
"""The tempo that a box is to reach; a number alone is in the beat of its first bar."""

Start = Annotated[Tempo | None, PlainValidator(_start)]
"""The tempo that a box begins at; a number alone is in the note of its target, which stands before it."""


class Table(BaseModel):
    """A table of the file: its keys are known, its values do not change."""

    model_config = ConfigDict(frozen=True, extra="forbid")
