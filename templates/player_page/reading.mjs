// @ts-check
// The bars of a box in words.
import { button, el } from "./parts.mjs";

/**
 * Bars to be read, one after the other by key, or aloud by a voice of the device itself.
 * @param {import("./parts.mjs").App} app
 * @param {HTMLElement} list
 */
export function showReading(app, list) {
  const bars = /** @type {HTMLElement[]} */ ([...list.children]);
  const go = (/** @type {number} */ at) => {
    bars.forEach((bar, n) => (bar.tabIndex = n === at ? 0 : -1));
    bars[at].focus();
  };
  bars.forEach((bar, n) => {
    bar.tabIndex = n ? -1 : 0;
    bar.addEventListener("keydown", (event) => {
      const to = { ArrowDown: n + 1, ArrowUp: n - 1, Home: 0, End: bars.length - 1 }[event.key];
      if (to === undefined || !bars[to]) return;
      event.preventDefault();
      go(to);
    });
  });
  // Voices that are not of the device itself send the text away: they are not used.
  const voice = () => globalThis.speechSynthesis?.getVoices().find((one) => one.localService && one.lang.slice(0, 2) === app.data.lang.slice(0, 2));
  const aloud = button(app.say("aloud"), () => {
    const chosen = voice();
    const at = Math.max(0, bars.findIndex((bar) => bar.tabIndex === 0));
    if (!chosen) app.tell("voice", app.say("no_voice"));
    else {
      const said = new SpeechSynthesisUtterance(bars[at].textContent ?? "");
      Object.assign(said, { voice: chosen, lang: chosen.lang });
      speechSynthesis.cancel();
      speechSynthesis.speak(said);
    }
  });
  list.before(el("div", { className: "row" }, aloud), el("p", { className: "meta" }, app.say("bar_keys")));
}
