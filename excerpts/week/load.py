"""Reads and checks a week file: every fault is found and told with its line, not the first one only."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

from pydantic import BaseModel, ValidationError

from excerpts.errors import WeekError
from excerpts.week.carried import RetiredBox
from excerpts.week.crosscheck import Finding, cross_findings
from excerpts.week.faults import Fault, WeekFaultsError, key_in_words, message_of
from excerpts.week.from_pieces import with_keys_of_pieces
from excerpts.week.items import BoxItem, Piece, TechniqueItem, WarmupItem
from excerpts.week.lines import line_of
from excerpts.week.marked import with_marked_boxes
from excerpts.week.model import FORMAT, Days, Player, Week, WeekFile
from excerpts.week.reading import Document, read_document
from excerpts.week.root import find_root, find_score
from excerpts.week.scale_weeks import with_listed_scales
from excerpts.week.settings import PlanSettings
from excerpts.week.sources import Sources, read_sources
from excerpts.week.studio import Studio

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
    """Every fault of a week file, in the order of its lines; none when it is right.

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
    if finding := _format_finding(document.raw):
        path_in_file, message = finding
        line = line_of(document.lines, path_in_file)
        return None, [Fault(document.file, line, key_in_words(path_in_file, document.raw), message)]
    studio = find_root(path)
    sources = read_sources(path, document, studio)
    raw = _with_studio(sources.raw, studio)
    findings: list[Finding] = []
    week: WeekFile | None = None
    try:
        week = WeekFile.model_validate(raw)
    except ValidationError as error:
        findings += _own_findings(error)
    findings += cross_findings(raw)
    scores, missing = _scores(sources, studio)
    findings += missing
    faults = sources.sorted([*sources.faults, *(sources.fault(*finding) for finding in findings)])
    if week is None or faults:
        return None, faults
    given = {
        "path": path,
        "studio": studio,
        "score_paths": scores,
        "included_boxes": _from_elsewhere(sources),
    }
    read, marks = with_marked_boxes(Week.model_validate({**_fields(week), **given}))
    read, listed = with_listed_scales(read)
    read, keys = with_keys_of_pieces(read)
    return read, [sources.fault(*finding) for finding in (*marks, *listed, *keys)]


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


def _scores(sources: Sources, studio: Studio) -> tuple[dict[str, Path], list[Finding]]:
    scores: dict[str, Path] = {}
    missing: list[Finding] = []
    pieces = sources.raw.get("piece")
    for place, item in enumerate(pieces if isinstance(pieces, list) else []):
        try:
            piece = Piece.model_validate(item)
        except ValidationError:
            continue  # its own faults are told already
        if piece.score is None:
            continue
        try:
            scores[piece.id] = find_score(piece.score, sources.folder("piece", place), studio)
        except WeekError as error:
            missing.append((("piece", place, "score"), str(error)))
    return scores, missing
