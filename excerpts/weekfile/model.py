"""The week file, `format = 1`: what a teacher writes down after a lesson, as checked values.

The names are the keys of the file. Checks that need two items at once stand in `excerpts.weekfile.crosscheck`.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import Annotated, Final, Literal, Self

from pydantic import BeforeValidator, Field, model_validator

from excerpts.editions import Paper, Tint
from excerpts.instruments.instrument import INSTRUMENTS, Instrument, Level, in_hand
from excerpts.weekfile.days import DayKey, LessonTime, day_minutes, minutes_table
from excerpts.weekfile.item_values import InstrumentName, RealDate, Table
from excerpts.weekfile.items import BoxItem, Piece, RetiredBox
from excerpts.weekfile.scale_items import TechniqueItem, WarmupItem
from excerpts.weekfile.settings import PlanSettings
from excerpts.weekfile.studio_folder import PlayerWords
from excerpts.weekfile.text_kinds import Id, Line, Prose, one_or_more

FORMAT: Final = 1
"""The newest format of week file that this version reads."""

LONGEST_WEEK: Final = 120
"""Days from one lesson to the next: long enough for any holiday, short enough to catch a wrong year."""

OLDEST_CIRCLES: Final = 11
"""Up to this age clean runs are kept by colouring circles, and tempos rise with care: common practice, no source."""

OLDEST_COUNTER: Final = 8
"""Up to this age a plan says how often, not how long: common practice, no source."""

Minutes = Annotated[int, Field(strict=True, ge=0, le=1440)]


class Player(Table):
    """Who the week is for.

    Attributes:
        name: The name.
        instrument: The instrument.
        level: How far the player is.
        age: Age in years.
        words: The words of what is printed.
        print: "large" for low sight and dyslexia: large print, upright letters, each box on a page of its own.
        tint: The ground of the pages, where it is not white.
        positions: The positions of the left hand that were taught; 0 is half position. All when left out.
        extensions: "avoid" for a small hand.
        bass_fingers: "1-3-4" where the bass is not taught 1-2-4.
        scales_heard: Scales of the list that the lessons have ticked, by name; `next` writes them.
        lesson: Day and time of the lesson, as "tue 16:30"; the first day of the week when no day is said.
        page: A studio makes the week as a page for a browser too, where it is asked for pages.
    """

    name: Line
    instrument: InstrumentName
    level: Level
    age: Annotated[int, Field(strict=True, ge=2, le=110)] | None = None
    words: PlayerWords = "uk"
    print: Literal["large"] | None = None
    tint: Tint | None = None
    positions: Annotated[
        tuple[Annotated[int, Field(strict=True, ge=0, le=15)], ...], one_or_more, Field(max_length=16)
    ] = ()
    extensions: Literal["avoid"] | None = None
    bass_fingers: Literal["1-2-4", "1-3-4"] | None = None
    scales_heard: Annotated[tuple[Line, ...], one_or_more, Field(max_length=200)] = ()
    lesson: LessonTime | None = None
    page: Annotated[bool, Field(strict=True)] = False

    @property
    def plays(self) -> Instrument:
        """The instrument, with the hand as it is taught to the player."""
        return in_hand(INSTRUMENTS[self.instrument], self.bass_fingers)

    @model_validator(mode="after")
    def _fingers_of_the_bass(self) -> Self:
        if self.bass_fingers is not None and not INSTRUMENTS[self.instrument].hands:
            raise ValueError(f"bass_fingers is for the bass, and the player plays the {self.instrument}.")
        return self


class Days(Table):
    """The days from this lesson to the next, and what is to be kept in mind on all of them.

    Attributes:
        start: First day.
        until: Last day, itself included; six days after the start when left out.
        minutes: Minutes by day: "mon" to "sun", a date as "2026-12-06", "every" for all that are not named.
        focus: The one thing to keep in mind all week.
        notes: The lesson's other points.
        private: What the teacher alone is to read: on the lesson sheet, and nowhere else.
        sound: A studio makes sound files too, and the workbook names them.
        record: The page in a browser may record; by age when left out.
        began: Ids of the pieces that the run-throughs of the weeks before began with; `next` writes them.
        paper: "a4" or "letter", when it is not the studio's.
        staff_mm: Height of the staff in millimetres, when it is not the studio's.
    """

    start: RealDate
    until: RealDate | None = None
    minutes: Annotated[dict[DayKey, Minutes], BeforeValidator(minutes_table)]
    focus: Line | None = None
    notes: Annotated[tuple[Prose, ...], one_or_more, Field(max_length=40)] = ()
    private: Annotated[tuple[Prose, ...], one_or_more, Field(max_length=40)] = ()
    sound: Annotated[bool, Field(strict=True)] = False
    record: Annotated[bool, Field(strict=True)] | None = None
    began: Annotated[tuple[Id, ...], one_or_more, Field(max_length=40)] = ()
    paper: Paper | None = None
    staff_mm: Annotated[float, Field(ge=4, le=20, allow_inf_nan=False)] | None = None

    @property
    def last(self) -> date:
        """The last day of the week."""
        return self.until or self.start + timedelta(days=6)

    @property
    def dates(self) -> tuple[date, ...]:
        """Every day of the week in order, rest days too."""
        return tuple(self.start + timedelta(days=n) for n in range((self.last - self.start).days + 1))

    @property
    def next_lesson(self) -> date:
        """The first day of the week after: the day of the next lesson.

        `until` names it; where the days up to `until` are whole weeks by themselves, `until` is the day before it.
        """
        if self.until is None:
            return self.start + timedelta(weeks=1)
        if len(self.dates) % 7 == 0:
            return self.until + timedelta(days=1)
        return self.until if self.until > self.start else self.until + timedelta(days=1)

    def minutes_on(self, day: date) -> int:
        """Minutes of practice on `day`: by its date, else its weekday, else "every", else none."""
        return day_minutes(self.minutes, day)

    @property
    def practised(self) -> list[date]:
        """The days with practice."""
        return [day for day in self.dates if self.minutes_on(day)]

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if self.last < self.start:
            raise ValueError(f"The week ends on {self.last}, before it starts on {self.start}.")
        if (self.last - self.start).days >= LONGEST_WEEK:
            raise ValueError(f"From {self.start} to {self.last} is more than {LONGEST_WEEK} days.")
        return self


class WeekFile(Table):
    """Everything that a week file says."""

    format: Literal[1]
    include: Annotated[tuple[Line, ...], one_or_more] = ()
    player: Player
    week: Days
    pieces: Annotated[tuple[Piece, ...], Field(max_length=100)] = Field(default=(), alias="piece")
    boxes: Annotated[tuple[BoxItem, ...], Field(max_length=100)] = Field(default=(), alias="box")
    warmups: Annotated[tuple[WarmupItem, ...], Field(max_length=100)] = Field(default=(), alias="warmup")
    warmups_from: Literal["from pieces"] | None = Field(default=None, alias="warmups")
    scales: Line | None = None
    technique: Annotated[tuple[TechniqueItem, ...], Field(max_length=100)] = ()
    plan: PlanSettings = PlanSettings()
    retired: Annotated[tuple[RetiredBox, ...], Field(max_length=1000)] = ()
    parked: Annotated[tuple[BoxItem, ...], Field(max_length=1000)] = ()

    def piece(self, piece_id: str) -> Piece:
        """The piece of that id; KeyError when there is none."""
        return {piece.id: piece for piece in self.pieces}[piece_id]

    def box(self, box_id: str) -> BoxItem:
        """The box of that id; KeyError when there is none."""
        return {box.id: box for box in self.boxes}[box_id]

    @property
    def counts(self) -> bool:
        """Whether the player counts instead of watching the clock: by default up to the age of eight."""
        if self.plan.counts is not None:
            return self.plan.counts
        return self.player.age is not None and self.player.age <= OLDEST_COUNTER

    @property
    def records(self) -> bool:
        """Whether a page in a browser may record: the week's own word, else by age; never up to the age of eight."""
        age = self.player.age
        if age is not None and age <= OLDEST_COUNTER:
            return False
        return self.week.record if self.week.record is not None else age is None or age > OLDEST_CIRCLES

    @property
    def careful(self) -> bool:
        """Whether tempos rise with care: up to the age of eleven, and in the first level."""
        young = self.player.age is not None and self.player.age <= OLDEST_CIRCLES
        return young or self.player.level == "first"

    def clean_runs(self, box: BoxItem) -> int:
        """Clean runs in a row that `box` asks for: its own number, else the week's, else by age, else by level.

        Ten for older players, five up to age eleven, three at five to seven: common practice, no source.
        """
        if box.clean is not None:
            return box.clean
        if self.plan.clean is not None:
            return self.plan.clean
        if self.player.age is None:
            return 5 if self.player.level == "first" else 10
        return 3 if self.player.age <= 7 else 5 if self.player.age <= OLDEST_CIRCLES else 10
