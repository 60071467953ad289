"""Words in the music that say how to play: a state of playing (plucked or bowed, mute, string, position), a tempo.

Italian, German, French and English as they stand in printed parts (common practice, no source).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final, Literal

from lxml import etree

Kind = Literal["plucking", "mute", "contact", "string", "position"]

KINDS: Final[tuple[Kind, ...]] = ("plucking", "mute", "contact", "string", "position")

_ORDINARY: Final = (
    r"\bord(?:\.|inario\b|inaire\b|inary\b)|\bnat(?:\.|urale\b)|\bgew(?:\.|öhnlich\b)|\bnormale?\b"
)
_ROMAN: Final = r"(?:I{1,3}|IV|V)"
_NTH: Final = r"(?:\d(?:st|nd|rd|th|a|e|\.|ª)?|" + _ROMAN + r"(?:a|e|\.|ª)?)"

_OFF: Final[dict[Kind, re.Pattern[str]]] = {
    "plucking": re.compile(rf"\b(?:coll?['’]\s*)?arco\b|\bbowed\b|\bgestrichen\b|{_ORDINARY}", re.IGNORECASE),
    "mute": re.compile(
        r"\b(?:senza|via|leva(?:re|te)?|togliere)\s+(?:le\s+|la\s+)?sord|\bohne\s+d[äa]mpf|\bd[äa]mpfer\s+(?:ab|weg)"
        r"|\bsans\s+sourd|\b[ôo]tez\b.*sourd|\b(?:without|no)\s+mute|\bmutes?\s+off|\bunmuted\b",
        re.IGNORECASE,
    ),
    "contact": re.compile(_ORDINARY, re.IGNORECASE),
    "string": re.compile(rf"{_ORDINARY}|\bloco\b", re.IGNORECASE),
    "position": re.compile(_ORDINARY, re.IGNORECASE),
}

_ON: Final[dict[Kind, re.Pattern[str]]] = {
    "plucking": re.compile(
        r"\bpizz(?:icato\b|\.|\b)|\bcol\s+legno(?:\s+(?:batt(?:uto|\.)|tratto))?", re.IGNORECASE
    ),
    "mute": re.compile(
        r"\b(?:con|coi)\s+sord(?:in[oi]\b|ina\b|\.|\b)|\bmit\s+d[äa]mpfern?\b|\bavec\s+(?:la\s+)?sourdines?\b"
        r"|\b(?:with\s+)?mutes?\s+on\b|\bwith\s+mute\b|\bmuted\b",
        re.IGNORECASE,
    ),
    "contact": re.compile(
        r"\bsul\s+pont(?:icello\b|\.|\b)|\bsul(?:la)?\s+tast(?:o\b|iera\b|\.)|\bflautando\b|\bam\s+(?:steg|griffbrett)\b"
        r"|\bsur\s+la\s+touche\b|\bsur\s+le\s+chevalet\b",
        re.IGNORECASE,
    ),
    "string": re.compile(
        rf"\b[Ss]ul(?:la)?\s+(?:[GDAECgdaec]\b|{_NTH}(?!\w))|{_NTH}\s*(?:corda|corde|string)\b"
        rf"|\b[Aa]uf\s+[GDAEC]\b|\b[GDAEC][- ](?:Saite|string)\b"
    ),
    "position": re.compile(
        rf"(?<!\w){_NTH}\s*(?:pos(?:\.|ition\b|izione\b)|[Ll]age\b)|\b[Pp]os(?:\.|ition)\s*(?:{_ROMAN}|\d)(?!\w)"
    ),
}

_ONE_HAND: Final = re.compile(r"left hand|\bl\.\s*h\.|\bm\.\s*s\.|mano sin|linke", re.IGNORECASE)
"""A note plucked by the left hand is no state."""

LOUDNESS_CHANGES: Final = re.compile(
    r"\b(?:cresc|decresc|dim|calando|smorz|morendo|perdendo|rinf|più|meno)", re.IGNORECASE
)
"""Words after which nobody can say how loud it is."""


@dataclass(frozen=True, slots=True)
class Said:
    """What a text says about one kind of state: its words, or "" where it ends the state."""

    kind: Kind
    words: str


def states_in(text: str) -> list[Said]:
    """The states that a text sets or ends; empty for texts about other things."""
    text = " ".join(text.split())
    states: list[Said] = []
    for kind in KINDS:
        if _OFF[kind].search(text) and not (kind == "plucking" and _ON[kind].search(text)):
            states.append(Said(kind, ""))
            continue
        match = _ON[kind].search(text)
        if match is not None and not (kind == "plucking" and _ONE_HAND.search(text)):
            states.append(Said(kind, match.group().strip()))
    return states


TEMPO_HEADING: Final = re.compile(
    r"(?:(?:molto|poco|più|meno|quasi|assai|un poco|ben|très|sehr|ziemlich|nicht zu|etwas)\s+)*"
    r"(?:allegr[oa]|allegretto|andant|adagi|adagietto|larg|lent|prest|viva|moderato|grave|maestoso|mosso|tempo di\b"
    r"|langsam|schnell|lebhaft|mä(?:ß|ss)ig|rasch|vif|vite|modéré|animé|slow|fast|lively|quick)",
    re.IGNORECASE,
)
FIRST_TEMPO: Final = re.compile(r"tempo\s*(?:I|1)(?:o|mo|º|°|er)?\b|tempo primo|1er mouvement", re.IGNORECASE)
"""Headings that name a tempo without a number, and the one that calls back the first (common practice, no source)."""


def names_tempo(words: etree._Element) -> bool:
    """Whether `<words>` are a heading that names a tempo ("Allegro", "Tempo I")."""
    text = "".join(words.itertext()).strip()
    return text[:1].isupper() and bool(TEMPO_HEADING.match(text) or FIRST_TEMPO.match(text))
