"""The work of `excerpts show`, without what reads command lines: it comes here by a way of its own."""

from __future__ import annotations

import sys
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from excerpts.score import Score, open_score
from excerpts.score.numbering import Numbering
from excerpts.score.overview import Change, overview

if TYPE_CHECKING:
    from excerpts.score.marked import MarkedBox, Marks


def show_score(*, score: Path, as_json: bool, boxes: bool) -> None:
    """Print what is in a score, or the passages that are marked in it; the values are those of the command."""
    opened = open_score(score)
    for warning in opened.warnings:
        print(f"excerpts: {score}: {warning}", file=sys.stderr)  # noqa: T201
    if boxes:
        from excerpts.score.marked import read_marks

        found = {info.place: read_marks(opened.part(f"#{info.place}")) for info in opened.parts}
        print(_boxes_as_json(opened, found) if as_json else _boxes_as_text(opened, found))  # noqa: T201
        return
    print(_json(_facts(opened)) if as_json else _text(opened))  # noqa: T201


def _json(facts: dict[str, Any]) -> str:
    import json

    return json.dumps(facts, ensure_ascii=False, indent=2)


def _number(value: Fraction) -> int | float | str:
    """A length for JSON: a whole number where it is one, else an exact fraction as text."""
    return value.numerator if value.denominator == 1 else str(value)


def _facts(score: Score) -> dict[str, Any]:
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
                    {"label": bar.label, "place": bar.place, "length": _number(bar.length)}
                    for bar in part.bars.info()
                ],
                "marks": [{"text": mark.text, "place": mark.place} for mark in part.bars.marks],
                "keys": [_change(change) for change in view.keys],
                "times": [_change(change) for change in view.times],
                "tempos": [_change(change) for change in view.tempos],
            }
        )
    return {"file": score.name, "title": score.title, "composer": score.composer, "parts": parts}


_BY: Final = {"bracket": "bracket line", "rectangle": "words in a rectangle", "colour": "notes in a colour"}


def _boxes_as_text(score: Score, found: dict[int, Marks]) -> str:
    lines: list[str] = []
    for info in score.parts:
        marks = found[info.place]
        if marks.boxes or marks.others:
            lines.append(f"#{info.place}  {info.name or '(no name)'}")
        lines += [_box_line(box) for box in marks.boxes]
        if marks.others:
            lines += ["    not boxed:", *(f"      {other}" for other in marks.others)]
    if not any(marks.boxes for marks in found.values()):
        lines.append(
            "No passage is marked. A bracket line, words in a rectangle or notes in one colour mark one."
        )
    return "\n".join(lines)


def _box_line(box: MarkedBox) -> str:
    told = [f"{_BY[box.by]}{f': {box.text}' if box.text else ''}"]
    told += [f"why: {', '.join(box.why)}"] if box.why else []
    told += [f"note: {box.note}"] if box.note else []
    return f"    {box.address:<12} {'; '.join(told)}"


def _boxes_as_json(score: Score, found: dict[int, Marks]) -> str:
    parts = [(info, found[info.place]) for info in score.parts]
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
    return _json({"file": score.name, "boxes": boxes, "not_boxed": others})


def _change(change: Change) -> dict[str, Any]:
    return {"bar": change.label, "place": change.place, "onset": _number(change.onset), "is": change.text}


def _text(score: Score) -> str:
    lines = [score.title or "(no title)"]
    if score.composer:
        lines.append(score.composer)
    for info in score.parts:
        bars = score.part(f"#{info.place}").bars
        view = overview(bars)
        instrument = f" ({info.instrument})" if info.instrument and info.instrument != info.name else ""
        lines += ["", f"#{info.place}  {info.name or '(no name)'}{instrument}, id {info.id or '(none)'}"]
        lines.append(f"    bars     {Numbering(bars).range_text().removeprefix('bars ')}")
        odd = [place for place, bar in enumerate(bars.measures, start=1) if bar.get("implicit") == "yes"]
        if odd:
            lines.append(f"    unnumbered on the page: {_listed([f'@{place}' for place in odd])}")
        for name, values in (("keys", view.keys), ("times", view.times), ("tempi", view.tempos)):
            if values:
                lines.append(f"    {name:<8} {_listed([f'{v.text} (bar {v.label})' for v in values])}")
        if bars.marks:
            marks = [f"{mark.text} (bar {bars.labels[mark.place - 1]})" for mark in bars.marks]
            lines.append(f"    marks    {_listed(marks)}")
    return "\n".join(lines)


def _listed(texts: list[str], most: int = 12) -> str:
    tail = f", and {len(texts) - most} more" if len(texts) > most else ""
    return ", ".join(texts[:most]) + tail
