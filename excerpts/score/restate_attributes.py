"""What is in force at the start of a cut, written into its first bar as far as the bar does not set it itself."""

from __future__ import annotations

from copy import deepcopy
from typing import Final

from lxml import etree

from excerpts.musicxml.format import ATTRIBUTES_ORDER
from excerpts.musicxml.timeline import COUNTED, MOVES, divisions_in, plain
from excerpts.score.attributes_in_force import State, is_additional, set_for_staff
from excerpts.score.slice import Slice

_SAID: Final = {
    "key": "key",
    "time": "time signature",
    "transpose": "transposition",
    "for-part": "transposition of the part",
    "staves": "number of staves",
    "part-symbol": "bracket of the staves",
    "instruments": "number of instruments",
}
_DETAILS_ORDER: Final = ("staff-type", "staff-lines", "line-detail", "staff-tuning", "capo", "staff-size")
_DETAIL_FLAGS: Final = ("show-frets", "print-object", "print-spacing")


def restate(piece: Slice) -> None:
    """Put the attributes in force into the first bar, and say in the report which."""
    measure = piece.measures[0]
    already = [piece.twins[element] for element in attributes_at_start(piece)]
    first = next((child for child in measure if child.tag != "print"), None)
    head = next((child for child in measure if child.tag not in ("print", "barline")), None)
    new, names = _restated(piece.state, already)
    if head is not None and head.tag == "attributes":
        _put_in_front(head, new)
    elif len(new):
        measure.insert(0 if first is None else measure.index(first), new)
    for name in names:
        piece.note_down("restated", name, piece.first)


def attributes_at_start(piece: Slice) -> list[etree._Element]:
    """The `<attributes>` of the source that hold from the very beginning of the first bar.

    What stands behind a grace note is a change inside the bar, though the grace note takes no time.
    """
    found: list[etree._Element] = []
    behind_grace = False
    for moment in piece.times[0].moments:
        if moment.element.tag in MOVES:
            behind_grace = False
        elif moment.element.tag == "note":
            behind_grace = behind_grace or moment.element.find("grace") is not None
        elif moment.element.tag == "attributes" and moment.onset == 0 and not behind_grace:
            found.append(moment.element)
    return found


def _put_in_front(head: etree._Element, new: etree._Element) -> None:
    """Merge restated values into an `<attributes>`; they stand before its own, which are the later ones."""
    children = sorted([*new, *head], key=_rank)
    for child in children:
        head.append(child)


def _rank(child: etree._Element) -> int:
    tag = str(child.tag)
    return ATTRIBUTES_ORDER.index(tag) if tag in ATTRIBUTES_ORDER else len(ATTRIBUTES_ORDER)


def _restated(state: State, already: list[etree._Element]) -> tuple[etree._Element, list[str]]:
    """Make the `<attributes>` that a cut must begin with.

    Args:
        state: What is in force before the bar.
        already: Copies of the `<attributes>` that the bar has at its start; what they set is not restated.

    Returns:
        The element (children in the schema's order) and what it restates, in trade words.
    """
    new: list[etree._Element] = []
    names: list[str] = []
    if not any(divisions_in(element) for element in already if not _behind_notes(element)):
        divisions = etree.Element("divisions")
        divisions.text = plain(state.divisions)
        new.append(divisions)
    for tag, values in state.per_staff.items():
        kept = _not_set_again(tag, values, already, _staff_numbers(state, already))
        new += kept
        names += [_SAID[tag]] if kept else []
    for tag, value in state.latest.items():
        if not any(element.find(tag) is not None for element in already):
            new.append(_bare(value))
            names.append(_SAID[tag])
    _restate_clefs(state, already, new, names)
    _restate_details(state, already, new, names)
    slashes = _not_set_again("measure-style", state.slashes, already, frozenset())
    new += slashes
    names += ["slashes"] if slashes else []
    attributes = etree.Element("attributes")
    attributes.extend(sorted(new, key=_rank))
    return attributes, names


def _behind_notes(attributes: etree._Element) -> bool:
    """Divisions count for what is written behind them, whatever its time."""
    return next(attributes.itersiblings(*COUNTED, preceding=True), None) is not None


def _staff_numbers(state: State, already: list[etree._Element]) -> frozenset[str]:
    """The numbers of the part's staves, as the bar itself says or as was said before."""
    told = [element.findtext("staves") for element in already if element.find("staves") is not None]
    before = state.latest.get("staves")
    count = (told[-1] if told else before.text if before is not None else "1") or "1"
    return (
        frozenset(str(number) for number in range(1, int(count) + 1)) if count.isdecimal() else frozenset("1")
    )


def _not_set_again(
    tag: str,
    values: dict[str | None, etree._Element],
    already: list[etree._Element],
    staves: frozenset[str],
) -> list[etree._Element]:
    """Copies of the values by staff that the bar does not set itself."""
    own: dict[str | None, etree._Element] = {}
    for element in already:
        for child in element.iterfind(tag):
            if tag != "measure-style" or child.find("slash") is not None:
                set_for_staff(own, child.get("number"), child)
    if None in own or (staves and staves <= own.keys()):
        return []
    copies = [_bare(value) for number, value in values.items() if number not in own]
    for copy in copies:
        for cancel in copy.findall("cancel"):
            copy.remove(cancel)
    return copies


def _restate_clefs(
    state: State, already: list[etree._Element], new: list[etree._Element], names: list[str]
) -> None:
    own = {
        clef.get("number") or "1"
        for element in already
        for clef in element.iterfind("clef")
        if not is_additional(clef)
    }
    for number in sorted(state.clefs):
        if number not in own:
            clef = _bare(state.clefs[number])
            clef.attrib.pop("after-barline", None)
            new.append(clef)
            names.append("clef" if len(state.clefs) == 1 else f"clef of staff {number}")


def _restate_details(
    state: State, already: list[etree._Element], new: list[etree._Element], names: list[str]
) -> None:
    """Lines, tuning and the like add up over the file: what the bar sets is laid over what was in force."""
    for staff, before in state.details.items():
        own = [d for e in already for d in e.iterfind("staff-details") if (d.get("number") or "1") == staff]
        merged = _merged([*before, *own])
        if own:
            own[0].attrib.update({str(name): str(value) for name, value in merged.attrib.items()})
            own[0][:] = list(merged)
            for later in own[1:]:
                later.getparent().remove(later)  # type: ignore[union-attr]
        else:
            new.append(merged)
        names.append("staff lines" if len(state.details) == 1 else f"lines of staff {staff}")


def _merged(details: list[etree._Element]) -> etree._Element:
    """One `<staff-details>` out of several: the later value of each child wins."""
    merged = etree.Element("staff-details")
    latest: dict[str, list[etree._Element]] = {}
    for element in details:
        for flag in ("number", *_DETAIL_FLAGS):
            if element.get(flag) is not None:
                merged.set(flag, str(element.get(flag)))
        fresh: dict[str, list[etree._Element]] = {}
        for child in element:
            fresh.setdefault(str(child.tag), []).append(child)
        latest.update(fresh)
    for tag in _DETAILS_ORDER:
        merged.extend(deepcopy(child) for child in latest.get(tag, []))
    return merged


def _bare(element: etree._Element) -> etree._Element:
    """A copy without its place on the old page."""
    copy = deepcopy(element)
    for name in ("id", "default-x", "default-y", "relative-x", "relative-y"):
        copy.attrib.pop(name, None)
    copy.tail = None
    return copy
