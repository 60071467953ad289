"""What the left hand costs, in processor time after loading: `python -m tests.bench.bench_lefthand`.

Notes of Haydn's, Mozart's and Beethoven's violin and cello parts (music21's corpus), fingered: a hundred of them, and
parts of some 3,000. Each figure is the best of three.

Goals: 100 notes at most 100 ms, a part of 3,000 notes at most 3 seconds.

Found, on a busy machine: 100 notes 21 to 27 ms, a part of 3,000 0.6 to 0.7 seconds, on violin and cello.
"""

from __future__ import annotations

import time
from dataclasses import replace

from excerpts.lefthand.fingering import finger_part
from excerpts.lefthand.read_part import PartNotes, read_part
from excerpts.score import open_score
from tests.notes.sources import corpus

PARTS = (
    ("mozart/k458/movement1.mxl", "#1"),
    ("mozart/k458/movement1.mxl", "#4"),
    ("beethoven/opus132.mxl", "#1"),
)


def seconds(read: PartNotes) -> float:
    """Seconds of processor time to finger a part, the best of three."""
    found = []
    for _ in range(3):
        start = time.process_time()
        finger_part(read)
        found.append(time.process_time() - start)
    return min(found)


def main() -> None:
    for name, part in PARTS:
        start = time.process_time()
        read = read_part(open_score(corpus() / name).part(part))
        opened = time.process_time() - start
        hundred = replace(read, notes=read.notes[:100])
        whole = seconds(read)
        count = len(read.notes)
        print(f"{name} {part}, {read.player.name}: 100 notes {1000 * seconds(hundred):.0f} ms (goal 100)")
        print(
            f"  {count} notes {whole:.2f} s, so 3,000 {3000 * whole / count:.2f} s (goal 3); read in {opened:.2f} s"
        )


if __name__ == "__main__":
    main()
