"""What boxes show of printed pages, as pages of its own: nothing else of the source is in the file."""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO
from typing import Final

import pikepdf

from excerpts.paper.sheet import MM_PER_INCH
from excerpts.paper.value import Area, PaperCut, PaperLine

_POINT: Final = 72 / MM_PER_INCH
_A4: Final = (210.0, 297.0)
_MARGIN: Final = 15.0
"""Millimetres round the lines of a page."""
_BETWEEN: Final = 12.0
"""Millimetres from line to line: white enough that they are never taken for one system."""
_ROOM: Final = 1.0
"""Millimetres that an area reaches over and under its line."""
_FOREIGN: Final = ("/Metadata", "/PieceInfo", "/LastModified")
"""What else objects of a PDF may say of where they come from (ISO 32000-2, 14.3 and 14.5)."""


def boxes_alone(cuts: Sequence[PaperCut]) -> tuple[bytes, list[tuple[Area, ...]]]:
    """Put what is cut for boxes on pages, one for each box, in the size of the source.

    Clef and key stand in front of each line, and its neighbouring bars beside it, as they are printed.

    Args:
        cuts: What each box takes.

    Returns:
        The PDF, and for each box its areas on its page, in millimetres, in order.
    """
    with pikepdf.new() as pdf:
        areas = [_page(pdf, cut.lines) for cut in cuts]
        for item in pdf.objects:
            if isinstance(item, pikepdf.Dictionary | pikepdf.Stream):
                for key in [key for key in _FOREIGN if key in item]:
                    del item[key]
        written = BytesIO()
        pdf.save(written, deterministic_id=True)
    return written.getvalue(), areas


def _page(pdf: pikepdf.Pdf, lines: Sequence[PaperLine]) -> tuple[Area, ...]:
    """Add a page with lines under one another, and tell where their boxes stand."""
    width = max(_A4[0], *(_front(line) + line.width_mm + 2 * _MARGIN for line in lines))
    height = max(_A4[1], 2 * _MARGIN + sum(line.height_mm + _BETWEEN for line in lines))
    page = pdf.add_blank_page(page_size=(width * _POINT, height * _POINT))
    resources, top = pikepdf.Dictionary(), _MARGIN
    operators: list[bytes] = []
    areas: list[Area] = []
    for line in lines:
        left, bottom = _MARGIN + _front(line), top + line.height_mm
        drawn = [(line.pdf, left), *([(line.lead, _MARGIN)] if _front(line) else [])]
        for data, x in drawn:
            drawing = _drawing(pdf, data, resources, f"L{len(operators)}-")
            place = f"{_POINT:.6f} 0 0 {_POINT:.6f} {x * _POINT:.4f} {(height - bottom) * _POINT:.4f}"
            operators.append(b"q " + place.encode() + b" cm " + drawing + b" Q")
        start, end = line.box or (0.0, line.width_mm)
        area = left + start, top - _ROOM, left + end, bottom + _ROOM
        areas.append(tuple(round(side, 2) for side in area))  # type: ignore[arg-type]
        top = bottom + _BETWEEN
    page.Resources = resources
    page.Contents = pdf.make_stream(b"\n".join(operators))
    return tuple(areas)


def _front(line: PaperLine) -> float:
    """Width of clef and key, where the line does not show them itself."""
    return line.lead_mm if line.lead and line.clef_to <= 0 else 0.0


def _drawing(pdf: pikepdf.Pdf, data: bytes, resources: pikepdf.Dictionary, prefix: str) -> bytes:
    """The operators of a cut; what it needs goes into the resources by names of its own.

    Its form is written out, for pdfium takes nothing out of forms that stand on a page beside others: a box could
    not be cut out of it as it is drawn.
    """
    with pikepdf.open(BytesIO(data)) as opened:
        page = opened.pages[0]
        _, _, width, height = (float(side) for side in page.MediaBox)
        drawn = page.Resources.XObject["/P"]
        operators = page.Contents.read_bytes()
        if drawn.Subtype == pikepdf.Name.Form:
            left, bottom, right, top = (float(side) for side in drawn.BBox)
            inner = f"{left:.4f} {bottom:.4f} {right - left:.4f} {top - bottom:.4f} re W n\n".encode()
            _take(opened, drawn.get("/Resources", pikepdf.Dictionary()), pdf, resources, prefix)
            operators = operators.replace(b"/P Do", inner + _renamed(drawn, prefix))
        else:
            _take(opened, page.Resources, pdf, resources, prefix)
            operators = operators.replace(b"/P Do", f"/{prefix}P Do".encode())
    return f"0 0 {width:.4f} {height:.4f} re W n ".encode() + operators


def _take(
    source: pikepdf.Pdf, own: pikepdf.Object, pdf: pikepdf.Pdf, resources: pikepdf.Dictionary, prefix: str
) -> None:
    for kind, named in own.items():
        if not isinstance(
            named, pikepdf.Dictionary
        ):  # a list of procedures, which nothing reads (ISO 32000-2, 14.2)
            continue
        if kind not in resources:
            resources[kind] = pikepdf.Dictionary()
        for name, value in named.items():
            there = value if value.is_indirect else source.make_indirect(value)
            resources[kind][f"/{prefix}{name[1:]}"] = pdf.copy_foreign(there)


_NAMES: Final = frozenset({"Do", "gs", "cs", "CS", "scn", "SCN", "sh", "Tf", "BDC", "DP"})
"""Operators that name something of the resources (ISO 32000-2, annex A)."""
_PLAIN: Final = frozenset({"/DeviceGray", "/DeviceRGB", "/DeviceCMYK", "/Pattern"})


def _renamed(form: pikepdf.Object, prefix: str) -> bytes:
    """The operators of a form with the names of its resources as they are now."""
    lines = []
    for line in pikepdf.parse_content_stream(form):
        operands = list(line.operands)
        if str(line.operator) in _NAMES and operands:
            at = 0 if str(line.operator) in {"Do", "gs", "cs", "CS", "sh", "Tf"} else len(operands) - 1
            name = operands[at]
            if isinstance(name, pikepdf.Name) and str(name) not in _PLAIN:
                operands[at] = pikepdf.Name(f"/{prefix}{str(name)[1:]}")
        lines.append((operands, line.operator))
    return pikepdf.unparse_content_stream(lines)
