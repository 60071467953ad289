"""A week with its scores, and the measurements of its music."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Final

from pydantic import PrivateAttr

from excerpts.editions import PAPERS, Edition, EditionName, Paper, edition
from excerpts.errors import InputError
from excerpts.instruments.staff import Clef
from excerpts.score import Part, Passage, Score
from excerpts.score.abc import from_abc
from excerpts.weekfile.faults import Fault
from excerpts.weekfile.items import BoxItem
from excerpts.weekfile.lines import KeyPath
from excerpts.weekfile.model import WeekFile
from excerpts.weekfile.read_week import WeekReading
from excerpts.weekfile.scale_list import ListFile
from excerpts.weekfile.studio_folder import Studio


class Week(WeekFile):
    """A week file with the boxes and warm-ups that its scores and its list of scales give, and with its scores.

    A score is opened when it is first asked for, and stays open as long as the week: all of a build sees the same
    bytes.

    Attributes:
        path: The week file.
        studio: The studio that it stands in.
        score_paths: The score file of each piece that has one, by the piece's id.
        page_paths: The printed pages of each piece that has some, by the piece's id.
        included_boxes: The file that a box comes from, by the box's id, where it is an included one.
        remarks: Sentences for the teacher: marks in a score that are not read as boxes, with their bars, and tempos
            without a note value, which are taken in the beat of their bar.
        came_from: For each box or warm-up that the file does not write out itself, by its table and place, the key
            that gave it: the piece whose marks are taken, or the row of the list of scales.
    """

    path: Path
    studio: Studio
    score_paths: dict[str, Path] = {}
    page_paths: dict[str, Path] = {}
    included_boxes: dict[str, Path] = {}
    remarks: tuple[str, ...] = ()
    came_from: dict[tuple[str, int], KeyPath] = {}
    _reading: WeekReading = PrivateAttr()
    _open: Callable[[Path], Score] = PrivateAttr()
    _opened: dict[Path, Score | InputError] = PrivateAttr(default_factory=dict)

    @classmethod
    def of(cls, reading: WeekReading, content: WeekFile, scores: Callable[[Path], Score]) -> Week:
        """What a week file says, with its scores."""
        fields = {
            field.alias or name: getattr(content, name) for name, field in WeekFile.model_fields.items()
        }
        places = {
            name: getattr(reading, name)
            for name in ("path", "studio", "score_paths", "page_paths", "included_boxes")
        }
        week = cls.model_validate({**fields, **places})
        week._reading, week._open = reading, scores
        return week

    @property
    def paper(self) -> Paper:
        """The paper that it is printed on."""
        return self.week.paper or self.studio.settings.paper

    def edition(self, asked: EditionName | None = None) -> Edition:
        """The edition that was asked for; in large print on the same paper for a player who needs that.

        Args:
            asked: Its name; that of the week's paper where it is left out.
        """
        name = asked or self.paper
        if name in PAPERS and self.player.print == "large":
            return edition("large", name)
        return edition(name, self.paper)

    @property
    def staff_mm(self) -> float | None:
        """Height of the staff in millimetres, where the teacher set one."""
        return self.week.staff_mm or self.studio.settings.staff_mm

    @property
    def scale_list(self) -> ListFile | None:
        """The list of scales that it names."""
        return self._reading.scale_list

    def score(self, piece_id: str) -> Score | None:
        """The score of a piece; None for a piece without one.

        Raises:
            InputError: It cannot be opened.
        """
        path = self.score_paths.get(piece_id)
        if path is None:
            return None
        if path not in self._opened:
            try:
                self._opened[path] = self._open(path)
            except InputError as error:
                self._opened[path] = error
        opened = self._opened[path]
        if isinstance(opened, InputError):
            raise opened
        return opened

    def part(self, piece_id: str) -> Part | None:
        """The player's part of a piece; None for a piece without a score.

        Raises:
            InputError: The score cannot be opened, or has no such part.
        """
        score = self.score(piece_id)
        return score.part(self.piece(piece_id).part) if score else None

    def fault(self, key: KeyPath, message: str) -> Fault:
        """A fault at a key, with its file and line."""
        table, *inside = key
        if table == LISTED and inside and self.scale_list:
            return self.scale_list.fault(("scale", *inside), message)
        return self._reading.fault(key, message)

    def sorted(self, faults: Iterable[Fault]) -> tuple[Fault, ...]:
        """Faults without repetitions, by line, those of the week file itself first."""
        return self._reading.sorted(faults)


def typed_bars(box: BoxItem, clef: Clef | None = None) -> Passage:
    """All of the bars that are typed into a week file as ABC, in the clef that is usual where they name none.

    Raises:
        InputError: They are no ABC.
    """
    return from_abc(box.abc or "", name=f"box {box.id} of the week file", clef=clef).part("#1").whole()


LISTED: Final = "scales"
"""The key of a week file that names the list of scales; with a place, a row of the list."""


@dataclass(frozen=True, slots=True)
class BoxMusic:
    """The music of a box.

    Attributes:
        quarters: Its length in quarter notes.
        bars: How many bars it has.
        tempo: Tempo of the score there, in quarter notes a minute, where the score says one.
        first: Number of its first bar, where it is a plain number.
    """

    quarters: Fraction
    bars: int
    tempo: Fraction | None = None
    first: int | None = None


@dataclass(frozen=True, slots=True)
class WeekMusic:
    """The music of a week, as far as it is known.

    Attributes:
        seconds: How long each piece takes, by its id: at the tempo of its boxes, else of its score.
        marks: Rehearsal marks of each piece, by its id.
        boxes: The music of each box, by its id.
        few: The few most useful bars of a study, by its place (from 0) in technique, where it is longer.
        no_drills: The places in technique of drills that their boxes cannot give.
        studies: How many seconds the bars of a study take, by its place (from 0) in technique.
    """

    seconds: dict[str, Fraction] = field(default_factory=dict)
    marks: dict[str, tuple[str, ...]] = field(default_factory=dict)
    boxes: dict[str, BoxMusic] = field(default_factory=dict)
    few: dict[int, str] = field(default_factory=dict)
    no_drills: set[int] = field(default_factory=set)
    studies: dict[int, Fraction] = field(default_factory=dict)
