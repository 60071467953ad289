"""Takes a player's paper into the log: at most three questions for each box, every one of which may be passed over."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TypeVar

from excerpts.log.answers import read_broke, read_days, read_entries
from excerpts.log.doubts import bars_doubt, tempo_doubt
from excerpts.log.log_names import box_text
from excerpts.log.row import LogRow
from excerpts.week import Week
from excerpts.week.added_warmups import due_scales
from excerpts.weekfile.items import BoxItem, RetiredBox
from excerpts.weekfile.tempo_text import beat_name, tempo_text
from excerpts.words import Words

Ask = Callable[[str], str]
"""Asks a question and gives the answer; raises EOFError when there are no more answers."""

Tell = Callable[[str], None]

_Answer = TypeVar("_Answer")


class Entering:
    """Asks for one week of one player.

    Args:
        week: The week.
        words: The player's words.
        ask: Asks a question.
        tell: Says a line.
    """

    def __init__(self, week: Week, words: Words, ask: Ask, tell: Tell) -> None:
        self.week = week
        self.words = words
        self.ask = ask
        self.tell = tell
        self.over = False

    def rows(self) -> Iterator[tuple[LogRow, ...]]:
        """The rows of each box, then of scales, pieces and days, as soon as they are known; until answers end."""
        for box in (*self.week.boxes, *self._checks()):
            if self.over:
                return
            self.tell(self._head(box))
            yield tuple(self._box(box))
        for scale in due_scales(self.week):
            if not self.over:
                yield tuple(self._scale(scale))
        boxed = {box.piece for box in self.week.boxes}
        for piece in self.week.pieces:
            if not self.over and (piece.id in boxed or piece.status != "learning"):
                yield tuple(self._piece(piece.id, piece.title))
        days = self._asked("asked_other", lambda answer: read_days(answer, self.week.week))
        yield tuple(LogRow(self.week.week.start, day, "day") for day in days or ())

    def _checks(self) -> list[RetiredBox]:
        """The retired boxes whose check is in this week."""
        checked = {item.check for item in self.week.technique}
        return [box for box in self.week.retired if box.id in checked]

    def _head(self, box: BoxItem) -> str:
        text = box_text(self.week, box, self.words)
        if isinstance(box, RetiredBox):
            text = self.words("log.check_of", box=text)
        goal = tempo_text(box.target, self.words) if box.target else box.goal
        runs = self.week.clean_runs(box)
        message = "log.goal" if goal else "log.goal_alone"
        told = self.words(message, box=text, goal=goal, runs=runs)
        return told[:1].upper() + told[1:]

    def _box(self, box: BoxItem) -> Iterator[LogRow]:
        start = self.week.week.start
        unit = box.target.unit if box.target else box.start.unit if box.start else None
        asked = "asked_days" if unit else "asked_days_goal"
        beat = beat_name(unit, self.words) if unit else ""
        entries = (
            self._asked(
                asked,
                lambda answer: self._believed(
                    entries := read_entries(answer, self.week.week, unit),
                    *(tempo_doubt(box, entry.tempo, self.words) for entry in entries),
                ),
                beat=beat,
            )
            or ()
        )
        bars, note = self._asked(
            "asked_broke",
            lambda answer: self._believed(broke := read_broke(answer), bars_doubt(box, broke[0], self.words)),
        ) or ("", "")
        heard = self._asked("asked_heard", self._yes_or_no)
        for place, entry in enumerate(entries, start=1):
            last = place == len(entries)  # what was noticed stands once, with the last day
            where, what = (bars, note) if last else ("", "")
            yield LogRow(start, entry.day, "box", box.id, entry.tempo, entry.clean, where, what)
        if not entries and (bars or note):
            yield LogRow(start, None, "box", box.id, bars=bars, note=note)
        if heard is not None:
            yield LogRow(start, None, "heard", box.id, clean=None if heard else 0)

    def _scale(self, scale: str) -> Iterator[LogRow]:
        heard = self._asked("asked_scale", self._yes_or_no, scale=scale)
        if heard is not None:
            yield LogRow(self.week.week.start, None, "heard", scale, clean=None if heard else 0)

    def _piece(self, piece_id: str, title: str) -> Iterator[LogRow]:
        told = self._asked("asked_piece", lambda answer: answer, piece=title)
        if told:
            bars, note = read_broke(told)
            yield LogRow(self.week.week.start, None, "run-through", piece_id, bars=bars, note=note)

    def _asked(self, message: str, read: Callable[[str], _Answer], **parameters: object) -> _Answer | None:
        """The answer to a question, None for an empty one; one that cannot be read is asked for again."""
        while not self.over:
            try:
                answer = self.ask(self.words(f"log.{message}", **parameters)).strip()
                return read(answer) if answer else None
            except EOFError:
                self.over = True
            except ValueError as error:
                self.tell(f"  {error}")
        return None

    def _believed(self, read: _Answer, *doubts: str) -> _Answer:
        """What was read, once whatever is doubtful in it was said to be right.

        Raises:
            ValueError: It was not.
        """
        for doubt in filter(None, doubts):
            if not self._yes_or_no(self.ask(f"  {doubt} {self.words('log.doubt')} ").strip()):
                raise ValueError(self.words("log.doubt_again"))
        return read

    def _yes_or_no(self, answer: str) -> bool:
        """Yes or no in the player's words, or in English."""
        said = {
            wanted: [*self.words(f"log.{wanted}").split(), *Words()(f"log.{wanted}").split()]
            for wanted in ("yes", "no")
        }
        for wanted, names in said.items():
            if answer.lower() in names:
                return wanted == "yes"
        raise ValueError(f'"{answer}" is not {said["yes"][0]} or {said["no"][0]}.')
