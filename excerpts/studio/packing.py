"""An excerpt as JSON and back, with nothing lost: the test sends every field through."""

from __future__ import annotations

from dataclasses import asdict
from fractions import Fraction
from typing import Any

from excerpts.excerpt import BarRef, Box, Excerpt, OpenEnd, Origin, Position, ReportLine, Tempo


def exact(value: object) -> str:
    """A fraction as text, for JSON.

    Raises:
        TypeError: It is something else.
    """
    if isinstance(value, Fraction):
        return str(value)
    raise TypeError(f"{type(value).__name__} has no place in JSON here")


def excerpt_facts(excerpt: Excerpt) -> dict[str, Any]:
    """Everything in an excerpt, for JSON."""
    return {
        "xml": excerpt.xml.decode("utf-8"),
        "bars": [asdict(bar) for bar in excerpt.bars],
        "boxes": [asdict(box) for box in excerpt.boxes],
        "open_ends": [asdict(end) for end in excerpt.open_ends],
        "tempo": asdict(excerpt.tempo) if excerpt.tempo else None,
        "origin": asdict(excerpt.origin),
        "report": [asdict(line) for line in excerpt.report],
    }


def excerpt_of(told: dict[str, Any]) -> Excerpt:
    """The excerpt out of its facts, after they have gone through JSON."""
    tempo = told["tempo"]
    return Excerpt(
        xml=told["xml"].encode("utf-8"),
        bars=tuple(
            BarRef(bar["place"], bar["label"], Fraction(bar["start"]), Fraction(bar["length"]))
            for bar in told["bars"]
        ),
        boxes=tuple(Box(_position(box["start"]), _position(box["end"])) for box in told["boxes"]),
        open_ends=tuple(OpenEnd(**{**end, "at": _position(end["at"])}) for end in told["open_ends"]),
        tempo=Tempo(**{**tempo, "number": Fraction(tempo["number"]), "unit": Fraction(tempo["unit"])})
        if tempo
        else None,
        origin=Origin(**told["origin"]),
        report=tuple(ReportLine(**line) for line in told["report"]),
    )


def _position(told: dict[str, Any]) -> Position:
    return Position(told["bar"], Fraction(told["onset"]))
