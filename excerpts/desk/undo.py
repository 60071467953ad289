"""The list of what the desk has written, in order, so that the last step can be taken back, also after a restart.

It is a file of lines of JSON. A step is written down before it is done (`begun`) and again when it is done: one that a
crash left half done is told by the file that it was to change. The bytes of files stand beside it by their SHA-256.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path
from threading import RLock
from typing import Any, Final, Literal

from excerpts.system.output import settle, write_whole

State = Literal["begun", "done", "undone", "dropped"]

MOST: Final = 2_000
"""Steps that are kept."""


@dataclass(frozen=True, slots=True)
class Step:
    """One step.

    Attributes:
        number: Its place in the list, from 1.
        when: Time of the step, as ISO 8601.
        what: What was done, in words.
        path: The file, from the studio's folder.
        before: Digest of the file before; empty where there was none.
        after: Digest of the file after; empty where it was taken away.
        rows: For rows of a log: their lines; nothing for a file.
        player: For rows of a log: whose it is.
        state: How far it is.
    """

    number: int
    when: str
    what: str
    path: str
    before: str = ""
    after: str = ""
    rows: tuple[str, ...] = ()
    player: str = ""
    state: State = "begun"

    @property
    def of_log(self) -> bool:
        """Whether rows of a log were added."""
        return bool(self.rows)


def digest_of(data: bytes | None) -> str:
    """SHA-256 of the bytes of a file; "" where there is none."""
    return "" if data is None else sha256(data).hexdigest()


class UndoList:
    """The steps of one studio.

    Args:
        folder: Where the list and the bytes stand.
    """

    def __init__(self, folder: Path) -> None:
        self._file = folder / "undo.jsonl"
        self._bytes = folder / "bytes"
        self._bytes.mkdir(mode=0o700, parents=True, exist_ok=True)
        self.lock = RLock()

    def steps(self) -> list[Step]:
        """All steps in order, read anew: another desk on the same studio may have written."""
        by_number: dict[int, Step] = {}
        for entry in self._lines():
            number = entry["number"]
            if number in by_number:
                by_number[number] = replace(by_number[number], state=entry["state"])
            else:
                by_number[number] = Step(**(entry | {"rows": tuple(entry["rows"])}))
        return [by_number[number] for number in sorted(by_number)]

    def trim(self, most: int = MOST) -> None:
        """Forget all but the last steps, and the bytes that only those had."""
        with self.lock:
            steps = self.steps()
            if len(steps) <= most:
                return
            last = steps[-most:]
            write_whole(self._file, b"".join(json.dumps(asdict(step)).encode() + b"\n" for step in last))
            needed = {step.before for step in last}
            for path in self._bytes.iterdir():
                if path.name not in needed:
                    path.unlink(missing_ok=True)

    def begin(self, step: Step) -> Step:
        """Write down a step that is about to be done; returns it with its number."""
        with self.lock:
            steps = self.steps()
            numbered = replace(
                step,
                number=steps[-1].number + 1 if steps else 1,
                when=datetime.now(UTC).isoformat(timespec="seconds"),
            )
            self._add(asdict(numbered))
            return numbered

    def mark(self, step: Step, state: State) -> None:
        """Write down how far a step is now."""
        with self.lock:
            self._add({"number": step.number, "state": state})

    def keep(self, data: bytes) -> str:
        """Keep bytes; returns their digest."""
        digest = digest_of(data)
        path = self._bytes / digest
        if not path.exists():
            write_whole(path, data)
        return digest

    def kept(self, digest: str) -> bytes | None:
        """The bytes of a digest; None where they are not there any more, or harmed."""
        try:
            data = (self._bytes / digest).read_bytes()
        except OSError:
            return None
        return data if digest_of(data) == digest else None

    def _lines(self) -> Iterator[dict[str, Any]]:
        try:
            text = self._file.read_bytes()
        except FileNotFoundError:
            return
        for line in text.split(b"\n"):
            try:
                entry = json.loads(line)
            except ValueError:
                continue  # cut short by a crash: its step was never begun
            yield entry

    def _add(self, entry: dict[str, Any]) -> None:
        """Add a line; when this returns it is on the disk."""
        new = not self._file.exists()
        with self._file.open("ab") as file:
            # A line that a crash has cut short is closed first, so that nothing is glued to it.
            file.write(b"\n" + json.dumps(entry, ensure_ascii=False).encode() + b"\n")
            file.flush()
            os.fsync(file.fileno())
        if new:
            settle(self._file.parent)
