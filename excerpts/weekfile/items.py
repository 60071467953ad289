"""The items of a week file: pieces, boxes, warm-ups, technique. The names are the keys of the file."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date, timedelta
from fractions import Fraction
from functools import lru_cache
from typing import Annotated, Any, Final, Literal, Self, get_args

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainValidator,
    ValidationInfo,
    model_validator,
)

from excerpts.errors import InputError
from excerpts.excerpt import Tempo
from excerpts.instruments.instrument_names import instrument
from excerpts.instruments.keys import Key
from excerpts.score.marked_words import FAULTS
from excerpts.score.marking_syntax import parse_mark
from excerpts.variants.grammar import parse_variant
from excerpts.warmups import Manner, find_pattern
from excerpts.weekfile.days import real_date
from excerpts.weekfile.tempo_text import parse_number, parse_tempo
from excerpts.weekfile.text_kinds import AbcText, Area, Bars, Id, Line, Prose, one_or_more
from excerpts.words import Words, choices

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
    with _refused():
        return instrument(value).name


def _pattern(name: str) -> str:
    with _refused():
        return find_pattern(name).name


def _reads(read: Callable[[str], Any]) -> AfterValidator:
    """A check that `read` accepts the text; its error becomes the fault."""

    def check(text: str) -> str:
        with _refused():
            read(text)
        return text

    return AfterValidator(check)


def _key(text: str, info: ValidationInfo) -> str:
    """Check that the pattern can be played on this key: no G sharp major scale, but a chromatic scale on G sharp."""
    with _refused():
        find_pattern(info.data.get("pattern") or "scale").key(text)
    return text


@contextmanager
def _refused() -> Iterator[None]:
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
    return text if error.where else text[:1].upper() + text[1:]


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


class Table(BaseModel):
    """A table of the file: its keys are known, its values do not change."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Piece(Table):
    """A piece or study that the player works on; its score and part are given here once.

    Attributes:
        id: Short name that boxes call it by.
        title: Title as it is printed.
        composer: Composer as it is printed.
        score: Score file, from the week file's folder or the studio's scores folder.
        part: Part in the score: its name, its id, or "#2"; not needed when the score has one.
        pages: Its printed pages: a PDF, a picture, or a folder of pictures.
        status: What the player does with it.
        date: Day of the performance.
        minutes: Minutes for it on a day that it is played; shared out by the plan when left out.
        weight: How often it comes round, against the other pieces.
        marked: Take the boxes from marks in the score.
        pupil_bars: How much higher the bar numbers of the pupil's own edition are than those of the file; all
            bars of the piece are in the pupil's numbers then.
        marks: Marks of the teacher's own, for all boxes of the piece.
        tone: What proposed fingerings are to sound like: "dark" on lower strings, "bright" on the highest.
        open_strings: Whether they use open strings "never" or "always"; by rule when left out.
        trills: Which note trills begin with in sound: their own ("main") or the one above ("upper").
        share: A recording of the edition may be passed on.
    """

    id: Id
    title: Line
    composer: Line | None = None
    score: Line | None = None
    part: Line | None = None
    pages: Line | None = None
    status: Status = "learning"
    date: RealDate | None = None
    minutes: SomeMinutes | None = None
    weight: Annotated[int, Field(strict=True, ge=1, le=20)] | None = None
    marked: Annotated[bool, Field(strict=True)] = False
    pupil_bars: Annotated[int, Field(strict=True, ge=-9999, le=9999)] = 0
    marks: OwnMarks = ()
    tone: Literal["dark", "bright"] | None = None
    open_strings: Literal["never", "always"] | None = None
    trills: Literal["main", "upper"] = "main"
    share: Annotated[bool, Field(strict=True)] = False


class BoxItem(Table):
    """A passage for work in depth: bars of a score, areas of pages, a place on paper, or bars typed as ABC.

    Attributes:
        id: Short name that the plan and the log call it by.
        piece: Id of its piece.
        bars: Address in the piece's score; beside a page, what its bars are called there.
        page: The page of the piece's printed pages, from 1.
        area, areas: What is cut out of it, left, top, right, bottom in mm from its top left corner; in order.
        place: Where it is, for music that is not a file ("p. 14, bars 12–16").
        abc: The music itself as ABC.
        why: What goes wrong there.
        note: The teacher's word about it.
        target: The tempo to reach, or None. A number alone is in the beat of its first bar.
        goal: What to reach, in words, where it is not a tempo.
        start: The tempo to begin at; found by the tempo steps when left out.
        clean: Clean runs in a row that are wanted; by age and level when left out.
        variants: Practice variants; by the faults when left out.
        marks: Marks of the teacher's own ("43:2 finger 3"), put in place of what stands in the score.
        minutes: Minutes for it on a day of work in depth; shared out by the plan when left out.
        since: First day of the week in which it came into work; this week when left out.
    """

    id: Id
    piece: Id | None = None
    bars: Bars | None = None
    page: Annotated[int, Field(strict=True, ge=1, le=2000)] | None = None
    area: Area | None = None
    areas: Annotated[tuple[Area, ...], Field(min_length=1, max_length=20)] | None = None
    place: Line | None = None
    abc: AbcText | None = None
    why: Annotated[tuple[Annotated[FaultName, BeforeValidator(fault_name)], ...], one_or_more] = ()
    note: Prose | None = None
    target: Annotated[Tempo | None, PlainValidator(_box_target)] = None
    goal: Line | None = None
    start: Annotated[Tempo | None, PlainValidator(_start)] = None
    clean: Annotated[int, Field(strict=True, ge=1, le=50)] | None = None
    variants: Variants | None = None
    marks: OwnMarks = ()
    minutes: SomeMinutes | None = None
    since: RealDate | None = None

    @model_validator(mode="after")
    def _one_source(self) -> Self:
        given = [key for key in ("bars", "place", "abc") if getattr(self, key) is not None]
        on_page = self.page is not None or self.area or self.areas
        if not given and not on_page:
            raise ValueError(
                "A box needs its music: bars of the piece's score (bars), an area of one of its pages (page, area), "
                "a place in a printed part (place), or a few bars typed in (abc)."
            )
        if self.piece is None and (on_page or self.abc is None):
            raise ValueError("A box needs its piece: the id of a [[piece]].")
        if on_page and (self.page is None or (self.area is None) == (self.areas is None)):
            raise ValueError("A page needs an area: page = 3, area = [left, top, right, bottom].")
        if not on_page and len(given) > 1 and "bars" in given:
            raise ValueError(f"A box has one source of music; this one has {' and '.join(given)}. Keep one.")
        return self

    @model_validator(mode="after")
    def _from_slow_to_fast(self) -> Self:
        start, target = self.start, self.target
        if start and target and target.unit and start.quarters_per_minute > target.quarters_per_minute:
            raise ValueError("The start is faster than the target.")
        return self

    @property
    def in_score(self) -> str | None:
        """The address in its score."""
        return self.bars if self.page is None else None


class ScaleFields(Table):
    """What tells a scale, an arpeggio or another pattern in a key.

    Attributes:
        pattern: What is played ("scale", "arpeggio", "thirds" …); a scale when left out.
        key: Key as a musician says it ("D", "F# minor"), or the first note where the pattern goes by that.
        octaves: How many; the most that fit the level when left out.
        from_: Note to start on (`from` in the file).
        turn: Three octaves with the turn at the bottom.
        slur: Notes to a bow.
        fingerings: "open", "fourth", a finger to begin with ("2"), or a finger for each note ("0123 0123"), or "none".
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
    tempo: Annotated[Tempo | None, PlainValidator(_target)] = None
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
