"""Marks at single notes of a part: what stands at a note, and marks that are put in or taken out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from excerpts.desk.frame import posted, state_of
from excerpts.desk.marks_at_notes import KINDS, NoteMarks
from excerpts.desk.open_part import OpenPart
from excerpts.desk.part_page import for_script, opened_part, picture_of, save_changes
from excerpts.desk.week_texts import PageChange, Scope
from excerpts.errors import InputError
from excerpts.score.mark_clashes import mark_clashes
from excerpts.score.marking_syntax import Kind, MarkError, parse_mark
from excerpts.weekfile.change_text import Change

_MOST: Final = 200
"""Marks that are put in at a time: a week file has at most so many for a piece."""


def _marks(request: Request, opened: OpenPart) -> NoteMarks:
    return NoteMarks(opened, picture_of(request, opened, "")[0].part.bars)


@for_script
def _note(request: Request) -> Response:
    """What stands at a note."""
    marks = _marks(request, opened_part(request))
    return JSONResponse(marks.told(marks.note(request.query_params)))


def _write(request: Request) -> Response:
    """Put a mark in, or take it out; or put in many."""
    opened, sent = opened_part(request), posted(request)
    marks = _marks(request, opened)
    if "many" in sent:
        return _write_many(request, marks, sent["many"])
    kind = _kind(sent)
    to = sent.get("to")
    end = marks.note(to) if isinstance(to, dict) else None
    text, changes = marks.changed(kind, str(sent.get("value") or "").strip(), marks.note(sent), end)
    what = state_of(request).words("desk.marks.did", mark=text, piece=opened.piece.title)
    return _save(request, opened, changes, what, [text])


def _kind(sent: Mapping[str, Any]) -> Kind:
    for kind in KINDS:
        if sent.get("kind") == kind:
            return kind
    raise InputError("there is no such mark.")


def _write_many(request: Request, marks: NoteMarks, sent: object) -> Response:
    """Put many marks into the piece in one step, where none of their kind is ours yet."""
    if not isinstance(sent, list) or not all(isinstance(one, dict) for one in sent):
        raise InputError("these are no marks.")
    texts = marks.texts([(_kind(one), str(one.get("value") or ""), marks.note(one)) for one in sent[:_MOST]])
    if not texts:
        raise InputError("all of these are marked already.")
    opened = marks.opened
    what = state_of(request).words("desk.marks.did_many", n=len(texts), piece=opened.piece.title)
    return _save(request, opened, [marks.added(texts)], what, texts)


def _save(
    request: Request, opened: OpenPart, changes: Sequence[Change], what: str, texts: Sequence[str]
) -> Response:
    scope = _scope(posted(request).get("scope"))
    return save_changes(
        request,
        opened,
        [PageChange(change, scope) for change in changes],
        what,
        check=lambda after: _told(request, after, texts[0]),
    )


def _scope(sent: object) -> Scope:
    """For whom a mark is, where the piece stands in a set that players share."""
    return "own" if sent == "own" else "all" if sent == "all" else ""


def _told(request: Request, after: OpenPart, text: str) -> str:
    """What may be meant as it is but is worth another look.

    Raises:
        MarkError: The marks cannot be put into the music.
    """
    _, why = picture_of(request, after, posted(request).get("width"))
    if why:
        raise MarkError(why)
    mark = parse_mark(text)
    if not mark.values:
        return ""
    passage = after.part.passage(mark.beats[0].partition(":")[0], after.piece.pupil_bars)
    clashes = list(mark_clashes(passage.cut(1), (text,), passage.resolver, after.week.player.plays))
    if certain := [clash.message for clash in clashes if clash.certain]:
        raise MarkError(certain[0], where=after.part.where)
    return " ".join(clash.message for clash in clashes)


_AT: Final = "/part/{player:str}/{piece:str}"

ROUTES: Final = [
    Route(f"{_AT}/note", _note, methods=["GET"]),
    Route(f"{_AT}/mark", _write, methods=["POST"]),
]
