"""What a workbook is made from: files that were read, and files that would go before them if they were there."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from excerpts.studio.digests import Digests
from excerpts.system.studio_files import STUDIO_FILE
from excerpts.week import Week
from excerpts.weekfile.reading import read_document
from excerpts.weekfile.root import find_score


def inputs(week: Week) -> dict[str, str]:
    """Every file that decides what the workbook of a week looks like, with its digest.

    Args:
        week: The week.

    Returns:
        Digests by absolute path; an empty one for a file that is not there and would be taken if it were.
    """
    digests = Digests()
    return {str(path): digests(path) for path in dict.fromkeys(_paths(week))}


def _paths(week: Week) -> Iterator[Path]:
    folder = week.path.resolve().parent
    yield week.path.resolve()
    for candidate in (folder, *folder.parents):
        yield candidate / STUDIO_FILE
        if (candidate / STUDIO_FILE).is_file():
            break
    names = [(name, "file", folder) for name in week.include]
    names += [(week.scales, "file", folder)] if week.scales else []
    for name in week.include:
        included = find_score(name, folder, week.studio, "file")
        yield included
        pieces = read_document(included).raw.get("piece", ())
        names += [(str(piece["score"]), "score", included.parent) for piece in pieces if "score" in piece]
    names += [(piece.score, "score", folder) for piece in week.pieces if piece.score]
    for name, what, base in names:
        yield from _looked_at(name, base, week, what)
    yield from week.score_paths.values()


def _looked_at(name: str, folder: Path, week: Week, what: str) -> Iterator[Path]:
    """The places where a file is looked for, up to the one where it is."""
    second = week.studio.root / week.studio.settings.scores if what == "score" else week.studio.root
    for place in (folder / name, second / name):
        yield place
        if place.is_file():
            return
