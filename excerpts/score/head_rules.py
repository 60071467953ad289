"""What the head of an excerpt may hold: title, creators, and the lists of parts, groups and instruments.

A source need not keep to it; a cut does. Names, orders and values are those of the W3C's MusicXML 4.0
(https://www.w3.org/2021/06/musicxml40/).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Final, NamedTuple

from lxml import etree

from excerpts.musicxml.format import number_in

Values = str | range | tuple[int, int]
"""What a text may be: an expression for its letters, a whole number, or a decimal from the least to the greatest."""

Attributes = dict[str, Values]

XML_ID: Final = r"[A-Za-z_][\w.\-]*"
"""A name that may be an id in XML; without signs that only some readers take."""

_ANY: Final = ""
_NOTHING: Final = r"\s*"
_NUMBER: Final = r"\s*[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)\s*"
_DEGREES: Final = (-180, 180)
_SPACING: Final = f"normal|{_NUMBER}"
_SIDE: Final = "left|center|right"
_LINES: Final = "[0-3]"
_YES_NO: Final = "yes|no"
_ACCIDENTALS: Final = (
    "(?:natural-|double-|triple-|sharp-|quarter-|three-quarters-|slash-|slash-quarter-)?sharp"
    "|(?:natural-|flat-|triple-|quarter-|three-quarters-|slash-|double-slash-)?flat|natural"
    "|(?:sharp|natural|flat|double-sharp|flat-flat|arrow)-(?:up|down)|sharp-[1235]|flat-[1-4]|sori|koron|other"
)
_FRAMES: Final = (
    "rectangle|square|oval|circle|bracket|inverted-bracket|triangle|diamond|pentagon|hexagon|heptagon|octagon"
    "|nonagon|decagon|none"
)
_XML: Final = "{http://www.w3.org/XML/1998/namespace}"

_PLACE: Final[Attributes] = dict.fromkeys(("default-x", "default-y", "relative-x", "relative-y"), _NUMBER)
_COLOUR: Final[Attributes] = {"color": r"#[0-9A-F]{6}([0-9A-F]{2})?"}
_FONT: Final[Attributes] = {
    "font-family": r"[^,]+(, ?[^,]+)*",
    "font-style": r"normal|italic",
    "font-size": rf"\s*{_NUMBER}\s*|(?:xx-|x-)?(?:small|large)|medium",
    "font-weight": r"normal|bold",
}
_STYLE: Final[Attributes] = {**_PLACE, **_FONT, **_COLOUR, "justify": _SIDE}
_HIDDEN: Final[Attributes] = {"print-object": _YES_NO}
_FORMATTED: Final[Attributes] = {
    **_STYLE,
    "halign": _SIDE,
    "valign": r"top|middle|bottom|baseline",
    **dict.fromkeys(("underline", "overline", "line-through"), _LINES),
    **dict.fromkeys(("letter-spacing", "line-height"), _SPACING),
    "text-rotation": _DEGREES,
    "dir": r"ltr|rtl|lro|rlo",
    "enclosure": _FRAMES,
    f"{_XML}lang": r"[A-Za-z]{1,8}(-[A-Za-z0-9]{1,8})*",
    f"{_XML}space": r"default|preserve",
}


@dataclass(frozen=True, slots=True)
class Rule:
    """What an element may hold.

    Attributes:
        text: Its text; where there are children, nothing but white space.
        attributes: Its attributes.
        children: Names of its children in their order, those of which only one stands or that may be mixed joined by
            "|"; a "*" behind them says that they may come more than once.
        needs: Children that it makes no sense without: they are put there, with nothing in them.
        needs_id: It makes no sense without an `id`.
    """

    text: Values = _ANY
    attributes: Attributes = field(default_factory=dict)
    children: str = ""
    needs: tuple[str, ...] = ()
    needs_id: bool = False


_TYPED: Final = Rule(attributes={"type": _ANY})
_TEXT: Final = Rule()
_ID: Final[Attributes] = {"id": XML_ID}
_DISPLAY: Final = Rule(attributes=_HIDDEN, children="display-text|accidental-text*")
_NAME: Final = Rule(attributes={**_STYLE, **_HIDDEN})
_GROUP_NAME: Final = Rule(attributes=_STYLE)

RULES: Final[dict[str, Rule]] = {
    "work": Rule(children="work-number work-title"),
    "identification": Rule(children="creator* rights* encoding source relation*"),
    **dict.fromkeys(("creator", "rights", "relation"), _TYPED),
    "encoding": Rule(children="software"),
    "part-group": Rule(
        attributes={"type": r"start|stop", "number": _ANY},
        children=(
            "group-name group-name-display group-abbreviation group-abbreviation-display group-symbol "
            "group-barline group-time"
        ),
    ),
    **dict.fromkeys(("group-name", "group-abbreviation"), _GROUP_NAME),
    **dict.fromkeys(("group-name-display", "group-abbreviation-display"), _DISPLAY),
    **dict.fromkeys(("part-name-display", "part-abbreviation-display"), _DISPLAY),
    "display-text": Rule(attributes=_FORMATTED),
    "accidental-text": Rule(
        text=_ACCIDENTALS,
        attributes={
            **_FORMATTED,
            "smufl": r"(acc|medRenFla|medRenNatura|medRenShar|kievanAccidental)\w+",
        },
    ),
    "group-symbol": Rule(r"none|brace|line|bracket|square", {**_PLACE, **_COLOUR}),
    "group-barline": Rule(r"yes|no|Mensurstrich", _COLOUR),
    "group-time": Rule(_NOTHING),
    "score-part": Rule(
        attributes=_ID,
        children=(
            "identification part-name part-name-display part-abbreviation part-abbreviation-display "
            "score-instrument* player* midi-device|midi-instrument*"
        ),
        needs=("part-name",),
    ),
    **dict.fromkeys(("part-name", "part-abbreviation"), _NAME),
    "score-instrument": Rule(
        attributes={"id": _ANY},
        children="instrument-name instrument-abbreviation instrument-sound solo|ensemble virtual-instrument",
        needs=("instrument-name",),
    ),
    "solo": Rule(_NOTHING),
    "ensemble": Rule(r"\s*0*[1-9]\d*\s*|"),
    "virtual-instrument": Rule(children="virtual-library virtual-name"),
    "player": Rule(attributes=_ID, children="player-name", needs=("player-name",), needs_id=True),
    "midi-device": Rule(attributes={"port": range(1, 17), "id": _ANY}),
    "midi-instrument": Rule(
        attributes={"id": _ANY},
        children="midi-channel midi-name midi-bank midi-program midi-unpitched volume pan elevation",
        needs_id=True,
    ),
    "midi-channel": Rule(range(1, 17)),
    "midi-bank": Rule(range(1, 16385)),
    **dict.fromkeys(("midi-program", "midi-unpitched"), Rule(range(1, 129))),
    "volume": Rule((0, 100)),
    **dict.fromkeys(("pan", "elevation"), Rule(_DEGREES)),
}
"""Every element of the head; what is not here holds a text and nothing else."""


class _Place(NamedTuple):
    """A child's place among the children of an element, what shares it, and whether more than one may stand there."""

    rank: int
    group: str
    many: bool


def _places(rule: Rule) -> dict[str, _Place]:
    places: dict[str, _Place] = {}
    for rank, group in enumerate(rule.children.split()):
        many = group.endswith("*")
        for name in group.rstrip("*").split("|"):
            places[name] = _Place(rank, name if many else group, many)
    return places


_PLACES: Final = {name: _places(rule) for name, rule in RULES.items()}
_NOWHERE: Final[dict[str, _Place]] = {}


def can_be(text: str, values: Values) -> bool:
    """Whether an element or attribute with these values may have a text."""
    if values == _ANY:
        return True
    if isinstance(values, str):
        return re.fullmatch(values, text) is not None
    number = number_in(text)
    if number is None:
        return False
    if isinstance(values, range):
        return text.strip().isdecimal() and number in values
    return values[0] <= number <= values[1]


def mend_head(score: etree._Element) -> list[str]:
    """Take out of the head what may not stand there, and put the rest in order; gives what was done, in words."""
    done: list[str] = []
    for element in score.iterchildren("work", "movement-number", "movement-title", "identification"):
        done += _mend(element)
    for entry in score.iterfind("part-list/*"):
        done += _mend(entry)
    return list(dict.fromkeys(done))


def _mend(element: etree._Element) -> Iterator[str]:
    rule = RULES.get(str(element.tag), _TEXT)
    yield from _mend_attributes(element, rule)
    if not (rule.children or len(element)):
        return
    places = _PLACES.get(str(element.tag), _NOWHERE)
    seen: set[str] = set()
    for child in list(element.iterchildren("*")):
        wrong = _wrong(child, places, seen)
        if wrong:
            element.remove(child)
            yield f"<{child.tag!s}> {wrong} in <{element.tag!s}>; left out"
        else:
            yield from _mend(child)
    yield from _put_in_order(element, rule, places)


def _wrong(child: etree._Element, places: dict[str, _Place], seen: set[str]) -> str:
    """Why a child may not stand where it does; "" where it may. `seen` are the children so far."""
    name = str(child.tag)
    place = places.get(name)
    if place is None:
        return "may not stand"
    if place.group in seen and not place.many:
        return "stands twice"
    own = RULES.get(name, _TEXT)
    if not own.children and not can_be(child.text or "", own.text):
        return f"is '{(child.text or '').strip()[:20]}'"
    if own.needs_id and child.get("id") is None:
        return "has no id"
    seen.add(place.group)
    return ""


def _mend_attributes(element: etree._Element, rule: Rule) -> Iterator[str]:
    for name, value in list(element.attrib.items()):
        values = rule.attributes.get(str(name))
        if values is None or not can_be(str(value), values):
            del element.attrib[name]
            said = f"cannot be '{str(value)[:20]}'" if values is not None else "may not stand there"
            yield f"the attribute {str(name).rpartition('}')[2]} of <{element.tag!s}> {said}; left out"


def _put_in_order(element: etree._Element, rule: Rule, places: dict[str, _Place]) -> Iterator[str]:
    """Children in the order of the schema, those that must be there added, and no text between them."""
    children = list(element.iterchildren("*"))
    ranks = [places[str(child.tag)].rank for child in children]
    if ranks != sorted(ranks):
        yield f"the parts of <{element.tag!s}> were in a wrong order"
    lacking = [name for name in rule.needs if element.find(name) is None]
    yield from (f"<{element.tag!s}> has no <{name}>; an empty one is put there" for name in lacking)
    if lacking or ranks != sorted(ranks):
        children += map(etree.Element, lacking)
        element[:] = sorted(children, key=lambda child: places[str(child.tag)].rank)
    texts = [(element.text or "").strip(), *((child.tail or "").strip() for child in element)]
    if rule.children and any(texts):
        element.text = None
        for child in element:
            child.tail = None
        yield f"<{element.tag!s}> may have no text '{next(filter(None, texts))[:20]}'; left out"
