"""A term of twelve weeks for six invented players, played through with the program itself.

The players practise, miss lessons, leave papers empty or half filled; the teacher enters what there is, hears
boxes, takes the ways out that are offered, boxes new passages. One has scores: the workbook of every week is built
with --new, and every page of an earlier one that it names is looked up there. `python -m tests.log.term` prints it.
"""

from __future__ import annotations

import contextlib
import io
import random
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import timedelta
from fractions import Fraction
from pathlib import Path

from excerpts.cli import main
from excerpts.excerpt import Tempo
from excerpts.log import LogRow, append_rows, log_path
from excerpts.variants.tempo_steps import rounded_down
from excerpts.week import Week, load_week
from excerpts.week.added_warmups import due_scales
from excerpts.week.plan import plan_week
from excerpts.weekfile.items import BoxItem
from excerpts.words import Words
from tests.log.named_pages import named_pages
from tests.workbook.weeks import score

WEEKS = 12


@dataclass
class Player:
    """An invented player.

    Attributes:
        name: The name.
        head: The keys of [player] and [week].
        pieces: The pieces, as TOML.
        boxes: Boxes that the teacher will come to choose, in that order, as TOML.
        diligence: How much is gained in a week, in metronome numbers.
        missed: Weeks without a lesson, of which nothing is entered.
        empty: Weeks whose paper came home empty.
        half: Whether days and counts are missing on the paper.
        scales: A list of scales for the term, as CSV.
        score: Its boxes are bars of a score, so that its workbooks hold music.
        speed: What each box can be played at by now, in quarter notes a minute.
    """

    name: str
    head: str
    pieces: str
    boxes: list[str]
    diligence: float
    missed: tuple[int, ...] = ()
    empty: tuple[int, ...] = ()
    half: bool = False
    scales: str = ""
    score: bool = False
    speed: dict[str, float] = field(default_factory=dict)


def box(name: str, piece: str, bars: str, target: str, more: str = "") -> str:
    goal = f'target = "{target}"' if "=" in target else f'goal = "{target}"'
    return f'\n[[box]]\nid = "{name}"\npiece = "{piece}"\nplace = "bars {bars}"\n{goal}\n{more}\n'


def piece(name: str, title: str, more: str = "") -> str:
    return f'\n[[piece]]\nid = "{name}"\ntitle = "{title}"\n{more}\n'


def players() -> list[Player]:
    """The six."""
    return [
        Player(
            "Tove Birk",
            'instrument = "violin"\nlevel = "first"\nage = 6\n[week]\nstart = 2026-09-07\nminutes = 12\n',
            piece("hop", "Hop, Frog") + piece("rain", "Rain on the Roof"),
            [
                box("hop-2", "hop", "3-4", "crotchet = 72"),
                box("rain-1", "rain", "1-2", "a big open E"),
                box("rain-2", "rain", "5-6", "crotchet = 80"),
            ],
            1.5,
            missed=(4,),
            empty=(2, 7),
        ),
        Player(
            "Anselm Roe",
            'instrument = "cello"\nlevel = "lower"\nage = 71\n[week]\nstart = 2026-09-08\n'
            "until = 2026-09-21\nminutes = {mon = 20, wed = 30, fri = 20}\n",
            piece("ground", "Ground in D") + piece("song", "Evening Song"),
            [
                box("ground-1", "ground", "5-8", "crotchet = 84"),
                box("song-1", "song", "9-10", "no bump at the change of bow"),
                box("ground-2", "ground", "13-16", "crotchet = 84"),
            ],
            1.2,
            half=True,
            empty=(3,),
        ),
        Player(
            "Ilse Marr",
            'instrument = "viola"\nlevel = "middle"\nage = 13\n[week]\nstart = 2026-09-09\n'
            "minutes = {mon = 30, tue = 30, thu = 30, sat = 45}\n",
            piece("rondo", "Rondo") + piece("air", "Slow Air") + piece("study", "Study 4"),
            [
                box("rondo-1", "rondo", "12-16", "crotchet = 96"),
                box("rondo-2", "rondo", "33-36", "crotchet = 96", 'why = "shift"'),
                box("study-1", "study", "1-4", "crotchet = 120", 'why = "uneven"'),
                box("air-1", "air", "21-24", "one colour on the C string"),
                box("rondo-3", "rondo", "50-52", "crotchet = 96"),
            ],
            2.0,
            missed=(5, 6),
            empty=(9,),
            scales="key,pattern\nC,scale\nG,scale\nD,scale\nA minor,scale\nF,scale\nG,arpeggio\nD minor,arpeggio\n",
        ),
        Player(
            "Bram Okoro",
            'instrument = "bass"\nlevel = "upper"\nage = 16\nwords = "us"\n[week]\nstart = 2026-09-10\n'
            "minutes = {every = 40, sun = 0}\nnotes = ['Bring the orchestra part.']\n",
            piece("scherzo", "Scherzo", 'status = "performance"\ndate = 2026-11-01')
            + piece("elegy", "Elegy")
            + piece("blues", "Slow Blues"),
            [
                box("scherzo-1", "scherzo", "8-12", "dotted quarter = 80"),
                box("scherzo-2", "scherzo", "40-44", "dotted quarter = 80"),
                box("elegy-1", "elegy", "17-20", "quarter = 60"),
                box("blues-1", "blues", "1-4", "quarter = 92"),
            ],
            0.4,  # never at the desk: everything gets stuck
            missed=(8,),
            empty=(1, 2, 5, 10),
        ),
        Player(
            "Noemi Salt",
            'instrument = "violin"\nlevel = "advanced"\nage = 19\n[week]\nstart = 2026-09-11\nuntil = 2026-09-18\n'
            "minutes = {mon = 90, tue = 60, wed = 90, thu = 60, fri = 90, sat = 120}\n",
            piece("concerto", "Concerto I", 'status = "performance"\ndate = 2026-10-24')
            + piece("sonata", "Sonata II")
            + piece("caprice", "Caprice 9"),
            [
                box("leap", "concerto", "57-60", "crotchet = 126", 'why = ["shift", "intonation"]'),
                box("octaves", "concerto", "88-95", "crotchet = 112"),
                box("thirds", "caprice", "1-16", "crotchet = 108"),
                box("fugue", "sonata", "33-40", "crotchet = 76"),
                box("coda", "concerto", "190-204", "crotchet = 132"),
                box("trill", "sonata", "61-62", "quaver = 132"),
            ],
            3.0,
        ),
        Player(
            "Wim Sand",
            'instrument = "violin"\nlevel = "middle"\nage = 12\n[week]\nstart = 2026-09-11\n'
            "minutes = {mon = 30, wed = 30, fri = 30}\n",
            piece("river", "River", 'score = "river.musicxml"'),
            [
                box("river-1", "river", "1-2", "crotchet = 88").replace('place = "bars ', 'bars = "'),
                box("river-2", "river", "3-4", "crotchet = 96").replace('place = "bars ', 'bars = "'),
                box("river-3", "river", "6-7", "crotchet = 88").replace('place = "bars ', 'bars = "'),
                box("river-4", "river", "11-12", "crotchet = 96").replace('place = "bars ', 'bars = "'),
            ],
            2.5,
            missed=(6,),
            empty=(3,),
            score=True,
        ),
    ]


class Term:
    """Plays the term of one player in a folder.

    Args:
        player: The player.
        folder: Where the week files go.
    """

    def __init__(self, player: Player, folder: Path) -> None:
        self.player = player
        self.chance = random.Random(player.name)
        self.coming = list(player.boxes)
        first = "".join(self.coming.pop(0) for _ in range(min(2, len(self.coming))))
        listed = 'scales = "scales.csv"\n' if player.scales else ""
        if listed:
            (folder / "scales.csv").write_text(player.scales, encoding="utf-8")
        if player.score:
            score(folder / "river.musicxml")
        text = f'format = 1\n{listed}[player]\nname = "{player.name}"\n{player.head}{player.pieces}{first}'
        self.path = folder / "week-1.toml"
        self.path.write_text(text, encoding="utf-8")
        self.known: set[str] = set()
        self.ways: dict[str, int] = {}

    def story(self) -> Iterator[str]:
        """The weeks, a few lines each; every week is checked on the way."""
        yield f"{self.player.name}"
        for number in range(1, WEEKS + 1):
            week = load_week(self.path)
            self._check(week)
            if self.player.score:
                yield from (f"  {number:2} {line}" for line in named_pages(self.path, number > 1))
            rows = self._practise(week, number)
            if rows:
                append_rows(log_path(week), rows, week.player.name, Words(week.player.words))
            lines = self._next(number)
            yield from (f"  {number:2} {line}" for line in self._events(lines, number, rows, week))
            self._answer(lines)
        self.last = load_week(self.path)
        self._check(self.last)
        work, retired, parked = (self._ids(kind) for kind in ("boxes", "retired", "parked"))
        yield f"  at the end: {work} in work; {retired} retired; {parked} parked"

    def _ids(self, kind: str) -> str:
        return ", ".join(found.id for found in getattr(self.last, kind)) or "none"

    def _check(self, week: Week) -> None:
        """No box is lost or there twice, and the plan of the week adds up."""
        ids = [found.id for found in (*week.boxes, *week.retired, *week.parked)]
        assert len(ids) == len(set(ids)), ids
        assert self.known <= set(ids), self.known - set(ids)
        self.known |= set(ids)
        for day in plan_week(week).days:
            assert sum(item.minutes for item in day.items) + day.break_minutes in (0, day.minutes)

    def _practise(self, week: Week, number: int) -> list[LogRow]:
        """What stands on the paper, and what was heard in the lesson."""
        if number in self.player.missed:
            return []
        rows: list[LogRow] = []
        for found in week.boxes:
            rows += self._work(week, found, number)
        checked = {item.check for item in week.technique}
        for retired in week.retired:
            if retired.id in checked and number not in self.player.empty:
                stands = self.chance.random() < 0.8
                tempo = retired.target if retired.target and stands else None
                rows.append(
                    LogRow(week.week.start, week.week.start, "box", retired.id, tempo, 3 if stands else 1)
                )
        for scale in due_scales(week)[:2] if number not in self.player.empty else ():
            clean = None if self.chance.random() < 0.7 else 0
            rows.append(LogRow(week.week.start, None, "heard", scale, clean=clean))
        if rows and number % 3 == 0:
            first = week.pieces[0]
            rows.append(
                LogRow(week.week.start, None, "run-through", first.id, bars=f"{4 * number}-{4 * number + 1}")
            )
        return rows

    def _work(self, week: Week, found: BoxItem, number: int) -> Iterator[LogRow]:
        speeds, start = self.player.speed, week.week.start
        if number in self.player.empty:
            return
        wanted = week.clean_runs(found)
        if found.target is None:
            runs = speeds[found.id] = speeds.get(found.id, 0) + self.player.diligence
            for day in (0, 2):
                yield LogRow(
                    start, start + timedelta(days=day), "box", found.id, clean=min(int(runs), wanted)
                )
            if runs > 4:
                yield LogRow(start, None, "heard", found.id)
            return
        goal = float(found.target.number)
        speeds.setdefault(found.id, goal * 0.55)
        for day in (0, 2, 4)[: 2 if self.player.half else 3]:
            speeds[found.id] *= 1 + 0.017 * self.player.diligence * self.chance.uniform(0.5, 1.5)
            reached = min(speeds[found.id], goal)
            number_reached = Fraction(rounded_down(Fraction(reached)) or 40)
            tempo = Tempo(found.target.number if reached >= goal else number_reached, found.target.unit)
            clean = None if self.player.half and self.chance.random() < 0.3 else wanted
            when = None if self.player.half and self.chance.random() < 0.3 else start + timedelta(days=day)
            yield LogRow(
                start,
                when,
                "box",
                found.id,
                tempo,
                clean,
                bars=(found.place or "").removeprefix("bars ") if day == 4 else "",
            )
        if self.player.half and speeds[found.id] >= goal:
            yield LogRow(start, None, "heard", found.id)

    def _next(self, number: int, *changes: str) -> list[str]:
        target = self.path.with_name(f"week-{number + 1}.toml")
        arguments = ["next", str(self.path), "-o", str(target), "--force"]
        for change in changes:
            arguments += ["--change", change]
        said, wrong = io.StringIO(), io.StringIO()
        with contextlib.redirect_stdout(said), contextlib.redirect_stderr(wrong):
            status = main(arguments)
        assert status == 0, wrong.getvalue()
        assert wrong.getvalue() == ""
        lines = said.getvalue().splitlines()
        if not changes and (change := self._way_out(lines)):
            return self._next(number, change)
        self.path = target
        return lines

    def _way_out(self, lines: list[str]) -> str:
        """Of what is offered, the teacher takes one a week: new variants first, then simpler, then parked."""
        offers = [
            line.rpartition("--change ")[2] for line in lines if line.startswith("      ") and "=" in line
        ]
        for offer in offers:
            found, _, way = offer.partition("=")
            if way == ("variant", "simplify", "park")[min(self.ways.get(found, 0), 2)]:
                self.ways[found] = self.ways.get(found, 0) + 1
                return offer
        return ""

    def _answer(self, lines: list[str]) -> None:
        """The teacher boxes a new passage where the level has room."""
        week = load_week(self.path)
        if len(week.boxes) < 3 and self.coming:
            with self.path.open("a", encoding="utf-8") as file:
                file.write(self.coming.pop(0))
        elif len(week.boxes) < 2 and week.parked:
            text = self.path.read_text(encoding="utf-8")
            self.path.write_text(text.replace("[[parked]]", "[[box]]", 1), encoding="utf-8")

    def _events(self, lines: list[str], number: int, rows: list[LogRow], week: Week) -> Iterator[str]:
        telling = (
            "retired",
            "passed",
            "not settled",
            "as you chose",
            "In work for",
            "performance was",
            "joins",
            "in the list",
            "comes again",
        )
        missed = number in self.player.missed
        if not rows:
            empty = "the paper came home empty" if week.boxes else "no box in work, no check due"
            yield "no lesson; nothing entered" if missed else empty
        found = [line.strip() for line in lines if any(word in line for word in telling)]
        yield from found
        if rows and not found:
            stays = sum("stays" in line for line in lines)
            yield f"{stays} box{'' if stays == 1 else 'es'} stay{'s' if stays == 1 else ''}, a little faster"


def whole_term(folder: Path) -> Iterator[tuple[Term, list[str]]]:
    """Each player's term and its story."""
    for place, player in enumerate(players()):
        home = folder / f"player-{place}"
        home.mkdir()
        term = Term(player, home)
        yield term, list(term.story())


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as name:
        for _, told in whole_term(Path(name)):
            print("\n".join(told))  # noqa: T201
