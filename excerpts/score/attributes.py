"""Attributes (key, time, clef …): those in force at a bar, and writing them into the first bar of a cut."""

from __future__ import annotations

from copy import deepcopy
from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from lxml import etree

from excerpts.musicxml.format import attributes_rank, drop, unplaced
from excerpts.musicxml.timeline import (
    COUNTED,
    FIRST_DIVISIONS,
    MOVES,
    Moment,
    divisions_in,
    plain,
    positive,
    walk,
)

if TYPE_CHECKING:
    from excerpts.score.slice import Slice

_LATEST: Final = ("staves", "part-symbol", "instruments")
"""Attributes of the whole part, of which the latest counts."""

_PER_STAFF: Final = ("key", "time", "transpose", "for-part")
"""Attributes of one staff, or of all where they carry no number."""


@dataclass(slots=True)
class State:
    """The attributes in force, as the source's own elements (not copies: do not change them).

    Attributes:
        divisions: Divisions of a quarter note.
        per_staff: `<key>`, `<time>`, `<transpose>`, `<for-part>` by staff number, None standing for all staves.
        latest: `<staves>`, `<part-symbol>`, `<instruments>` by name.
        clefs: `<clef>` by staff number ("1" where the file gives none); additional clefs are passed over.
        details: The `<staff-details>` so far by staff number ("1" where the file gives none); they add up.
        slashes: Running `<measure-style>`s of slashes by staff number, None standing for all staves.
    """

    divisions: Fraction = FIRST_DIVISIONS
    per_staff: dict[str, dict[str | None, etree._Element]] = field(
        default_factory=lambda: {tag: {} for tag in _PER_STAFF}
    )
    latest: dict[str, etree._Element] = field(default_factory=dict)
    clefs: dict[str, etree._Element] = field(default_factory=dict)
    details: dict[str, list[etree._Element]] = field(default_factory=dict)
    slashes: dict[str | None, etree._Element] = field(default_factory=dict)

    @property
    def keys(self) -> dict[str | None, etree._Element]:
        """`<key>` by staff number, None standing for all staves."""
        return self.per_staff["key"]

    @property
    def time(self) -> etree._Element | None:
        """The time signature that counts for the whole part: that of all staves, else of the first."""
        times = self.per_staff["time"]
        if None in times:
            return times[None]
        return next(iter(times.values()), None)

    def copy(self) -> State:
        """A state that can be led on without changing this one."""
        return State(
            self.divisions,
            {tag: dict(values) for tag, values in self.per_staff.items()},
            dict(self.latest),
            dict(self.clefs),
            {staff: list(details) for staff, details in self.details.items()},
            dict(self.slashes),
        )

    def take(self, attributes: etree._Element) -> None:
        """Let an `<attributes>` change what is in force."""
        is_set = False
        for child in attributes:
            tag, number = str(child.tag), child.get("number")
            if tag == "divisions":
                self.divisions = self.divisions if is_set else positive(child.text) or self.divisions
                is_set = True
            elif tag in _PER_STAFF:
                set_for_staff(self.per_staff[tag], number, child)
            elif tag in _LATEST:
                self.latest[tag] = child
            elif tag == "clef" and not is_additional(child):
                self.clefs[number or "1"] = child
            elif tag == "staff-details":
                self.details.setdefault(number or "1", []).append(child)
            elif tag == "measure-style" and (slash := child.find("slash")) is not None:
                self._slash(number, child, runs=slash.get("type") == "start")

    def _slash(self, number: str | None, style: etree._Element, *, runs: bool) -> None:
        if runs:
            set_for_staff(self.slashes, number, style)
        elif number is None:
            self.slashes.clear()
        else:
            self.slashes.pop(number, None)


def is_additional(clef: etree._Element) -> bool:
    """Whether a `<clef>` stands beside the staff's own, which it does not replace."""
    return clef.get("additional") == "yes"


def set_for_staff(table: dict[str | None, etree._Element], number: str | None, child: etree._Element) -> None:
    """Set a value of one staff; one without a staff number replaces those of all staves."""
    if number is None:
        table.clear()
    table[number] = child


def changes_in(measure: etree._Element, divisions: Fraction) -> list[Moment]:
    """The `<attributes>` of a measure in order of time (document order where times are equal)."""
    inside = list(measure.iterchildren("attributes"))
    if not inside:
        return []
    if len(inside) == 1 and measure[0] is inside[0]:
        return [Moment(inside[0], Fraction(0), Fraction(0), Fraction(0))]
    moments = [m for m in walk(measure, divisions).moments if m.element.tag == "attributes"]
    return sorted(moments, key=lambda moment: moment.onset)


def lead_on(state: State, measure: etree._Element) -> bool:
    """Lead a state over a bar; tells whether the bar had to be timed for that, which takes long."""
    changes = list(measure.iterchildren("attributes"))
    if not changes:
        return False
    # Divisions count for what is written behind them, whatever its time.
    set_here = (divisions_in(attributes) for attributes in reversed(changes))
    ending = next((value for value in set_here if value), state.divisions)
    in_order = take_changes(state, changes, measure)
    state.divisions = ending
    return not in_order


def take_changes(state: State, changes: list[etree._Element], measure: etree._Element) -> bool:
    """Let the `<attributes>` of a measure change what is in force, in order of time.

    Returns:
        Whether the file has them in that order, as any bar without `<backup>` does; then the bar need not be timed.
    """
    in_order = len(changes) < 2 or next(measure.iterchildren("backup"), None) is None
    in_time = changes if in_order else [m.element for m in changes_in(measure, state.divisions)]
    for attributes in in_time:
        state.take(attributes)
    return in_order


attributes_of: Final = etree.XPath("measure/attributes")
"""The `<attributes>` of a part. Only where they stand: most of a part are notes, which need not be looked into."""

_Thing = tuple[str, str]
"""Something that is restated, and which of several it is."""

_DETAILS_ORDER: Final = ("staff-type", "staff-lines", "line-detail", "staff-tuning", "capo", "staff-size")
_DETAIL_FLAGS: Final = ("show-frets", "print-object", "print-spacing")


def restate(piece: Slice) -> None:
    """Put the attributes in force into the first bar, and say in the report which."""
    measure = piece.measures[0]
    already = [piece.copies[element] for element in attributes_at_start(piece)]
    first = next((child for child in measure if child.tag != "print"), None)
    head = next((child for child in measure if child.tag not in ("print", "barline")), None)
    new, names = _restated(piece.state, already)
    if head is not None and head.tag == "attributes":
        _put_in_front(head, new)
    elif len(new):
        measure.insert(0 if first is None else measure.index(first), new)
    for thing, whose in names:
        piece.note_down("restated", thing, piece.first, whose=whose)


def attributes_at_start(piece: Slice) -> list[etree._Element]:
    """The `<attributes>` of the source that hold from the very beginning of the first bar.

    What stands behind a grace note is a change inside the bar, though the grace note takes no time.
    """
    at_start: list[etree._Element] = []
    behind_grace = False
    for moment in piece.times[0].moments:
        if moment.element.tag in MOVES:
            behind_grace = False
        elif moment.element.tag == "note":
            behind_grace = behind_grace or moment.element.find("grace") is not None
        elif moment.element.tag == "attributes" and moment.onset == 0 and not behind_grace:
            at_start.append(moment.element)
    return at_start


def _put_in_front(head: etree._Element, new: etree._Element) -> None:
    """Merge restated values into an `<attributes>`; they stand before its own, which are the later ones."""
    children = sorted([*new, *head], key=lambda child: attributes_rank(str(child.tag)))
    for child in children:
        head.append(child)


def _restated(state: State, already: list[etree._Element]) -> tuple[etree._Element, list[_Thing]]:
    """Make the `<attributes>` that a cut must begin with, and say what it restates.

    What `already` stands at the start of the bar (copies) is not restated. Children are in the schema's order.
    """
    new: list[etree._Element] = []
    names: list[_Thing] = []
    if not any(divisions_in(element) for element in already if not _behind_notes(element)):
        divisions = etree.Element("divisions")
        divisions.text = plain(state.divisions)
        new.append(divisions)
    for tag, values in state.per_staff.items():
        kept = _not_set_again(tag, values, already, _staff_numbers(state, already))
        new += kept
        names += [(tag, "")] if kept else []
    for tag, value in state.latest.items():
        if not any(element.find(tag) is not None for element in already):
            new.append(unplaced(value))
            names.append((tag, ""))
    _restate_clefs(state, already, new, names)
    _restate_details(state, already, new, names)
    slashes = _not_set_again("measure-style", state.slashes, already, frozenset())
    new += slashes
    names += [("slashes", "")] if slashes else []
    attributes = etree.Element("attributes")
    attributes.extend(sorted(new, key=lambda child: attributes_rank(str(child.tag))))
    return attributes, names


def _behind_notes(attributes: etree._Element) -> bool:
    """Divisions count for what is written behind them, whatever its time."""
    return next(attributes.itersiblings(*COUNTED, preceding=True), None) is not None


def _staff_numbers(state: State, already: list[etree._Element]) -> frozenset[str]:
    """The numbers of the part's staves, as the bar itself says or as was said before."""
    counts = [element.findtext("staves") for element in already if element.find("staves") is not None]
    before = state.latest.get("staves")
    count = (counts[-1] if counts else before.text if before is not None else "1") or "1"
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
    copies = [unplaced(value) for number, value in values.items() if number not in own]
    for copy in copies:
        for cancel in copy.findall("cancel"):
            copy.remove(cancel)
    return copies


def _restate_clefs(
    state: State, already: list[etree._Element], new: list[etree._Element], names: list[_Thing]
) -> None:
    own = {
        clef.get("number") or "1"
        for element in already
        for clef in element.iterfind("clef")
        if not is_additional(clef)
    }
    for number in sorted(state.clefs):
        if number not in own:
            clef = unplaced(state.clefs[number])
            clef.attrib.pop("after-barline", None)
            new.append(clef)
            names.append(("clef", f"of staff {number}" if len(state.clefs) > 1 else ""))


def _restate_details(
    state: State, already: list[etree._Element], new: list[etree._Element], names: list[_Thing]
) -> None:
    """Lines, tuning and the like add up over the file: what the bar sets is laid over what was in force."""
    for staff, before in state.details.items():
        own = [d for e in already for d in e.iterfind("staff-details") if (d.get("number") or "1") == staff]
        merged = _merged([*before, *own])
        if own:
            own[0].attrib.update({str(name): str(value) for name, value in merged.attrib.items()})
            own[0][:] = list(merged)
            for later in own[1:]:
                drop(later)
        else:
            new.append(merged)
        names.append(("staff-details", f"of staff {staff}" if len(state.details) > 1 else ""))


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
