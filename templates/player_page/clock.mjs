// @ts-check
// The minutes of an item: counted by a clock that nobody sets, kept while the page is away, stopped while it is hidden.
import { button } from "./parts.mjs";

const TICK = 500;
const SAVE = 5000;
const ASLEEP = 90_000;

/** @typedef {import("./parts.mjs").App} App */

export class Clock {
  /** @type {{day: string, item: number} | null} */ running = null;
  #mark = 0;
  #unsaved = 0;

  /** @param {App} app */
  constructor(app) {
    this.app = app;
    setInterval(() => this.running && this.#tick(), TICK);
    const away = () => this.running && document.hidden && this.pause(true);
    document.addEventListener("visibilitychange", away);
    globalThis.addEventListener("pagehide", () => this.pause());
  }

  /**
   * Milliseconds spent on an item.
   * @param {string} day
   * @param {number} item
   */
  spent(day, item) {
    const own = this.running?.day === day && this.running.item === item ? this.#unsaved : 0;
    return (this.app.kept.load().spent[day]?.[item] ?? 0) + own;
  }

  /**
   * What is asked of an item, in milliseconds.
   * @param {string} day
   * @param {number} item
   */
  asked(day, item) {
    const planned = this.app.data.days.find((one) => one.date === day);
    return (planned?.items[item]?.minutes ?? 0) * 60_000;
  }

  /**
   * @param {string} day
   * @param {number} item
   */
  start(day, item) {
    this.pause();
    this.running = { day, item };
    [this.#mark, this.#unsaved] = [performance.now(), 0];
    this.app.untell("paused");
    this.app.untell("over");
    this.app.awake(true);
    this.app.draw();
  }

  /** @param {boolean} [hidden] the page went out of sight */
  pause(hidden = false) {
    if (!this.running) return;
    this.#count();
    this.#save();
    this.running = null;
    this.app.awake(false);
    if (hidden) this.app.tell("paused", this.app.say("paused"));
    this.app.draw();
  }

  #count() {
    const now = performance.now();
    const passed = now - this.#mark;
    this.#mark = now;
    if (passed > 0 && passed < ASLEEP) this.#unsaved += passed; // longer gaps: the device slept
  }

  #save() {
    const run = this.running;
    if (!run || !this.#unsaved) return;
    const passed = Math.round(this.#unsaved);
    this.#unsaved = 0;
    this.app.kept.work((state) => {
      const own = (state.spent[run.day] ??= {});
      own[run.item] = (own[run.item] ?? 0) + passed;
      state.playing[run.day] = (state.playing[run.day] ?? 0) + passed;
    });
  }

  #tick() {
    const run = /** @type {{day: string, item: number}} */ (this.running);
    const asked = this.asked(run.day, run.item);
    const before = this.spent(run.day, run.item) >= asked;
    this.#count();
    if (this.#unsaved >= SAVE) this.#save();
    if (!before && this.spent(run.day, run.item) >= asked) this.#over(run);
    this.#rest(run.day);
    this.app.draw();
  }

  /**
   * The minutes of an item are over.
   * @param {{day: string, item: number}} run
   */
  #over(run) {
    this.pause();
    const { app } = this;
    const item = app.data.days.find((one) => one.date === run.day)?.items[run.item];
    app.tell("over", item?.box ? enough(app, run.day, item.box) : app.say("time_up", { what: item?.what ?? "" }));
    void app.sound.sign();
    if (item?.rest) this.#takeBreak(run.day);
  }

  /**
   * A break is due after so many minutes of playing.
   * @param {string} day
   */
  #rest(day) {
    const playing = (this.app.kept.load().playing[day] ?? 0) + this.#unsaved;
    if (playing >= this.app.data.breakAfter * 60_000) this.#takeBreak(day);
  }

  /** @param {string} day */
  #takeBreak(day) {
    const { app } = this;
    if (!app.data.breakMinutes) return;
    const taken = button(app.say("break_taken"), () => {
      app.kept.change((state) => (state.playing[day] = 0));
      app.untell("break");
    });
    app.tell("break", app.say("break", { n: app.data.breakMinutes }), taken);
  }
}

/**
 * What is said when the minutes are over: of a box, what was reached.
 * @param {App} app
 * @param {string} day
 * @param {string} id
 */
export function enough(app, day, id) {
  const box = app.data.boxes.find((one) => one.id === id);
  const best = app.kept.load().boxes[id]?.best ?? {};
  const reached = (box?.steps ?? []).filter((step) => best[`${day}|${step.number}|${step.unit}`]).at(-1);
  if (!reached) return app.say("enough");
  const clean = best[`${day}|${reached.number}|${reached.unit}`];
  return app.say(reached.label ? "enough_at" : "enough_clean", { tempo: reached.label, n: clean });
}
