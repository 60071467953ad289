"""Pages that verovio engraved itself, with what the classes of its SVG say of where staves and barlines stand."""

from __future__ import annotations

import re
from base64 import b64encode
from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec
from pathlib import Path

import verovio
import weasyprint
from lxml import etree

SVG = "{http://www.w3.org/2000/svg}"
WIDTH, HEIGHT = 210.0, 297.0


@dataclass(frozen=True)
class Engraved:
    """A page as SVG; systems as staves (top, height of the staff) with their barlines, in millimetres."""

    svg: str
    systems: tuple[tuple[tuple[tuple[float, float], ...], tuple[float, ...]], ...]


@cache
def engraved(name: str, font: str = "Leipzig", unit: float = 7.5) -> Engraved:
    """The first page of a piece of music21's corpus."""
    corpus = Path(str(find_spec("music21").origin)).parent / "corpus"  # type: ignore[union-attr]
    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setOptions(
        {
            "font": font,
            "pageWidth": 2100,
            "pageHeight": 2970,
            "unit": unit,
            "footer": "none",
            "header": "none",
        }
        | {"smuflTextFont": "embedded"}
    )
    path = corpus / name
    assert toolkit.loadFile(str(path))
    svg = str(toolkit.renderToSVG(1))
    return Engraved(svg, _systems(svg))


def _systems(svg: str) -> tuple[tuple[tuple[tuple[float, float], ...], tuple[float, ...]], ...]:
    root = etree.fromstring(svg.encode())
    margin = root.find(f".//{SVG}g[@class='page-margin']")
    assert margin is not None
    left, top = (float(one) / 100 for one in re.findall(r"-?\d+", margin.get("transform", "")))
    found = []
    for system in margin.iterfind(f"{SVG}g[@class='system']"):
        staves: dict[float, float] = {}
        bars: set[float] = set()
        for group in system.iter(f"{SVG}g"):
            paths = [_numbers(path.get("d", "")) for path in group.findall(f"{SVG}path")]
            if group.get("class") == "staff" and len(paths) >= 5:
                rows = sorted(path[1] for path in paths[:5])
                staves[round(top + rows[0] / 100, 2)] = (rows[4] - rows[0]) / 100
            elif group.get("class") == "barLine":
                bars |= {
                    round(left + path[0] / 100, 1) for path in paths if len(path) == 4 and path[0] == path[2]
                }
        found.append((tuple(sorted(staves.items())), tuple(sorted(bars))))
    return tuple(found)


def _numbers(data: str) -> list[float]:
    return [float(one) for one in re.findall(r"-?\d+(?:\.\d+)?", data)]


def as_pdf(*pages: Engraved, extra: str = "") -> bytes:
    """Pages as a PDF in which lines are lines."""
    images = []
    for page in pages:
        opening = re.search(r'<svg class="definition-scale"[^>]*viewBox="([^"]+)"[^>]*>', page.svg)
        defs = re.search(r"<defs>.*?</defs>", page.svg, re.DOTALL)
        assert opening is not None
        inner = page.svg[opening.end() : page.svg.rindex("</svg>", 0, page.svg.rindex("</svg>"))]
        svg = (
            '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="210mm" '
            f'height="297mm" viewBox="{opening[1]}" color="black" stroke="black">{defs[0] if defs else ""}{inner}</svg>'
        )
        images.append(f'<img src="data:image/svg+xml;base64,{b64encode(svg.encode()).decode()}"/>')
    style = "@page{size:210mm 297mm;margin:0}body{margin:0}img{width:210mm;height:297mm;display:block}"
    style += "p{position:absolute;left:10mm;top:280mm;font-size:9pt;margin:0}"
    pdf = weasyprint.HTML(string=f"<style>{style}</style>{''.join(images)}{extra}").write_pdf()
    assert isinstance(pdf, bytes)
    return pdf
