"""Reads and checks a week file: every fault is found and told with its line, not the first one only."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from pydantic import BaseModel, ValidationError

from excerpts.errors import WeekError
from excerpts.week.carried import RetiredBox
from excerpts.week.crosscheck import Finding, cross_findings
from excerpts.week.from_pieces import with_keys_of_pieces
from excerpts.week.marked_pieces import with_marked_boxes
from excerpts.week.scale_weeks import with_listed_scales
from excerpts.week.sound import Sound, sound_part
from excerpts.weekfile.faults import Fault, WeekFaultsError, key_in_words, message_of
from excerpts.weekfile.items import BoxItem, Piece, TechniqueItem, WarmupItem
from excerpts.weekfile.lines import KeyPath, line_of
from excerpts.weekfile.model import FORMAT, Days, Player, Week, WeekFile
from excerpts.weekfile.reading import Document, read_document
from excerpts.weekfile.root import find_root, find_score
from excerpts.weekfile.settings import PlanSettings
from excerpts.weekfile.sources import Sources, read_sources
from excerpts.weekfile.studio_settings import Studio

_TABLES: Final[dict[str, type[BaseModel]]] = {
    "player": Player,
    "week": Days,
    "piece": Piece,
    "box": BoxItem,
    "warmup": WarmupItem,
    "technique": TechniqueItem,
    "retired": RetiredBox,
    "parked": BoxItem,
    "plan": PlanSettings,
}


def load_week(path: str | Path) -> Week:
    """Read a week file.

    Raises:
        WeekError: It cannot be read or has faults; the error's message tells every one of them.
    """
    week, faults = _read(Path(path))
    if faults or week is None:
        raise WeekFaultsError(faults)
    return week


def week_faults(path: str | Path) -> list[Fault]:
    """Every fault of a week file by itself, in the order of its lines; none when it is right.

    Raises:
        WeekError: It cannot be read at all: not there, or no text.
    """
    try:
        return _read(Path(path))[1]
    except WeekFaultsError as error:
        return list(error.faults)


def _read(path: Path) -> tuple[Week | None, list[Fault]]:
    return check_document(path, read_document(path))


def check_document(path: Path, document: Document) -> tuple[Week | None, list[Fault]]:
    """Check what a week file says, or will say.

    Args:
        path: The week file, there already or not.
        document: What it says, and where.

    Returns:
        The week, None when it has faults, and the faults.
    """
    reading = read_tables(path, document)
    week = None if reading.faults else reading.week
    return week, reading.faults


@dataclass(frozen=True, slots=True)
class Reading:
    """What was read of a week file.

    Attributes:
        week: The week, or where the file has faults what is sound of it; None where too little is.
        faults: The faults.
        fault: Makes one more, of what was found at a key of `week`.
    """

    week: Week | None
    faults: list[Fault]
    fault: Callable[[KeyPath, str], Fault]


def read_tables(path: Path, document: Document) -> Reading:
    """Read a week file, and go on with what is sound where something is not, so that all faults come at once.

    Args:
        path: The week file, there already or not.
        document: What it says, and where.
    """
    studio = find_root(path)
    if finding := _format_finding(document.raw):
        path_in_file, message = finding
        line = line_of(document.lines, path_in_file)
        fault = Fault(document.file, line, key_in_words(path_in_file, document.raw), message)
        return Reading(
            None, [fault], lambda key, said: Fault(document.file, None, key_in_words(key, {}), said)
        )
    sources = read_sources(path, document, studio)
    whole = Sound(sources.raw)
    faults = [*sources.faults, *(sources.fault(*finding) for finding in _faulty(whole, sources, studio))]
    sound = sound_part(sources.raw, lambda left: _faulty(left, sources, studio))
    if sound is None:
        return Reading(None, sources.sorted(faults), sources.fault)

    def fault_at(key: KeyPath, message: str) -> Fault:
        return sources.fault(sound.place(key), message)

    week, more = _with_what_it_names(_week(path, sound, sources, studio))
    faults += [one if isinstance(one, Fault) else fault_at(*one) for one in more]
    return Reading(week, sources.sorted(faults), fault_at)


def _with_what_it_names(week: Week) -> tuple[Week, list[Fault | Finding]]:
    """The week with the boxes and warm-ups that stand elsewhere, and what is wrong with those."""
    week, marks = with_marked_boxes(week)
    week, listed = with_listed_scales(week)
    week, keys = with_keys_of_pieces(week)
    return week, [*marks, *listed, *keys]


def _week(path: Path, sound: Sound, sources: Sources, studio: Studio) -> Week:
    read = WeekFile.model_validate(_with_studio(sound.raw, studio))
    scores, _ = _scores(sound, sources, studio)
    given = {
        "path": path,
        "studio": studio,
        "score_paths": scores,
        "included_boxes": _from_elsewhere(sources),
    }
    return Week.model_validate({**_fields(read), **given})


def _faulty(sound: Sound, sources: Sources, studio: Studio) -> list[Finding]:
    """What is wrong in the tables themselves."""
    findings: list[Finding] = []
    try:
        WeekFile.model_validate(_with_studio(sound.raw, studio))
    except ValidationError as error:
        findings += _own_findings(error)
    findings += cross_findings(sound.raw)
    return findings + _scores(sound, sources, studio)[1]


def _from_elsewhere(sources: Sources) -> dict[str, Path]:
    boxes = sources.raw.get("box", [])
    return {
        str(boxes[place]["id"]): document.file
        for (table, place), (document, _) in sources.included.items()
        if table == "box"
    }


def _fields(week: WeekFile) -> dict[str, Any]:
    fields = type(week).model_fields
    return {field.alias or name: getattr(week, name) for name, field in fields.items()}


def _with_studio(raw: dict[str, Any], studio: Studio) -> dict[str, Any]:
    """The file with the studio's words where it says none itself."""
    player = raw.get("player")
    if not isinstance(player, dict):
        return raw
    return {**raw, "player": {"words": studio.settings.words, **player}}


def _format_finding(raw: dict[str, Any]) -> Finding | None:
    if "format" not in raw:
        return (), f"The first line has to say which format the file is written in: format = {FORMAT}"
    found = raw["format"]
    if type(found) is not int:
        return ("format",), f"The format is a number without quotes: format = {FORMAT}"
    if found > FORMAT:
        return ("format",), (
            f"The file is written in format {found}; this version of excerpts reads format {FORMAT}. "
            "Install a newer version."
        )
    if found != FORMAT:
        return ("format",), f"There is no format {found}. Write format = {FORMAT}"
    return None


def _own_findings(error: ValidationError) -> Iterator[Finding]:
    for detail in error.errors():
        path = tuple(step for step in detail["loc"] if step != "[key]")
        table = _TABLES.get(str(path[0])) if len(path) > 1 else WeekFile
        yield path, message_of(detail, table)


def _scores(sound: Sound, sources: Sources, studio: Studio) -> tuple[dict[str, Path], list[Finding]]:
    """The score files of the pieces, and those that are not there."""
    scores: dict[str, Path] = {}
    missing: list[Finding] = []
    pieces = sound.raw.get("piece")
    for place, item in enumerate(pieces if isinstance(pieces, list) else []):
        try:
            piece = Piece.model_validate(item)
        except ValidationError:
            continue  # its own faults are told already
        if piece.score is None:
            continue
        folder = sources.folder("piece", sound.index("piece", place))
        try:
            scores[piece.id] = find_score(piece.score, folder, studio)
        except WeekError as error:
            missing.append((("piece", place, "score"), str(error)))
    return scores, missing
