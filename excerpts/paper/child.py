"""The child that opens pages: whatever a file holds, it is rendered and cut here, within limits of time and memory.

A request is an order as JSON and the bytes of the file; the answer "ok" and what was asked for, or "fault" and what is
wrong with what would be right.
"""

from __future__ import annotations

import json
import os
import sys
from dataclasses import asdict
from typing import Any

from excerpts.errors import PaperError
from excerpts.paper.value import PaperLine
from excerpts.system.child.serve import serve


def answered(parts: list[bytes]) -> list[bytes]:
    """Do one order."""
    order, data = json.loads(parts[0]), parts[1]
    try:
        return [b"ok", *_done(order, data)]
    except PaperError as error:
        return [b"fault", json.dumps([error.what, error.hint]).encode()]


def _done(order: dict[str, Any], data: bytes) -> list[bytes]:
    from excerpts.paper.crop import cut_areas, whole_page
    from excerpts.paper.sheet import open_sheet

    with open_sheet(data, order["page"]) as sheet:
        if order["do"] == "whole":
            line = whole_page(sheet)
            return [json.dumps(_facts(line)).encode(), line.pdf]
        lines = cut_areas(sheet, [tuple(area) for area in order["areas"]])
    return [json.dumps([_facts(line) for line in lines]).encode(), *(line.pdf for line in lines)]


def _facts(line: PaperLine) -> dict[str, Any]:
    return {key: value for key, value in asdict(line).items() if key != "pdf"}


if __name__ == "__main__":
    os.environ["OPENBLAS_NUM_THREADS"] = "1"  # else each core takes address space of its own
    serve(answered, sys.argv[1:])
