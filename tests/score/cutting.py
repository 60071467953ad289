"""What the tests of cutting share: cut, hold to the schema, and look at the result."""

from __future__ import annotations

from lxml import etree

from excerpts.excerpt import Excerpt
from excerpts.score import score_from_bytes
from tests.schema import schema_errors


def cut(data: bytes, address: str, context: int = 0, of: str | None = "#1") -> Excerpt:
    """Cut and hold the result to the schema."""
    excerpt = cut_invalid(data, address, context, of)
    assert schema_errors(excerpt.xml) == []
    return excerpt


def cut_invalid(data: bytes, address: str, context: int = 0, of: str | None = "#1") -> Excerpt:
    """Cut out of a source that is not valid itself."""
    return score_from_bytes(data, "test").part(of).passage(address).cut(context)


def bar_at(excerpt: Excerpt, index: int) -> etree._Element:
    """A bar of the excerpt, from 0."""
    return excerpt.tree().findall("part/measure")[index]


def first_attributes(excerpt: Excerpt) -> etree._Element:
    """The `<attributes>` that the excerpt begins with."""
    found = bar_at(excerpt, 0).find("attributes")
    assert found is not None
    return found


def said(excerpt: Excerpt) -> list[str]:
    """The report, line by line."""
    return [str(line) for line in excerpt.report]


def kinds(excerpt: Excerpt, tag: str) -> list[str | None]:
    """The types of all elements of a name."""
    return [element.get("type") for element in excerpt.tree().iter(tag)]


def texts(excerpt: Excerpt, tag: str) -> list[str]:
    """The texts of all elements of a name."""
    return [(element.text or "").strip() for element in excerpt.tree().iter(tag)]


def direction(inner: str, placement: str = "above", after: str = "") -> str:
    """A `<direction>` of one type."""
    return f"<direction placement='{placement}'><direction-type>{inner}</direction-type>{after}</direction>"


def words(text: str) -> str:
    """Words above the staff."""
    return direction(f"<words>{text}</words>")


def dynamic(name: str) -> str:
    """A dynamic mark."""
    return direction(f"<dynamics><{name}/></dynamics>", "below")


def attributes(inner: str) -> str:
    """A change in the bar."""
    return f"<attributes>{inner}</attributes>"


def clef(sign: str, line: int, number: int | None = None, more: str = "") -> str:
    """A `<clef>`."""
    staff = f" number='{number}'" if number else ""
    return f"<clef{staff}{more}><sign>{sign}</sign><line>{line}</line></clef>"


def key(fifths: int, more: str = "") -> str:
    """A `<key>`."""
    return f"<key{more}><fifths>{fifths}</fifths></key>"
