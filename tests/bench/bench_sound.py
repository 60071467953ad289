"""What sound costs, in processor time: `python -m tests.bench.bench_sound`.

A quartet's minute (Mozart, K. 458 i) read, played and coded as MP3; the same without a part; and a week of six boxes of
eight bars at six steps each, three times with a count-in.

Goals: a quartet's minute at most 2 seconds, a week at most 45 seconds and 16 MB, memory at most 500 MB.

Found: a quartet's minute 1.1 seconds, of which 0.65 are the coder's; a week of 56 minutes 40 seconds and 21 MB, so 31
seconds and 16 MB for the 44 minutes that the goal was set by. Half an hour of a quartet in one piece takes 430 MB:
what is not done in place is done in pieces.
"""

from __future__ import annotations

import resource
import time
from collections.abc import Callable
from fractions import Fraction

from excerpts.excerpt import Tempo
from excerpts.score import open_score
from excerpts.score.whole import whole_passage
from excerpts.sound.perform import perform
from excerpts.sound.performance import Performance
from excerpts.sound.playback import Playback
from excerpts.sound.recording import record
from excerpts.sound.sound_file import Tags, encode
from tests.notes.sources import corpus
from tests.variants.music import passage

STEPS = (48, 60, 69, 80, 88, 96)
BARS = ["D5/1/2 E5 F5 G5 A5 B5 C6 D6"] * 8


def timed(
    name: str, read: Callable[[], Performance], playback: Playback, tempo: Tempo
) -> tuple[float, float, int]:
    """Minutes of sound, seconds of processor time to read, play and code it, and bytes."""
    start = time.process_time()
    made = record(read(), playback, tempo)
    played = time.process_time()
    size = len(encode(made.blocks(), ".mp3", Tags()))
    coded = time.process_time()
    print(
        f"{name}: {made.seconds / 60:.2f} minutes; played {played - start:.2f} s, coded {coded - played:.2f} s"
    )
    return made.seconds / 60, coded - start, size


def main() -> None:
    path = corpus() / "mozart" / "k458" / "movement1.mxl"
    excerpt = whole_passage(open_score(path), "1-60").cut(0)
    tempo = Tempo(Fraction(80), Fraction(3, 2))
    for name, playback in (("quartet", Playback()), ("without me", Playback(gains=((0, None),)))):
        minutes, seconds, _ = timed(name, lambda: perform(excerpt), playback, tempo)
        print(f"  a minute of it: {seconds / minutes:.2f} s (goal 2)")
    week = perform(passage("4/4", *BARS))
    usual = Playback(count_in=1, times=3)
    found = [timed(f"step {n}", lambda: week, usual, Tempo(Fraction(n))) for n in STEPS]
    print(
        f"six boxes: {6 * sum(one[1] for one in found):.0f} s (goal 45), {6e-6 * sum(one[2] for one in found):.0f} MB"
    )
    print(f"memory: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB (goal 500)")


if __name__ == "__main__":
    main()
