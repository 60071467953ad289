"""Puts areas of printed pages into a PDF: each stands in it once as a form XObject and is drawn by its name.

What WeasyPrint would take is a picture; a form keeps lines as lines and a scan at one bit, and is not read by it.
"""

from __future__ import annotations

import re
from hashlib import blake2b
from typing import Any, Final
from weakref import WeakValueDictionary

import pydyf

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
    used = sorted({name.decode() for stream in pdf.objects for name in _names(stream)})
    if not used:
        return
    resources = next(one for one in pdf.objects if isinstance(one, pydyf.Dictionary) and "XObject" in one)
    # pikepdf takes a while to load, and few workbooks have paper.
    from excerpts.workbook.copied_objects import page_as_form

    for name in used:
        form = page_as_form(_FORMS[name].pdf, pdf)
        pdf.add_object(form)
        resources["XObject"][name] = form.reference


def _names(stream: Any) -> set[bytes]:
    if not isinstance(stream, pydyf.Stream):
        return set()
    return {name for item in stream.stream if isinstance(item, bytes) for name in _USED.findall(item)}
