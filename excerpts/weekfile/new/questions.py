"""Asks for a first week in plain words, one thing at a time; a wrong answer is told at once and asked again."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import timedelta
from functools import partial
from pathlib import Path
from typing import Any, Final, TypeVar, get_args

from pydantic import BaseModel

from excerpts.instruments.instrument import INSTRUMENTS, LEVELS
from excerpts.paper import COPYING, find_pages, inbox
from excerpts.score import Part, Score, open_score
from excerpts.weekfile.asking import Answers
from excerpts.weekfile.cells import Dates
from excerpts.weekfile.faults import listed
from excerpts.weekfile.item_values import FaultName, Status, fault_name
from excerpts.weekfile.items import BoxItem, Piece
from excerpts.weekfile.model import Days, Player
from excerpts.weekfile.new.in_score import with_beat
from excerpts.weekfile.new.typed import box_id, piece_id, read_list, read_minutes, read_whole
from excerpts.weekfile.scale_items import TechniqueItem, WarmupItem
from excerpts.weekfile.studio_folder import Studio, find_score
from excerpts.weekfile.tempo_text import parse_tempo
from excerpts.words import choices

_Value = TypeVar("_Value")

_DAY: Final = Dates().read
"""Reads a day in any layout that leaves no doubt."""

_SCORES: Final = (".musicxml", ".mxl", ".xml")
_MOST_LISTED: Final = 30
_SHOW: Final = "; ?: bars with much left-hand work"
_PLACE: Final = "place to box (p. 14, bars 12-16)"


def _checked(model: type[BaseModel], values: dict[str, Any], key: str) -> Callable[[Any], Any]:
    """A reader that checks one key with the model of its table."""

    def read(answer: Any) -> Any:
        model.model_validate({**values, key: answer})
        return answer

    return read


Offer = Callable[[Part, Mapping[str, Any]], Sequence[str]]
"""Lines about passages of a part that a player might work on, for the teacher to choose from; nothing is set."""


def ask_week(answers: Answers, folder: Path, studio: Studio, offer: Offer | None = None) -> dict[str, Any]:
    """Ask for all that a first week file needs.

    Args:
        answers: Puts the questions.
        folder: The folder of the week files.
        studio: The studio.
        offer: What is told where a teacher asks which bars there are to box; nothing when left out.

    Returns:
        The tables of the week file, as tomllib would read them.
    """
    return next(week for _, week in answers.all_of(lambda: _asked(answers, folder, studio, offer)))


def _asked(answers: Answers, folder: Path, studio: Studio, offer: Offer | None) -> Iterator[dict[str, Any]]:
    raw: dict[str, Any] = {"format": 1, "player": _player(answers), "week": _week(answers)}
    offered = partial(_offered, offer, raw["player"]) if offer is not None else None
    pieces, boxes = _Pieces(answers, folder, studio, offered).ask()
    keys: list[str] = answers.get(_WARMUPS, _keys, [])
    warmups = [{"key": key} for key in keys]
    technique = answers.some("Technique in your own words (Enter: none): ", _technique)
    if not (pieces or warmups or technique):
        answers.say("  There is nothing to play yet, so a warm-up in G is added.")
        warmups = [{"key": "G"}]
    tables = {"piece": pieces, "box": boxes, "warmup": warmups, "technique": [technique] if technique else []}
    yield raw | {table: items for table, items in tables.items() if items}


def _offered(offer: Offer, player: Mapping[str, Any], part: Part) -> Sequence[str]:
    return offer(part, player)


_WARMUPS: Final = "Keys for the warm-ups, with commas between (D, F# minor; Enter: none): "


def _keys(answer: str) -> list[str]:
    keys = read_list(answer)
    for key in keys:
        WarmupItem(key=key)
    return keys


def _technique(answer: str) -> dict[str, Any]:
    TechniqueItem(text=answer)
    return {"text": answer}


def _one_of(words: Sequence[str]) -> Callable[[str], str]:
    def read(answer: str) -> str:
        fitting = [word for word in words if word.startswith(answer.lower())] if answer else []
        exact = [word for word in fitting if word == answer.lower()]
        if len(exact or fitting) != 1:
            raise ValueError(f"Write one of {listed(words)}.")
        return (exact or fitting)[0]

    return read


def _needed(read: Callable[[str], _Value]) -> Callable[[str], _Value]:
    """A reader that refuses an empty answer."""

    def needed(answer: str) -> _Value:
        if not answer:
            raise ValueError("This needs an answer.")
        return read(answer)

    return needed


def _player(answers: Answers) -> dict[str, Any]:
    probe = {"name": "x", "instrument": "violin", "level": "middle"}
    name = _needed(_checked(Player, probe, "name"))
    player: dict[str, Any] = {"name": answers.get("Name of the player: ", name)}

    def instrument(answer: str) -> str:
        return _one_of(list(INSTRUMENTS))(Player.model_validate(probe | {"instrument": answer}).instrument)

    player["instrument"] = answers.get(f"Instrument ({', '.join(INSTRUMENTS)}): ", instrument)
    player["level"] = answers.get(f"Level ({', '.join(LEVELS)}): ", _one_of(LEVELS))

    def age(answer: str) -> int:
        return int(_checked(Player, probe, "age")(read_whole(answer)))

    years = answers.some("Age (Enter: leave it out): ", age)
    if years is not None:
        player["age"] = years
    others = [name for name in choices() if name not in ("uk", "us")]
    words = answers.get(
        f"Words: uk (bars, crotchets), us (measures, quarter notes){''.join(f', {name}' for name in others)} "
        "(Enter: uk): ",
        _one_of(choices()),
        "uk",
    )
    return player | ({"words": words} if words != "uk" else {})


def _week(answers: Answers) -> dict[str, Any]:
    week: dict[str, Any] = {"start": answers.get("First day of the week (2026-11-30): ", _DAY)}

    def last(answer: str) -> Any:
        lesson = _DAY(answer)
        whole = (
            lesson - week["start"]
        ).days % 7 == 0  # such a week ends on the day before (Days.next_lesson)
        until = lesson - timedelta(days=1) if whole else lesson
        Days.model_validate({**week, "until": until, "minutes": 0})
        return until

    until = answers.some("Day of the next lesson (Enter: in a week): ", last)
    if until is not None:
        week["until"] = until

    def minutes(answer: str) -> Any:
        return _checked(Days, week, "minutes")(read_minutes(answer))

    week["minutes"] = answers.get("Minutes a day (30, or mon-fri 30, sat 45): ", minutes)
    focus = answers.some("The one thing to keep in mind all week (Enter: nothing): ", str)
    return week | ({"focus": focus} if focus else {})


class _Pieces:
    def __init__(
        self,
        answers: Answers,
        folder: Path,
        studio: Studio,
        offered: Callable[[Part], Sequence[str]] | None,
    ) -> None:
        self.answers = answers
        self.offered = offered
        self.folder = folder
        self.studio = studio
        self.pieces: list[dict[str, Any]] = []
        self.boxes: list[dict[str, Any]] = []

    def ask(self) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
        while True:
            more = "Next piece" if self.pieces else "Title of a piece"
            title = self.answers.some(f"{more} (Enter: no more): ", str)
            if title is None:
                return self.pieces, self.boxes
            self._piece(title)

    def _piece(self, title: str) -> None:
        piece: dict[str, Any] = {"id": piece_id(title, [one["id"] for one in self.pieces]), "title": title}
        names = self._listed_scores()
        score = self.answers.some(
            "  Score file, by name or number (Enter: on paper only): ",
            lambda answer: self._score(answer, names),
        )
        part: Part | None = None
        if score is not None:
            name, opened = score
            piece["score"] = name
            part, wanted = self._part(opened)
            piece |= {"part": wanted} if wanted else {}
        elif waiting := inbox(self.folder):
            pages = self._pages(waiting)
            piece |= {"pages": pages} if pages else {}
        status = self.answers.get(
            f"  {', '.join(get_args(Status))} (Enter: learning): ", _one_of(get_args(Status)), "learning"
        )
        piece |= {"status": status} if status != "learning" else {}
        if status == "performance":
            day = self.answers.some("  Day of the performance (Enter: not known): ", _DAY)
            piece |= {"date": day} if day is not None else {}
        Piece.model_validate(piece)
        self.pieces.append(piece)
        while self._box(piece, part):
            pass

    def _listed_scores(self) -> list[str]:
        places = dict.fromkeys((self.folder, self.studio.root / self.studio.settings.scores))
        names = sorted({path.name for place in places for path in _scores_in(place)})[:_MOST_LISTED]
        for number, name in enumerate(names, start=1):
            self.answers.say(f"  {number}  {name}")
        return names

    def _pages(self, waiting: Sequence[str]) -> str | None:
        """Which of the photos and scans that have come in are the pages of a piece."""
        for number, name in enumerate(waiting[:_MOST_LISTED], start=1):
            self.answers.say(f"  {number}  {name}")

        def read(answer: str) -> str:
            meant = [name for name in waiting if answer.casefold() in name.casefold()]
            if answer.isdecimal() and 0 < int(answer) <= len(waiting):
                meant = [waiting[int(answer) - 1]]
            if len(meant) != 1:
                raise ValueError(f"Write one of {listed(waiting)}.")
            (name,) = meant
            find_pages(self.folder / name)
            return name

        pages = self.answers.some("  Its pages, by name or number (Enter: none yet): ", read)
        if pages is not None:
            self.answers.say(f"  {COPYING}")
            self.answers.say(f"  excerpts paper {pages} draws in what a box can name there.")
        return pages

    def _score(self, answer: str, names: Sequence[str]) -> tuple[str, Score]:
        if answer.isdecimal() and 0 < int(answer) <= len(names):
            answer = names[int(answer) - 1]
        meant = [name for name in names if answer.casefold() in name.casefold()]
        if answer not in names and len(meant) == 1:  # a part of its name says enough
            answer = meant[0]
        return answer, open_score(find_score(answer, self.folder, self.studio))

    def _part(self, score: Score) -> tuple[Part, str | None]:
        if len(score.parts) == 1:
            return score.part(None), None
        for info in score.parts:
            self.answers.say(f"  {info.place}  {info.name or info.id}")

        def read(answer: str) -> tuple[Part, str]:
            part = score.part(f"#{answer}" if answer.isdecimal() else answer)
            alike = [info for info in score.parts if info.name == part.info.name]
            return part, part.info.name if part.info.name and len(alike) == 1 else f"#{part.info.place}"

        return self.answers.get("  The player's part, by name or number: ", read)

    def _box(self, piece: dict[str, Any], part: Part | None) -> bool:
        key = "bars" if part else "place"
        question = f"bars to box (12-16{_SHOW if self.offered else ''})" if part else _PLACE
        first = "Next " if any(box["piece"] == piece["id"] for box in self.boxes) else "First "

        def read(answer: str) -> str:
            if part and answer == "?" and self.offered:  # told as a wrong answer is: the question comes again
                raise ValueError("\n  ".join(self.offered(part)) or "No bars stand out.")
            if part:
                part.passage(answer)
            return answer

        place = self.answers.some(f"  {first}{question} (Enter: no more): ", read)
        if place is None:
            return False
        taken = [one["id"] for one in self.boxes]
        box: dict[str, Any] = {"id": box_id(piece["id"], place, taken), "piece": piece["id"], key: place}
        self._work(box, part)
        self.boxes.append(box)
        return True

    def _work(self, box: dict[str, Any], part: Part | None) -> None:
        names = get_args(FaultName)
        why: list[str] = self.answers.get(
            f"    Why? {', '.join(names)} (Enter: leave it out): ",
            lambda answer: _all_of(names, map(fault_name, read_list(answer))),
            [],
        )
        tempo = _checked(BoxItem, box, "target")

        def beat(answer: str) -> str:
            full = with_beat(answer, part, box["bars"]) if part else answer
            if full != answer:
                self.answers.say(f"    In the beat of its bar: {full}.")
            parse_tempo(full)
            return str(tempo(full))

        target = self.answers.some("    Tempo to reach (crotchet = 92; Enter: none): ", beat)
        note = self.answers.some("    A word about it (Enter: none): ", _checked(BoxItem, box, "note"))
        values = {"why": why, "target": target, "note": note}
        box |= {key: value for key, value in values.items() if value}


def _all_of(known: Sequence[str], answers: Iterable[str]) -> list[str]:
    read = _one_of(known)
    return [read(answer) for answer in answers]


def _scores_in(folder: Path) -> list[Path]:
    if not folder.is_dir():
        return []
    return [path for path in folder.iterdir() if path.suffix.lower() in _SCORES and path.is_file()]
