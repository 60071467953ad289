"""Real scores with something wrong in them: `python -m tests.fuzz.mutants 20000` makes, shows and cuts so many.

Each is made from its number alone, so that a run can be gone on with and a finding made again:
`python -m tests.fuzz.mutants --only 1234`. Most come from small files of music21's corpus, which hold every kind of
notation and are quick. Every twentieth (MUTANTS_ENGRAVED) also goes through two
practice variants and the engraver. A finding is any
exception that is not an error of ours for a teacher, or more than `CPU_LIMIT` seconds.
"""

from __future__ import annotations

import json
import os
import signal
import sys
import traceback
from collections import Counter
from contextlib import suppress
from functools import cache
from pathlib import Path
from random import Random
from time import process_time
from typing import Final

from excerpts.engrave import Style, engrave
from excerpts.errors import ExcerptsError
from excerpts.score import score_from_bytes
from excerpts.score.parse import unwrap
from excerpts.variants import variants, vary
from tests.fuzz.mutate import mutated
from tests.fuzz.targets import ROOT, cut_somewhere, look_at, random_address

CPU_LIMIT: Final = 10.0
"""Seconds of processor time that one mutant may take."""

_SMALL: Final = 60_000
_SOMETIMES: Final = 400_000
"""Bytes of the files that most mutants are made from, and of those that every tenth is made from."""

_ENGRAVED: Final = int(os.environ.get("MUTANTS_ENGRAVED", "20"))
"""Every how many mutants one goes through variants and the engraver too."""


class HangError(BaseException):
    """A mutant took too long."""


@cache
def _sources(most: int) -> tuple[Path, ...]:
    import music21

    folder = Path(str(music21.__file__)).parent / "corpus"
    found = [path for ending in ("mxl", "xml", "musicxml") for path in sorted(folder.rglob(f"*.{ending}"))]
    found += sorted((ROOT / "scores").glob("*.mxl")) + sorted((ROOT / "scores").glob("*.musicxml"))
    return tuple(path for path in found if len(_document(path)) <= most)


@cache
def _document(path: Path) -> bytes:
    return unwrap(path.read_bytes(), path.name)


def mutant(number: int) -> tuple[Path, bytes]:
    """The file that a mutant comes from, and its bytes; the same for the same number."""
    random = Random(number)
    path = random.choice(_sources(_SOMETIMES if number % 10 == 0 else _SMALL))
    return path, mutated(_document(path), random, random.choice((1, 1, 1, 2, 3, 5, 8)))


def try_mutant(number: int) -> str:
    """Show and cut a mutant; gives what became of it: "cut", or "refused".

    Raises:
        Exception: A finding.
    """
    path, data = mutant(number)
    random = Random(number)
    outcome = "refused"
    with suppress(ExcerptsError):
        opened = score_from_bytes(data, path.name)
        look_at(opened)
        for _ in range(3):
            with suppress(ExcerptsError):
                cut_somewhere(opened, random)
                outcome = "cut"
    if number % _ENGRAVED == 0:
        with suppress(ExcerptsError):
            outcome = _printed(data, path.name, random)
    return outcome


def _printed(data: bytes, name: str, random: Random) -> str:
    """Take a short passage through two variants, and engrave what comes of it."""
    opened = score_from_bytes(data, name)
    one = opened.part(f"#{random.randint(1, len(opened.parts))}")
    passage = one.passage(random_address(one, random))
    if passage.span.last - passage.span.first > 12:
        return "too long to engrave"
    excerpt = passage.cut(1)
    engrave(excerpt, Style())
    for text in random.sample([text for info in variants() for text in info.examples], 2):
        with suppress(ExcerptsError):
            engrave(vary(excerpt, text), Style())
    return "engraved"


def _on_alarm(_number: int, _frame: object) -> None:
    raise HangError


def run(first: int, last: int, record: Path) -> Counter[str]:
    """Try mutants one after the other, and write down findings and, every hundred, how far it got."""
    counts: Counter[str] = Counter()
    seen: set[str] = set()
    signal.signal(signal.SIGVTALRM, _on_alarm)
    for number in range(first, last):
        signal.setitimer(signal.ITIMER_VIRTUAL, CPU_LIMIT)
        try:
            counts[try_mutant(number)] += 1
        except (Exception, HangError) as error:
            signal.setitimer(signal.ITIMER_VIRTUAL, 0)
            counts["FINDINGS"] += 1
            _note(number, error, seen, record)
        finally:
            signal.setitimer(signal.ITIMER_VIRTUAL, 0)
        if (number + 1) % 100 == 0:
            told = {"done": number + 1, "cpu": round(process_time()), **counts}
            record.with_suffix(".json").write_text(json.dumps(told), encoding="utf-8")
    return counts


def _note(number: int, error: BaseException, seen: set[str], record: Path) -> None:
    frames = [f for f in traceback.extract_tb(error.__traceback__) if "/excerpts/" in f.filename]
    place = f"{Path(frames[-1].filename).name}:{frames[-1].lineno}" if frames else "?"
    name = f"{type(error).__name__} at {place}"
    with record.open("a", encoding="utf-8") as file:
        file.write(f"{number} {name}: {str(error)[:100]}\n")
        if name not in seen:
            file.write("".join(traceback.format_exception(error)[-6:]))
    seen.add(name)


def main(arguments: list[str]) -> None:
    """Go on with the run up to the number that is given, or try the single one behind `--only`."""
    if arguments[0] == "--only":
        path, data = mutant(int(arguments[1]))
        Path(f"/tmp/fuzz/mutant-{arguments[1]}.musicxml").write_bytes(data)
        print(path, try_mutant(int(arguments[1])))
        return
    record = Path(os.environ.get("MUTANTS_RECORD", "/tmp/fuzz/mutants.txt"))
    record.parent.mkdir(parents=True, exist_ok=True)
    kept = record.with_suffix(".json")
    before = json.loads(kept.read_text(encoding="utf-8")) if kept.exists() else {"done": 0}
    counts = run(before["done"], int(arguments[0]), record)
    print(f"mutants {before['done']} to {arguments[0]}, {process_time():.0f} s: {dict(counts)}")


if __name__ == "__main__":
    main(sys.argv[1:])
