"""The workbook: page models, templates, PDF."""

from excerpts.workbook.build import Built, build_workbook
from excerpts.workbook.excerpt_sheet import build_sheet

__all__ = ["Built", "build_sheet", "build_workbook"]
