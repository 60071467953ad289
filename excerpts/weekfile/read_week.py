"""Reads a week file: text becomes checked values, each with its line; every fault is found, not the first alone.

No score is opened here. `excerpts.week.resolve` makes a `Week` of what was read.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Final

from pydantic import BaseModel, ValidationError

from excerpts.errors import WeekError
from excerpts.weekfile.crosscheck import cross_findings, valid_items
from excerpts.weekfile.fault_free import FaultFree, Finding, fault_free
from excerpts.weekfile.faults import Fault, WeekFaultsError, message_of
from excerpts.weekfile.item_values import sentence
from excerpts.weekfile.items import BoxItem, Piece, RetiredBox
from excerpts.weekfile.lines import KeyPath
from excerpts.weekfile.model import FORMAT, Days, Player, WeekFile
from excerpts.weekfile.reading import Document, read_document
from excerpts.weekfile.scale_items import TechniqueItem, WarmupItem
from excerpts.weekfile.scale_list import ListFile, read_list_file
from excerpts.weekfile.settings import PlanSettings
from excerpts.weekfile.sources import Sources, read_sources
from excerpts.weekfile.studio_folder import PAGES, Studio, find_root, find_score

TABLE_MODELS: Final[dict[str, type[BaseModel]]] = {
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
"""The model of each table of a week file."""


@dataclass(frozen=True, slots=True)
class WeekReading:
    """A week file as it was read.

    Attributes:
        path: The week file, there already or not.
        studio: The studio that it stands in.
        sources: Its tables and those of the files that it includes, with their lines.
        content: What it says; where it has faults, the part without them; None where too little is left.
        faults: The faults of the file, of what it includes and of its list of scales.
        kept: Which items of the file `content` has.
        score_paths: The score file of each piece that has one, by the piece's id.
        page_paths: The printed pages of each piece that has some, by the piece's id.
        scale_list: The list of scales that it names, as far as it has no faults.
    """

    path: Path
    studio: Studio
    sources: Sources
    content: WeekFile | None = None
    faults: tuple[Fault, ...] = ()
    kept: FaultFree = field(default_factory=lambda: FaultFree({}))
    score_paths: dict[str, Path] = field(default_factory=dict)
    page_paths: dict[str, Path] = field(default_factory=dict)
    scale_list: ListFile | None = None

    def fault(self, key: KeyPath, message: str) -> Fault:
        """A fault at a key of `content`, with its file and line."""
        return self.sources.fault(self.kept.place(key), message)

    def sorted(self, faults: Iterable[Fault]) -> tuple[Fault, ...]:
        """Faults without repetitions, by line, those of the week file itself first."""
        own = self.sources.own.file
        return tuple(
            sorted(dict.fromkeys(faults), key=lambda one: (one.file != own, str(one.file), one.line or 0))
        )

    @property
    def included_boxes(self) -> dict[str, Path]:
        """The file that a box comes from, by the box's id, where it is an included one."""
        boxes = self.sources.raw.get("box", [])
        return {
            str(boxes[place]["id"]): document.file
            for (table, place), (document, _) in self.sources.included.items()
            if table == "box"
        }


def read_week(
    path: Path, document: Document | None = None, read: Callable[[Path], Document] = read_document
) -> WeekReading:
    """Read a week file; where it has faults, the rest is read too, so that all faults are reported together.

    Args:
        path: The week file, there already or not.
        document: What it says, and where; read from the disk when left out.
        read: Reads the files that it includes.

    Raises:
        WeekError: It cannot be read at all: not there, or no TOML.
    """
    document = document or read_document(path)
    studio = find_root(path)
    if finding := _format_finding(document.raw):
        sources = Sources(path, document, {}, {})
        return WeekReading(path, studio, sources, faults=(sources.fault(*finding),))
    sources = read_sources(path, document, studio, read)
    findings, kept = fault_free(sources.raw, lambda rest: _findings(rest, sources, studio))
    faults = (*sources.faults, *(sources.fault(*finding) for finding in findings))
    reading = WeekReading(path, studio, sources, faults=faults)
    if kept is not None:
        reading = _with_content(reading, kept)
    return replace(reading, faults=reading.sorted(reading.faults))


def _with_content(reading: WeekReading, kept: FaultFree) -> WeekReading:
    content = WeekFile.model_validate(_with_studio(kept.raw, reading.studio))
    score_paths, page_paths, _ = _find_scores(kept, reading.sources, reading.studio)
    scale_list, faults = None, list(reading.faults)
    if content.scales is not None:
        try:
            folder = reading.path.resolve().parent
            scale_list = read_list_file(find_score(content.scales, folder, reading.studio, "file"))
            faults += scale_list.faults
        except WeekFaultsError as error:
            faults += error.faults
        except WeekError as error:
            faults.append(reading.sources.fault(("scales",), sentence(error)))
    return replace(
        reading,
        content=content,
        faults=tuple(faults),
        kept=kept,
        score_paths=score_paths,
        page_paths=page_paths,
        scale_list=scale_list,
    )


def _findings(rest: FaultFree, sources: Sources, studio: Studio) -> list[Finding]:
    """What is wrong in the tables."""
    findings: list[Finding] = []
    try:
        WeekFile.model_validate(_with_studio(rest.raw, studio))
    except ValidationError as error:
        for detail in error.errors():
            path = tuple(step for step in detail["loc"] if step != "[key]")
            table = TABLE_MODELS.get(str(path[0])) if len(path) > 1 else WeekFile
            findings.append((path, message_of(detail, table)))
    findings += cross_findings(rest.raw)
    return findings + _find_scores(rest, sources, studio)[2]


def _with_studio(raw: dict[str, Any], studio: Studio) -> dict[str, Any]:
    """The file with the studio's words where it says none itself."""
    player = raw.get("player")
    if not isinstance(player, dict):
        return raw
    return {**raw, "player": {"words": studio.settings.words, **player}}


def _format_finding(raw: dict[str, Any]) -> Finding | None:
    if "format" not in raw:
        return (), f"The first line has to say which format the file is written in: format = {FORMAT}"
    given = raw["format"]
    if type(given) is not int:
        return ("format",), f"The format is a number without quotes: format = {FORMAT}"
    if given > FORMAT:
        return ("format",), (
            f"The file is written in format {given}; this version of excerpts reads format {FORMAT}. "
            "Install a newer version."
        )
    if given != FORMAT:
        return ("format",), f"There is no format {given}. Write format = {FORMAT}"
    return None


def _find_scores(
    rest: FaultFree, sources: Sources, studio: Studio
) -> tuple[dict[str, Path], dict[str, Path], list[Finding]]:
    """The score files of the pieces, their printed pages, and those that are not there."""
    scores: dict[str, Path] = {}
    pages: dict[str, Path] = {}
    missing: list[Finding] = []
    for place, piece in valid_items(Piece, rest.raw, "piece"):
        folder = sources.folder("piece", rest.index("piece", place))
        named = (("score", piece.score, scores, "score"), ("pages", piece.pages, pages, PAGES))
        for key, name, paths, what in named:
            if name is None:
                continue
            try:
                paths[piece.id] = find_score(name, folder, studio, what)
            except WeekError as error:
                missing.append((("piece", place, key), str(error)))
    return scores, pages, missing
