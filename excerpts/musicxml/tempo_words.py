"""Words that name a tempo: headings without a number, and the one that calls back the first tempo."""

from __future__ import annotations

import re
from typing import Final

from lxml import etree

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
