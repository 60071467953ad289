"""The child that engraves: verovio, one page of SVG for each request, with what it logged.

A request is its options as JSON, the MusicXML, and "marks" or nothing; the answer the SVG ("" where nothing was drawn),
the log, and where marks are asked for as JSON what words, dynamics, fingers and the like hang on.
"""

from __future__ import annotations

import json
import os
import re
import sys
import tempfile
from functools import cache
from importlib.resources import files
from typing import IO, Any, Final

from excerpts.system.child.serve import serve

_MARK: Final = re.compile(r'<g id="([^"]+)" class="(?:dir|dynam|tempo|reh|fing)\b')


def engraved(parts: list[bytes]) -> list[bytes]:
    """Draw one page."""
    options, text = json.loads(parts[0]), parts[1].decode()
    log = _log()
    log.seek(0)
    log.truncate()
    kept = os.dup(2)
    os.dup2(log.fileno(), 2)
    try:
        svg = _render(_toolkit(), options, text)
        marks = {ident: _toolkit().getElementAttr(ident) for ident in _MARK.findall(svg)} if parts[2] else {}
    finally:
        os.dup2(kept, 2)
        os.close(kept)
    log.seek(0)
    return [svg.encode(), log.read(), json.dumps(marks).encode()]


@cache
def _log() -> IO[bytes]:
    """One file for what verovio says of each page: making one costs as much as setting the options."""
    return tempfile.TemporaryFile(buffering=0)


@cache
def _toolkit() -> Any:
    """One toolkit for all pages: making it costs as much as engraving a line of music."""
    import verovio

    verovio.setDefaultResourcePath(str(files("verovio").joinpath("data")))
    toolkit = verovio.toolkit()
    toolkit.setInputFrom("xml")  # else it looks at each text for what it is
    return toolkit


def _render(toolkit: Any, options: dict[str, Any], text: str) -> str:
    toolkit.setOptions(options)
    toolkit.resetXmlIdSeed(1)
    if not toolkit.loadData(text) or toolkit.getPageCount() < 1:
        return ""
    svg = str(toolkit.renderToSVG(1))
    # An empty document loads without complaint and gives a page of no height.
    height = svg.split('viewBox="', 1)[-1].split('"', 1)[0].split(" ")[-1]
    return svg if float(height) > 0 else ""


if __name__ == "__main__":
    _toolkit()
    serve(engraved, sys.argv[1:])
