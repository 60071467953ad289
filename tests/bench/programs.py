"""What a workbook is measured against: `python -m tests.bench.programs floor|peer|record FOLDER`.

`record` builds the workbook of FOLDER/week.toml and keeps what the other two need. `floor` does only what no program of
this kind can leave out: it engraves and draws the same excerpts and lays out the same final pages once. `peer` is the
straightforward script: music21 reads the score, cuts by `measures()` and writes each passage, verovio engraves it, the
page maker puts the pictures on as many pages.
"""

from __future__ import annotations

import json
import pickle
import sys
from pathlib import Path
from typing import Any

RECORD = "record.pickle"
FACTS = "facts.json"
PAGES = "pages.html"


def record(folder: Path) -> None:
    """Build the workbook once; keep its excerpts, its final pages and where its passages stand."""
    from excerpts.engrave import Style
    from excerpts.excerpt import Excerpt
    from excerpts.system.resources import templates
    from excerpts.week import load_week
    from excerpts.workbook import build, build_workbook, render
    from excerpts.workbook.render_cache import Printed, RenderCache

    calls: list[tuple[Excerpt, Style, tuple[str, ...]]] = []
    pages: list[tuple[str, list[str], str]] = []

    class Listening(RenderCache):
        def printed(self, excerpt: Excerpt, style: Style, labels: tuple[str, ...] = ()) -> Printed:
            calls.append((excerpt, style, labels))
            return super().printed(excerpt, style, labels)

    laid_out = render.lay_out_text

    def lay_out_text(html: str, *, images: dict[str, Any], styles: list[str], page_rules: str) -> Any:
        pages.append((html, list(styles), page_rules))
        return laid_out(html, images=images, styles=styles, page_rules=page_rules)

    vars(build)["lay_out_text"] = lay_out_text
    week = load_week(folder / "week.toml")
    built = build_workbook(week, memory=Listening())
    with (folder / RECORD).open("wb") as file:
        pickle.dump((calls, pages[-1]), file)
    places = [(str(week.score_paths[one.piece or ""]), one.bars) for one in week.boxes]
    html, styles, rules = pages[-1]
    (folder / PAGES).write_text(html, encoding="utf-8")
    facts = {
        "pages": built.pages,
        "excerpts": len(calls),
        "places": places,
        "styles": styles,
        "rules": rules,
        "templates": str(templates()),
    }
    (folder / FACTS).write_text(json.dumps(facts), encoding="utf-8")


def floor(folder: Path) -> None:
    """Engrave, draw and lay out what was recorded."""
    with (folder / RECORD).open("rb") as file:
        calls, (html, styles, rules) = pickle.load(file)
    from excerpts.workbook.beat import beat_images
    from excerpts.workbook.pdf_image import DrawnMusic
    from excerpts.workbook.render import collector_paused, lay_out_text, write_pdf
    from excerpts.workbook.render_cache import printed

    with collector_paused():
        images: dict[str, Any] = dict(beat_images())
        for excerpt, style, labels in calls:
            for system in printed(excerpt, style, labels).systems:
                images[f"music:{len(images) + 1}"] = DrawnMusic(system.svg, system.width_mm, system.height_mm)
        document = lay_out_text(html, images=images, styles=styles, page_rules=rules)
        (folder / "floor.pdf").write_bytes(write_pdf(document))


def peer(folder: Path) -> None:
    """The same pages with nothing but music21, verovio and WeasyPrint: its pictures are those of the engraver."""
    import re
    from base64 import b64encode

    import music21
    import verovio
    from music21.musicxml.m21ToXml import GeneralObjectExporter
    from weasyprint import CSS, HTML

    facts = json.loads((folder / FACTS).read_text(encoding="utf-8"))
    html = (folder / PAGES).read_text(encoding="utf-8")
    toolkit = verovio.toolkit()
    # One system on each of its pages, as the workbook's pages have them.
    look = {
        "pageWidth": 1750,
        "pageHeight": 100,
        "adjustPageHeight": True,
        "header": "none",
        "footer": "none",
    }
    toolkit.setOptions(look)
    scores: dict[str, Any] = {}
    sources: list[str] = []
    for place in range(facts["excerpts"]):
        path, bars = facts["places"][place % len(facts["places"])]
        if path not in scores:
            scores[path] = music21.converter.parse(path)
        first, last = (int(bar) for bar in bars.split("-"))
        cut = scores[path].parts[0].measures(first - 1, last + 1)
        toolkit.loadData(GeneralObjectExporter(cut).parse().decode())
        for page in range(1, toolkit.getPageCount() + 1):
            svg = toolkit.renderToSVG(page).encode()
            sources.append("data:image/svg+xml;base64," + b64encode(svg).decode())
    taken = iter(range(10**6))

    def source(found: re.Match[str]) -> str:
        return f'style="width:100%" src="{sources[next(taken) % len(sources)]}"'

    html = re.sub(r'src="music:\d+"(?= alt="[^"])', source, html)
    html = re.sub(r'<img[^>]*src="music:\d+"[^>]*>', "", html)
    base = facts["templates"]
    sheets = [CSS(filename=str(Path(base) / name)) for name in ("faces.css", *facts["styles"])]
    HTML(string=html, base_url=Path(base).as_uri() + "/").write_pdf(
        folder / "peer.pdf", stylesheets=[*sheets, CSS(string=facts["rules"])]
    )


if __name__ == "__main__":
    {"record": record, "floor": floor, "peer": peer}[sys.argv[1]](Path(sys.argv[2]).resolve())
