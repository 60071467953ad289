"""Puts areas of printed pages into a PDF: each stands in it once as a form XObject and is drawn by its name.

What WeasyPrint would take is a picture; a form keeps lines as lines and a scan at one bit, and is not read by it.
"""

from __future__ import annotations

import re
from hashlib import blake2b
from typing import Any, Final
from weakref import WeakValueDictionary

from excerpts.workbook.shared_shapes import add_forms, drawn_names

_USED: Final = re.compile(rb"/(p-[0-9a-f]{12}) Do\b")


class PaperForm:
    """One area, as a PDF of one page that shows it.

    Args:
        pdf: That PDF; its points are millimetres of the source.
    """

    def __init__(self, pdf: bytes) -> None:
        self.pdf = pdf
        self.name = f"p-{blake2b(pdf, digest_size=6).hexdigest()}"
        _FORMS[self.name] = self


_FORMS: Final[WeakValueDictionary[str, PaperForm]] = WeakValueDictionary()
"""The forms that pages draw, as long as the pages are there."""


def share_paper(pdf: Any) -> None:
    """Put into a PDF the forms that its pages draw by name.

    Args:
        pdf: The PDF, as `pydyf` holds it, with one dictionary of resources for all of its pages.
    """
    used = drawn_names(pdf, _USED) if _FORMS else []
    if not used:
        return
    # pikepdf takes a while to load, and few workbooks have paper.
    from excerpts.workbook.copied_objects import page_as_form

    add_forms(pdf, {name: page_as_form(_FORMS[name].pdf, pdf) for name in used})
