"""Objects of one PDF copied into another that is being written: pikepdf reads them, pydyf writes them."""

from __future__ import annotations

from decimal import Decimal
from io import BytesIO
from typing import Any

import pikepdf
import pydyf


def page_as_form(source: bytes, pdf: Any) -> pydyf.Stream:
    """The page of a PDF as a form XObject of another; what it refers to is added to that other.

    Args:
        source: A PDF of one page.
        pdf: The PDF that is being written, as `pydyf` holds it.
    """
    with pikepdf.open(BytesIO(source)) as opened:
        page = opened.pages[0]
        copied = _Copied(pdf)
        facts = {
            "Type": b"/XObject",
            "Subtype": b"/Form",
            "BBox": copied.of(page.MediaBox),
            "Resources": copied.of(page.Resources),
        }
        return pydyf.Stream([page.Contents.read_bytes()], facts, compress=True)


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
