"""What a workbook is made from: files that were read, and files that would go before them if they were there."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from excerpts.studio.digests import Digests
from excerpts.system.studio_files import STUDIO_FILE
from excerpts.weekfile.faults import WeekFaultsError
from excerpts.weekfile.model import WeekFile
from excerpts.weekfile.read_week import WeekReading
from excerpts.weekfile.studio import Studio


def inputs(reading: WeekReading) -> dict[str, str]:
    """Every file that decides what the workbook of a week looks like, with its digest.

    Args:
        reading: The week file as it was read.

    Returns:
        Digests by absolute path; an empty one for a file that is not there and would be taken if it were.

    Raises:
        WeekFaultsError: The week file has faults.
    """
    if reading.content is None or reading.faults:
        raise WeekFaultsError(reading.faults)
    digests = Digests()
    return {str(path): digests(path) for path in dict.fromkeys(_paths(reading, reading.content))}


def _paths(reading: WeekReading, week: WeekFile) -> Iterator[Path]:
    folder = reading.path.resolve().parent
    yield reading.path.resolve()
    for candidate in (folder, *folder.parents):
        yield candidate / STUDIO_FILE
        if (candidate / STUDIO_FILE).is_file():
            break
    names = [(name, "file", folder) for name in week.include]
    names += [(week.scales, "file", folder)] if week.scales else []
    for document in reading.sources.documents:
        yield document.file
        pieces = document.raw.get("piece", ())
        names += [
            (str(piece["score"]), "score", document.file.parent) for piece in pieces if "score" in piece
        ]
    names += [(piece.score, "score", folder) for piece in week.pieces if piece.score]
    for name, what, base in names:
        yield from _looked_at(name, base, reading.studio, what)
    yield from reading.score_paths.values()


def _looked_at(name: str, folder: Path, studio: Studio, what: str) -> Iterator[Path]:
    """The places where a file is looked for, up to the one where it is."""
    second = studio.root / studio.settings.scores if what == "score" else studio.root
    for place in (folder / name, second / name):
        yield place
        if place.is_file():
            return
