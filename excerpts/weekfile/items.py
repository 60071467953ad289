"""Pieces and boxes of a week file. The names are the keys of the file."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Annotated, Final, Literal, Self

from pydantic import (
    Field,
    model_validator,
)

from excerpts.weekfile.item_values import (
    Faults,
    OwnMarks,
    RealDate,
    SomeMinutes,
    Start,
    Status,
    Table,
    Target,
    Variants,
)
from excerpts.weekfile.text_kinds import (
    AbcText,
    Area,
    Areas,
    Bars,
    ByPage,
    Id,
    Line,
    Metre,
    PageNumber,
    Prose,
    SystemBars,
    one_or_more,
)


class Piece(Table):
    """A piece or study that the player works on; its score and part are given here once.

    Attributes:
        id: Short name that boxes call it by.
        title: Title as it is printed.
        composer: Composer as it is printed.
        score: Score file, from the week file's folder or the studio's scores folder.
        part: Part in the score: its name, its id, or "#2"; not needed when the score has one.
        pages: Its printed pages: a PDF, a picture, or a folder of pictures.
        first_bars: By page the number of the bar that each of its systems begins with, and after them, if at all, of
            the bar that comes next.
        counted: By page how many bars each of its systems has, counted by a person, where it is a photo.
        metre: The metre of pieces that have pages only, for the length of their bars ("3/4").
        blank: By page the areas that are left white, as a name that was pencilled there.
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
    first_bars: ByPage = {}
    counted: ByPage = {}
    metre: Metre | None = None
    blank: dict[PageNumber, Areas] = {}
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
        systems: What is cut out of it by systems, each "system: from barline-to barline", as "2: 1-4"; in order. One
            of another page says which: "4/1: 0-2".
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
    systems: Annotated[tuple[SystemBars, ...], one_or_more, Field(min_length=1, max_length=20)] | None = None
    place: Line | None = None
    abc: AbcText | None = None
    why: Faults = ()
    note: Prose | None = None
    target: Target = None
    goal: Line | None = None
    start: Start = None
    clean: Annotated[int, Field(strict=True, ge=1, le=50)] | None = None
    variants: Variants | None = None
    marks: OwnMarks = ()
    minutes: SomeMinutes | None = None
    since: RealDate | None = None

    @model_validator(mode="after")
    def _one_source(self) -> Self:
        given = [key for key in ("bars", "place", "abc") if getattr(self, key) is not None]
        on_page = self.page is not None or bool(self.area or self.areas or self.systems)
        if not given and not on_page:
            raise ValueError(
                "A box needs its music: bars of the piece's score (bars), an area of one of its pages (page, area), "
                "a place in a printed part (place), or a few bars typed in (abc)."
            )
        if self.piece is None and (on_page or self.abc is None):
            raise ValueError("A box needs its piece: the id of a [[piece]].")
        parts = [part for part in (self.area, self.areas, self.systems) if part is not None]
        if on_page and (self.page is None or len(parts) != 1):
            raise ValueError(
                "A page needs an area, or systems: page = 3 with area = [left, top, right, bottom] or with "
                'systems = ["2: 1-4"].'
            )
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
