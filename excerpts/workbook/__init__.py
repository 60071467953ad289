"""The workbook: page models, templates, PDF."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from excerpts.workbook.build import Built, build_workbook
    from excerpts.workbook.excerpt_sheet import build_sheet

# Imported when they are asked for: whoever only names a box must not load the page maker.
_HOMES = {"Built": "build", "build_workbook": "build", "build_sheet": "excerpt_sheet"}

__all__ = ["Built", "build_sheet", "build_workbook"]


def __getattr__(name: str) -> object:
    if name not in _HOMES:
        raise AttributeError(f"module 'excerpts.workbook' has no attribute {name!r}")
    return getattr(import_module(f"excerpts.workbook.{_HOMES[name]}"), name)
