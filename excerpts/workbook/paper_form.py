"""Puts areas of printed pages into a PDF: each stands in it once as a form XObject and is drawn by its name.

What WeasyPrint would take is a picture; a form keeps lines as lines and a scan at one bit, and is not read by it.
"""

from __future__ import annotations

import re
from decimal import Decimal
from hashlib import blake2b
from io import BytesIO
from typing import Any, Final
from weakref import WeakValueDictionary

import pikepdf
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
    for name in used:
        with pikepdf.open(BytesIO(_FORMS[name].pdf)) as source:
            page = source.pages[0]
            copied = _Copied(pdf)
            facts = {
                "Type": b"/XObject",
                "Subtype": b"/Form",
                "BBox": copied.of(page.MediaBox),
                "Resources": copied.of(page.Resources),
            }
            form = pydyf.Stream([page.Contents.read_bytes()], facts, compress=True)
            pdf.add_object(form)
            resources["XObject"][name] = form.reference


def _names(stream: Any) -> set[bytes]:
    if not isinstance(stream, pydyf.Stream):
        return set()
    return {name for item in stream.stream if isinstance(item, bytes) for name in _USED.findall(item)}


class _Copied:
    """Objects of one PDF in another, each once.

    Args:
        pdf: The PDF that they come into.
    """

    def __init__(self, pdf: Any) -> None:
        self._pdf = pdf
        self._known: dict[tuple[int, int], Any] = {}

    def of(self, item: Any) -> Any:
        """An object as `pydyf` writes it: by reference where it is one that others may refer to."""
        if not isinstance(item, pikepdf.Object):
            return _plain(item)
        if not item.is_indirect:
            return self._direct(item)
        if item.objgen not in self._known:
            # Known before it is read: it may refer to itself.
            empty = pydyf.Stream(extra={}) if isinstance(item, pikepdf.Stream) else pydyf.Object()
            self._pdf.add_object(empty)
            self._known[item.objgen] = empty.reference
            made = self._direct(item)
            made = made if isinstance(made, pydyf.Object) else _Raw(made)
            made.number = empty.number
            self._pdf.objects[empty.number] = made
        return self._known[item.objgen]

    def _direct(self, item: pikepdf.Object) -> Any:
        if isinstance(item, pikepdf.Stream):
            facts = {key: value for key, value in item.stream_dict.items() if key != "/Length"}
            return pydyf.Stream([item.read_raw_bytes()], self._entries(facts))
        if isinstance(item, pikepdf.Dictionary):
            return pydyf.Dictionary(self._entries(dict(item.items())))
        if isinstance(item, pikepdf.Array):
            return pydyf.Array([self.of(one) for one in item])
        return item.unparse()

    def _entries(self, facts: dict[str, Any]) -> dict[str, Any]:
        return {pikepdf.Name(key).unparse()[1:].decode(): self.of(value) for key, value in facts.items()}


class _Raw(pydyf.Object):  # type: ignore[misc]
    """A number, name or text that stands by itself."""

    def __init__(self, data: bytes) -> None:
        super().__init__()
        self.data = data


def _plain(value: Any) -> bytes:
    if isinstance(value, bool):
        return b"true" if value else b"false"
    if value is None:
        return b"null"
    return f"{value:f}".encode() if isinstance(value, Decimal) else str(value).encode()
