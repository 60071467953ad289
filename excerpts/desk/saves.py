"""The one door through which the desk writes a teacher's files.

Every page shows a file with the digest of its bytes. A save brings that digest back: a file that was edited elsewhere
meanwhile is never written over. When `save` returns, the file is on the disk whole, the step stands in the list of
undo, and the file's comments, mode and link are as they were.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from excerpts.desk.as_opened import AsOpened
from excerpts.desk.undo import Step, UndoList, digest_of
from excerpts.errors import InputError, OutputError
from excerpts.system.lock import held
from excerpts.system.output import write_whole

if TYPE_CHECKING:
    from excerpts.log import LogFault, LogRow
    from excerpts.words import Words


@dataclass(frozen=True, slots=True)
class Shown:
    """A file as a page shows it.

    Attributes:
        path: The file.
        data: What it holds; empty for one that is not there yet.
        digest: SHA-256 of that; empty for one that is not there yet.
    """

    path: Path
    data: bytes
    digest: str

    @property
    def text(self) -> str:
        """What it holds as text; what is no UTF-8 is replaced."""
        return self.data.decode("utf-8-sig", "replace")


class ChangedOutside(InputError):  # noqa: N818 (it names what has happened)
    """A file is not as it was shown: somebody else has written it since.

    Attributes:
        path: The file.
        ours: What was to be written.
        theirs: What it holds now.
        digest: Digest of what it holds now: a save that brings it writes over what was seen.
    """

    def __init__(self, path: Path, ours: bytes, theirs: bytes, digest: str = "") -> None:
        super().__init__("it was changed elsewhere since it was shown here.", where=path.name)
        self.path = path
        self.ours = ours
        self.theirs = theirs
        self.digest = digest or (digest_of(theirs) if theirs else "")


class Saves:
    """Reads and writes the files of one studio.

    Args:
        root: The studio's folder: no file outside it is read or written.
        own: The desk's own folder for this studio.
    """

    def __init__(self, root: Path, own: Path) -> None:
        self.root = root.resolve()
        self._lock = own / "lock"
        self.undo_list = UndoList(own)
        self.as_opened = AsOpened(own / "opened")

    def show(self, path: Path, *, opened: bool = False) -> Shown:
        """A file with the digest that a save has to bring back.

        Args:
            path: The file.
            opened: It is opened to be worked on: it is kept as it is now, for some days.

        Raises:
            OutputError: It lies outside the studio, or cannot be read.
        """
        data = _read(self.inside(path))
        if data is None:
            return Shown(path, b"", "")
        if opened:
            self.as_opened.keep(self._name(path), data)
        return Shown(path, data, digest_of(data))

    def save(self, path: Path, digest_shown: str, new_bytes: bytes, *, what: str) -> str:
        """Write a file whole, if it is still as it was shown.

        Args:
            path: The file; a link is followed, and the file's mode is kept.
            digest_shown: The digest that it was shown with; empty for a file that was not there.
            new_bytes: What it is to hold.
            what: What is done, in words, for the list of undo.

        Returns:
            The digest of the file now.

        Raises:
            ChangedOutside: It is not as it was shown.
            OutputError: It lies outside the studio, or cannot be written.
        """
        return self._write(path, digest_shown, new_bytes, what)

    def add_rows(
        self,
        path: Path,
        rows: Sequence[LogRow],
        player: str,
        words: Words,
        *,
        what: str,
        digest_shown: str | None = None,
    ) -> tuple[LogFault, ...]:
        """Add rows to a player's log; they can be taken back by rows that undo them.

        Args:
            path: The log.
            rows: The rows; among them may be those that take back others.
            player: Name of the player.
            words: Words of the player.
            what: What is done, in words, for the list of undo.
            digest_shown: The digest that the log was shown with, where the rows were made from what it held.

        Raises:
            ChangedOutside: The log is not as it was shown.
            InputError: As `append_rows` says.
            OutputError: It lies outside the studio, or cannot be written.
        """
        from excerpts.log import append_rows
        from excerpts.log.row import row_line

        with self._alone():
            lines = tuple(row_line(row, words) for row in rows)
            name = self._name(self.inside(path))
            if digest_shown is not None:
                now = _read(self.inside(path))
                if digest_of(now) != digest_shown:
                    raise ChangedOutside(path, "".join(lines).encode(), now or b"")
            step = self.undo_list.begin(Step(0, "", what, name, rows=lines, player=player))
            try:
                faults = append_rows(path, rows, player, words)
            except BaseException:
                self.undo_list.mark(step, "dropped")
                raise
            self.undo_list.mark(step, "done")
            return faults

    def steps(self) -> list[Step]:
        """The steps that were done, in order, those that were taken back among them.

        A step that a crash left half done counts as done if its file is as it was to be.
        """
        return [step for step in self.undo_list.steps() if self._is_done(step)]

    def undo_last(self) -> Step | None:
        """Take back the last step that was not taken back yet; None where there is none.

        Raises:
            ChangedOutside: Its file was edited since. Nothing is changed.
            InputError: Its rows are not in the log any more, or the file before it was not kept.
        """
        with self._alone():
            last = next((step for step in reversed(self.steps()) if step.state != "undone"), None)
            if last is None:
                return None
            if last.of_log:
                self._take_back_rows(last)
            else:
                self._bring_back(last)
            self.undo_list.mark(last, "undone")
            return last

    def _write(self, path: Path, digest_shown: str, new_bytes: bytes, what: str) -> str:
        real = self.inside(path)
        with self._alone():
            now = _read(real)
            if digest_of(now) != digest_shown:
                raise ChangedOutside(path, new_bytes, now or b"")
            after = digest_of(new_bytes)
            if now is not None and after == digest_shown:
                return after
            before = self.undo_list.keep(now) if now is not None else ""
            step = self.undo_list.begin(Step(0, "", what, self._name(path), before, after))
            try:
                write_whole(real, new_bytes, as_before=True)
            except BaseException:
                self.undo_list.mark(step, "dropped")
                raise
            self.undo_list.mark(step, "done")
            return after

    def _bring_back(self, step: Step) -> None:
        path = self.inside(self.root / step.path)
        now = _read(path)
        before = self.undo_list.kept(step.before) if step.before else None
        if step.before and before is None:
            raise InputError("the file as it was before is not kept any more.", where=step.path)
        if digest_of(now) != step.after:
            raise ChangedOutside(path, before or b"", now or b"")
        if before is None:
            with suppress(FileNotFoundError):
                path.unlink()
        else:
            write_whole(path, before, as_before=True)

    def _take_back_rows(self, step: Step) -> None:
        from excerpts.log import append_rows, read_log
        from excerpts.log.row import read_row, row_digest, undo_row
        from excerpts.words import Words

        path = self.inside(self.root / step.path)
        log = read_log(path, step.player)
        left, gone = list(log.rows), {row_digest(row): row for row in log.undone}
        wanted = []
        for row in reversed([read_row(line) for line in step.rows]):
            if row.kind == "undo" and row.note in gone:
                wanted.append(gone[row.note])  # what the step took back is there again
                continue
            if row not in left:
                raise InputError(
                    "the row is not there any more: it was taken back elsewhere.", where=step.path
                )
            left.remove(row)
            wanted.append(undo_row(row))
        append_rows(path, wanted, step.player, Words())

    def _is_done(self, step: Step) -> bool:
        if step.state == "begun":
            if step.of_log:
                return (
                    False  # nobody was told that it is written; `excerpts log --undo` takes it back if it is
                )
            now = _read(self.root / step.path)
            return digest_of(now) == step.after
        return step.state != "dropped"

    def _name(self, path: Path) -> str:
        """A file's path from the studio's folder."""
        return os.path.relpath(path, self.root) if not path.is_absolute() else str(_below(path, self.root))

    def inside(self, path: Path) -> Path:
        """The file that a path or a link leads to.

        Raises:
            OutputError: It lies outside the studio.
        """
        try:
            real = path.resolve()
        except (OSError, RuntimeError) as error:
            raise OutputError(f"the file cannot be reached ({error}).", where=path.name) from error
        if not real.is_relative_to(self.root):
            raise OutputError(
                f"it lies outside the studio's folder {self.root}.",
                where=path.name,
                hint="Put it inside, so that a studio never writes other files of this computer.",
            )
        return real

    @contextmanager
    def _alone(self) -> Iterator[None]:
        """Write while no other page, and no other desk, writes in the same studio."""
        with self.undo_list.lock:
            handle = os.open(self._lock, os.O_RDWR | os.O_CREAT, 0o600)
            try:
                with held(handle):
                    yield
            finally:
                os.close(handle)


def _below(path: Path, root: Path) -> Path:
    """A path from the studio's folder, also where the folder was reached by a link."""
    for whole in (path, path.parent.resolve() / path.name):
        with suppress(ValueError):
            return whole.relative_to(root)
    return path.resolve().relative_to(root)


def _read(path: Path) -> bytes | None:
    """What a file holds; None for one that is not there.

    Raises:
        OutputError: It cannot be read.
    """
    try:
        return path.read_bytes()
    except FileNotFoundError:
        return None
    except OSError as error:
        raise OutputError(f"the file cannot be read ({error.strerror}).", where=path.name) from error
