"""Our flat drawing against the engraver's own SVG, both printed by the same PDF maker (slow tier).

Outside check: verovio's own SVG, with the size given to its nested svg that the PDF maker wants, and its own
music font and our text face under the names that it asks for.
"""

from __future__ import annotations

import base64
import re
import shutil
import subprocess
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest

from excerpts.engrave import Style, engrave, picture
from excerpts.engrave.prepare import prepare
from excerpts.engrave.verovio_page import draw
from excerpts.excerpt import Excerpt
from excerpts.system.resources import templates
from tests.engrave.music import BASS, excerpt
from tests.engrave.test_flatten import SCORES

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="needs pdftoppm of poppler"),
]

STYLE = Style(bar_numbers="none")
BOUND = 0.02
"""Share of ink pixels that may differ by more than a pixel: hairlines that fall on another side of grey."""
SET_ANEW = ("metronome",)
"""Music with marks that we set otherwise on purpose (a closer dot, a smaller beat note): `test_marks` holds them."""
MUSIC = {
    **{name: music for name, music in SCORES.items() if name not in SET_ANEW},
    "chords": excerpt(["C4+E4+G4:q F#4+A4:q Bb4+D5:h", "C3+G3:w"], fifths=-3),
    "low": excerpt(["C2:e D2:e E2:q F2:h", "A1:q:thumb,I C4:q:3 E4:h:fermata"], clef=BASS),
}


def faces(folder: Path) -> str:
    from fontTools.ttLib import TTFont

    css = files("verovio").joinpath("data", "Leipzig.css").read_text()
    found = re.search(r"base64,([A-Za-z0-9+/=]+)", css)
    assert found
    woff = folder / "music.woff2"
    woff.write_bytes(base64.b64decode(found.group(1)))
    font = TTFont(woff)
    font.flavor = None
    font.save(folder / "music.ttf")
    tinos = (templates() / "fonts" / "music").as_uri()
    rules = [
        f"@font-face{{font-family:Times;src:url({tinos}/Tinos-{name}.ttf);font-weight:{weight};font-style:{slope}}}"
        for name, weight, slope in (
            ("Regular", "normal", "normal"),
            ("Bold", "bold", "normal"),
            ("Italic", "normal", "italic"),
            ("BoldItalic", "bold", "italic"),
        )
    ]
    return "".join(rules) + f"@font-face{{font-family:Leipzig;src:url({(folder / 'music.ttf').as_uri()})}}"


def _pixels(html: str, css: str, height: float, folder: Path, name: str) -> Any:
    import numpy as np
    import weasyprint

    page = (
        f"@page{{size:215mm {height:.0f}mm;margin:15mm}}body{{margin:0}}img{{display:block;overflow:visible}}"
    )
    pdf = folder / f"{name}.pdf"
    weasyprint.HTML(string=f"<style>{page}{css}</style>{html}").write_pdf(pdf)
    subprocess.run(["pdftoppm", "-r", "100", "-gray", "-singlefile", pdf, folder / name], check=True)
    data = (folder / f"{name}.pgm").read_bytes()
    head = re.match(rb"P5\s+(\d+)\s+(\d+)\s+255\s", data)
    assert head
    return np.frombuffer(data[head.end() :], np.uint8).reshape(int(head[2]), int(head[1])) < 128


def grown(ink: Any) -> Any:
    import numpy as np

    grown = ink.copy()
    for dy in (-1, 0, 1):
        for dx in (-1, 0, 1):
            grown |= np.roll(np.roll(ink, dy, 0), dx, 1)
    return grown


@pytest.mark.parametrize("name", MUSIC)
def test_our_drawing_shows_what_the_engraver_drew(name: str, tmp_path: Path) -> None:
    music: Excerpt = MUSIC[name]
    engraving = engrave(music, STYLE)
    starts = tuple(system.bars[0].bar for system in engraving.systems)
    left = engraving.systems[0].bars[0].left
    width = engraving.systems[0].bars[-1].right - left
    page = draw(prepare(music).text(starts), round(width * 72 / STYLE.staff_mm), natural=False)
    svg = page.svg.decode().replace(
        '<svg class="definition-scale"', '<svg width="100%" height="100%" class="definition-scale"'
    )
    box = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', svg)  # ten units of the page, of which a staff has 72
    assert box
    wide, high = (float(value) * 10 * STYLE.staff_mm / 72 for value in box.groups())
    source = "data:image/svg+xml;base64," + base64.b64encode(svg.encode()).decode()
    css = faces(tmp_path)
    theirs = _pixels(
        f'<img src="{source}" style="width:{wide}mm;height:{high}mm">', css, high + 40, tmp_path, "theirs"
    )
    ours_html = "".join(
        f'<img src="{picture(s)}" style="position:absolute;left:{-left}mm;top:{s.drawing.top_mm}mm;'
        f'width:{s.width_mm}mm;height:{s.height_mm}mm">'
        for s in engraving.systems
    )
    ours = _pixels(ours_html, css, high + 40, tmp_path, "ours")
    assert theirs.sum() > 500
    differing = (theirs & ~grown(ours)).sum() + (ours & ~grown(theirs)).sum()
    assert differing / theirs.sum() < BOUND
