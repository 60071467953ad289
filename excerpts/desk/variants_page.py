"""The practice variants of a box as pictures: those that fit, the chosen ones ticked; why the others do not fit."""

from __future__ import annotations

from collections.abc import Iterator
from hashlib import sha256
from typing import Any, Final
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from excerpts.desk.frame import render, state_of
from excerpts.desk.open_part import OpenPart
from excerpts.desk.part_page import chosen_box, for_script, opened_part, orders_of, steps_of
from excerpts.desk.studio_state import NotThereError
from excerpts.engrave import Style, engrave
from excerpts.errors import EngravingError, VariantError
from excerpts.excerpt import Excerpt
from excerpts.variants import for_player, instruction, title, vary
from excerpts.variants import variants as all_variants
from excerpts.week.advice import BY_FAULT
from excerpts.week.orders.boxes import BoxOrders, same_notes, spoken
from excerpts.weekfile.items import BoxItem
from excerpts.words import Words

_STYLE: Final = Style(width_mm=150.0, staff_mm=6.5)
"""Two pictures stand side by side on a large screen."""


def _page(request: Request) -> Response:
    opened, words = opened_part(request), state_of(request).words
    box = chosen_box(opened, request.path_params["box"])
    assert box.item is not None  # `chosen_box` gives no others
    orders = orders_of(request, opened, box)
    names = list(_names(box.item))
    usual = [] if box.item.variants is not None else [title(name, words) for name in orders.names()]
    back = f"/part/{quote(opened.player.key)}/{quote(opened.piece.id)}"
    return render(
        request,
        "variants.html",
        title=words("desk.variants.title", number=box.number, piece=opened.piece.title),
        script="variants",
        said=tuple(f"desk.variants.{name}" for name in ("same_notes", "words_only", "chosen", "same_as")),
        back=back,
        bars=box.item.bars,
        usual=usual,
        shown=[(name, title(name, words), instruction(name, words)) for name in names],
        chosen=list(box.item.variants or ()),
        steps=steps_of(box.item, opened.week),
        caution=words("caution.hearing.text"),
        data={"digest": opened.file.digest, "box": box.id, "part": back},
    )


def _names(box: BoxItem) -> Iterator[str]:
    """Every variant with the parameters that lists show: the chosen, those for the faults of the box, all others."""
    mine = box.variants or ()
    advised = (name for fault in box.why for name in BY_FAULT[fault])
    others = (text for info in all_variants() for text in info.examples)
    yield from dict.fromkeys((*mine, *advised, *others))


@for_script
def _picture(request: Request) -> Response:
    """One variant in notes, or why there is none."""
    opened = opened_part(request)
    box = chosen_box(opened, request.path_params["box"])
    name = request.query_params.get("name", "")
    orders = orders_of(request, opened, box)
    music = orders.music.made()
    if music is None:
        raise NotThereError("the box has no notes.")
    try:
        return JSONResponse(_made(opened, orders, music, name))
    except (VariantError, EngravingError) as error:
        return JSONResponse({"systems": [], "reason": error.what})


def _made(opened: OpenPart, orders: BoxOrders, music: Excerpt, name: str) -> dict[str, Any]:
    """The pictures of the systems of a variant, as the workbook makes it for this player."""
    if spoken(name):
        return {"systems": [], "kind": "words_only"}
    words = Words(opened.week.player.words)
    made = vary(music, for_player(orders.made_as(name), opened.week.player.instrument), words=words)
    if same_notes(name):
        return {"systems": [], "kind": "same_notes"}
    # What comes out as the same music is shown once: the page compares.
    same = sha256(made.xml).hexdigest()
    return {"systems": [system.svg for system in engrave(made, _STYLE).systems], "music": same}


_AT: Final = "/part/{player:str}/{piece:str}/variants/{box:str}"

ROUTES: Final = [
    Route(_AT, _page, methods=["GET"]),
    Route(f"{_AT}/picture", _picture, methods=["GET"]),
]
