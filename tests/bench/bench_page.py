"""What the player's page weighs and how soon it can be used: `python -m tests.bench.bench_page`.

The page of a week of six boxes, opened in Debian's Chromium from a file with the processor slowed down four times
(DevTools), five times; the first paint, and when its script has put everything together. And once in real time: the
metronome for a minute while the main thread is blocked half of the time, its clicks taken from the graph by a recorder
of samples and held against 60 / tempo.

Goals: the file at most 500 kB, first paint 0.4 seconds, ready 1 second.

Found: 451 kB with 31 pictures. Beside ten other jobs on two cores, so upper bounds: first paint 0.55 to 0.8 seconds in
the middle and 0.21 at best, ready 1.2 to 1.3 and 0.76; of 92 clicks in real time the worst was 0.5 samples off.
"""

from __future__ import annotations

import gzip
import tempfile
from pathlib import Path
from statistics import median
from typing import Any

from playwright.sync_api import Browser, sync_playwright

from excerpts.player_page import build_page
from excerpts.system.resources import templates
from tests.chromium import CHROMIUM
from tests.player_page.conftest import Served
from tests.player_page.page_weeks import SIX, tree, week

RUNS = 5
SLOWER = 4

_WATCH = """
new MutationObserver((_, seen) => {
    if (document.documentElement?.classList.contains("live")) requestAnimationFrame(() => {
        window.ready = performance.now();
        seen.disconnect();
    });
}).observe(document, { subtree: true, attributes: true, childList: true });
"""

_REAL = """async ([bpm, seconds]) => {
    const { Sound } = await import("/sound.mjs");
    const heard = [];
    const taken = AudioNode.prototype.connect;
    let recorder = null;
    AudioNode.prototype.connect = function (to, ...rest) {
        if (to instanceof AudioDestinationNode && !recorder && this instanceof GainNode) {
            recorder = this.context.createScriptProcessor(16384, 1, 1);
            recorder.onaudioprocess = (event) => heard.push(Float32Array.from(event.inputBuffer.getChannelData(0)));
            taken.call(this, recorder);
            taken.call(recorder, to);
        }
        return taken.call(this, to, ...rest);
    };
    const sound = new Sound();
    await sound.beat({ bpm, bar: 4 }, { accent: true, audible: true });
    const end = performance.now() + seconds * 1000;
    while (performance.now() < end) {
        const until = performance.now() + 60;
        while (performance.now() < until);
        await new Promise((go) => setTimeout(go, 60));
    }
    const rate = new AudioContext().sampleRate;
    const found = [];
    let at = 0, silent = Infinity;
    for (const block of heard) for (const sample of block) {
        if (sample === 0) silent++;
        else { if (silent > 2000) found.push(at); silent = 0; }
        at++;
    }
    return [rate, found];
}"""


def opened(browser: Browser, path: Path) -> tuple[float, float]:
    """Milliseconds to the first paint and until the page is ready, four times slower."""
    context = browser.new_context(viewport={"width": 390, "height": 844})
    page = context.new_page()
    page.add_init_script(_WATCH)
    context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    page.goto(path.as_uri())
    page.wait_for_selector("html.live")
    page.wait_for_timeout(500)
    paint = page.evaluate("performance.getEntriesByName('first-contentful-paint')[0].startTime")
    ready = page.evaluate("window.ready")
    context.close()
    return paint, ready


def real_time(browser: Browser, served: Served, bpm: float, seconds: int) -> tuple[int, float]:
    """Clicks heard, and how many samples the worst of them is off."""
    context = browser.new_context(base_url=served.start(templates() / "player_page"))
    page = context.new_page()
    page.goto("/page.css")
    rate, found = page.evaluate(_REAL, [bpm, seconds])
    context.close()
    period = 60 * rate / bpm
    places: list[Any] = [place - found[0] for place in found]
    return len(found), max(abs(place - round(place / period) * period) for place in places)


def main() -> None:
    """Print each figure beside its goal."""
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright, Served() as served:
        html = build_page(week(Path(folder), SIX)).html
        path = Path(folder) / "page.html"
        path.write_bytes(html)
        pictures = len(tree(html).xpath("//*[name()='svg']"))
        packed = len(gzip.compress(html)) / 1000
        print(f"six boxes, {pictures} pictures: {len(html) / 1000:.0f} kB (goal 500), gzip {packed:.0f} kB")
        arguments = ["--no-sandbox", "--autoplay-policy=no-user-gesture-required"]
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=arguments)
        runs = [opened(browser, path) for _ in range(RUNS)]
        for name, goal, values in zip(
            ("first paint", "ready"), (400, 1000), zip(*runs, strict=True), strict=True
        ):
            print(
                f"{name}, {SLOWER} times slower: {median(values):.0f} ms, best {min(values):.0f} (goal {goal})"
            )
        clicks, worst = real_time(browser, served, 92, 60)
        print(f"metronome beside a blocked main thread: {clicks} clicks, worst {worst:.1f} samples")
        browser.close()


if __name__ == "__main__":
    main()
