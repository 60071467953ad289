"""The page of a piece's part: the music, its boxes, and what is said of each; boxes are drawn, changed, taken away."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache, wraps
from typing import Any, Final, get_args
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from excerpts.desk import part_edits
from excerpts.desk.frame import answer, posted, render, state_of
from excerpts.desk.open_part import NoScoreError, OpenPart, Pictures, open_part
from excerpts.desk.part_picture import Lines, PartPicture, as_json
from excerpts.desk.piece_boxes import PieceBox, boxes_on
from excerpts.desk.save_week import save_week
from excerpts.desk.sharers import asked_for
from excerpts.desk.studio_state import NotThereError, StudioState
from excerpts.desk.week_texts import PageChange
from excerpts.engrave import Overlay
from excerpts.errors import InputError
from excerpts.notes.in_force import tempo_at_box
from excerpts.score.bars import BarRange, Bars
from excerpts.week.bars_in_words import bars_of
from excerpts.week.box_tempos import box_tempos
from excerpts.week.model import Week
from excerpts.week.orders.boxes import BoxOrders
from excerpts.weekfile.item_values import FaultName
from excerpts.weekfile.items import BoxItem
from excerpts.weekfile.tempo_text import number_text
from excerpts.words import Words
from excerpts.workbook.page_texts import Dates, PageTexts

_SAID: Final = (
    "bar.one", "bar.many", "desk.part.rest", "desk.part.new_box", "desk.part.box", "desk.part.tag", "desk.part.opening",
    "desk.part.closing", "desk.part.beat", "desk.part.goal", "desk.part.goal_plain", "desk.part.start",
    "desk.part.start_plain", "desk.part.no_bar", "desk.part.in_score", "desk.part.earlier", "desk.part.retired",
    "desk.part.parked", "desk.part.cancel", "desk.part.done", "desk.marks.note", "desk.marks.marked",
    "desk.marks.slur_to", "desk.offers.take", "desk.marks.finger", "desk.marks.string", "desk.marks.bow",
    "desk.marks.slur", "desk.marks.how", "desk.marks.chord", "desk.marks.voice", "desk.marks.up", "desk.marks.down",
    "desk.marks.slur_end",
)  # fmt: skip
"""Messages that the page's script says."""


@cache
def _pictures(state: StudioState) -> Pictures:
    """The pictures of a studio: one for each, as long as the desk runs."""
    return Pictures()


_DAYS: Final = 5
"""Days with a box in a usual week, by which the steps of young players are counted."""


def opened_part(request: Request) -> OpenPart:
    """The part that an address names.

    Raises:
        InputError: As `open_part` says.
    """
    state = state_of(request)
    return open_part(state, _pictures(state), request.path_params["player"], request.path_params["piece"])


def picture_of(request: Request, opened: OpenPart, width: object) -> tuple[PartPicture, str]:
    """The picture of a part in a width that a page told, or in the last; and why its marks are not in it."""
    try:
        wide = int(str(width))
    except ValueError:
        wide = _pictures(state_of(request)).width
    return _pictures(state_of(request)).of(opened, wide)


def orders_of(request: Request, opened: OpenPart, box: PieceBox) -> BoxOrders:
    """What one of the week's boxes asks for in notes."""
    return _pictures(state_of(request)).orders(opened).boxes[box.number - 1]


def _page(request: Request) -> Response:
    state = state_of(request)
    try:
        opened = opened_part(request)
    except NoScoreError as error:
        if not error.has_pages:
            raise
        names = (quote(request.path_params[name]) for name in ("player", "piece"))
        return RedirectResponse("/pages/" + "/".join(names), 303)
    for one in opened.file.shown:
        state.saves.show(one.path, opened=True)  # kept as they are now, for some days
    picture_of(request, opened, "")[0].draw_ahead()
    piece, bars = opened.piece, opened.part.bars
    kinds = get_args(FaultName)
    return render(
        request,
        "part.html",
        title=piece.title,
        script="part",
        said=_SAID,
        opened=opened,
        subtitle=" · ".join(text for text in (piece.composer, opened.part.info.name) if text),
        address=f"/part/{quote(opened.player.key)}/{quote(piece.id)}",
        why=[(name, state.words(f"fault.short.{name}")) for name in kinds],
        caution=state.words("caution.hearing.text"),
        marks=list(dict.fromkeys(mark.text for mark in bars.marks)),
        data={"count": len(bars), **_state(opened, state)},
    )


def _state(opened: OpenPart, state: StudioState) -> dict[str, Any]:
    """What the page knows of the week file; `shared` asks for whom marks are, where the piece is of a set."""
    boxes = boxes_on(opened)
    file = opened.shared
    return {
        "digest": opened.file.digest,
        "boxes": [_box(opened, box, state.words) for box in boxes],
        "shared": asked_for(state, opened.player, opened.texts, file) if file else None,
    }


def _box(opened: OpenPart, box: PieceBox, words: Words) -> dict[str, Any]:
    """A box for the page."""
    span, item = box.span, box.item
    bars = part_edits.address(opened, span) if item is None or not item.bars else item.bars
    said: dict[str, Any] = {
        "id": box.id,
        "number": box.number,
        "kind": box.kind,
        "when": Dates(PageTexts(words)).day(box.when) if box.when else "",
        "bars": bars,
        "called": bars_of(opened.week, opened.piece.id, bars, words),
        "span": span_for_page(opened, span),
        "place": box.place,
    }
    if item is None:
        return said
    beat = part_edits.beat_of(opened, span)
    units = {"target": item.target.unit if item.target else beat}
    units["start"] = item.start.unit if item.start else units["target"]
    return said | {
        "why": list(item.why),
        "note": item.note or "",
        "goal": item.goal or "",
        "target": number_text(item.target.number) if item.target else "",
        "start": number_text(item.start.number) if item.start else "",
        "beats": {key: part_edits.beat_in_words(unit, words) for key, unit in units.items()},
        "minutes": item.minutes or "",
        "variants": list(item.variants or ()),
        "steps": steps_of(item, opened.week),
    }


def steps_of(box: BoxItem, week: Week) -> list[str]:
    """The tempo steps of a box as they are typed."""
    return [number_text(step.number) for step in box_tempos(box, week, _DAYS)]


def span_for_page(opened: OpenPart, span: BarRange) -> list[Any]:
    """A span as the page has it: places from 1, the end of a bar as null."""
    whole = span.end == opened.part.bars.length(span.last)
    return [span.first + 1, str(span.start), span.last + 1, None if whole else str(span.end)]


def for_script(handler: Callable[[Request], Response]) -> Callable[[Request], Response]:
    """A handler that a page's script asks: what is wrong is told to the script, not as a page."""

    @wraps(handler)
    def told(request: Request) -> Response:
        try:
            return handler(request)
        except InputError as error:
            return answer({"error": str(error)}, 404 if isinstance(error, NotThereError) else 422)

    return told


@for_script
def _lines(request: Request) -> Response:
    """Some lines of the music, with what lies over them."""
    opened = opened_part(request)
    number = int(request.path_params["number"])
    picture, why = picture_of(request, opened, request.query_params.get("width", ""))
    lines = picture.lines(number)
    boxes = boxes_on(opened)
    return JSONResponse(
        {
            "systems": as_json(picture, lines) if lines else [],
            "over": _over(lines, boxes) if lines else [],
            "more": lines is not None and lines.after < len(opened.part.bars),
            "fault": why,
        }
    )


def _over(lines: Lines, boxes: list[PieceBox]) -> list[dict[str, Any]]:
    return [_overlay(one) for one in lines.overlays(tuple(box.boxed for box in boxes))]


def _overlay(one: Overlay) -> dict[str, Any]:
    """The picture over a line, and the boxes on it by their places in the list of boxes."""
    return {
        "svg": one.svg,
        "boxes": [
            {
                "box": box.box,
                "rect": [round(side, 2) for side in box.rect],
                "tag": [round(side, 2) for side in box.tag] if box.tag else None,
            }
            for box in one.boxes
        ],
    }


@for_script
def _where(request: Request) -> Response:
    """Bars that were typed or drawn: their address, their places, the note that beats, the tempo of the score."""
    opened, asked = opened_part(request), request.query_params
    part, piece = opened.part, opened.piece
    if "bars" in asked:
        span = part.passage(_as_bars(asked["bars"], part.bars), piece.pupil_bars).span
    else:
        sent = [asked.get(key) for key in ("first", "start", "last", "end")]
        span = part_edits.span_of(opened, sent)
    bars = part_edits.address(opened, span)
    beat = part_edits.beat_of(opened, span)
    tempo = tempo_at_box(part.passage(bars, piece.pupil_bars).cut(0))
    words = state_of(request).words
    return JSONResponse(
        {
            "bars": bars,
            "span": span_for_page(opened, span),
            "beat": part_edits.beat_in_words(beat, words),
            "tempo": part_edits.tempo_in_words(tempo, words) if tempo else "",
        }
    )


def _as_bars(typed: str, bars: Bars) -> str:
    """An address as typed; "p. 3" is the bar with which the third page of the source begins."""
    head, _, number = typed.strip().lower().partition(".")
    if head not in ("p", "page", "s", "seite") or not number.strip().isdecimal():
        return typed
    begins = [1] + [
        index + 1
        for index, measure in enumerate(bars.measures)
        if index and any(one.get("new-page") == "yes" for one in measure.iterchildren("print"))
    ]
    page = int(number)
    if not 1 <= page <= len(begins):
        raise InputError(f"the score has the pages 1 to {len(begins)}.")
    return f"@{begins[page - 1]}"


def _write(request: Request) -> Response:
    """Add, change or take away a box."""
    opened, sent = opened_part(request), posted(request)
    words = state_of(request).words
    do = sent.get("do")
    if do == "add":
        changes = part_edits.new_box(opened, sent)
        what = words("desk.part.did_box", bars=changes[0].value["bars"], piece=opened.piece.title)
    else:
        box = chosen_box(opened, sent.get("id"))
        assert box.place is not None
        assert box.item is not None  # `chosen_box` gives no others
        named = {"number": box.number, "piece": opened.piece.title}
        if do == "remove":
            changes, what = part_edits.no_box(box.place), words("desk.part.did_remove", **named)
        elif do == "change":
            changes = part_edits.changed_box(opened, box.place, box.item, sent)
            what = words("desk.part.did_change", **named)
        else:
            raise InputError("the page asked for something that the desk does not do.")
    return save_changes(request, opened, [PageChange(one) for one in changes], what)


def chosen_box(opened: OpenPart, wanted: object) -> PieceBox:
    """The box of an id, where the week file itself writes it out.

    Raises:
        NotThereError: There is none.
    """
    boxes = boxes_on(opened)
    for box in boxes:
        if box.id == wanted and box.number and box.place is not None:
            return box
    raise NotThereError("there is no such box in this week file.", where=opened.player.week.name)


def save_changes(
    request: Request,
    opened: OpenPart,
    changes: Sequence[PageChange],
    what: str,
    check: Callable[[OpenPart], str] | None = None,
) -> Response:
    """Write changes to the week file, unless they make a fault; tell how the page is then.

    Args:
        request: The write.
        opened: The part as it was.
        changes: The changes, each with for whom it is where it is one to a set that players share.
        what: What is done, for the list of undo.
        check: Looks at the part as it would be, and gives what is worth telling.

    Raises:
        ChangedOutside: The week file is not as the page shows it.
        InputError: The week file would have a fault that it did not have.
    """

    def looked(week: Week) -> str:
        return check(opened.as_of(week)) if check is not None else ""

    warnings = save_week(request, opened.player, opened.file, opened.faults, changes, what, looked)
    now = opened_part(request)
    picture, why = picture_of(request, now, posted(request).get("width"))
    boxes = boxes_on(now)
    over = [_over(lines, boxes) for lines in picture.made()]
    picture.draw_ahead()
    return answer({**_state(now, state_of(request)), "over": over, "fault": why or warnings})


_AT: Final = "/part/{player:str}/{piece:str}"

ROUTES: Final = [
    Route(_AT, _page, methods=["GET"]),
    Route(f"{_AT}/lines/{{number:int}}", _lines, methods=["GET"]),
    Route(f"{_AT}/where", _where, methods=["GET"]),
    Route(f"{_AT}/box", _write, methods=["POST"]),
]
