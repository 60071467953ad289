"""A piece's printed pages as pictures, with the systems and barlines that are found on them: bars are boxed there."""

from __future__ import annotations

from typing import Any, Final, get_args
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from excerpts.desk import pages_edits
from excerpts.desk.frame import answer, posted, render, state_of
from excerpts.desk.open_pages import OpenPages, PageBox, boxes_on_pages, open_pages, page_seen
from excerpts.desk.open_part import ShownWeek
from excerpts.desk.part_edits import beat_in_words
from excerpts.desk.part_page import for_script
from excerpts.desk.save_week import save_week
from excerpts.desk.studio_state import NotThereError
from excerpts.desk.week_texts import PageChange, WeekTexts
from excerpts.errors import InputError, PaperError
from excerpts.paper import PageSeen, count, plain, snap
from excerpts.week.printed_bars import LineSum, line_sums, pages_of, spans_of, spans_of_bars
from excerpts.weekfile.change_text import Change
from excerpts.weekfile.item_values import FaultName
from excerpts.weekfile.items import BoxItem
from excerpts.weekfile.tempo_text import number_text, tempo_text
from excerpts.weekfile.text_kinds import system_bars
from excerpts.words import Words
from excerpts.workbook.page_texts import Dates, PageTexts

_SAID: Final = (
    "desk.pages.bar", "desk.pages.bar_number", "desk.pages.page", "desk.pages.lines", "desk.pages.lines_on",
    "desk.pages.looking", "desk.pages.found", "desk.pages.area", "desk.pages.area_on", "desk.pages.first_bar",
    "desk.pages.next_bar", "desk.pages.typed", "desk.pages.edge_left", "desk.pages.edge_top", "desk.pages.edge_right",
    "desk.pages.edge_bottom", "desk.pages.millimetres", "desk.pages.not_looked", "desk.pages.drop_there",
    "desk.pages.number_needed",
    "desk.part.box", "desk.part.new_box", "desk.part.opening", "desk.part.closing", "desk.part.earlier",
    "desk.part.retired", "desk.part.parked", "desk.part.cancel", "desk.part.done",
)  # fmt: skip
"""Messages that the page's scripts say."""

_MOST_PAGES: Final = 200
"""Pages that a script asks to be told of at a time."""


def _opened(request: Request) -> OpenPages:
    return open_pages(state_of(request), request.path_params["player"], request.path_params["piece"])


def _page(request: Request) -> Response:
    opened, state = _opened(request), state_of(request)
    state.saves.show(opened.player.week, opened=True)
    piece, metre = opened.piece, pages_edits.metre_of_piece(opened)
    boxes = boxes_on_pages(opened)
    return render(
        request,
        "pages.html",
        title=piece.title,
        script="pages",
        said=_SAID,
        opened=opened,
        address=f"/pages/{quote(opened.player.key)}/{quote(piece.id)}",
        there=count(opened.pages),
        beat=beat_in_words(metre.beat, state.words) if metre else "",
        first_use=not any(box.number for box in boxes),
        why=[(name, state.words(f"fault.short.{name}")) for name in get_args(FaultName)],
        data=_state(opened, boxes, state.words),
    )


def _state(opened: OpenPages, boxes: list[PageBox], words: Words) -> dict[str, Any]:
    """What the script knows of the week file."""
    return {"digest": opened.shown.digest, "boxes": [_box(opened, box, words) for box in boxes]}


def _box(opened: OpenPages, box: PageBox, words: Words) -> dict[str, Any]:
    """A box for the script."""
    item = box.item
    return {
        "id": box.id,
        "number": box.number,
        "kind": box.kind,
        "when": Dates(PageTexts(words)).day(box.when) if box.when else "",
        "place": box.place,
        "pages": pages_of(item, opened.piece),
        "bars": item.bars or "",
        "where": _where(item, words),
        "why": list(item.why),
        "note": item.note or "",
        "target": _tempo(opened, item.target, words),
        "start": _tempo(opened, item.start, words),
        "minutes": item.minutes or "",
    }


def _where(item: BoxItem, words: Words) -> str:
    """Where a box is that names its page, in words; empty for one that goes by its bars."""
    if item.page is None:
        return ""
    if not item.systems:
        return words("desk.pages.area", page=item.page)
    first, last = (system_bars(item.systems[place]) for place in (0, -1))
    at = {"page": first.page or item.page, "system": first.system}
    if len(item.systems) == 1:
        return words("desk.pages.lines", **at, first=first.first + 1, last=first.last)
    end = {"other": last.page or item.page, "last": last.system, "end": last.last}
    return words("desk.pages.lines_on", **at, bar=first.first + 1, **end)


def _tempo(opened: OpenPages, tempo: Any, words: Words) -> str:
    """A tempo as its field shows it: a number alone where it is in the beat of the metre that stands beside it."""
    metre = pages_edits.metre_of_piece(opened)
    if tempo is None:
        return ""
    return number_text(tempo.number) if metre and tempo.unit == metre.beat else tempo_text(tempo, words)


def _page_number(request: Request, opened: OpenPages) -> int:
    number, there = int(request.path_params["number"]), count(opened.pages)
    if not 1 <= number <= there:
        raise NotThereError(f"the pages of this piece are 1 to {there}.", where=opened.pages.path.name)
    return number


@for_script
def _picture(request: Request) -> Response:
    opened = _opened(request)
    made = plain(opened.pages, _page_number(request, opened))
    return Response(made, media_type="image/png" if made.startswith(b"\x89PNG") else "image/jpeg")


@for_script
def _look(request: Request) -> Response:
    """What is seen on a page, and the boxes there."""
    opened = _opened(request)
    number = _page_number(request, opened)
    return JSONResponse(_of_page(opened, boxes_on_pages(opened), number, state_of(request).words))


def _of_page(opened: OpenPages, boxes: list[PageBox], number: int, words: Words) -> dict[str, Any]:
    seen, piece = page_seen(opened.pages, number), opened.piece
    sums: tuple[LineSum, ...] = ()
    doubt = seen.doubt
    if number in piece.first_bars:
        try:
            sums = line_sums(seen, number, piece)
        except PaperError as error:
            doubt = str(error)
    given = piece.first_bars.get(number, ())
    return {
        "page": number,
        "width": seen.width_mm,
        "height": seen.height_mm,
        "told": doubt,
        "systems": [
            {
                "area": list(system.area),
                "staff": system.staff_mm,
                "bars": [list(bar) for bar in system.bars],
                "unsure": [list(bar) for bar in system.unsure],
                "first": sums[place].first if sums else None,
                "known": bool(sums) and not sums[place].fault,
                "says": _of_sum(sums[place], words) if sums else "",
            }
            for place, system in enumerate(seen.systems)
        ],
        "next": given[-1] if sums and len(given) > len(sums) else None,
        "unseen": any(one.fault == "unseen" for one in sums),
        "counted": number in piece.counted,
        "boxes": [place for box in boxes if (place := _place(opened, box, number, seen))],
    }


def _of_sum(one: LineSum, words: Words) -> str:
    """What is wrong with the sum of a system, in words; empty for nothing."""
    if one.fault in ("", "unseen"):
        return ""  # what is not confirmed is told once for the page
    made = (one.after or 0) - one.first
    return words(
        f"desk.pages.sum_{one.fault}",
        found=one.found,
        first=one.first,
        after=one.after,
        made=made,
        told=one.told,
    )


def _place(opened: OpenPages, box: PageBox, number: int, seen: PageSeen) -> dict[str, Any] | None:
    """Where a box is on a page: parts of systems, or areas, or why it cannot be told; None where it is not on it."""
    item = box.item
    if number not in pages_of(item, opened.piece):
        return None
    try:
        spans = [list(span) for span in spans_of(item, opened.piece, opened.pages).get(number, ())]
    except PaperError as error:
        return {"id": box.id, "number": box.number, "spans": [], "areas": [], "fault": str(error)}
    spans = [span for span in spans if span[0] <= len(seen.systems) and span[2] <= seen.counts[span[0] - 1]]
    areas = (
        [list(area) for area in item.areas or ((item.area,) if item.area else ())]
        if item.page == number
        else []
    )
    return {"id": box.id, "number": box.number, "spans": spans, "areas": areas, "fault": ""}


@for_script
def _snap(request: Request) -> Response:
    """A rectangle that was drawn, as it is cut."""
    opened = _opened(request)
    area = pages_edits.area_of(request.query_params.get("area", "").split(","))
    parts = snap(opened.pages, _page_number(request, opened), area)
    return JSONResponse(
        {"parts": [{"area": list(one.area), "system": one.system, "span": one.span} for one in parts]}
    )


@for_script
def _bars(request: Request) -> Response:
    """Bars that were typed, as parts of systems: page, system, from which barline to which."""
    opened = _opened(request)
    spans_of = spans_of_bars(request.query_params.get("bars", "").strip(), opened.piece, opened.pages)
    return JSONResponse({"parts": [[page, *span] for page, spans in spans_of.items() for span in spans]})


def _write(request: Request) -> Response:
    """Add, change or take away a box."""
    opened, sent, words = _opened(request), posted(request), state_of(request).words
    do = sent.get("do")
    if do == "add":
        changes, what = (
            pages_edits.new_box(opened, sent),
            words("desk.pages.did_box", piece=opened.piece.title),
        )
        return _save(request, opened, changes, what)
    box = _chosen(opened, sent.get("id"))
    named = {"number": box.number, "piece": opened.piece.title}
    if do == "remove":
        return _save(
            request,
            opened,
            [Change("remove", ("box", box.place or 0))],
            words("desk.part.did_remove", **named),
        )
    if do == "change":
        changes = pages_edits.changed_box(opened, box, sent)
        return _save(request, opened, changes, words("desk.part.did_change", **named))
    raise InputError("the page asked for something that the desk does not do.")


def _chosen(opened: OpenPages, wanted: object) -> PageBox:
    for box in boxes_on_pages(opened):
        if box.id == wanted and box.number and box.place is not None:
            return box
    raise NotThereError("there is no such box in this week file.", where=opened.player.week.name)


def _numbers(request: Request) -> Response:
    """The first bars of the systems of a page, or that its bars are counted right."""
    opened, sent, words = _opened(request), posted(request), state_of(request).words
    page = pages_edits.page_number(sent.get("page"))
    changes = pages_edits.numbers(opened, page, sent)
    return _save(
        request, opened, changes, words("desk.pages.did_numbers", page=page, piece=opened.piece.title)
    )


def _save(request: Request, opened: OpenPages, changes: list[Change], what: str) -> Response:
    """Write changes, and tell how the pages are then that the script has on the screen."""
    file = ShownWeek(WeekTexts(opened.player.week, {opened.player.week: opened.text}), (opened.shown,))
    save_week(request, opened.player, file, opened.faults, [PageChange(one) for one in changes], what)
    now, words, asked = _opened(request), state_of(request).words, posted(request).get("pages")
    boxes = boxes_on_pages(now)
    numbers = [one for one in asked if type(one) is int and 0 < one] if isinstance(asked, list) else []
    pages = [_of_page(now, boxes, number, words) for number in numbers[:_MOST_PAGES]]
    return answer({**_state(now, boxes, words), "pages": pages})


_AT: Final = "/pages/{player:str}/{piece:str}"

ROUTES: Final = [
    Route(_AT, _page, methods=["GET"]),
    Route(f"{_AT}/bars", _bars, methods=["GET"]),
    Route(f"{_AT}/box", _write, methods=["POST"]),
    Route(f"{_AT}/numbers", _numbers, methods=["POST"]),
    Route(f"{_AT}/{{number:int}}/look", _look, methods=["GET"]),
    Route(f"{_AT}/{{number:int}}/picture", _picture, methods=["GET"]),
    Route(f"{_AT}/{{number:int}}/snap", _snap, methods=["GET"]),
]
