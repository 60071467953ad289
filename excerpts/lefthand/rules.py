"""What a fingering costs: the table of rules.

A fingering is a path through places of the hand, one for each note, and the cheapest path is proposed. The cost of a
step is the sum over all rules of weight × what × when: *what* is a fact about the place, or about it and the place
before (`excerpts.lefthand.hand_places`, `excerpts.lefthand.path`); *when* is how far the music makes it count
(`excerpts.lefthand.moments`).
"""

from __future__ import annotations

from typing import Final, Literal, NamedTuple

import numpy as np
import numpy.typing as npt

PLACE_FACTS: Final = (
    "open", "stopped", "fourth", "even_position", "half_position", "unsettled", "above_first", "respelt",
    "positions_up", "strings_below", "strings_above", "low_on_top", "lowish_on_top", "extended", "stretched_stop",
    "thumb", "low_thumb", "open_or_fourth", "untaught", "avoidable_open", "avoidable_stop", "against_mark",
)  # fmt: skip
"""Facts about a place of the hand."""

STEP_FACTS: Final = (
    "moved", "distance", "moved_stopped", "crossed", "skipped", "same_string", "other_place_or_finger", "slid",
    "hand_changed", "off_first", "moved_crossed", "torn",
)  # fmt: skip
"""Facts about a place and the one before it."""

WHENS: Final = (
    "always", "bound", "bound_fast", "bound_offbeat", "bound_step", "bound_unhurried", "bound_slurred", "slurred",
    "slow", "brisk", "new", "again", "pedal", "pedal_edge", "trill", "dark", "bright", "never_open", "always_open",
    "small_hand", "scale", "exercise",
)  # fmt: skip
"""How far the music, or what the teacher wants, makes a fact count."""

Hands = Literal["all", "letters", "semitones"]
"""Which hands a rule is for: those that go by letters are the violin's and viola's."""


class Rule(NamedTuple):
    """One rule.

    Attributes:
        name: Its name.
        weight: What it costs.
        what: The fact that costs it.
        when: How far it counts.
        why: Why, and where the weight comes from.
        hands: Which hands it is for.
    """

    name: str
    weight: float
    what: str
    when: str
    why: str
    hands: Hands = "all"


_FIT: Final = "fitted to 14 violin excerpts, each fingered by ten players (TNUA data set, IUI 2021)"
_CP: Final = "common practice, no source"

RULES: Final = (
    Rule("height_low", 0.663, "positions_up", "always", f"high positions on lower strings sound thick; {_FIT}"),
    Rule("below_short", 0.718, "strings_below", "brisk", f"short notes lie low on the highest string; {_FIT}"),
    Rule("even_position", 0.331, "even_position", "always", f"first and third come first; {_FIT}", "letters"),
    Rule("open_long", 2.557, "open", "slow", f"a long open string has no vibrato; {_FIT}", "letters"),
    Rule("open_long_low", 0.5, "open", "slow", f"as on the violin, but low strings ring; {_CP}", "semitones"),
    Rule("fourth", 1.154, "fourth", "always", f"the fourth finger is the weakest; {_FIT}", "letters"),
    Rule("respelt", 1.961, "respelt", "always", f"a finger for each letter; {_FIT}", "letters"),
    Rule("e_long", 0.491, "lowish_on_top", "slow", f"the top string is thin; {_FIT}", "letters"),
    Rule("e_low", 0.685, "low_on_top", "new", f"the top string is thin; {_FIT}", "letters"),
    Rule("shift", 0.854, "moved", "bound", f"a shift; {_FIT}"),
    Rule("shift_size", 1.362, "distance", "always", f"a wider shift; {_FIT}"),
    Rule("shift_fast", 1.029, "moved", "bound_fast", f"a shift in fast notes; {_FIT}"),
    Rule("shift_offbeat", 0.997, "moved", "bound_offbeat", f"shifts go with the beat; {_FIT}"),
    Rule("shift_held", 0.441, "moved_stopped", "bound", f"no open string hides the shift; {_FIT}"),
    Rule("bariolage", 5.88, "stopped", "pedal", f"the note that returns is the open string; {_FIT}"),
    Rule("bariolage_beside", 5.88, "same_string", "pedal_edge", f"and the others lie beside it; {_FIT}"),
    Rule("cross", 1.068, "crossed", "bound", f"a change of string; {_FIT}"),
    Rule("cross_skip", 2.135, "skipped", "always", f"a string skipped; {_FIT}"),
    Rule("cross_step", 1.94, "crossed", "bound_step", f"a step stays on its string; {_FIT}", "letters"),
    Rule("cross_step_low", 0.7, "crossed", "bound_step", f"less so where a hand has fewer notes; {_CP}", "semitones"),
    Rule("cross_slow", 1.054, "crossed", "bound_unhurried", f"slow notes keep one colour; {_FIT}", "letters"),
    Rule("repeat_change", 0.369, "other_place_or_finger", "again", f"a repeated note keeps its finger; {_FIT}"),
    Rule("half_position", 1.5, "half_position", "always", f"first position is nearer; {_CP}", "letters"),
    Rule("shift_slurred", 0.3, "moved_stopped", "bound_slurred", f"a change of bow covers a shift; {_CP}"),
    Rule("skip_slurred", 1.0, "skipped", "slurred", f"a slur cannot skip a string; {_CP}"),
    Rule("trill", 2.0, "open_or_fourth", "trill", f"a trill wants a stopped note and a finger above; {_CP}"),
    Rule("unsettled", 0.5, "unsettled", "always", f"on the cello first and fourth come first; {_CP}", "semitones"),
    Rule("above_first", 0.3, "above_first", "always", f"low positions are surer; {_CP}", "semitones"),
    Rule("slid", 2.0, "slid", "always", f"another note is another finger's; {_CP}", "semitones"),
    Rule("extension", 1.2, "extended", "always", f"the closed hand rests; {_CP}", "semitones"),
    Rule("torn", 6.0, "torn", "bound", f"one form of the hand on a string; {_CP}", "semitones"),
    Rule("stretched_stop", 3.0, "stretched_stop", "always", f"a double stop wants a quiet hand; {_CP}", "letters"),
    Rule("hand_changed", 1.5, "hand_changed", "always", f"the thumb comes up, or goes back; {_CP}", "semitones"),
    Rule("thumb", 0.7, "thumb", "always", f"the thumb comes up when it must; {_CP}", "semitones"),
    Rule("low_thumb", 1.0, "low_thumb", "always", f"its home is the octave; {_CP}", "semitones"),
    Rule("scale_first", 6.0, "off_first", "scale", f"in scales a shift up lands on the first finger; {_CP}"),
    Rule("scale_string", 4.0, "moved_crossed", "scale", f"and stays on its string; {_CP}", "letters"),
    Rule("exercise_spelt", 4.0, "respelt", "exercise", f"a finger for each letter above all; {_CP}", "letters"),
    Rule("exercise_slid", 3.0, "slid", "exercise", f"and none slides to the next note; {_CP}", "letters"),
    Rule("dark", 1.2, "strings_above", "dark", "the teacher wants a dark tone: a lower string"),
    Rule("bright", 1.2, "strings_below", "bright", "the teacher wants a bright tone: the highest string"),
    Rule("never_open", 30.0, "avoidable_open", "never_open", "the teacher wants no open strings"),
    Rule("always_open", 12.0, "avoidable_stop", "always_open", "the teacher wants every open string"),
    Rule("small_hand", 4.0, "extended", "small_hand", "the teacher wants no extensions"),
    Rule("untaught", 30.0, "untaught", "always", "the player has not been taught this position"),
    Rule("mark", 100.0, "against_mark", "always", "the score or the teacher says otherwise"),
)  # fmt: skip
"""All rules."""

Table = npt.NDArray[np.float64]


def weights(facts: tuple[str, ...], by_letters: bool) -> Table:
    """The weights of the rules for one kind of hand: a row for each fact, a column for each `WHENS`."""
    table = np.zeros((len(facts), len(WHENS)))
    for rule in RULES:
        if rule.what in facts and rule.hands in {"all", "letters" if by_letters else "semitones"}:
            table[facts.index(rule.what), WHENS.index(rule.when)] += rule.weight
    return table
