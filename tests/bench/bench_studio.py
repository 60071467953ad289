"""What workbooks and studios cost, as ratios: `python -m tests.bench.bench_studio [NAME …]`.

Names: start, workbook, change, unchanged, cores, linear; all where none is given. Each figure is taken in a process of
its own, all figures of one ratio in one run. Ratios are of processor time, which other work on the machine disturbs
least; "cores" is of time on the clock, and means something on a machine that does nothing else only.

The floor engraves and draws the same excerpts and lays out the same final pages once, with nothing around it. It is a
plain script, which takes all apart at its end: one that ends as a command does takes 0.91 of it. The peer is the
straightforward script: music21 cuts by `measures()`, verovio engraves, WeasyPrint lays out; it moves by some percent
from run to run. The music is KV 458 out of music21's corpus.

Found on two x86-64 cores (Python 3.11.7, lxml 6.1.3, verovio 6.4.1, WeasyPrint 70.0, music21 10.5.1) with nothing else
to do: `cut` 1.80 and `show` 1.86 bare parses; a workbook (24 pages) 1.22 floors, the peer 3.5 workbooks, in 179 MB; one
box changed 0.64, nothing changed 0.003 of cold. Beside other work, in pairs: 1.13 of its time at commit a10fce2, which
printed 22 pages.
Of a workbook's time loading takes 15 %, verovio 17 %, drawing 14 %, variants 9 %, cutting and planning
6 %, measuring blocks 10 %, pages 17 %, PDF 9 %.

What was tried, for whoever wants it faster:

- Loading: containers and children only where they are needed; WeasyPrint's search for libraries made short, and tools
  of fontTools that it seldom uses put off (`excerpts.system.libraries`); no search for unused objects in a command
  (`excerpts.cli.start`). Frozen dataclasses take 0.1 s of a process, named tuples would take a seventh; they stay, for
  two kinds of values must not be equal. WeasyPrint reads its own sheet for HTML as it is loaded, 0.04 s that we have no
  use for. numpy takes 0.08 s where a variant needs the left hand.
- Pages: names and white on elements that hold little, so that computed styles are shared; a style sheet of our own
  instead of WeasyPrint's for HTML; no font features; blocks that differ in their pictures only measured once (a
  workbook 0.28 s less). Whole workbooks broken by CSS, the better of two taken, were slower and longer. Heights worked
  out from rows were wrong by a line now and then. Ticks placed instead of floated, and the white above blocks in the
  sheet of the sizes, won nothing. Compiled templates in the cache would save 0.07 s; but then it would hold code that
  is run. A list of boxes longer than a page (more than some 35) is laid out three times.
- PDF: shapes that come again stand there once: 290 kB instead of 450. Packing streams ourselves saved nothing. Lines
  with absolute ends are shorter, and longer when they are packed. pydyf lists all pages anew for each element: 10 ms.
- Variants: the notes of a box are taken out once for all of its variants. When one box changed cost 0.56 of cold, it
  was 0.74 without what a studio keeps of variants, 0.78 without the drawings.
- Drawing: no style sheet and no slurs where only bars are measured; named tuples for ink; a thread for a child instead
  of one for each page. Other trees than lxml's won nothing; a facsimile in MEI is rounded to a tenth. Less in the music
  that is measured (articulations, fingers) is no quicker to draw; without words or ties bars have other widths.
- Memory: the engraver of one workbook ends before its pages are laid out, 30 MB less.
- Studio: a process for each workbook takes a third more processor time than one for many. The standard library's pool
  breaks with the first process that dies.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import shutil
import sys
import tempfile
from collections.abc import Callable
from importlib.metadata import version
from pathlib import Path

from tests.bench.measure import EXCERPTS, cost, environment, python
from tests.bench.music import scores, week_text
from tests.bench.programs import FACTS

VARIANTS = ("separate", "long-short")
BOXES = 15
"""With two variants each where they fit: some 40 excerpts on some 24 pages, in as much music as the boxes have."""

_LIBRARIES = ("lxml", "verovio", "weasyprint", "music21")


class Bench:
    """Measures, prints a line for each figure, and knows whether every goal is met.

    Args:
        folder: Where to work.
        runs: Runs of each figure; the best counts.
        players: Players of the studios.
    """

    def __init__(self, folder: Path, runs: int, players: int) -> None:
        self.folder = folder
        self.runs = runs
        self.players = players
        self.good = True
        self.env = environment(folder / "cache")

    def told(self, what: str, found: float, goal: float, *, least: bool = False, note: str = "") -> None:
        """Print a figure beside its goal."""
        right = found >= goal if least else found <= goal
        self.good = self.good and right
        sign = ">=" if least else "<="
        print(f"{what:<58} {found:>7.2f}  {sign} {goal:<6g} {'' if right else 'MISSED  '}{note}", flush=True)

    def week(self, name: str = "week", boxes: int = BOXES, variants: tuple[str, ...] = VARIANTS) -> Path:
        """A folder with one week."""
        folder = self.folder / name
        folder.mkdir()
        scores(folder)
        (folder / "week.toml").write_text(week_text("Ada Bench", boxes, variants), encoding="utf-8")
        return folder

    def studio(self, name: str, players: int) -> Path:
        """A folder with players whose boxes differ."""
        folder = self.folder / name
        (folder / "scores").mkdir(parents=True)
        (folder / "studio.toml").write_text("format = 1\n", encoding="utf-8")
        scores(folder / "scores")
        for place in range(players):
            text = week_text(f"Player {place:02}", 4, ("separate",), 2 + place)
            (folder / f"player-{place:02}.toml").write_text(text, encoding="utf-8")
        return folder

    def start(self) -> None:
        """`cut` to MusicXML and `show` against a bare process that parses the file with lxml."""
        folder = self.week("start")
        path = str(folder / "movement1.musicxml")
        self._unpack(folder / "movement1.mxl", Path(path))
        bare = cost(python("-c", f"from lxml import etree; etree.parse({path!r})"), env=self.env, runs=10)
        line = [*EXCERPTS, "cut", path, "20-27", "--part", "#1", "-o", "a.musicxml"]
        cut = cost(line, env=self.env, runs=10, cwd=folder)
        show = cost([*EXCERPTS, "show", path], env=self.env, runs=10)
        note = f"bare {bare.processor * 1000:.0f} ms, {Path(path).stat().st_size / 1e6:.1f} MB"
        self.told("cut to MusicXML / bare parse", cut.processor / bare.processor, 2, note=note)
        self.told("show / bare parse", show.processor / bare.processor, 2)
        nothing = cost(python("-c", "pass"), env=self.env, runs=10)
        for words in ("--help", "cut --help", "nonsense", "cut --nonsense", "workbook nowhere.toml"):
            status = 0 if words.endswith("--help") else 2
            answer = cost([*EXCERPTS, *words.split()], env=self.env, runs=10, cwd=folder, status=status)
            self.told(f"{words} / bare Python", answer.processor / nothing.processor, 12)

    def _unpack(self, packed: Path, path: Path) -> None:
        from excerpts.score.parse import unwrap

        path.write_bytes(unwrap(packed.read_bytes(), str(packed)))

    def workbook(self) -> None:
        """One workbook against the floor and the peer."""
        folder = self.week()
        cost(python("-m", "tests.bench.programs", "record", str(folder)), env=self.env)
        facts = json.loads((folder / FACTS).read_text(encoding="utf-8"))
        floor = cost(python("-m", "tests.bench.programs", "floor", str(folder)), env=self.env, runs=self.runs)
        peer = cost(python("-m", "tests.bench.programs", "peer", str(folder)), env=self.env, runs=self.runs)
        ours = cost([*EXCERPTS, "workbook", str(folder / "week.toml")], env=self.env, runs=self.runs)
        seconds = f"{ours.processor:.1f}, {floor.processor:.1f}, {peer.processor:.1f} s"
        note = f"{facts['pages']} pages, {facts['excerpts']} excerpts; ours, floor, peer {seconds}"
        self.told("one workbook / floor", ours.processor / floor.processor, 1.25, note=note)
        self.told("peer / one workbook", peer.processor / ours.processor, 4, least=True)
        self.told("memory of one workbook, all its processes, MB", ours.memory, 200)

    def change(self) -> None:
        """One box changed against cold, for the same workbook."""
        folder = self.week("change")
        line = [*EXCERPTS, "studio", str(folder)]
        colds, changes = [], []
        for _ in range(self.runs):
            shutil.rmtree(self.folder / "cache", ignore_errors=True)
            (folder / "week.toml").write_text(week_text("Ada Bench", BOXES, VARIANTS), encoding="utf-8")
            colds.append(cost(line, env=self.env).processor)
            moved = week_text("Ada Bench", BOXES, VARIANTS, moved=BOXES // 2)
            (folder / "week.toml").write_text(moved, encoding="utf-8")
            changes.append(cost(line, env=self.env).processor)
        note = f"{min(changes):.1f}, {min(colds):.1f} s"
        self.told("one box changed / cold", min(changes) / min(colds), 0.6, note=note)

    def unchanged(self) -> None:
        """A studio with nothing changed against cold."""
        folder = self.studio("unchanged", self.players)
        line = [*EXCERPTS, "studio", str(folder)]
        cold = cost(line, env=self.env)
        again = cost(line, env=self.env, runs=3)
        note = f"{self.players} players; {again.processor:.2f}, {cold.processor:.0f} s"
        self.told("nothing changed / cold", again.processor / cold.processor, 0.01, note=note)

    def cores(self) -> None:
        """Two workbooks at a time against one after another, on the clock."""
        folder = self.studio("cores", self.players)
        clocks = []
        for jobs in ("1", "2"):
            shutil.rmtree(self.folder / "cache", ignore_errors=True)
            for pdf in folder.glob("*.pdf"):
                pdf.unlink()
            clocks.append(cost([*EXCERPTS, "studio", str(folder), "--jobs", jobs], env=self.env).clock)
        load = os.getloadavg()[0]
        note = f"{self.players} players; {clocks[0]:.0f}, {clocks[1]:.0f} s; load {load:.1f}"
        self.told("one after another / two at a time", clocks[0] / clocks[1], 1.8, least=True, note=note)

    def linear(self) -> None:
        """Processor time over excerpts: the straight line that fits best, and how far it is off."""
        points = []
        for boxes in (3, 10, 25, 50, 100):
            folder = self.week(f"linear-{boxes}", boxes, ("separate",))
            found = cost([*EXCERPTS, "workbook", str(folder / "week.toml")], env=self.env, runs=self.runs)
            points.append((2.0 * boxes, found.processor))
        slope, base = _line(points)
        off = max(abs(base + slope * x - y) / y for x, y in points)
        told = ", ".join(f"{x:.0f}: {y:.1f} s" for x, y in points)
        note = f"{base:.1f} s + {slope * 1000:.0f} ms an excerpt; {told}"
        self.told("excerpts from 6 to 200: farthest from the line", off, 0.25, note=note)


def _line(points: list[tuple[float, float]]) -> tuple[float, float]:
    """Slope and height at 0 of the line with the least squares of relative distances."""
    weights = [1 / y**2 for _, y in points]
    total = sum(weights)
    x0 = sum(w * x for w, (x, _) in zip(weights, points, strict=True)) / total
    y0 = sum(w * y for w, (_, y) in zip(weights, points, strict=True)) / total
    above = sum(w * (x - x0) * (y - y0) for w, (x, y) in zip(weights, points, strict=True))
    slope = above / sum(w * (x - x0) ** 2 for w, (x, _) in zip(weights, points, strict=True))
    return slope, y0 - slope * x0


NAMES = ("start", "workbook", "change", "unchanged", "cores", "linear")


def main() -> int:
    """Measure what is asked for; 1 when a goal is missed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("names", nargs="*", choices=[*NAMES, []], help=", ".join(NAMES))
    parser.add_argument("--runs", type=int, default=3, help="runs of each figure; the best counts")
    parser.add_argument("--players", type=int, default=40, help="players of a studio")
    arguments = parser.parse_args()
    libraries = ", ".join(f"{name} {version(name)}" for name in _LIBRARIES)
    print(f"{os.cpu_count()} cores, {platform.machine()}, Python {platform.python_version()}, {libraries}")
    with tempfile.TemporaryDirectory() as folder:
        bench = Bench(Path(folder), arguments.runs, arguments.players)
        for name in arguments.names or NAMES:
            measure: Callable[[], None] = getattr(bench, name)
            measure()
    return 0 if bench.good else 1


if __name__ == "__main__":
    sys.exit(main())
