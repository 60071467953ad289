"""Makes a score wrong: elements dropped, doubled, swapped, moved; numbers, texts and attributes changed."""

from __future__ import annotations

from collections.abc import Callable
from copy import deepcopy
from random import Random
from typing import Final

from lxml import etree

NUMBERS: Final = (
    "0", "1", "-1", "2", "3", "7", "12", "100", "1000000", "50000000", "1000000000", "-5", "0.5", "1.333333", "1e9",
    "", "x", "²", "9999999999999999999", "NaN", "1/3", " 4 ", "+2",
)  # fmt: skip
"""What a number is changed to."""

WORDS: Final = (
    "", " ", "start", "stop", "continue", "yes", "no", "whole", "quarter", "64th", "breve", "up", "down", "C", "F",
    "percussion", "none", "TAB", "above", "left", "right", "P1", "2", "<b>", "é\u202e", "\u00a0", "a" * 300, "forward",
    "backward",
)  # fmt: skip
"""What another text is changed to."""

ATTRIBUTES: Final = (
    "number",
    "type",
    "id",
    "implicit",
    "placement",
    "location",
    "measure",
    "text",
    "slash",
    "size",
)


def mutated(data: bytes, random: Random, times: int = 1) -> bytes:
    """A MusicXML document with something wrong in it.

    Args:
        data: The document; one that is not well formed has a byte changed.
        random: Where the choices come from.
        times: How many things are made wrong.
    """
    try:
        root = etree.fromstring(data, etree.XMLParser(resolve_entities=False, no_network=True))
    except (etree.XMLSyntaxError, ValueError):
        return _byte_changed(data, random)
    for _ in range(times):
        elements = [element for element in root.iter(etree.Element) if element is not root]
        if elements:
            random.choice(_WAYS)(random.choice(elements), elements, random)
    return bytes(etree.tostring(root))


def _byte_changed(data: bytes, random: Random) -> bytes:
    if not data:
        return b"<"
    at = random.randrange(len(data))
    return data[:at] + random.choice((b"", b"<", b">", b"/", b"0", data[at : at + 20] * 2)) + data[at + 1 :]


def _drop(element: etree._Element, _elements: list[etree._Element], _random: Random) -> None:
    parent = element.getparent()
    if parent is not None:
        parent.remove(element)


def _double(element: etree._Element, _elements: list[etree._Element], _random: Random) -> None:
    element.addnext(deepcopy(element))


def _swap(element: etree._Element, _elements: list[etree._Element], _random: Random) -> None:
    following = element.getnext()
    if following is not None:
        following.addnext(element)


def _graft(element: etree._Element, elements: list[etree._Element], random: Random) -> None:
    """Put a copy of something small somewhere else."""
    small = next((e for e in random.choices(elements, k=8) if sum(1 for _ in e.iter()) < 30), None)
    if small is not None:
        element.insert(random.randint(0, len(element)), deepcopy(small))


def _rename(element: etree._Element, elements: list[etree._Element], random: Random) -> None:
    element.tag = random.choice(elements).tag


def _retext(element: etree._Element, elements: list[etree._Element], random: Random) -> None:
    element = next((e for e in random.choices(elements, k=8) if (e.text or "").strip()), element)
    if len(element):
        return
    number = (element.text or "").strip().lstrip("-").isdecimal()
    element.text = random.choice(NUMBERS if number or random.random() < 0.2 else WORDS)


def _renumber(_element: etree._Element, elements: list[etree._Element], random: Random) -> None:
    numbers = [e for e in elements if not len(e) and (e.text or "").strip().lstrip("-").isdecimal()]
    if numbers:
        random.choice(numbers).text = random.choice(NUMBERS)


def _attribute(element: etree._Element, elements: list[etree._Element], random: Random) -> None:
    element = next((e for e in random.choices(elements, k=8) if e.attrib), element)
    name = random.choice([str(name) for name in element.attrib] or [random.choice(ATTRIBUTES)])
    if element.attrib and random.random() < 0.3:
        del element.attrib[name]
    else:
        element.set(name, random.choice(NUMBERS + WORDS))


_WAYS: Final[tuple[Callable[[etree._Element, list[etree._Element], Random], None], ...]] = (
    _drop, _double, _swap, _graft, _rename, _retext, _renumber, _renumber, _attribute,
)  # fmt: skip
