"""The lesson sheet of a player: what the teacher wants to see at the start of a lesson, and room to write."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Final

from excerpts.log import Log, LogRow, box_text
from excerpts.log.log_names import numbered
from excerpts.log.next_week_draft import MOST_BOXES
from excerpts.log.standing import CLEAN_DAYS
from excerpts.teacher.standing_sheet import BoxState, PlayerState, player_state
from excerpts.warmups import short_name
from excerpts.week import Week
from excerpts.week.bars_in_words import bars_of, bars_text, box_name
from excerpts.weekfile.scale_items import WarmupItem
from excerpts.weekfile.tempo_text import number_text, tempo_text
from excerpts.words import Words
from excerpts.workbook.page_names import shortened
from excerpts.workbook.page_texts import Dates, PageTexts

_MAY_RETIRE: Final = 2
_LEAST_ROOM: Final = 3
"""Lines for new boxes: as many as the level has room for when two retire, and three at least."""

_LONGEST_DATE: Final = 64


@dataclass(frozen=True, slots=True)
class BoxRow:
    """A box on the lesson sheet.

    Attributes:
        number: Its number in the workbook.
        title: Where it is.
        meta: Why it is boxed, and for how long it has been in work.
        goal: What it is to reach.
        runs: Clean runs in a row that it asks for.
        reached: What was reached this week; empty for nothing.
        state: What the log says about getting clean.
        broke: Where it broke down and what was noticed.
        stuck: Whether it is stuck.
    """

    number: int
    title: str
    meta: str
    goal: str
    runs: str
    reached: str
    state: str
    broke: str
    stuck: bool


@dataclass(frozen=True, slots=True)
class LessonSheet:
    """A lesson sheet.

    Attributes:
        player: Name.
        who: Instrument and age.
        lesson: The day of the lesson.
        lines: Days to the dates to come.
        focus: The last focus.
        notes: The other points of the last lesson.
        private: What the teacher alone is to read.
        practised: How much was practised.
        boxes: The boxes in work.
        checks: Retired boxes to hear.
        broke: What broke down in run-throughs.
        scales: Warm-ups that are due.
        technique: Technique that is due.
        room: Lines for the next boxes.
        plenty: How many boxes are plenty.
    """

    player: str
    who: str
    lesson: str
    lines: tuple[str, ...]
    focus: str
    notes: tuple[str, ...]
    private: tuple[str, ...]
    practised: str
    boxes: tuple[BoxRow, ...]
    checks: tuple[str, ...]
    broke: tuple[str, ...]
    scales: tuple[str, ...]
    technique: tuple[str, ...]
    room: int
    plenty: str


def lesson_sheet(week: Week, log: Log, words: Words) -> LessonSheet:
    """The lesson sheet for the lesson that ends a week."""
    state = player_state(week, log)
    return _Sheet(state, words).build()


class _Sheet:
    def __init__(self, state: PlayerState, words: Words) -> None:
        self.state = state
        self.week = state.week
        self.words = words
        self.dates = Dates(PageTexts(words))

    def _say(self, message: str, **parameters: object) -> str:
        return self.words(f"teacher.lesson.{message}", **parameters)

    def build(self) -> LessonSheet:
        week, player = self.week, self.week.player
        who = self.words(f"instrument.{player.instrument}")
        if player.age is not None:
            who = self._say("who", instrument=who, age=player.age)
        most = MOST_BOXES[player.level]
        return LessonSheet(
            player=player.name,
            who=who,
            lesson=self.dates.weekday(self.state.lesson),
            lines=tuple(date_lines(self.state, self.words)),
            focus=week.week.focus or "",
            notes=week.week.notes,
            private=week.week.private,
            practised=practised_text(self.state, self.words),
            boxes=tuple(self._box(number, box) for number, box in enumerate(self.state.boxes, start=1)),
            checks=tuple(self._check(place) for place in range(len(self.state.due))),
            broke=tuple(self._broke(*run_through) for run_through in self.state.run_throughs),
            scales=tuple(scale_text(item, self.words) for item in week.warmups),
            technique=tuple(self._technique()),
            room=min(max(most - len(week.boxes) + _MAY_RETIRE, _LEAST_ROOM), most + 1),
            plenty=self._say("plenty", n=most),
        )

    def _box(self, number: int, state: BoxState) -> BoxRow:
        box = state.box
        why = ", ".join(self.words(f"fault.short.{fault}") for fault in box.why)
        weeks = self._say("weeks", n=state.weeks) if state.weeks > 1 else ""
        goal = tempo_text(box.target, self.words) if box.target else box.goal or ""
        return BoxRow(
            number=number,
            title=box_name(self.week, box, self.words) or box.id,
            meta=" · ".join(part for part in (why, weeks) if part),
            goal=goal,
            runs=self._say("runs", n=self.week.clean_runs(box)),
            reached=self._reached(state),
            state=self._state(state),
            broke=self._broken(state),
            stuck=state.stuck,
        )

    def _reached(self, state: BoxState) -> str:
        if state.best is not None:
            return self._runs(state, state.best)
        if state.before is None or state.before.week is None:
            return ""
        reached = self._runs(state, state.before)
        if (self.week.week.start - state.before.week).days <= 7:
            return self._say("last_week", reached=reached)
        return self._say("earlier", reached=reached, day=self.dates.day(state.before.week))

    def _runs(self, state: BoxState, best: LogRow) -> str:
        """A tempo with its clean runs, or the runs alone."""
        runs = "" if best.clean is None else self._say("in_a_row", n=best.clean)
        if best.tempo is None:
            return runs
        same = state.box.target is not None and state.box.target.unit == best.tempo.unit
        tempo = number_text(best.tempo.number) if same else tempo_text(best.tempo, self.words)
        return ", ".join(part for part in (tempo, runs) if part)

    def _state(self, state: BoxState) -> str:
        now = state.standing
        if now.clean:
            return self._say("clean")
        parts = [self._say("stuck", n=state.weeks)] if state.stuck else []
        if now.goal_days:
            parts.append(self._say("goal_days", n=now.goal_days, of=CLEAN_DAYS))
        if not now.practised and state.before is None:
            parts.append(self._say("nothing"))
        return "; ".join(parts)

    def _broken(self, state: BoxState) -> str:
        bars = [
            where if times == 1 else f"{where} ({times}×)"
            for where, times in ((self._bars(state.box.piece, bars), times) for bars, times in state.broke)
        ]
        return "; ".join([*bars, *state.notes])

    def _bars(self, piece: str | None, bars: str) -> str:
        return bars_of(self.week, piece, bars, self.words)

    def _check(self, place: int) -> str:
        box = self.state.due[place]
        goal = tempo_text(box.target, self.words) if box.target else box.goal or ""
        return ", ".join(part for part in (box_text(self.week, box, self.words), goal) if part)

    def _broke(self, piece: str, bars: str, times: int) -> str:
        where = f"{piece}, {bars_text(bars, self.words)}"
        return where if times == 1 else f"{where} ({times}×)"

    def _technique(self) -> list[str]:
        titles = {piece.id: piece.title for piece in self.week.pieces}
        lines = []
        for item in self.week.technique:
            if item.text is not None and item.check is None:
                lines.append(" ".join(item.text.split()))
            elif item.piece is not None and item.bars is not None:
                lines.append(f"{titles.get(item.piece, item.piece)}, {self._bars(item.piece, item.bars)}")
            elif item.drill is not None:
                lines.append(self.words("plan.drill", number=numbered(self.week, item.drill)))
            elif item.key is not None:
                lines.append(short_name(item.key, item.pattern, self.words, whole=True))
        return lines


def scale_text(item: WarmupItem, words: Words) -> str:
    """A warm-up in a few words: "G major scale, two octaves"."""
    if item.key is None:
        return " ".join((item.text or "").split())
    name = short_name(item.key, item.pattern, words, whole=True)
    if item.octaves is None:
        return name
    return f"{name}, {words(f'warmup.octaves_{item.octaves}')}"


def practised_text(state: PlayerState, words: Words) -> str:
    """How much was practised, by what was written down."""
    if state.silent:
        return words("teacher.lesson.silent")
    message = "days_more" if state.undated else "days"
    return words(f"teacher.lesson.{message}", n=state.practised, of=state.planned)


def date_lines(state: PlayerState, words: Words) -> list[str]:
    """The performances to come, with the days from the lesson to each."""
    dates = Dates(PageTexts(words))
    days: dict[date, list[str]] = {}
    for piece in state.performances:
        if piece.date is not None:
            days.setdefault(piece.date, []).append(piece.title)
    lines = []
    for day, titles in days.items():
        away = (day - state.lesson).days
        message = "today" if away == 0 else "tomorrow" if away == 1 else "to_date"
        named = shortened(", ".join(titles), _LONGEST_DATE)
        lines.append(words(f"teacher.lesson.{message}", pieces=named, day=dates.day(day), days=away))
    return lines
