"""What is in force at the start of a bar: the attributes that were set before it."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import Final

from lxml import etree

from excerpts.musicxml.timeline import FIRST_DIVISIONS, Moment, divisions_in, positive, walk

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
        told = False
        for child in attributes:
            tag, number = str(child.tag), child.get("number")
            if tag == "divisions":
                self.divisions = self.divisions if told else positive(child.text) or self.divisions
                told = True
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
    """Lead a state over a bar: from what is in force before it to what is in force behind it.

    Returns:
        Whether the bar had to be timed for that, which takes long.
    """
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
        Whether that is the order of the file, as where nothing goes back in it: then the bar need not be timed.
    """
    in_order = len(changes) < 2 or next(measure.iterchildren("backup"), None) is None
    in_time = changes if in_order else [m.element for m in changes_in(measure, state.divisions)]
    for attributes in in_time:
        state.take(attributes)
    return in_order
