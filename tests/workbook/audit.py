"""Reads a printed workbook as a reader and a machine do: staves, margins, headings, figures, PDF/UA.

The points of PDF/UA are those of the Matterhorn Protocol 1.1 (PDF Association, 2021) that a machine can check
and that a page of text, tables, links and figures can fail; each fault begins with the number of its point.
"""

from __future__ import annotations

import io
import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import pdfplumber
import pikepdf

MM = 72 / 25.4

_PAINT = frozenset({"f", "F", "f*", "B", "B*", "b", "b*", "S", "s", "Tj", "TJ", "'", '"', "Do", "sh"})
_GROUPS = frozenset({"/Div", "/Sect", "/Art", "/Part", "/NonStruct", "/Document"})


@dataclass(frozen=True)
class Element:
    """An element of the structure tree: what it is, its page (from 0), its text for the ear, its height in mm."""

    kind: str
    page: int
    alt: str
    level: int
    height: float = 0.0


@dataclass(frozen=True)
class Printed:
    """What is printed on a page; places in points from its top left corner."""

    width: float
    height: float
    letters: list[dict[str, Any]]
    curves: list[dict[str, Any]]
    rects: list[dict[str, Any]]
    lines: list[dict[str, Any]]


@lru_cache(maxsize=2)
def printed(pdf: bytes) -> tuple[Printed, ...]:
    """The pages of a file, read once for all that is asked of them."""
    with pdfplumber.open(io.BytesIO(pdf)) as file:
        return tuple(
            Printed(float(page.width), float(page.height), page.chars, page.curves, page.rects, page.lines)
            for page in file.pages
        )


def staff_heights(pdf: bytes) -> list[float]:
    """Height in mm of every staff of five lines."""
    found: list[float] = []
    for page in printed(pdf):
        columns: dict[tuple[float, float], list[float]] = defaultdict(list)
        for line in page.lines:
            if line["x1"] - line["x0"] > 8 * MM and abs(line["top"] - line["bottom"]) < 0.01:
                columns[round(line["x0"], 1), round(line["x1"], 1)].append(line["top"])
        for tops in columns.values():
            found += _staves(sorted(tops))
    return found


def _staves(tops: list[float]) -> Iterator[float]:
    place = 0
    while place + 5 <= len(tops):
        five = tops[place : place + 5]
        steps = [after - before for before, after in zip(five, five[1:], strict=False)]
        if max(steps) - min(steps) < 0.05 and steps[0] < 5 * MM:
            yield (five[-1] - five[0]) / MM
            place += 5
        else:
            place += 1


def outside(
    pdf: bytes, left: float, right: float, top: float, bottom: float, slack: float = 0.3
) -> list[str]:
    """What is printed nearer to the edge than the margins in mm; odd pages are bound at their left."""
    found: list[str] = []
    for number, page in enumerate(printed(pdf), start=1):
        sides = (left, right) if number % 2 else (right, left)
        for mark in (*page.letters, *page.curves, *page.rects, *page.lines):
            if mark.get("text", "").isspace():
                continue
            beyond = (
                sides[0] * MM - mark["x0"],
                mark["x1"] - (page.width - sides[1] * MM),
                top * MM - mark["top"],
                mark["bottom"] - (page.height - bottom * MM),
            )
            if max(beyond) > slack * MM:
                found.append(f"page {number}: {mark['object_type']} {mark.get('text', '')} {beyond}")
    return found


def overlaps(pdf: bytes, slack: float = 0.3) -> list[str]:
    """Letters that stand on one another or on a circle to tick, by more than so many mm both ways."""
    found: list[str] = []
    for number, page in enumerate(printed(pdf), start=1):
        marks = [(letter["text"], _rect(letter)) for letter in page.letters if letter["text"].strip()]
        marks += [("a circle", _rect(curve)) for curve in page.curves if _is_circle(curve)]
        marks.sort(key=lambda mark: mark[1][0])
        for place, (text, one) in enumerate(marks):
            for other_text, other in marks[place + 1 :]:
                if other[0] > one[2]:
                    break
                wide = min(one[2], other[2]) - other[0]
                high = min(one[3], other[3]) - max(one[1], other[1])
                kerned = wide < 0.5 * min(one[2] - one[0], other[2] - other[0])
                if min(wide, high) > slack * MM and not kerned and {text, other_text} != {"a circle"}:
                    found.append(f"page {number}: {text} and {other_text}")
    return found


def _rect(mark: dict[str, Any]) -> tuple[float, float, float, float]:
    return mark["x0"], mark["top"], mark["x1"], mark["bottom"]


def _is_circle(curve: dict[str, Any]) -> bool:
    """Whether a curve is a circle to tick or to colour; noteheads are smaller."""
    wide, high = (curve["x1"] - curve["x0"]) / MM, (curve["bottom"] - curve["top"]) / MM
    return bool(abs(wide - high) < 0.05 and 2.8 < wide < 11)


def elements(file: pikepdf.Pdf) -> list[Element]:
    """The structure tree in the order in which it is read."""
    pages: dict[Any, int] = {page.objgen: number for number, page in enumerate(file.pages)}
    found: list[Element] = []

    def walk(node: Any, level: int) -> None:
        if not isinstance(node, pikepdf.Dictionary):
            return
        if "/S" in node:
            page = pages[node.Pg.objgen] if "/Pg" in node else -1
            found.append(Element(str(node.S), page, str(node.get("/Alt", "")), level, _height(node)))
        kids = node.get("/K")
        for kid in kids if isinstance(kids, pikepdf.Array) else [kids]:
            walk(kid, level + 1)

    walk(file.Root.StructTreeRoot, 0)
    return found


def _height(node: Any) -> float:
    if "/A" not in node or "/BBox" not in node.A:
        return 0.0
    box = [float(value) for value in node.A.BBox]
    return (box[3] - box[1]) / MM


def split_music(file: pikepdf.Pdf, page_mm: float) -> list[str]:
    """Music whose systems stand on different pages, though a page of that height holds it with its heading."""
    pieces: list[list[Element]] = []
    for element in elements(file):
        if element.kind != "/Figure":
            continue
        if re.search(r", (?:line|Zeile) \d+ (?:of|von) \d+$", element.alt) and pieces:
            pieces[-1].append(element)
        else:
            pieces.append([element])
    return [
        piece[0].alt
        for piece in pieces
        if len({one.page for one in piece}) > 1 and sum(one.height + 3.2 for one in piece) < 0.75 * page_mm
    ]


def orphans(file: pikepdf.Pdf) -> list[str]:
    """Headings that end a page."""
    below = {"/H1", "/H2", "/H3"}
    ends: dict[int, str] = {}
    current = ""
    for element in elements(file):
        if element.kind in below:
            current = element.kind
        elif element.kind not in _GROUPS | {"/Span"}:
            current = ""
        if element.page >= 0:
            ends[element.page] = current
    return [f"page {page + 1} ends with {kind}" for page, kind in sorted(ends.items()) if kind]


def ua_faults(file: pikepdf.Pdf) -> list[str]:
    """The points of the Matterhorn Protocol 1.1 that the file fails."""
    return [*_content(file), *_document(file), *_structure(file), *_links(file), *_fonts(file)]


def _content(file: pikepdf.Pdf) -> Iterator[str]:
    for number, page in enumerate(file.pages, start=1):
        depth, tagged = 0, 0
        for step in pikepdf.parse_content_stream(page):
            operands, name = step.operands, str(step.operator)
            if name in {"BDC", "BMC"}:
                depth += 1
                artifact = str(operands[0]) == "/Artifact"
                if artifact and tagged:
                    yield f"01-003: page {number} has an artifact inside tagged content"
                tagged += not artifact
            elif name == "EMC":
                depth -= 1
                tagged = max(tagged - 1, 0)
            elif name in _PAINT and not depth:
                yield f"01-005: page {number} paints with {name} outside all marked content"


def _document(file: pikepdf.Pdf) -> Iterator[str]:
    root: Any = file.Root
    xmp = root.Metadata.read_bytes().decode() if "/Metadata" in root else ""
    checks = {
        "06-001: no XMP metadata": bool(xmp),
        "06-002: no PDF/UA identifier": 'pdfuaid:part="1"' in xmp,
        "06-003: no dc:title": "<dc:title>" in xmp,
        "07-001: no ViewerPreferences": "/ViewerPreferences" in root,
        "07-002: DisplayDocTitle is not true": bool(
            root.get("/ViewerPreferences", {}).get("/DisplayDocTitle")
        ),
        "11-006: no language": bool(str(root.get("/Lang", ""))),
        "01-007: suspects": "/Suspects" not in root.MarkInfo or not bool(root.MarkInfo.Suspects),
        "09-004: not marked as tagged": bool(root.MarkInfo.Marked),
    }
    yield from (point for point, holds in checks.items() if not holds)


def _structure(file: pikepdf.Pdf) -> Iterator[str]:
    tree = elements(file)
    levels = [int(element.kind[2]) for element in tree if re.fullmatch(r"/H[1-6]", element.kind)]
    if levels and levels[0] != 1:
        yield f"14-002: the first heading is H{levels[0]}"
    for before, after in zip(levels, levels[1:], strict=False):
        if after > before + 1:
            yield f"14-003: H{after} follows H{before}"
    yield from ("13-004: a figure without a description" for e in tree if e.kind == "/Figure" and not e.alt)
    if "/ParentTree" not in file.Root.StructTreeRoot:
        yield "01-006: no parent tree"
    above: list[Element] = []
    needed = {
        "/TR": {"/Table", "/TBody", "/THead"},
        "/TD": {"/TR"},
        "/TH": {"/TR"},
        "/LI": {"/L"},
        "/LBody": {"/LI"},
    }
    for element in tree:
        above = [one for one in above if one.level < element.level]
        if element.kind in needed and above and above[-1].kind not in needed[element.kind]:
            yield f"09-004: {element.kind} stands in {above[-1].kind}"
        above.append(element)


def _links(file: pikepdf.Pdf) -> Iterator[str]:
    for number, page in enumerate(file.pages, start=1):
        if page.get("/Annots") and page.get("/Tabs") != "/S":
            yield f"28-008: page {number} does not follow the structure with the tab key"
        for annotation in page.get("/Annots", []):
            if "/StructParent" not in annotation:
                yield f"28-002: a link of page {number} is not in the structure"
            if not str(annotation.get("/Contents", "")):
                yield f"28-012: a link of page {number} has no description"


def _fonts(file: pikepdf.Pdf) -> Iterator[str]:
    for one in file.objects:
        if not isinstance(one, pikepdf.Dictionary):
            continue
        if one.get("/Type") == "/FontDescriptor" and not {"/FontFile2", "/FontFile3"} & set(one.keys()):
            yield f"31-009: {one.FontName} is not embedded"
        if one.get("/Type") == "/Font" and one.get("/Subtype") == "/Type0" and "/ToUnicode" not in one:
            yield f"31-027: {one.BaseFont} cannot be read as text"
