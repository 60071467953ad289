"""Takes a player's paper into the log: at most three questions for each box, every one of which may be passed over.

"#3" goes to box 3, "<" one question back.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Final, TypeVar

from excerpts.log.answers import read_broke, read_days, read_entries
from excerpts.log.doubts import bars_doubt, tempo_doubt
from excerpts.log.log_names import box_text
from excerpts.log.row import LogRow
from excerpts.week import Week
from excerpts.week.added_warmups import due_scales
from excerpts.weekfile.asking import Answers
from excerpts.weekfile.items import BoxItem, Piece, RetiredBox
from excerpts.weekfile.tempo_text import beat_name, tempo_text
from excerpts.words import Words, capital

_BOX: Final = re.compile(r"#\s*(\d{1,3})")

_Answer = TypeVar("_Answer")


def checked_boxes(week: Week) -> list[RetiredBox]:
    """The retired boxes whose check is in this week."""
    checked = {item.check for item in week.technique}
    return [box for box in week.retired if box.id in checked]


def played_pieces(week: Week) -> list[Piece]:
    """The pieces that may have been played through: those with a box, and those that are not new."""
    boxed = {box.piece for box in week.boxes}
    return [piece for piece in week.pieces if piece.id in boxed or piece.status != "learning"]


class _ToBox(Exception):  # noqa: N818 (no error)
    """The teacher goes to another box, by its place in the week."""

    def __init__(self, place: int) -> None:
        self.place = place


class Entering:
    """Asks for one week of one player.

    Args:
        week: The week.
        words: The player's words.
        answers: Asks the questions; raises EOFError when there are no more answers.
    """

    def __init__(self, week: Week, words: Words, answers: Answers) -> None:
        self.week = week
        self.words = words
        self.answers = answers
        self.over = False

    def rows(self) -> Iterator[tuple[int, tuple[LogRow, ...]]]:
        """The rows of each box, then of scales, pieces and days, as soon as they are known; until answers end.

        They are numbered: after an answer was taken back those of one number take the place of those before.
        """
        return self.answers.all_of(self._all)

    def _all(self) -> Iterator[tuple[LogRow, ...]]:
        boxes = (*self.week.boxes, *checked_boxes(self.week))
        place = 0
        while place < len(boxes) and not self.over:
            self.answers.say(self._head(boxes[place]))
            try:
                rows = tuple(self._box(boxes[place]))
            except _ToBox as other:
                place = other.place
                continue
            yield rows
            place += 1
        for scale in due_scales(self.week):
            if not self.over:
                yield tuple(self._scale(scale))
        for piece in played_pieces(self.week):
            if not self.over:
                yield tuple(self._piece(piece.id, piece.title))
        days = self._asked("asked_other", lambda answer: read_days(answer, self.week.week))
        yield tuple(LogRow(self.week.week.start, day, "day") for day in days or ())

    def _head(self, box: BoxItem) -> str:
        text = box_text(self.week, box, self.words)
        if isinstance(box, RetiredBox):
            text = self.words("log.check_of", box=text)
        goal = tempo_text(box.target, self.words) if box.target else box.goal
        runs = self.week.clean_runs(box)
        message = "log.goal" if goal else "log.goal_alone"
        return capital(self.words(message, box=text, goal=goal, runs=runs))

    def _box(self, box: BoxItem) -> Iterator[LogRow]:
        start = self.week.week.start
        unit = box.target.unit if box.target else box.start.unit if box.start else None
        asked = "asked_days" if unit else "asked_days_goal"
        beat = beat_name(unit, self.words) if unit else ""
        entries = (
            self._of_box(
                asked,
                lambda answer: self._believed(
                    entries := read_entries(answer, self.week.week, unit),
                    *(tempo_doubt(box, entry.tempo, self.words) for entry in entries),
                ),
                beat=beat,
            )
            or ()
        )
        bars, note = self._of_box(
            "asked_broke",
            lambda answer: self._believed(broke := read_broke(answer), bars_doubt(box, broke[0], self.words)),
        ) or ("", "")
        heard = self._of_box("asked_heard", self._yes_or_no)
        for place, entry in enumerate(entries, start=1):
            last = place == len(entries)  # what was noticed stands once, with the last day
            where, what = (bars, note) if last else ("", "")
            yield LogRow(start, entry.day, "box", box.id, entry.tempo, entry.clean, where, what)
        if not entries and (bars or note):
            yield LogRow(start, None, "box", box.id, bars=bars, note=note)
        if heard is not None:
            yield LogRow(start, None, "heard", box.id, clean=None if heard else 0)

    def _of_box(self, message: str, read: Callable[[str], _Answer], **parameters: object) -> _Answer | None:
        """The answer to a question about a box, as from `_asked`; the number of another box goes there."""

        def to_box(answer: str) -> _Answer:
            match = _BOX.fullmatch(answer)
            if match is None:
                return read(answer)
            if not 0 < int(match[1]) <= len(self.week.boxes):
                raise ValueError(f"There is no box {match[1]}: they are 1 to {len(self.week.boxes)}.")
            raise _ToBox(int(match[1]) - 1)

        return self._asked(message, to_box, **parameters)

    def _scale(self, scale: str) -> Iterator[LogRow]:
        heard = self._asked("asked_scale", self._yes_or_no, scale=scale)
        if heard is not None:
            yield LogRow(self.week.week.start, None, "heard", scale, clean=None if heard else 0)

    def _piece(self, piece_id: str, title: str) -> Iterator[LogRow]:
        typed = self._asked("asked_piece", lambda answer: answer, piece=title)
        if typed:
            bars, note = read_broke(typed)
            yield LogRow(self.week.week.start, None, "run-through", piece_id, bars=bars, note=note)

    def _asked(self, message: str, read: Callable[[str], _Answer], **parameters: object) -> _Answer | None:
        """The answer to a question, None for an empty one; one that cannot be read is asked for again."""
        try:
            return None if self.over else self.answers.some(self.words(f"log.{message}", **parameters), read)
        except EOFError:
            self.over = True
            return None

    def _believed(self, read: _Answer, *doubts: str) -> _Answer:
        """What was read, once whatever is doubtful in it was said to be right.

        Raises:
            ValueError: It was not.
        """
        for doubt in filter(None, doubts):
            if not self._yes_or_no(self.answers.line(f"  {doubt} {self.words('log.doubt')} ")):
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
