// @ts-check
// The plan of a day: what is ticked, what its minutes are, and the way to other days.
import { button, el, minutes, put } from "./parts.mjs";

const FAR = 60;

/** @typedef {import("./parts.mjs").App} App */

/**
 * @param {App} app
 * @param {HTMLElement} place the view of the days
 */
export function showDays(app, place) {
  const { data, say } = app;
  const sections = data.days.map((day) => /** @type {HTMLElement} */ (document.getElementById(`day-${day.date}`)));
  const today = () => {
    const now = app.kept.day();
    const found = data.days.findIndex((day) => day.date >= now);
    return found < 0 ? data.days.length - 1 : found;
  };
  let shown = today();
  const show = (/** @type {number} */ at) => {
    shown = Math.min(Math.max(at, 0), data.days.length - 1);
    app.draw();
  };
  const before = button(say("day_before"), () => show(shown - 1), "quiet");
  const after = button(say("day_after"), () => show(shown + 1), "quiet");
  const back = button(say("today"), () => show(today()), "quiet");
  place.querySelector("h2")?.after(el("div", { className: "row days" }, before, back, after));
  byHand(place, () => show(shown - 1), () => show(shown + 1));
  const items = sections.map((section, day) => [...section.querySelectorAll("[data-item]")].map((li, at) => dayItem(app, li, day, at)));
  app.drawn.push(() => {
    sections.forEach((section, at) => (section.hidden = at !== shown));
    before.disabled = shown === 0;
    after.disabled = shown === sections.length - 1;
    back.disabled = shown === today();
    for (const draw of items[shown]) draw();
  });
}

/**
 * A swipe, or an arrow key where nothing is written.
 * @param {HTMLElement} place
 * @param {() => void} left
 * @param {() => void} right
 */
function byHand(place, left, right) {
  /** @type {Touch | null} */
  let from = null;
  place.addEventListener("touchstart", (event) => (from = event.touches.length === 1 ? event.touches[0] : null), { passive: true });
  place.addEventListener("touchend", (event) => {
    const to = event.changedTouches[0];
    if (!from || Math.abs(to.clientX - from.clientX) < FAR || Math.abs(to.clientY - from.clientY) > FAR / 2) return;
    if (to.clientX > from.clientX) left();
    else right();
  });
  document.addEventListener("keydown", (event) => {
    const busy = place.hidden || document.querySelector("dialog[open]") || /** @type {Element} */ (event.target).closest("textarea, input");
    if (busy || event.altKey || event.ctrlKey || event.metaKey) return;
    if (event.key === "ArrowLeft") left();
    if (event.key === "ArrowRight") right();
  });
}

/**
 * One line of a day: its circle, and its minutes on the day itself.
 * @param {App} app
 * @param {Element} li
 * @param {number} at
 * @param {number} item
 */
function dayItem(app, li, at, item) {
  const { data, kept, clock, say } = app;
  const day = data.days[at].date;
  const circle = el("input", { type: "checkbox", className: "circle", "aria-label": say("played", { what: li.querySelector(".what")?.textContent?.trim() ?? "" }) });
  circle.addEventListener("change", () => {
    kept.work((state) => {
      (state.ticks[day] ??= {})[item] = circle.checked;
    });
    app.draw();
  });
  li.prepend(circle);
  const asked = data.days[at].items[item].minutes;
  const start = button("", () => (runs() ? clock.pause() : clock.start(day, item)), "quiet time");
  const left = el("span", { className: "left", role: "timer" });
  const runs = () => clock.running?.day === day && clock.running.item === item;
  if (!data.child && asked) li.append(el("span", { className: "row" }, left, start));
  return () => {
    circle.checked = Boolean(kept.load().ticks[day]?.[item]);
    const rest = asked * 60_000 - clock.spent(day, item);
    start.hidden = (day !== kept.day() || rest <= 0) && !runs();
    put(start, runs() ? say("pause") : say(clock.spent(day, item) ? "go_on" : "start"));
    start.setAttribute("aria-label", `${start.textContent}: ${li.querySelector(".what")?.textContent?.trim()}`);
    put(left, clock.spent(day, item) ? (rest > 0 ? say("left", { time: minutes(rest) }) : say("over")) : "");
  };
}
