"""What the way to the next week is worked out from, and the words that tell it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Final, Literal

from excerpts.excerpt import Tempo
from excerpts.instruments.instrument import Level
from excerpts.log.choices import Choices
from excerpts.log.edits import Edit, Told
from excerpts.log.log_cells import file_words
from excerpts.log.log_names import box_text
from excerpts.log.row import LogRow
from excerpts.log.standing import Standing, standing, weeks_at_work
from excerpts.variants.tempo_steps import METRONOME_NUMBERS, one_down
from excerpts.week import Week
from excerpts.week.bars_in_words import box_name
from excerpts.weekfile.edit_text import Value
from excerpts.weekfile.items import BoxItem
from excerpts.weekfile.tempo_text import tempo_text
from excerpts.words import Words, capital

MOST_BOXES: Final[Mapping[Level, int]] = {"first": 2, "lower": 3, "middle": 4, "upper": 5, "advanced": 6}
"""Boxes in work that are plenty for a level: common practice, no source."""

NUMBERS_BELOW: Final = 2
"""Metronome numbers below what was reached at which the next week starts."""


@dataclass
class NextWeekDraft:
    """The way from one week to the next, as it is being worked out.

    Attributes:
        week: The old week.
        rows: The player's log.
        words: Words of the lines that tell it.
        start: First day of the new week.
        own: Ids of the boxes that the week file has itself; others come from a shared set or marks in a score.
        own_pieces: Ids of the pieces that it has itself.
        own_technique: How many items of technique it has itself; they come before others.
        steps: The changes so far.
        lines: What is told so far.
        choices: What the teacher decided.
        about: What is being decided, for the lines that tell it.
        light: Minutes of single days of the new week.
        in_work: Ids of the boxes that stay in work.
        starts: The new start of each box that gets one, by its id.
        moved: Ids of the boxes that come to be retired, parked, or in work again.
        new: Ids of the boxes that were chosen in the lesson, in their order.
    """

    week: Week
    rows: tuple[LogRow, ...]
    words: Words
    start: date
    own: set[str]
    own_pieces: set[str]
    own_technique: int
    steps: list[Edit] = field(default_factory=list)
    lines: list[Told] = field(default_factory=list)
    choices: Choices = field(default_factory=Choices)
    about: str = ""
    light: dict[str, int] = field(default_factory=dict)
    in_work: list[str] = field(default_factory=list)
    starts: dict[str, Tempo] = field(default_factory=dict)
    moved: dict[str, set[str]] = field(
        default_factory=lambda: {"retired": set(), "parked": set(), "box": set()}
    )
    new: list[str] = field(default_factory=list)

    @property
    def taken_ids(self) -> set[str]:
        """The ids of all boxes of the week, and those that are given so far."""
        week = self.week
        taken = {box.id for box in (*week.boxes, *week.retired, *week.parked)}
        return taken | {str(step.values["id"]) for step in self.steps if "id" in step.values}

    @property
    def written(self) -> Words:
        """The player's words, for what goes into the file and from there onto the pages."""
        return Words(self.week.player.words)

    def tell(self, message: str, **parameters: object) -> None:
        """Add a line, by its message under `log.next`."""
        text = self.words(f"log.next.{message}", **parameters)
        self.lines.append(Told(message, text, self.about, parameters))

    def stays(self, about: str) -> bool:
        """Turn to what is decided next; whether the teacher wants it left as it is, so that it is only told."""
        self.about = about
        return about in self.choices.kept

    def box(self, box: BoxItem) -> str:
        """A box at the start of a line."""
        return capital(box_text(self.week, box, self.words))

    def place(self, box: BoxItem) -> str:
        """Where a box is."""
        return box_name(self.week, box, self.words) or box.id

    def concert(self, box: BoxItem) -> date | None:
        """The day of the performance that a box is for; None where its piece has none."""
        return next((piece.date for piece in self.week.pieces if piece.id == box.piece), None)

    def tempo(self, tempo: Tempo) -> str:
        """A tempo in the words of the lines."""
        return tempo_text(tempo, self.words)

    def start_value(self, box: BoxItem, tempo: Tempo) -> Value:
        """A start as the file has it: a number where the beat is the target's own."""
        same = box.target is not None and box.target.unit == tempo.unit
        return int(tempo.number) if same and tempo.number.denominator == 1 else self.file_tempo(tempo)

    def file_tempo(self, tempo: Tempo) -> str:
        """A tempo as a week file says it."""
        return tempo_text(tempo, file_words(self.written))

    def since(self, box: BoxItem) -> date:
        """The first day of the week in which a box came into work; by the log, where no file says it."""
        if box.since is not None or box.id in self.own:
            return box.since or self.week.week.start
        weeks = [
            row.week for row in self.rows if row.box == box.id and row.kind in ("box", "heard") and row.week
        ]
        return min([*weeks, self.week.week.start])

    def change(
        self,
        box: BoxItem,
        values: Mapping[str, Value | None],
        *,
        do: Literal["set", "move", "copy"] = "set",
        to: str = "",
        comment: str = "",
        beside: str = "",
    ) -> None:
        """Change the table of a box in work; one that comes from elsewhere gets a table of its own first."""
        if do == "move":
            self.moved[to].add(box.id)
        if box.id in self.own:
            self.steps.append(Edit(do, "box", box.id, to=to, values=values, comment=comment, beside=beside))
            return
        whole = {**box_table(box, self.written), **values}
        self.steps.append(Edit("add", to or "box", values=whole, comment=comment, beside=beside))

    def weeks(self, box: BoxItem) -> int:
        """Weeks in which anything was written down while a box was in work."""
        return weeks_at_work(self.rows, self.since(box), self.week.week.start)


def below(reached: Tempo, target: Tempo) -> Tempo:
    """Two metronome numbers below what was reached, and never above the target.

    What was reached is counted in the target's beat where the metronome has such numbers.
    """
    quarters = min(reached.quarters_per_minute, target.quarters_per_minute)
    unit = target.unit if quarters / target.unit > METRONOME_NUMBERS[NUMBERS_BELOW] else reached.unit
    return one_down(Tempo(quarters / unit, unit), NUMBERS_BELOW)


def box_table(box: BoxItem, words: Words) -> dict[str, Value | None]:
    """A box as the keys and values of a week file."""
    table: dict[str, Value | None] = {
        key: value
        for key in ("id", "piece", "bars", "place", "abc", "note", "goal", "clean", "minutes", "since")
        if (value := getattr(box, key)) is not None
    }
    if box.why:
        table["why"] = box.why
    if box.variants is not None:
        table["variants"] = box.variants
    for key, tempo in (("target", box.target), ("start", box.start)):
        if tempo is not None:
            table[key] = tempo_text(tempo, file_words(words))
    return table


def standing_of(story: NextWeekDraft, box: BoxItem) -> Standing:
    """Where a box in work stands at the end of the week."""
    return standing(
        box,
        story.rows,
        wanted=story.week.clean_runs(box),
        week=story.week.week.start,
        since=story.since(box),
    )
