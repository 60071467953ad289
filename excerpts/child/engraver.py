"""The child that engraves: verovio, one page of SVG for each request, with what it logged.

A request is its options as JSON and the MusicXML; the answer the SVG ("" where nothing was drawn), the log, and as JSON
what words, dynamics, fingers and the like hang on.
"""

from __future__ import annotations

import json
import os
import re
import sys
import tempfile
from functools import cache
from importlib.resources import files
from typing import Any, Final

from excerpts.child.serve import serve

_MARK: Final = re.compile(r'<g [^>]*?\bid="([^"]+)" class="(?:dir|dynam|tempo|reh|fing)\b')


def engraved(parts: list[bytes]) -> list[bytes]:
    """Draw one page."""
    options, text = json.loads(parts[0]), parts[1].decode()
    with tempfile.TemporaryFile() as log:
        kept = os.dup(2)
        os.dup2(log.fileno(), 2)
        try:
            svg = _render(_toolkit(), options, text)
            marks = {ident: dict(_toolkit().getElementAttr(ident)) for ident in _MARK.findall(svg)}
        finally:
            os.dup2(kept, 2)
            os.close(kept)
        log.seek(0)
        return [svg.encode(), log.read(), json.dumps(marks).encode()]


@cache
def _toolkit() -> Any:
    """One toolkit for all pages: making it costs as much as engraving a line of music."""
    import verovio

    verovio.setDefaultResourcePath(str(files("verovio").joinpath("data")))
    return verovio.toolkit()


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
