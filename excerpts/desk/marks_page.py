"""Marks at single notes of a part: what the teacher's marks say there, and marks that are put in or taken out."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Final

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from excerpts.desk.frame import posted, state_of
from excerpts.desk.open_part import OpenPart
from excerpts.desk.part_page import for_script, opened_part, picture_of, save_changes
from excerpts.errors import InputError
from excerpts.score.address import Resolver
from excerpts.score.mark_clashes import mark_clashes
from excerpts.score.marking_syntax import Kind, MarkError, OwnMark, parse_mark
from excerpts.score.slice import voice_of
from excerpts.score.write_address import note_address
from excerpts.weekfile.change_text import Change
from excerpts.weekfile.lines import KeyPath

_KINDS: Final[dict[str, Kind]] = {"finger": "finger", "bow": "bow", "string": "string", "slur": "slur"}
_MOST: Final = 200
"""Marks that are put in at a time: a week file has at most so many for a piece."""
Point = tuple[int, Fraction]
"""A measure by its index, and an onset in it."""


def _point(opened: OpenPart, place: object, onset: object) -> Point:
    try:
        point = int(str(place)) - 1, Fraction(str(onset))
    except (ValueError, ZeroDivisionError) as error:
        raise InputError("this is no note.") from error
    if not 0 <= point[0] < len(opened.part.bars):
        raise InputError("this note is not in the part.")
    return point


def _address(opened: OpenPart, point: Point) -> str:
    return note_address(opened.part.bars, *point, opened.part.where, opened.piece.pupil_bars)


def _voice(opened: OpenPart, point: Point, voice: object) -> str:
    """What is written behind a mark where several voices have a note there."""
    moments = opened.part.bars.time(point[0]).moments
    here = {
        voice_of(moment.element) or "1"
        for moment in moments
        if moment.element.tag == "note" and moment.duration and moment.onset == point[1]
        if moment.element.find("rest") is None
    }
    return f" voice {voice}" if len(here) > 1 and str(voice) in here else ""


def _own(opened: OpenPart, resolver: Resolver) -> Iterator[tuple[KeyPath, int, OwnMark, list[Point]]]:
    """The marks of the week file on this piece: the key that lists them, their place in the list, where they are."""
    for table, key in (("piece", "id"), ("box", "piece")):
        for place, item in enumerate(opened.raw.get(table, ())):
            if item.get(key) != opened.piece.id or not isinstance(item.get("marks", []), list):
                continue
            for number, text in enumerate(item.get("marks", [])):
                try:
                    mark = parse_mark(str(text))
                    spans = [resolver.resolve(beat) for beat in mark.beats]
                except InputError:
                    continue  # the check of the week tells it
                yield (table, place, "marks"), number, mark, [(span.first, span.start) for span in spans]


def _resolver(opened: OpenPart) -> Resolver:
    return Resolver(opened.part.bars, opened.part.where, opened.piece.pupil_bars)


@for_script
def _note(request: Request) -> Response:
    """What is marked at a note."""
    opened, asked = opened_part(request), request.query_params
    point = _point(opened, asked.get("place"), asked.get("onset"))
    voice = _voice(opened, point, asked.get("voice"))
    found: dict[str, str] = {}
    for _, _, mark, points in _own(opened, _resolver(opened)):
        if points[0] == point and (not mark.voice or f" voice {mark.voice}" == voice):
            found[mark.kind] = " ".join(mark.values) or "no"
    return JSONResponse({"at": _address(opened, point), "marks": found})


def _write(request: Request) -> Response:
    """Put a mark in, or take it out: our own where there is one, else that of the score; or put in many."""
    opened, sent = opened_part(request), posted(request)
    if "many" in sent:
        return _write_many(request, opened, sent["many"])
    kind = _KINDS.get(str(sent.get("kind")))
    if kind is None:
        raise InputError("there is no such mark.")
    point = _point(opened, sent.get("place"), sent.get("onset"))
    ends = [point]
    if kind == "slur" and sent.get("to"):
        ends = sorted((point, _point(opened, *list(sent["to"])[:2])))
    value = str(sent.get("value") or "").strip()
    text = _text(opened, kind, value, ends, sent.get("voice"))
    changes = list(_changes(opened, kind, value, ends, text))
    if not changes:
        raise InputError("there is nothing to take away.")
    what = state_of(request).words("desk.marks.did", mark=text, piece=opened.piece.title)
    return save_changes(request, opened, changes, what, check=lambda after: _told(request, after, text))


def _write_many(request: Request, opened: OpenPart, sent: object) -> Response:
    """Put many marks into the piece in one step, where none of their kind is ours yet."""
    if not isinstance(sent, list) or not all(isinstance(one, dict) for one in sent):
        raise InputError("these are no marks.")
    taken = {(mark.kind, points[0]) for _, _, mark, points in _own(opened, _resolver(opened))}
    texts: list[str] = []
    for one in sent[:_MOST]:
        kind, point = _KINDS.get(str(one.get("kind"))), _point(opened, one.get("place"), one.get("onset"))
        if kind in ("finger", "string") and (kind, point) not in taken:
            texts.append(_text(opened, kind, str(one.get("value") or ""), [point], one.get("voice")))
    if not texts:
        raise InputError("all of these are marked already.")
    what = state_of(request).words("desk.marks.did_many", n=len(texts), piece=opened.piece.title)
    return save_changes(
        request, opened, [_added(opened, texts)], what, check=lambda after: _told(request, after, texts[0])
    )


def _added(opened: OpenPart, texts: list[str]) -> Change:
    """Marks added to those of the piece."""
    ids = [item.get("id") for item in opened.raw.get("piece", ())]
    if opened.piece.id not in ids:
        raise InputError("the piece stands in a file that several weeks share; mark it there.")
    place = ids.index(opened.piece.id)
    return Change("set", ("piece", place, "marks"), [*opened.raw["piece"][place].get("marks", []), *texts])


def _text(opened: OpenPart, kind: Kind, value: str, ends: list[Point], voice: object) -> str:
    """The mark as a teacher writes it."""
    at = "-".join(_address(opened, end) for end in ends)
    said = {"finger": f"finger {value}", "string": f"string {value}", "bow": value, "slur": "slur"}[kind]
    text = f"{at} {said if value else f'no {kind}'}{_voice(opened, ends[0], voice)}"
    return parse_mark(text).text


def _changes(opened: OpenPart, kind: Kind, value: str, ends: list[Point], text: str) -> Iterator[Change]:
    """Replace the mark of the same kind there; else add it to those of the piece."""
    voice = parse_mark(text).voice
    for path, number, mark, points in _own(opened, _resolver(opened)):
        same = points == ends or (kind == "slur" and not value and ends[0] in points)
        if mark.kind != kind or mark.voice != voice or not same:
            continue
        listed = list(opened.raw[str(path[0])][path[1]]["marks"])
        listed[number : number + 1] = [text] if value else []
        yield Change("set", path, listed)
        return
    yield _added(opened, [text])


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
