"""The child that opens pages: whatever a file holds, it is rendered and cut here, within limits of time and memory.

A request is an order as JSON and the bytes of the file; the answer "ok" and what was asked for, or "fault" and what is
wrong with what would be right.
"""

from __future__ import annotations

import json
import os
import sys
from dataclasses import asdict
from hashlib import sha256
from itertools import chain
from typing import TYPE_CHECKING, Any, Final

from excerpts.errors import PaperError
from excerpts.paper.value import PaperLine
from excerpts.system.child.serve import serve

if TYPE_CHECKING:
    from excerpts.paper.looked import Looked
    from excerpts.paper.sheet import Sheet


def answered(parts: list[bytes]) -> list[bytes]:
    """Do one order."""
    order, data = json.loads(parts[0]), parts[1]
    try:
        return [b"ok", *_done(order, data)]
    except PaperError as error:
        return [b"fault", json.dumps([error.what, error.hint]).encode()]


def _done(order: dict[str, Any], data: bytes) -> list[bytes]:
    from excerpts.paper.crop import cut_areas, cut_spans, whole_page
    from excerpts.paper.looked import seen
    from excerpts.paper.sheet import open_sheet, sheets

    if order["do"] == "count":
        return [str(sheets(data)).encode()]
    with open_sheet(data, order["page"], [tuple(area) for area in order.get("blank", ())]) as sheet:
        if order["do"] == "plain":
            from excerpts.paper.picture import plain

            return [plain(sheet.greys(), sheet.width_mm, sheet.height_mm, sheet.grey)]
        if order["do"] == "whole":
            line = whole_page(sheet)
            return [json.dumps(_facts(line)).encode(), line.pdf]
        key = sha256(data + repr((order["page"], order.get("blank"))).encode()).digest()
        looked = _looked(sheet, key)
        if order["do"] == "look":
            return [json.dumps(asdict(seen(sheet, looked))).encode()]
        if order["do"] == "picture":
            from excerpts.paper.picture import drawn_in

            page = seen(sheet, looked)
            return [json.dumps(asdict(page)).encode(), drawn_in(sheet.greys(), page)]
        if order["do"] == "snap":
            from excerpts.paper.snap import snapped_areas

            (area,) = order["what"]
            return [json.dumps([asdict(one) for one in snapped_areas(sheet, looked, tuple(area))]).encode()]
        if order["do"] == "areas":
            lines = cut_areas(sheet, looked, [tuple(area) for area in order["what"]])
        else:
            lines = cut_spans(sheet, looked, [tuple(span) for span in order["what"]])
    return [
        json.dumps([_facts(line) for line in lines]).encode(),
        *chain(*((one.pdf, one.lead) for one in lines)),
    ]


_MEMORY: Final[dict[bytes, Looked]] = {}
"""The pages that were looked at last, by the digest of their file: several boxes are cut from one page."""
_MOST: Final = 4


def _looked(sheet: Sheet, key: bytes) -> Looked:
    from excerpts.paper.looked import look

    if key not in _MEMORY:
        while len(_MEMORY) >= _MOST:
            del _MEMORY[next(iter(_MEMORY))]
        _MEMORY[key] = look(sheet)
    return _MEMORY[key]


def _facts(line: PaperLine) -> dict[str, Any]:
    return {key: value for key, value in asdict(line).items() if key not in {"pdf", "lead"}}


if __name__ == "__main__":
    os.environ["OPENBLAS_NUM_THREADS"] = "1"  # else each core takes address space of its own
    serve(answered, sys.argv[1:])
