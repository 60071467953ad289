"""Printed pages at the desk: how soon a page is seen and can be boxed, and what a frame of a drag costs.

    nice python -m tests.bench.bench_pages

Three pages of a quartet (music21's corpus, engraved by verovio) as a PDF, and a page of it as a photo. "Picture" is
from the request to the first picture, "bars" to bars under the pointer; new, and again when the cache has them. A frame
is what one move of the pointer over the bars costs the page's own thread, layout and painting included. The goal is a
page that can be used 1 s after its request where the looking is cached.

Found on two x86-64 cores that were very busy with other work (Python 3.11, Chromium): again, picture 0.1 to 0.3 s and
bars 0.2 to 0.4 s; new, picture 1 to 5 s and bars 3.5 to 6 s, the start of the child included; a frame 0.5 ms, the worst
4.5.
"""

from __future__ import annotations

import os
import statistics
import tempfile
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

GOAL = 1.0
GOAL_FRAME = 16.0
_TIMES = 3
_MOVES = """() => {
  const sheets = document.getElementById('sheets');
  const bars = [...document.querySelectorAll('.bar')].filter((bar) => {
    const box = bar.getBoundingClientRect();
    return box.top > 40 && box.bottom < innerHeight - 40;
  });
  const at = (bar, type) => {
    const box = bar.getBoundingClientRect();
    bar.dispatchEvent(new PointerEvent(type, { bubbles: true, pointerId: 1, button: 0, isPrimary: true,
      clientX: box.left + box.width / 2, clientY: box.top + box.height / 2 }));
  };
  sheets.setPointerCapture = () => {};
  at(bars[0], 'pointerdown');
  const times = [];
  for (const bar of [...bars, ...bars.reverse()]) {
    const start = performance.now();
    at(bar, 'pointermove');
    void document.body.offsetHeight;
    times.push(performance.now() - start);
  }
  at(bars[bars.length - 1], 'pointercancel');
  return times;
}"""
_SEEN = """() => performance.getEntriesByType('resource').find((one) => one.name.endsWith('/1/picture')).responseEnd"""
_USABLE = """() => performance.getEntriesByName('first-look')[0].startTime"""


def main() -> None:
    """Measure, and print each figure beside its goal."""
    with tempfile.TemporaryDirectory() as folder:
        for name in ("XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_RUNTIME_DIR"):
            os.environ[name] = str(Path(folder) / name)
            Path(os.environ[name]).mkdir()
        _measure(Path(folder) / "studio")


def _measure(studio: Path) -> None:
    from tests.desk.running import RunningDesk
    from tests.paper.engraved import as_pdf, engraved
    from tests.paper.test_cut import WEEK
    from tests.paper.test_found import photographed, png, rendered

    studio.mkdir()
    (studio / "studio.toml").write_text("format = 1\n", encoding="utf-8")
    page = engraved("mozart/k155/movement2.mxl", unit=7.0)
    pdf = as_pdf(page, page, page)
    (studio / "quartet.pdf").write_bytes(pdf)
    (studio / "photo.png").write_bytes(png(photographed(rendered(pdf, 200)), 200))
    head = WEEK.partition("[[piece]]")[0]
    for name in ("quartet.pdf", "photo.png"):
        (studio / "week.toml").write_text(
            f'{head}[[piece]]\nid = "a"\ntitle = "A"\npages = "{name}"\n', encoding="utf-8"
        )
        with RunningDesk(studio) as desk, sync_playwright() as playwright:
            chromium = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=["--no-sandbox"])
            shown = chromium.new_page(viewport={"width": 1280, "height": 900})
            shown.goto(desk.desk.start_address)
            shown.wait_for_url(f"{desk.address}/")
            address = f"{desk.address}/pages/{desk.desk.studio.players()[0].key}/a"
            new = _opened(shown, address)
            again = [_opened(shown, address) for _ in range(_TIMES)]
            picture, bars = (statistics.median(one) for one in zip(*again, strict=True))
            print(
                f"{name}: picture new {new[0]:.2f} s, again {picture:.2f} s; bars new {new[1]:.2f} s, ",
                end="",
            )
            print(f"again {bars:.2f} s (goal {GOAL})")
            times = shown.evaluate(_MOVES)
            print(
                f"  frame of a drag: {statistics.median(times):.1f} ms, worst {max(times):.1f} (goal {GOAL_FRAME})"
            )
            chromium.close()


def _opened(page: Page, address: str) -> tuple[float, float]:
    """Seconds from the request to the first picture, and to the first bars."""
    page.goto(address)
    page.wait_for_selector("#page-1 .bar", timeout=60_000)
    page.wait_for_function("document.querySelector('.leaf img').complete")
    return page.evaluate(_SEEN) / 1000, page.evaluate(_USABLE) / 1000


if __name__ == "__main__":
    main()
