"""Excerpts for tests, without the cutter: from a few lines of MusicXML, or a whole part of a real score."""

from __future__ import annotations

from fractions import Fraction
from importlib.util import find_spec
from pathlib import Path
from zipfile import ZipFile

from lxml import etree

from excerpts.excerpt import BarRef, Box, Excerpt, Position, Tempo

HEADER = "<part-list><score-part id='P1'><part-name>Violin</part-name></score-part></part-list>"


def corpus() -> Path:
    """Folder of music21's corpus of real scores."""
    spec = find_spec("music21")
    assert spec is not None
    assert spec.origin is not None
    return Path(spec.origin).parent / "corpus"


def excerpt(
    *measures: str,
    box: tuple[int, int] | None = None,
    beats: tuple[Fraction, Fraction] | None = None,
    tempo: Tempo | None = None,
    part_list: str = HEADER,
) -> Excerpt:
    """An excerpt of the given bars, each the contents of a `<measure>` or, starting with "<measure", all of it.

    Args:
        measures: The bars.
        box: First and last boxed bar, as indices from 0; all bars if not given.
        beats: Where the box starts in its first bar and ends in its last, in quarter notes.
        tempo: The tempo in force.
        part_list: The `<part-list>`.
    """
    bars = [
        text if text.startswith("<measure") else f'<measure number="{number}">{text}</measure>'
        for number, text in enumerate(measures, 1)
    ]
    xml = f'<score-partwise version="4.0">{part_list}<part id="P1">{"".join(bars)}</part></score-partwise>'
    return of_part(etree.fromstring(xml), box=box, beats=beats, tempo=tempo)


def of_part(
    root: etree._Element,
    index: int = 0,
    box: tuple[int, int] | None = None,
    beats: tuple[Fraction, Fraction] | None = None,
    tempo: Tempo | None = None,
) -> Excerpt:
    """An excerpt of one whole part of a partwise score."""
    part = root.findall("part")[index]
    for other in root.findall("part"):
        if other is not part:
            root.remove(other)
    for entry in list(root.iter("part-group", "score-part")):
        parent = entry.getparent()
        if parent is not None and entry.get("id") != part.get("id"):
            parent.remove(entry)
    bars = _bars(part)
    first, last = box or (0, len(bars) - 1)
    start, end = beats or (Fraction(0), bars[last].length)
    boxes = (Box(Position(first, start), Position(last, end)),)
    return Excerpt(etree.tostring(root), tuple(bars), boxes, tempo=tempo)


def of_file(path: Path, index: int = 0) -> Excerpt:
    """An excerpt of one whole part of a partwise MusicXML file, compressed or not."""
    root = parse(path)
    root.set("version", "4.0")
    return of_part(root, index)


def parse(path: Path) -> etree._Element:
    """The root of a MusicXML file, compressed or not."""
    if path.suffix == ".mxl":
        with ZipFile(path) as archive:
            name = next(n for n in archive.namelist() if n.endswith("xml") and "META-INF" not in n)
            data = archive.read(name)
    else:
        data = path.read_bytes()
    parser = etree.XMLParser(load_dtd=False, no_network=True, remove_comments=True, remove_pis=True)
    return etree.fromstring(data, parser)


def _bars(part: etree._Element) -> list[BarRef]:
    divisions, start = Fraction(1), Fraction(0)
    bars: list[BarRef] = []
    for place, measure in enumerate(part.findall("measure"), 1):
        cursor = furthest = Fraction(0)
        for element in measure:
            if element.tag == "attributes" and element.find("divisions") is not None:
                divisions = Fraction(element.findtext("divisions") or "1")
            length = Fraction(element.findtext("duration") or "0") / divisions
            moves = element.tag in {"note", "forward"} and element.find("chord") is None
            if element.tag == "note" and element.find("grace") is not None:
                moves = False
            cursor += length if moves else -length if element.tag == "backup" else 0
            furthest = max(furthest, cursor)
        bars.append(BarRef(place, measure.get("number", ""), start, furthest))
        start += furthest
    return bars
