"""The scores of a studio for the week page: which there are, which parts they have, and new ones dropped in."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any, Final

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from excerpts.desk.added_pages import add_pages, is_pages, piece_with_pages, take_from_inbox
from excerpts.desk.added_score import add_score
from excerpts.desk.frame import answer, posted, state_of, uploaded
from excerpts.desk.studio_state import Player, StudioState
from excerpts.desk.week_texts import WeekTexts
from excerpts.errors import InputError, WeekError
from excerpts.instruments.instrument_names import instrument_of_part_name
from excerpts.paper import find_pages
from excerpts.score import Score
from excerpts.score.opening import FORMATS
from excerpts.weekfile.reading import read_document
from excerpts.weekfile.studio_folder import PAGES, Studio, find_root, find_score

SUFFIXES: Final = (".musicxml", ".mxl", ".xml", *(suffix for form in FORMATS for suffix in form.suffixes))
"""Endings of files that may be scores."""

_MOST: Final = 500
"""Scores that are offered."""


def score_names(studio: Studio, folder: Path) -> list[str]:
    """The scores that a week file in `folder` can name, as it names them."""
    places = dict.fromkeys((studio.root / studio.settings.scores, folder))
    names = {path.name for place in places for path in _scores_in(place)}
    return sorted(names, key=str.casefold)[:_MOST]


def page_names(studio: Studio) -> list[str]:
    """The PDFs, pictures and folders of pictures in the studio's folder of scores, as a week file names them."""
    folder = studio.root / studio.settings.scores
    if not folder.is_dir():
        return []
    names = [path.name for path in folder.iterdir() if is_pages(path.name) or path.is_dir()]
    return sorted(names, key=str.casefold)[:_MOST]


def _scores_in(folder: Path) -> Iterator[Path]:
    if folder.is_dir():
        yield from (path for path in folder.iterdir() if path.suffix.lower() in SUFFIXES and path.is_file())


def parts_of_pieces(texts: WeekTexts, scores: Callable[[Path], Score]) -> Mapping[int, list[tuple[str, str]]]:
    """The parts of each piece's score that has several, by the piece's place: as a file names it, and its name."""
    reading = texts.reading
    by_place: dict[int, list[tuple[str, str]]] = {}
    pieces = reading.sources.raw.get("piece")
    for place, item in enumerate(pieces if isinstance(pieces, list) else ()):
        path = reading.score_paths.get(str(item.get("id"))) if isinstance(item, dict) else None
        if path is None:
            continue
        try:
            parts = scores(path).parts
        except InputError:
            continue  # told beside the score
        if len(parts) > 1:
            by_place[place] = [(_part_name(parts, info), info.name or f"#{info.place}") for info in parts]
    return by_place


def _part_name(parts: Any, info: Any) -> str:
    """A part as a week file names it: by its name where that is clear, else by its place."""
    alike = [other for other in parts if other.name == info.name]
    return info.name if info.name and len(alike) == 1 else f"#{info.place}"


def piece_of(score: Score, name: str, instrument: str) -> dict[str, str]:
    """The keys of a new piece: its title, composer and score, and the part that is for the player.

    Args:
        score: The opened score.
        name: What the week file calls it.
        instrument: The player's instrument; the part is left out where it cannot be told.
    """
    piece = {"title": score.title or Path(name).stem.replace("-", " ").replace("_", " "), "score": name}
    if score.composer:
        piece["composer"] = score.composer
    if len(score.parts) > 1:
        fitting = [info for info in score.parts if _is_for(instrument, info.name or info.instrument)]
        if len(fitting) == 1:
            piece["part"] = _part_name(score.parts, fitting[0])
    return piece


def _is_for(instrument: str, part: str) -> bool:
    named = instrument_of_part_name(part)
    return named is not None and named.name == instrument


def _upload(request: Request) -> Response:
    """A score that is dropped in: saved in the folder of the scores, and given back as a new piece."""
    state = state_of(request)
    player = state.player(request.path_params["key"])
    path = add_score(state, request.query_params.get("name", ""), uploaded(request))
    return answer({"file": path.name, "piece": piece_of(state.scores(path), path.name, _instrument(player))})


def _take(request: Request) -> Response:
    """A score that is there already, as a new piece."""
    state = state_of(request)
    player = state.player(request.path_params["key"])
    name = posted(request).get("score")
    if not isinstance(name, str):
        raise InputError("the name of a score was expected.")
    studio = find_root(player.week)
    if name in page_names(studio):
        find_pages(find_score(name, player.week.parent, studio, PAGES))
        return answer({"file": name, "piece": piece_with_pages(name)})
    path = find_score(name, player.week.parent, studio)
    return answer({"file": name, "piece": piece_of(state.scores(path), name, _instrument(player))})


def _upload_pages(request: Request) -> Response:
    """Printed pages that are dropped in: saved in the folder of the scores, and given back as a new piece."""
    state, query = state_of(request), request.query_params
    player, together = state.player(request.path_params["key"]), query.get("together", "")
    path = add_pages(state, query.get("name", ""), uploaded(request), together)
    pages = path.parent.name if together else path.name
    return answer({"file": path.name, "piece": piece_with_pages(pages), "told": _first_use(state, player)})


def _from_inbox(request: Request) -> Response:
    """Photos out of an inbox, as the pages of a piece."""
    state = state_of(request)
    player, names = state.player(request.path_params["key"]), posted(request).get("names")
    if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
        raise InputError("the names of files were expected.")
    pages = take_from_inbox(state, player.week, names)
    return answer({"file": pages, "piece": piece_with_pages(pages), "told": _first_use(state, player)})


def _first_use(state: StudioState, player: Player) -> str:
    """The line about copying, where the player has no piece with printed pages yet."""
    try:
        pieces = read_document(player.week).raw.get("piece")
    except WeekError:
        pieces = []
    used = any(isinstance(one, dict) and one.get("pages") for one in pieces or ())
    return "" if used else state.words("desk.pages.copying")


def _instrument(player: Player) -> str:
    """The instrument that the player's week file names; empty where it does not."""
    try:
        said = read_document(player.week).raw.get("player")
    except WeekError:
        return ""
    return str(said.get("instrument", "")) if isinstance(said, dict) else ""


ROUTES: Final = [
    Route("/week/{key}/score/upload", _upload, methods=["POST"]),
    Route("/week/{key}/piece", _take, methods=["POST"]),
    Route("/week/{key}/pages/upload", _upload_pages, methods=["POST"]),
    Route("/week/{key}/pages", _from_inbox, methods=["POST"]),
]
