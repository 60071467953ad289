"""Whether verovio (https://www.verovio.org/) finds fault with a file: its own log as an outside check."""

from __future__ import annotations

import os
import tempfile
from functools import cache
from typing import Any

_LONG_LINE = {
    "breaks": "none",
    "header": "none",
    "footer": "none",
    "pageHeight": 60000,
    "pageWidth": 60000,
    "adjustPageHeight": True,
}
_PAGES = {"breaks": "auto", "header": "none", "footer": "none"}


@cache
def _toolkit(*, paged: bool) -> Any:
    import verovio

    verovio.enableLog(verovio.LOG_WARNING)
    toolkit = verovio.toolkit()
    toolkit.setOptions(_PAGES if paged else _LONG_LINE)
    return toolkit


def complaints(data: bytes, *, paged: bool = False) -> list[str]:
    """What verovio logs on loading and drawing a document; empty when it is clean.

    It writes to the process's own stderr, below Python, so that is where it is caught. Whole scores are drawn in
    pages, which is faster for them than one long line.
    """
    toolkit = _toolkit(paged=paged)
    with tempfile.TemporaryFile() as log:
        kept = os.dup(2)
        os.dup2(log.fileno(), 2)
        try:
            loaded = toolkit.loadData(data.decode())
            for page in range(toolkit.getPageCount() if loaded else 0):
                toolkit.renderToSVG(page + 1)
        finally:
            os.dup2(kept, 2)
            os.close(kept)
        log.seek(0)
        found = [line for line in log.read().decode(errors="replace").splitlines() if line.strip()]
    return found if loaded else [*found, "cannot be loaded"]
