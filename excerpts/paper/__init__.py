"""Boxes from paper: parts cut out of a PDF, a scan or a photo, straightened, with the height of their staves known.

`look` tells where systems and barlines of a page stand, `picture` draws them in; `cut` takes areas, or
systems from barline to barline.
"""

from __future__ import annotations

from excerpts.paper.ask import count, cut, look, picture, whole
from excerpts.paper.files import COPYING, Pages, find_pages, inbox
from excerpts.paper.value import Area, PageSeen, PaperCut, PaperLine, Span, SystemSeen

__all__ = [
    "COPYING", "Area", "PageSeen", "Pages", "PaperCut", "PaperLine", "Span", "SystemSeen", "count", "cut", "find_pages",
    "inbox", "look", "picture", "whole",
]  # fmt: skip
