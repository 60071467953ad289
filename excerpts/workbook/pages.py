"""The page models: everything that a workbook prints, as plain values, before any HTML is made.

The builders in this folder fill them from a week, its plan and its excerpts; the templates lay them out.
"""

from __future__ import annotations

from dataclasses import dataclass

from excerpts.weekfile.settings import Section
from excerpts.workbook.beat import Beat

MOST_LISTED = 4
"""Items of a section on a day that stand below one another in the week's table; more run on."""


@dataclass(frozen=True, slots=True)
class Picture:
    """One engraved system: what `<img>` needs.

    Attributes:
        src: Address of the picture, without a file or a network behind it.
        width: Width in mm.
        height: Height in mm.
        alt: Spoken description.
    """

    src: str
    width: float
    height: float
    alt: str


@dataclass(frozen=True, slots=True)
class MusicBlock:
    """A heading, a line of what to do, and music or a note in its place.

    Attributes:
        title: Name of the block ("Long–short", "D major, 2 octaves").
        instruction: One line of what to do; empty when there is nothing to say.
        systems: The engraved systems; empty for words only.
        mark: Short label before the title ("3a"), empty for none.
        note: Why there is no music, for a variant that does not fit; empty otherwise.
        minutes: Minutes a day, None where the plan gives none of its own.
        anchor: Its name in the workbook, by which it can be found later; empty for none.
    """

    title: str
    instruction: str = ""
    systems: tuple[Picture, ...] = ()
    mark: str = ""
    note: str = ""
    minutes: int | None = None
    anchor: str = ""


@dataclass(frozen=True, slots=True)
class DayHead:
    """Head of one column of the week's table.

    Attributes:
        name: Short name of the day ("Mon").
        date: Day of the month, with the month where it changes ("30", "1 Dec").
        minutes: Minutes of that day, 0 for a day off.
        rest: Minutes of those that are breaks.
        today: Whether it is to be marked.
        first: What comes before all sections: the run-through before a performance, straight after tuning.
    """

    name: str
    date: str
    minutes: int
    rest: int = 0
    today: bool = False
    first: tuple[TableItem, ...] = ()


@dataclass(frozen=True, slots=True)
class TableItem:
    """One thing to do on one day.

    Attributes:
        text: What, in a few words ("Box 1", "Quartet").
        minutes: For how long.
        number: Number of the box; 0 where it is none.
        depth: Whether the box is worked on step by step.
        times: How often, for those who count instead of watching the clock; 0 for minutes.
        rest: Where a break comes, after it or in it; empty for none.
    """

    text: str
    minutes: int
    number: int = 0
    depth: bool = False
    times: int = 0
    rest: str = ""


@dataclass(frozen=True, slots=True)
class PlanRow:
    """One section of the week's table: its items day by day."""

    section: Section
    cells: tuple[tuple[TableItem, ...], ...]


@dataclass(frozen=True, slots=True)
class WeekTable:
    """Up to seven days of the plan."""

    days: tuple[DayHead, ...]
    rows: tuple[PlanRow, ...]

    @property
    def listed(self) -> bool:
        """Whether each item has a line of its own; where there are many they run on, the same all week."""
        return all(len(items) <= MOST_LISTED for row in self.rows for items in row.cells)

    @property
    def rests(self) -> bool:
        """Whether a break comes among the boxes."""
        return any(
            item.rest for row in self.rows if row.section == "passages" for cell in row.cells for item in cell
        )


@dataclass(frozen=True, slots=True)
class DayRow:
    """One day of the week's table, where it is printed as a row."""

    table: WeekTable
    column: int


@dataclass(frozen=True, slots=True)
class BoxLine:
    """One line of the list of boxes on the first page."""

    number: int
    anchor: str
    title: str
    why: str
    goal: str


@dataclass(frozen=True, slots=True)
class FirstPage:
    """The first page.

    Attributes:
        player: Name of the player.
        instrument: The instrument, in words.
        dates: The week's dates in words.
        lines: Lines at the right of the head: next lesson, days to the performance.
        focus: The one thing to keep in mind; empty for none.
        tables: The week, at most seven days a table.
        boxes: The boxes with the pages they are on.
        notes: The teacher's other points.
        parent: A line for the grown-up; empty for older players.
    """

    player: str
    instrument: str
    dates: str
    lines: tuple[str, ...]
    focus: str
    tables: tuple[WeekTable, ...]
    boxes: tuple[BoxLine, ...]
    notes: tuple[str, ...]
    parent: str = ""


@dataclass(frozen=True, slots=True)
class Columns:
    """The list of boxes and the notes of the first page, side by side or below each other.

    Attributes:
        first: The first page.
        brief: Whether the boxes have their titles and pages only.
        rules: Lines to write on below the notes.
        mark: Its name in the galley in which it is measured.
    """

    first: FirstPage
    brief: bool = False
    rules: int = 0
    mark: str = ""


@dataclass(frozen=True, slots=True)
class TempoLabel:
    """A tempo as it is printed.

    Attributes:
        number: Beats a minute.
        beat: The note that beats; None where it is the same as just before.
    """

    number: str
    beat: Beat | None = None


@dataclass(frozen=True, slots=True)
class StepCell:
    """One step of the way through a box.

    Attributes:
        number: Place in the recipe, from 1.
        kind: Which step it is ("slow", "pieces", "rhythms", "written", "context").
        name: What it is called ("Slow").
        text: What to do.
        minutes: For how long; None on a week without a day in depth.
        tempos: The tempo that belongs to it, or the first and last of several; empty for none.
        tempo: The tempo in words, where it is no number.
    """

    number: int
    kind: str
    name: str
    text: str
    minutes: int | None
    tempos: tuple[TempoLabel, ...] = ()
    tempo: str = ""


@dataclass(frozen=True, slots=True)
class LogDay:
    """One line of a box's record: a day, and which of the tempos it is meant for.

    Attributes:
        name: The day in short ("Mon 30").
        meant: For each tempo of the record, whether this day is meant for it.
        depth: Whether the box is done in depth that day.
        tempo: The tempo of that day, where it has only one.
    """

    name: str
    meant: tuple[bool, ...]
    depth: bool = False
    tempo: TempoLabel | None = None


@dataclass(frozen=True, slots=True)
class Record:
    """What the player writes down: best in a row for each tempo and day, or circles to colour.

    Attributes:
        beat: The note that beats in all of the tempos; None where it changes, or the goal is in words.
        tempos: The tempos, from slow to the goal.
        goal: The goal in words, for a box without a number.
        runs: How many clean runs in a row are wanted.
        days: The days on which the box is planned.
        circles: Whether it is kept by circles (children) and not by numbers.
        rule: The rule of clean runs in full, told once in a workbook; empty elsewhere.
    """

    beat: Beat | None
    tempos: tuple[TempoLabel, ...]
    goal: str
    runs: int
    days: tuple[LogDay, ...]
    circles: bool
    rule: str = ""


@dataclass(frozen=True, slots=True)
class BoxPage:
    """Everything on one box.

    Attributes:
        anchor: Id that the list of boxes points to.
        number: Its number in the week, as drawn at the box.
        title: "Piece, bars 41–48".
        subline: Part, metre, key and goal, in one grey line.
        why: Why it is boxed; empty when the teacher gave no reason.
        music: The excerpt; None for a box without a score.
        paste: Height in mm of the room to paste a copy into; 0 for none.
        recipe: The way through it.
        others: What to do on the days when it is not done in depth; empty for none.
        variants: Practice versions.
        spoken: Ways to practise that are a word to the player alone.
        record: What the player writes down.
        kept: Which earlier workbook has the music of the box; empty where it is printed.
    """

    anchor: str
    number: int
    title: str
    subline: str
    why: str
    music: MusicBlock | None
    paste: float
    recipe: tuple[StepCell, ...]
    others: str
    variants: tuple[MusicBlock, ...]
    spoken: tuple[MusicBlock, ...]
    record: Record | None
    kept: str = ""

    @property
    def tells_runs(self) -> bool:
        """Whether a step of the recipe says how many clean runs are wanted, so that the record need not."""
        return any(step.kind == "written" for step in self.recipe)


@dataclass(frozen=True, slots=True)
class TextItem:
    """A piece of work in words with its minutes, or a box taken as a drill.

    Attributes:
        text: What to do.
        minutes: For how long; None when the plan shares out the time.
        anchor: Id of the box that it drills; empty for none.
    """

    text: str
    minutes: int | None = None
    anchor: str = ""


@dataclass(frozen=True, slots=True)
class PieceRow:
    """One piece in the table of the repertoire."""

    title: str
    composer: str
    status: str
    days: tuple[str, ...]
    minutes: str
    date: str


@dataclass(frozen=True, slots=True)
class Workbook:
    """A whole workbook, ready for the templates.

    Attributes:
        title: Title of the document.
        author: Who it is by, for the document's data.
        language: Language of the words, as a tag.
        footer: Name and week, for the foot of every page.
        focus: The focus, shortened to fit the foot of the page.
        copying: The line on copying.
        first: The first page.
        warmups: Music of the warm-ups.
        warmup_texts: Warm-ups in words.
        studies: Studies and drills with music, in the technique section.
        technique_texts: Technique in words.
        boxes: The boxes.
        pieces: The repertoire.
        cites: Whether it names pages of other workbooks.
    """

    title: str
    author: str
    language: str
    footer: str
    focus: str
    copying: str
    first: FirstPage
    warmups: tuple[MusicBlock, ...]
    warmup_texts: tuple[TextItem, ...]
    studies: tuple[MusicBlock, ...]
    technique_texts: tuple[TextItem, ...]
    boxes: tuple[BoxPage, ...]
    pieces: tuple[PieceRow, ...]
    cites: bool = False
