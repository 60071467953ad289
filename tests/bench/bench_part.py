"""The drawn part in a browser at a quarter of its speed: how soon bars can be boxed, and what a frame of a drag costs.

    nice python -m tests.bench.bench_part

The part is the first violin of K. 458, first movement (283 bars, music21's corpus). "First lines" is from the
request to bars under the pointer, "all" to the last line; each with an empty cache of pictures and again. The throttle
(Chromium's `Emulation.setCPUThrottlingRate`, 4) slows the browser, not the desk. A frame is what one move of the
pointer costs the page's own thread, layout and painting of the band included. Its times are those of the clock on the
wall, so a machine that does other things makes the worst of them worse; the thread's own work is told beside them.
"""

from __future__ import annotations

import os
import statistics
import tempfile
from pathlib import Path

from playwright.sync_api import CDPSession, Page, sync_playwright

THROTTLE = 4
GOAL_FIRST = 1.0
GOAL_FRAME = 16.0
_FIRST_LOOK = 4000
"""Milliseconds that a teacher looks at the first page, in which the desk loads what the others need."""
_SETTLED = 1000
"""Milliseconds until what was loaded is laid out: a frame is measured by itself."""
_DRAGS = 3
_MOVES = """() => {
  const music = document.getElementById('music');
  const bars = [...document.querySelectorAll('.bar')].filter((bar) => {
    const box = bar.getBoundingClientRect();
    return box.top > 0 && box.bottom < innerHeight;
  });
  const at = (bar, type) => {
    const box = bar.getBoundingClientRect();
    bar.dispatchEvent(new PointerEvent(type, { bubbles: true, pointerId: 1, button: 0, isPrimary: true,
      clientX: box.left + box.width / 2, clientY: box.top + box.height / 2 }));
  };
  music.setPointerCapture = () => {};
  at(bars[0], 'pointerdown');
  const times = [];
  for (const bar of bars) {
    const start = performance.now();
    at(bar, 'pointermove');
    void document.body.offsetHeight;
    times.push(performance.now() - start);
  }
  at(bars[bars.length - 1], 'pointercancel');
  return times;
}"""


def main() -> None:
    """Measure, and print each figure beside its goal."""
    with tempfile.TemporaryDirectory() as folder:
        for name in ("XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_RUNTIME_DIR"):
            os.environ[name] = str(Path(folder) / name)
            Path(os.environ[name]).mkdir()
        _measure(Path(folder) / "studio")


def _measure(studio: Path) -> None:
    from tests.desk.part_music import quartet, write_week
    from tests.desk.running import RunningDesk

    (studio / "scores").mkdir(parents=True)
    (studio / "studio.toml").write_text("format = 1\n", encoding="utf-8")
    write_week(studio, quartet(), '[[box]]\nid = "a"\npiece = "tune"\nbars = "11-14"\n')
    with RunningDesk(studio) as desk, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=["--no-sandbox"])
        page = browser.new_page(viewport={"width": 1280, "height": 900})
        page.goto(desk.desk.start_address)
        page.wait_for_url(f"{desk.address}/")
        page.wait_for_timeout(_FIRST_LOOK)
        session = page.context.new_cdp_session(page)
        session.send("Emulation.setCPUThrottlingRate", {"rate": THROTTLE})
        key = next(one.key for one in desk.desk.studio.players())
        address = f"{desk.address}/part/{key}/tune"
        for when in ("empty cache", "drawn before"):
            first, everything = _load(page, address)
            print(f"{when}: first lines {first:.2f} s (goal {GOAL_FIRST}), all {everything:.2f} s")
        page.wait_for_timeout(_SETTLED)
        session.send("Performance.enable", {"timeDomain": "threadTicks"})
        for drag in range(_DRAGS):
            before = _worked(session)
            times = page.evaluate(_MOVES)
            own = (_worked(session) - before) * 1000 / len(times)
            print(
                f"drag {drag + 1}, {len(times)} frames: median {statistics.median(times):.1f} ms, "
                f"most {max(times):.1f} (goal {GOAL_FRAME}); work of the page's own thread {own:.1f} ms a frame"
            )
        browser.close()


def _worked(session: CDPSession) -> float:
    """Seconds that the page's own thread has worked so far, whatever else the machine does."""
    told = {one["name"]: one["value"] for one in session.send("Performance.getMetrics")["metrics"]}
    return float(told["TaskDuration"])


def _load(page: Page, address: str) -> tuple[float, float]:
    """Seconds from the request to the first bars, and to all of them."""
    page.goto(address, wait_until="commit")
    page.wait_for_selector("#music[data-all]", timeout=120_000)
    marks = "['first-lines', 'all-lines'].map((name) => performance.getEntriesByName(name)[0].startTime)"
    first, everything = page.evaluate(marks)
    return first / 1000, everything / 1000


if __name__ == "__main__":
    main()
