"""`excerpts show`: what is in a score."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from excerpts.cli.command import Arg
from excerpts.cli.options import ScoreFile, exact, print_json, warn
from excerpts.system.studio_files import STUDIO_FILE
from excerpts.words import Words, choices

if TYPE_CHECKING:
    from excerpts.score import Score
    from excerpts.score.boxes_in_score import MarkedBox, Marks
    from excerpts.score.overview import Change


def show(
    score: ScoreFile,
    as_json: Annotated[bool, Arg("--json", help="Print everything as JSON.")] = False,
    boxes: Annotated[
        bool,
        Arg(
            "--boxes",
            help="Show the passages that are marked in the score: by a bracket line, words in a rectangle, "
            "or notes in one colour.",
        ),
    ] = False,
    words: Annotated[
        str | None,
        Arg(
            "--words",
            choices=choices,
            help=lambda: f"Words to use: {', '.join(choices())}; default: those of the studio.",
        ),
    ] = None,
) -> None:
    """Show title, parts, bars, rehearsal marks, keys, times and tempi of a score."""
    from excerpts.score import open_score

    opened = open_score(score)
    spoken = Words(words or _setting(score))
    warn(*(f"{score}: {warning}" for warning in opened.warnings))
    if boxes:
        from excerpts.score.boxes_in_score import read_marks

        marks = {info.place: read_marks(opened.part(f"#{info.place}")) for info in opened.parts}
        if as_json:
            print_json(_boxes_as_json(opened, marks))
        else:
            print(_boxes_as_text(opened, marks, spoken))
    elif as_json:
        print_json(_facts(opened))
    else:
        print(_text(opened, spoken))


def _setting(score: Path) -> str:
    """The words that the studio asks for whose folder the score lies in; else "uk"."""
    import tomllib

    folder = score.resolve().parent
    for candidate in (folder, *folder.parents):
        if (candidate / STUDIO_FILE).is_file():
            try:
                words = tomllib.loads((candidate / STUDIO_FILE).read_text(encoding="utf-8")).get(
                    "words", "uk"
                )
            except (OSError, ValueError):
                words = None
            if words in choices():
                return str(words)
            from excerpts.weekfile.studio_folder import find_root  # which says what is wrong in the file

            return find_root(candidate).settings.words
    return "uk"


def _facts(score: Score) -> dict[str, Any]:
    from excerpts.score.overview import overview

    parts = []
    for info in score.parts:
        part = score.part(f"#{info.place}")
        view = overview(part.bars)
        parts.append(
            {
                "id": info.id,
                "name": info.name,
                "place": info.place,
                "instrument": info.instrument,
                "bars": [
                    {"label": bar.label, "place": bar.place, "length": exact(bar.length)}
                    for bar in part.bars.info()
                ],
                "marks": [{"text": mark.text, "place": mark.place} for mark in part.bars.marks],
                "keys": [_change(change) for change in view.keys],
                "times": [_change(change) for change in view.times],
                "tempos": [_change(change) for change in view.tempos],
            }
        )
    return {"file": score.name, "title": score.title, "composer": score.composer, "parts": parts}


def _boxes_as_text(score: Score, marked: dict[int, Marks], words: Words) -> str:
    lines: list[str] = []
    for info in score.parts:
        marks = marked[info.place]
        if marks.boxes or marks.others:
            lines.append(f"#{info.place}  {info.name or words('show.no_name')}")
        lines += [_box_line(box, words) for box in marks.boxes]
        if marks.others:
            lines += [f"    {words('show.not_boxed')}", *(f"      {other}" for other in marks.others)]
    if not any(marks.boxes for marks in marked.values()):
        lines.append(words("show.none_marked"))
    return "\n".join(lines)


def _box_line(box: MarkedBox, words: Words) -> str:
    how = words(f"show.{box.by}")
    phrases = [words("show.boxed", how=how, text=box.text) if box.text else how]
    phrases += [words("show.why", faults=", ".join(box.why))] if box.why else []
    phrases += [words("show.note", text=box.note)] if box.note else []
    return f"    {box.address:<12} {'; '.join(phrases)}"


def _boxes_as_json(score: Score, marked: dict[int, Marks]) -> dict[str, Any]:
    parts = [(info, marked[info.place]) for info in score.parts]
    boxes = [
        {
            "part": info.place,
            "name": info.name,
            "bars": box.address,
            "by": box.by,
            "text": box.text,
            "why": list(box.why),
            "note": box.note,
        }
        for info, marks in parts
        for box in marks.boxes
    ]
    others = [
        {"part": info.place, "name": info.name, "bars": list(other.bars), "what": other.what}
        for info, marks in parts
        for other in marks.others
    ]
    return {"file": score.name, "boxes": boxes, "not_boxed": others}


def _change(change: Change) -> dict[str, Any]:
    return {"bar": change.label, "place": change.place, "onset": exact(change.onset), "is": change.text}


def _text(score: Score, words: Words) -> str:
    from excerpts.score.numbering import Numbering
    from excerpts.score.overview import overview

    lines = [score.title or words("show.no_title")]
    if score.composer:
        lines.append(score.composer)
    for info in score.parts:
        bars = score.part(f"#{info.place}").bars
        instrument = f" ({info.instrument})" if info.instrument and info.instrument != info.name else ""
        name = f"{info.name or words('show.no_name')}{instrument}"
        lines += ["", words("show.part", place=info.place, name=name, id=info.id or words("show.no_id"))]
        lines.append(_row("bars", Numbering(bars).range_said(words), words))
        odd = [
            f"@{place}" for place, bar in enumerate(bars.measures, start=1) if bar.get("implicit") == "yes"
        ]
        if odd:
            lines.append(f"    {words('show.unnumbered', places=_listed(odd, words))}")
        view = overview(bars, words)
        for row, values in (("keys", view.keys), ("times", view.times), ("tempi", view.tempos)):
            lines += _places(row, [(value.text, value.label) for value in values], words)
        lines += _places("marks", [(mark.text, bars.labels[mark.place - 1]) for mark in bars.marks], words)
    return "\n".join(lines)


def _places(row: str, changes: list[tuple[str, str]], words: Words) -> list[str]:
    said = [words("show.at", text=text, bar=label) for text, label in changes]
    return [_row(row, _listed(said, words), words)] if said else []


def _row(row: str, text: str, words: Words) -> str:
    width = max(len(words(f"show.{name}")) for name in ("bars", "keys", "times", "tempi", "marks"))
    return f"    {words(f'show.{row}'):<{max(width, 8)}} {text}"


def _listed(texts: list[str], words: Words, most: int = 12) -> str:
    listed = ", ".join(texts[:most])
    return words("show.more", texts=listed, n=len(texts) - most) if len(texts) > most else listed
