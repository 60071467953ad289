"""A first week file from the answers of a form, checked by what checks week files."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ValidationError

from excerpts.system.studio_files import player_key
from excerpts.weekfile.faults import message_of
from excerpts.weekfile.model import Days, Player
from excerpts.weekfile.new import week_path, week_text
from excerpts.weekfile.new.typed import read_minutes, read_whole


class FormFaultsError(Exception):
    """Answers that cannot be used.

    Attributes:
        faults: What is wrong, by the name of the field.
    """

    def __init__(self, faults: Mapping[str, str]) -> None:
        super().__init__("; ".join(faults.values()))
        self.faults = dict(faults)


def first_week(
    said: Mapping[str, Any], folder: Path, known: Mapping[str, str], words: str
) -> tuple[Path, str]:
    """Where the first week file of a player goes, and its text.

    Args:
        said: The answers as texts: name, instrument, level, age, lesson (a day), time, next (a day), minutes.
        folder: The folder of the studio's week files.
        known: The names of the players that are there, by the way names are compared.
        words: The studio's words, which are the player's too.

    Raises:
        FormFaultsError: An answer cannot be used.
    """
    texts = {name: " ".join(str(said.get(name, "")).split()) for name in _FIELDS}
    faults: dict[str, str] = {}
    player: dict[str, Any] = {name: texts[name] for name in ("name", "instrument", "level")}
    if texts["age"]:
        player["age"] = _read(read_whole, texts["age"], "age", faults)
    if texts["time"]:
        player["lesson"] = texts["time"]
    if words != "uk":
        player["words"] = words
    week = _week(texts, faults)
    faults = (
        _wrong(Player, player, {"lesson": "time"})
        | _wrong(Days, week, {"start": "lesson", "until": "next"})
        | faults
    )
    if other := known.get(player_key(texts["name"])):
        faults["name"] = f"There is already a player {other} in this studio."
    if faults:
        raise FormFaultsError(faults)
    raw = {"format": 1, "player": player, "week": week, "warmup": [{"key": "G"}]}
    path = week_path(folder, texts["name"], week["start"])
    return path, week_text(raw)


_FIELDS = ("name", "instrument", "level", "age", "lesson", "time", "next", "minutes")


def _week(texts: Mapping[str, str], faults: dict[str, str]) -> dict[str, Any]:
    """The table of the week; what cannot be read is told in `faults`."""
    start = _read(_day, texts["lesson"], "lesson", faults)
    week: dict[str, Any] = {"start": start}
    if texts["next"] and start:
        lesson = _read(_day, texts["next"], "next", faults)
        if lesson and lesson <= start:
            faults["next"] = f"The next lesson is after the one on {start}."
        elif lesson and (lesson - start).days != 7:
            # Whole weeks end on the day before the next lesson, other weeks on its day (Days.next_lesson).
            week["until"] = lesson - timedelta(days=(lesson - start).days % 7 == 0)
    week["minutes"] = _read(read_minutes, texts["minutes"], "minutes", faults)
    return week


def _read(read: Any, text: str, field: str, faults: dict[str, str]) -> Any:
    """What a text means; what is wrong with it goes into `faults`."""
    try:
        return read(text)
    except ValueError as error:
        faults[field] = str(error)
        return None


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise ValueError("Choose a day.") from None


def _wrong(model: type[BaseModel], values: Mapping[str, Any], fields: Mapping[str, str]) -> dict[str, str]:
    """What a model finds wrong, by the form's field of each key."""
    try:
        model.model_validate(values)
    except ValidationError as error:
        faults: dict[str, str] = {}
        for detail in error.errors():
            key = str(detail["loc"][0]) if detail["loc"] else "until"
            faults.setdefault(fields.get(key, key), message_of(detail, model))
        return faults
    return {}
