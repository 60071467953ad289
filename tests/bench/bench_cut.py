"""What a cut costs, as ratios of lxml's own parse of the same file: `python -m tests.bench.bench_cut`.

A string quartet movement of music21's corpus is shortened or repeated until its file has the size wanted, indented as
notation programs write it; once with its four parts, once with the first alone. Each figure is taken in a process of
its own. Time is processor time, the best of several runs; memory is what the process holds more than after its imports
(`/proc/self/statm`, so Linux only), with the score kept open after the cut.

Goals: at most 2 parses for scores of three parts and more, 2.5 for one part, beside the 10 ms that any cut may take;
at most 1.8 times the parsed tree.

Found: four parts of 1, 5, 20 MB 1.9, 1.5, 1.5 parses and 0.64 of the tree; one part 1.9, 1.7, 1.4 parses and 0.66.
So nothing may look at every note of a part in Python: spans, endings, tempi and dynamics are found in one walk by their
names (`Bars.every`; each walk is a tenth of a parse), slurs are paired around the cut only (to pair all of a part was
two thirds of a parse), `<attributes>` are looked for once, and time is counted only near the cut (`timeline.walk`).
Bars are counted in whole divisions; sums of fractions were a third of the time.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from copy import deepcopy
from pathlib import Path

from lxml import etree

MOVEMENT = "mozart/k458/movement1.mxl"
SIZES = (10_000, 100_000, 1_000_000, 5_000_000, 20_000_000)
FIXED = 0.01
"""Seconds that any cut may cost beside the parse: a file of 10 kB is parsed in a tenth of a millisecond.

Ten bars are copied, mended and restated in some 4 ms, whatever the size of the file.
"""
BARS = 8
"""Length of the box; a bar of context stands before and after it."""


def grown(root: etree._Element, parts: int, size: int) -> bytes:
    """The movement with some of its parts, shortened or repeated to about `size` bytes."""
    score = deepcopy(root)
    for extra in score.findall("part")[parts:]:
        score.remove(extra)
    listed = score.find("part-list")
    assert listed is not None
    for entry in [*listed.findall("score-part")[parts:], *listed.findall("part-group")]:
        listed.remove(entry)
    etree.indent(score)
    bodies = score.findall("part")
    bars = [list(part) for part in bodies]
    each = sum(len(etree.tostring(bar)) for part in bars for bar in part) / len(bars[0])
    count = max(BARS + 2, int(size / each))
    for part, measures in zip(bodies, bars, strict=True):
        part[:] = []
        for index in range(count):
            measure = deepcopy(measures[index % len(measures)])
            measure.set("number", str(index + 1))
            part.append(measure)
    return etree.tostring(score, xml_declaration=True, encoding="UTF-8")


def parse(path: str) -> object:
    """What everything is measured by."""
    return etree.parse(path)


def cut(path: str) -> object:
    """Open a score and cut bars out of its last part, three quarters of the way in."""
    from excerpts.score import open_score

    score = open_score(path)
    part = score.part(f"#{len(score.parts)}")
    first = max(2, len(part.bars) * 3 // 4 - BARS)
    excerpt = part.passage(f"@{first}-@{first + BARS - 1}").cut(1)
    return score, excerpt


WORK: dict[str, Callable[[str], object]] = {"parse": parse, "cut": cut}


def resident() -> int:
    """Bytes of memory that this process holds."""
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE")


def measure(what: str, path: str, runs: int) -> None:
    """Do the work in this process and print what it cost."""
    import excerpts.score

    assert excerpts.score
    small = Path(path).with_name("small.xml")
    WORK[what](str(small))
    before = resident()
    kept = WORK[what](path)
    held = resident() - before
    del kept
    times = []
    for _ in range(runs):
        start = time.process_time()
        kept = WORK[what](path)
        times.append(time.process_time() - start)
        del kept
    print(json.dumps({"seconds": min(times), "bytes": held}))


def measured(what: str, path: Path, runs: int) -> dict[str, float]:
    """The same in a process of its own."""
    command = [sys.executable, "-m", "tests.bench.bench_cut", "--measure", what, str(path), str(runs)]
    done = subprocess.run(command, check=True, capture_output=True, text=True)
    found: dict[str, float] = json.loads(done.stdout)
    return found


def main(sizes: tuple[int, ...]) -> bool:
    """Print a table; tell whether every goal is met."""
    from tests.corpus.check import corpus
    from tests.corpus.reading import documents

    root = documents(corpus() / MOVEMENT)
    good = True
    print(f"{'size':>12} {'parts':>5} {'parse ms':>9} {'cut ms':>9} {'ratio':>6} {'memory':>7}")
    with tempfile.TemporaryDirectory() as folder:
        Path(folder, "small.xml").write_bytes(grown(root, 1, 10_000))
        for parts, most in ((4, 2.0), (1, 2.5)):
            for size in sizes:
                path = Path(folder, f"{parts}-{size}.xml")
                path.write_bytes(grown(root, parts, size))
                runs = 9 if size < 2_000_000 else 3
                base, ours = measured("parse", path, runs), measured("cut", path, runs)
                ratio = ours["seconds"] / base["seconds"]
                memory = ours["bytes"] / base["bytes"] if size >= 1_000_000 else 0.0
                right = ours["seconds"] <= most * base["seconds"] + FIXED and memory <= 1.8
                good = good and right
                print(
                    f"{path.stat().st_size:>12} {parts:>5} {base['seconds'] * 1000:>9.1f} "
                    f"{ours['seconds'] * 1000:>9.1f} {ratio:>6.2f} {memory or 0:>7.2f}{'' if right else '  over'}"
                )
    return good


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--measure", nargs=3, metavar=("WHAT", "FILE", "RUNS"), help=argparse.SUPPRESS)
    parser.add_argument("--sizes", type=int, nargs="*", default=list(SIZES), help="file sizes in bytes")
    arguments = parser.parse_args()
    if arguments.measure:
        measure(arguments.measure[0], arguments.measure[1], int(arguments.measure[2]))
    else:
        sys.exit(0 if main(tuple(arguments.sizes)) else 1)
