"""The teacher's notes: the rules that the program follows, the studies behind a few of them, the cautions.

Nothing of this goes on a player's page. The studies are quoted with their limits; what no study was found for is
called common practice.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from excerpts.log.first_days import LIGHT_DAYS, REST_DAYS
from excerpts.log.next_week_draft import MOST_BOXES, NUMBERS_BELOW
from excerpts.log.standing import CHECK_RUNS, CLEAN_DAYS, STUCK_WEEKS
from excerpts.variants import title
from excerpts.variants.tempo_steps import METRONOME_NUMBERS
from excerpts.week.advice import BY_FAULT
from excerpts.week.load import JUMP, LITTLE
from excerpts.weekfile.items import CHECK_WEEKS
from excerpts.words import Words, capital

RULES: Final[Mapping[str, tuple[str, ...]]] = {
    "session": ("order", "shares", "short", "breaks", "load", "young"),
    "box": ("recipe", "runs", "clean_run", "tempos", "variants"),
    "weeks": ("clean", "heard", "below", "stuck", "rest", "checks", "rotation", "boxes", "run_throughs"),
    "turns": ("blocked", "turns", "choose"),
    "performance": ("cold", "order_of_pieces", "light"),
}
"""The rules by section, by their messages under `teacher.notes`."""

STUDIES: Final = (
    "mathias_2025", "carter_2016", "stambaugh_2011", "abushanab_2013", "czyz_2024", "duke_2009", "simmons_2012",
    "cash_2009", "allen_2013", "humiston_2018", "sikes_2013", "henley_2001", "allingham_2022", "bangert_2014",
    "coffman_1990", "cepeda_2006", "ericsson_1993",
)  # fmt: skip
"""The studies, by their messages under `teacher.study`."""

FAIR: Final = ("share", "night", "rest", "own")
CAUTIONS: Final = (
    "load",
    "pain",
    "symptoms",
    "warming",
    "hearing",
    "ringing",
    "posture",
    "copying",
    "authority",
)
SOURCES: Final = (
    "load", "orchestra", "symptoms", "students", "hearing", "rooms", "metronome",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Section:
    """A heading and its points."""

    title: str
    points: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Study:
    """A study: where it is printed, who took part, what was found, and what limits it."""

    source: str
    who: str
    found: str
    limits: str


@dataclass(frozen=True, slots=True)
class Notes:
    """The teacher's notes."""

    title: str
    lead: str
    rules: tuple[Section, ...]
    studies: tuple[Study, ...]
    fair: Section
    cautions: Section
    sources: Section


def notes(words: Words) -> Notes:
    """The notes, with the numbers that the program itself goes by."""
    numbers = {
        "clean_days": CLEAN_DAYS,
        "check_runs": CHECK_RUNS,
        "checks": ", ".join(str(weeks) for weeks in CHECK_WEEKS[:-1]),
        "last_check": CHECK_WEEKS[-1],
        "stuck": STUCK_WEEKS,
        "jump": JUMP,
        "little": LITTLE,
        "rest": REST_DAYS,
        "light_days": LIGHT_DAYS,
        "below": NUMBERS_BELOW,
        "slowest": METRONOME_NUMBERS[0],
        "fastest": METRONOME_NUMBERS[-1],
        "first": MOST_BOXES["first"],
        "advanced": MOST_BOXES["advanced"],
    }

    def section(name: str, points: tuple[str, ...], group: str) -> Section:
        sentences = tuple(words(f"teacher.{group}.{point}", **numbers) for point in points)
        return Section(words(f"teacher.heads.{name}"), sentences)

    return Notes(
        title=words("teacher.heads.notes"),
        lead=words("teacher.heads.lead"),
        rules=(*(section(name, points, "rule") for name, points in RULES.items()), _advice(words)),
        studies=tuple(
            Study(*(words(f"teacher.study.{name}.{part}") for part in ("source", "who", "found", "limits")))
            for name in STUDIES
        ),
        fair=section("fair", FAIR, "fair"),
        cautions=section("cautions", CAUTIONS, "caution"),
        sources=section("sources", SOURCES, "source"),
    )


def _advice(words: Words) -> Section:
    """Which variants each fault brings when the teacher names none: common practice, and said to be."""
    points = [
        words(
            "teacher.advice.fault",
            fault=words(f"fault.{fault}"),
            variants="; ".join(f"{title(name, words)} ({name})" for name in names),
        )
        for fault, names in BY_FAULT.items()
    ]
    lead = words("teacher.advice.lead")
    return Section(words("teacher.heads.advice"), (lead, *map(capital, points)))
