"""Boxes from paper: parts cut out of a PDF, a scan or a photo, straightened, with the height of their staves known.

`look` tells where systems and barlines of a page stand, `picture` draws them in; `cut` takes areas, or
systems from barline to barline; `kept` makes pages of what was cut.
"""

from __future__ import annotations

from excerpts.paper.ask import count, cut, look, picture, plain, snap, whole
from excerpts.paper.files import COPYING, PAGE_SUFFIXES, Pages, find_pages, inbox
from excerpts.paper.value import LEAST_DPI, Area, PageSeen, PaperCut, PaperLine, Snapped, Span, SystemSeen

__all__ = [
    "COPYING", "LEAST_DPI", "PAGE_SUFFIXES", "Area", "PageSeen", "Pages", "PaperCut", "PaperLine", "Snapped", "Span",
    "SystemSeen", "count", "cut", "find_pages", "inbox", "look", "picture", "plain", "snap", "whole",
]  # fmt: skip
