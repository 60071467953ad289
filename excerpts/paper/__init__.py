"""Boxes from paper: areas cut out of a PDF, a scan or a photo, straightened, with the height of their staves known."""

from __future__ import annotations

from excerpts.paper.ask import cut, whole
from excerpts.paper.files import Pages, find_pages
from excerpts.paper.value import Area, PaperCut, PaperLine

__all__ = ["Area", "PaperCut", "PaperLine", "Pages", "cut", "find_pages", "whole"]
