"""What is in force at the start of a bar: the attributes that were set before it."""

from __future__ import annotations

from copy import deepcopy
from dataclasses import dataclass, field
from fractions import Fraction

from lxml import etree

from excerpts.score.timeline import FIRST_DIVISIONS, Moment, divisions_in, plain, walk


@dataclass(slots=True)
class State:
    """The attributes in force, as the source's own elements (not copies: do not change them).

    Attributes:
        divisions: Divisions of a quarter note.
        keys: `<key>` by staff number, None standing for all staves.
        times: `<time>` by staff number, likewise.
        staves: `<staves>`, or None.
        clefs: `<clef>` by staff number ("1" where the file gives none).
        details: Children of `<staff-details>` by staff number, the later one of a name winning.
        transposes: `<transpose>` by staff number, None standing for all staves.
        slash: A running `<measure-style>` of slashes, or None.
    """

    divisions: Fraction = FIRST_DIVISIONS
    keys: dict[str | None, etree._Element] = field(default_factory=dict)
    times: dict[str | None, etree._Element] = field(default_factory=dict)
    staves: etree._Element | None = None
    clefs: dict[str, etree._Element] = field(default_factory=dict)
    details: dict[str | None, list[etree._Element]] = field(default_factory=dict)
    transposes: dict[str | None, etree._Element] = field(default_factory=dict)
    slash: etree._Element | None = None

    @property
    def time(self) -> etree._Element | None:
        """The time signature that counts for the whole part: that of all staves, else of the first."""
        if None in self.times:
            return self.times[None]
        return next(iter(self.times.values()), None)

    def take(self, attributes: etree._Element) -> None:
        """Let an `<attributes>` change what is in force."""
        self.divisions = divisions_in(attributes) or self.divisions
        for child in attributes:
            number = child.get("number")
            match child.tag:
                case "key":
                    _set(self.keys, number, child)
                case "time":
                    _set(self.times, number, child)
                case "transpose":
                    _set(self.transposes, number, child)
                case "staves":
                    self.staves = child
                case "clef":
                    if child.get("additional") != "yes":
                        self.clefs[number or "1"] = child
                case "staff-details":
                    self.details.setdefault(number, []).append(child)
                case "measure-style":
                    self._style(child)

    def _style(self, style: etree._Element) -> None:
        slash = style.find("slash")
        if slash is not None:
            self.slash = style if slash.get("type") == "start" else None


def _set(table: dict[str | None, etree._Element], number: str | None, child: etree._Element) -> None:
    """A value without a staff number replaces those of all staves."""
    if number is None:
        table.clear()
    table[number] = child


def changes_in(measure: etree._Element, divisions: Fraction) -> list[Moment]:
    """The `<attributes>` of a measure in order of time (document order where times are equal)."""
    inside = measure.findall("attributes")
    if not inside:
        return []
    if len(inside) == 1 and measure[0] is inside[0]:
        return [Moment(inside[0], Fraction(0), Fraction(0), Fraction(0))]
    moments = [m for m in walk(measure, divisions).moments if m.element.tag == "attributes"]
    return sorted(moments, key=lambda moment: moment.onset)


def state_before(measures: list[etree._Element], index: int) -> State:
    """What is in force when bar `index` (from 0) begins, before that bar says anything itself."""
    state = State()
    for measure in measures[:index]:
        ending_divisions = None
        for moment in changes_in(measure, state.divisions):
            state.take(moment.element)
        for attributes in measure.iterfind("attributes"):
            ending_divisions = divisions_in(attributes) or ending_divisions
        state.divisions = ending_divisions or state.divisions
    return state


def restated(state: State, already: list[etree._Element]) -> tuple[etree._Element, list[str]]:
    """Make the `<attributes>` that a cut must begin with.

    Args:
        state: What is in force before the bar.
        already: The `<attributes>` that the bar itself has at its start; what they set is not restated.

    Returns:
        The element (children in the schema's order) and what it restates, in trade words.
    """
    new = etree.Element("attributes")
    names: list[str] = []
    if not any(divisions_in(element) for element in already):
        etree.SubElement(new, "divisions").text = plain(state.divisions)
    _restate_per_staff(new, names, "key", dict(state.keys), already)
    _restate_per_staff(new, names, "time", dict(state.times), already)
    if state.staves is not None and not any(e.find("staves") is not None for e in already):
        new.append(deepcopy(state.staves))
        names.append("number of staves")
    for number in sorted(state.clefs):
        own = [c for e in already for c in e.iterfind("clef") if (c.get("number") or "1") == number]
        if not own:
            new.append(_bare(state.clefs[number], ("after-barline",)))
            names.append("clef" if len(state.clefs) == 1 else f"clef of staff {number}")
    for staff, details in state.details.items():
        new.append(_merged_details(details, staff))
    _restate_per_staff(new, names, "transpose", dict(state.transposes), already)
    if state.slash is not None:
        new.append(deepcopy(state.slash))
        names.append("slashes")
    return new, names


def _restate_per_staff(
    new: etree._Element,
    names: list[str],
    tag: str,
    values: dict[str | None, etree._Element],
    already: list[etree._Element],
) -> None:
    for element in already:
        for own in element.iterfind(tag):
            if own.get("number") is None:
                values.clear()
            values.pop(own.get("number"), None)
    for value in values.values():
        copy = _bare(value, ())
        for cancel in copy.findall("cancel"):
            copy.remove(cancel)
        new.append(copy)
    if values:
        names.append({"key": "key", "time": "time signature", "transpose": "transposition"}[tag])


def _bare(element: etree._Element, without: tuple[str, ...]) -> etree._Element:
    """A copy without its place on the old page."""
    copy = deepcopy(element)
    for name in ("id", "default-x", "default-y", "relative-x", "relative-y", *without):
        copy.attrib.pop(name, None)
    return copy


def _merged_details(details: list[etree._Element], number: str | None) -> etree._Element:
    """One `<staff-details>` out of several: the later value of each child wins."""
    merged = etree.Element("staff-details", dict(details[-1].attrib))
    if number is not None:
        merged.set("number", number)
    latest: dict[str, list[etree._Element]] = {}
    for element in details:
        fresh: dict[str, list[etree._Element]] = {}
        for child in element:
            fresh.setdefault(str(child.tag), []).append(child)
        latest.update(fresh)
    for tag in ("staff-type", "staff-lines", "line-detail", "staff-tuning", "capo", "staff-size"):
        merged.extend(deepcopy(child) for child in latest.get(tag, []))
    return merged
