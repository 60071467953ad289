// @ts-check
// The work on a box: its step, the metronome, the count, what is offered, what is heard and written.
import { enough } from "./clock.mjs";
import { boxOf } from "./kept.mjs";
import { button, el, field, minutes, option, put, screen } from "./parts.mjs";
import { afterRun, offerOf, readyStep } from "./rules.mjs";
import { takePart } from "./take.mjs";

/** @typedef {import("./parts.mjs").App} App */
/** @typedef {import("./parts.mjs").Box} Box */

const FORWARD = new Set(["PageDown", "ArrowRight", "ArrowDown", " ", "Enter"]);
const BACK = new Set(["PageUp", "ArrowLeft", "ArrowUp"]);

/** One box as it stands today. */
class Work {
  /**
   * @param {App} app
   * @param {Box} box
   */
  constructor(app, box) {
    this.app = app;
    this.box = box;
  }

  get state() {
    return boxOf(this.app.kept.load(), this.box.id);
  }

  get day() {
    return this.app.kept.day();
  }

  /** The tempo step of now, from 0. */
  get at() {
    return this.#ready(this.state, this.day);
  }

  get step() {
    return this.box.steps[this.at];
  }

  /** Runs of this day; those of another day are over. */
  get run() {
    const { state } = this;
    return state.day === this.day ? { count: state.count, misses: state.misses } : { count: 0, misses: 0 };
  }

  /**
   * @param {import("./kept.mjs").BoxState} state
   * @param {string} day
   */
  #ready(state, day) {
    const { steps, wanted } = this.box;
    const done = Object.entries(state.best).map(([key, clean]) => {
      const [on, number, unit] = key.split("|");
      return { day: on, step: steps.findIndex((one) => one.number === number && one.unit === unit), clean };
    });
    return Math.min(readyStep(state, done, day, wanted, this.app.data.below), steps.length - 1);
  }

  /**
   * A day begins with its own step and no run.
   * @param {import("./kept.mjs").BoxState} state
   * @param {string} day
   */
  #begin(state, day) {
    const step = this.#ready(state, day);
    Object.assign(state, { step, top: step, day, count: 0, misses: 0 });
  }

  /** @param {(state: import("./kept.mjs").BoxState, day: string) => void} change */
  #change(change) {
    this.app.kept.work((all, day) => {
      const state = boxOf(all, this.box.id);
      if (state.day !== day) this.#begin(state, day);
      change(state, day);
    });
    this.app.draw();
  }

  /** @param {boolean} clean */
  played(clean) {
    this.#change((state, day) => {
      const run = afterRun(state, clean, this.app.data.slip);
      Object.assign(state, run);
      const step = this.box.steps[state.step];
      const key = `${day}|${step.number}|${step.unit}`;
      if (clean) state.best[key] = Math.max(state.best[key] ?? 0, run.count);
    });
  }

  /** How many steps up the day has had; a step that was reached before is none. */
  get ups() {
    return this.state.ups[this.day] ?? 0;
  }

  /** The fastest step of the day so far. */
  get top() {
    return Math.max(this.state.day === this.day ? this.state.top : 0, this.at);
  }

  /**
   * Whether the day may still go to a step.
   * @param {number} to
   */
  may(to) {
    return to >= 0 && to < this.box.steps.length && (to <= this.top || this.ups < this.app.data.mostUp);
  }

  /** @param {number} to */
  go(to) {
    if (!this.may(to)) return;
    const sounded = this.app.sound.now === "beat";
    this.#change((state, day) => {
      if (to > this.top) state.ups[day] = (state.ups[day] ?? 0) + 1;
      Object.assign(state, { top: Math.max(this.top, to), step: to, count: 0, misses: 0 });
    });
    if (sounded) this.beat();
    else this.app.sound.stop();
  }

  /** The lines of today's plan that this box has, with minutes. */
  get lines() {
    const own = this.app.data.days.find((one) => one.date === this.day)?.items ?? [];
    return own.map((_, at) => at).filter((at) => own[at].box === this.box.id && own[at].minutes);
  }

  /** Minutes go before counts: where those of today are over, no faster step is offered. */
  get minutesOver() {
    const { clock } = this.app;
    return this.lines.length > 0 && this.lines.every((at) => clock.spent(this.day, at) >= clock.asked(this.day, at));
  }

  get offer() {
    const offer = offerOf(this.run, this.box.wanted, { at: this.at, last: this.box.steps.length - 1, ups: this.ups, most: this.app.data.mostUp });
    if (offer !== "slower" && this.minutesOver) return "over";
    return offer === "up" && !this.may(this.at + 1) ? "" : offer;
  }

  beat() {
    const { beat } = this.app.kept.load();
    void this.app.sound.beat(this.step, { accent: beat.first, audible: beat.sound });
  }

  /**
   * @param {"bars" | "note"} what
   * @param {string} text
   */
  write(what, text) {
    this.app.kept.work((all, day) => {
      (boxOf(all, this.box.id).told[day] ??= { bars: "", note: "" })[what] = text;
    });
  }

  /**
   * What a count looks like: a number, or circles to fill.
   * @param {Element} place
   */
  count(place) {
    const { count } = this.run;
    const { wanted, circles } = this.box;
    place.setAttribute("aria-label", this.app.say("count", { n: count, wanted }));
    put(place, circles ? "●".repeat(Math.min(count, wanted)) + "○".repeat(Math.max(wanted - count, 0)) : String(count));
  }
}

/**
 * What is offered, with its button.
 * @param {Work} work
 */
function offerPart(work) {
  const { say } = work.app;
  const text = el("p", { role: "status" });
  const go = button("", () => work.go(work.at + (work.offer === "slower" ? -1 : 1)));
  const place = el("div", { className: "offer" }, text, go);
  const draw = () => {
    const { offer } = work;
    const next = work.box.steps[work.at + (offer === "slower" ? -1 : 1)];
    go.hidden = !(offer === "up" || offer === "slower");
    put(go, next ? say("go_to", { tempo: next.label }) : "");
    const said = offer && offer !== "over" ? say(`offer_${offer}`, { n: work.run.count }) : "";
    const full = !offer && work.run.count >= work.box.wanted && work.at < work.box.steps.length - 1;
    put(text, offer === "over" ? enough(work.app, work.day, work.box.id) : said || (full ? say("steps_enough", { n: work.app.data.mostUp }) : ""));
  };
  return { place, draw };
}

/**
 * The light of the metronome.
 * @param {App} app
 * @param {Work} work
 */
function lamp(app, work) {
  const place = el("span", { className: "lamp", "aria-hidden": "true" });
  const turn = () => {
    if (!place.isConnected || app.sound.now !== "beat") {
      place.classList.remove("lit", "first");
      return;
    }
    const { beat } = app.kept.load();
    const at = app.sound.at();
    const [bpm, bar] = [work.step.bpm, work.step.bar];
    const lit = beat.light && at >= 0 && (app.sound.within() * bpm) / 60 < 0.45;
    place.classList.toggle("lit", lit);
    place.classList.toggle("first", lit && beat.first && bar > 1 && at % bar === 0);
    requestAnimationFrame(turn);
  };
  return { place, light: () => requestAnimationFrame(turn) };
}

/**
 * Step, metronome and its choices.
 * @param {Work} work
 */
function beatPart(work) {
  const { app, box } = work;
  const { say, kept } = app;
  const tempo = el("output", { className: "tempo" });
  const slower = button(say("slower"), () => work.go(work.at - 1), "quiet");
  const faster = button(say("faster"), () => work.go(work.at + 1), "quiet");
  const place = el("p", { className: "meta" });
  const light = lamp(app, work);
  const start = button("", () => (app.sound.now === "beat" ? app.sound.stop() : work.beat()), "main");
  const choice = (/** @type {"sound" | "light" | "first"} */ name) =>
    option(say(`beat_${name}`), kept.load().beat[name], (on) => {
      kept.change((state) => (state.beat[name] = on));
      if (app.sound.now === "beat") work.beat();
    });
  const choices = el("div", { className: "row options" }, choice("sound"), choice("light"));
  if (box.steps[0]?.bar > 1) choices.append(choice("first"));
  const part = el("div", { className: "part beat" }, el("div", { className: "row step" }, slower, tempo, faster), place, el("div", { className: "row" }, start, light.place), choices);
  let sounded = "";
  const draw = () => {
    put(tempo, work.step.label);
    put(place, say("step_of", { n: work.at + 1, of: box.steps.length }));
    slower.disabled = !work.may(work.at - 1);
    faster.disabled = !work.may(work.at + 1);
    put(start, say(app.sound.now === "beat" ? "beat_stop" : "beat_start"));
    start.disabled = !app.sound.works;
    if (app.sound.now === "beat" && sounded !== "beat") light.light();
    sounded = app.sound.now;
  };
  return { part, draw };
}

/**
 * The count and its two buttons.
 * @param {Work} work
 */
function countPart(work) {
  const { app, box } = work;
  const { say } = app;
  const count = el("output", { className: box.circles ? "count circles" : "count" });
  const clean = button(say("clean"), () => work.played(true), "main big");
  const slip = button(say("slip"), () => work.played(false), "big");
  const offer = offerPart(work);
  const view = button(say("playing_view"), () => playingView(work), "quiet");
  const of = el("p", { className: "meta" }, say("wanted", { wanted: box.wanted }));
  const part = el("div", { className: "part counting" }, count, of, el("div", { className: "row two" }, clean, slip), offer.place, el("p", { className: "meta" }, say("rule"), " ", say(`slip_${app.data.slip}`)), el("div", { className: "row" }, view));
  const draw = () => {
    work.count(count);
    offer.draw();
  };
  return { part, draw };
}

/**
 * The minutes of today.
 * @param {Work} work
 */
function timePart(work) {
  const { app } = work;
  const { clock, say } = app;
  const left = el("span", { className: "left", role: "timer" });
  const line = () => {
    const { running } = clock;
    const mine = running?.day === work.day && work.lines.includes(running.item) ? running.item : null;
    return mine ?? work.lines.find((at) => clock.spent(work.day, at) < clock.asked(work.day, at)) ?? -1;
  };
  const runs = () => clock.running?.day === work.day && clock.running.item === line();
  const start = button("", () => (runs() ? clock.pause() : clock.start(work.day, line())));
  const part = el("div", { className: "part minutes-of-box row" }, start, left);
  const draw = () => {
    const at = line();
    part.hidden = !work.lines.length;
    start.hidden = at < 0;
    const rest = at < 0 ? 0 : clock.asked(work.day, at) - clock.spent(work.day, at);
    put(start, say(runs() ? "pause" : at >= 0 && clock.spent(work.day, at) ? "go_on" : "start"));
    put(left, at < 0 ? say("over") : say("left", { time: minutes(rest) }));
  };
  return { part, draw };
}

/**
 * The whole screen is the button for a clean run.
 * @param {Work} work
 */
function playingView(work) {
  const { app, box } = work;
  const { say } = app;
  const made = screen(app, "playing", say("playing_view"));
  const tempo = el("span", { className: "far-tempo" });
  const count = el("span", { className: box.circles ? "far-count circles" : "far-count" });
  const light = lamp(app, work);
  const all = el("button", { type: "button", className: "all", "aria-label": say("clean") }, tempo, count, light.place, el("span", { className: "meta" }, say("whole_screen")));
  all.addEventListener("click", () => work.played(true));
  const offer = offerPart(work);
  const beat = button("", () => (app.sound.now === "beat" ? app.sound.stop() : work.beat()));
  const row = el("div", { className: "row" }, button(say("slip"), () => work.played(false)), beat, button(say("close"), () => made.close()), button(say("hurts"), app.hurts, "hurts"));
  made.append(all, offer.place, row);
  made.addEventListener("keydown", (event) => {
    // A button that has the focus is pressed by these two itself.
    const presses = event.target instanceof HTMLButtonElement && [" ", "Enter"].includes(event.key);
    if (event.repeat || presses || !(FORWARD.has(event.key) || BACK.has(event.key))) return;
    event.preventDefault();
    work.played(FORWARD.has(event.key));
  });
  const draw = () => {
    put(tempo, work.step.label);
    work.count(count);
    offer.draw();
    beat.hidden = !work.step.bpm;
    put(beat, say(app.sound.now === "beat" ? "beat_stop" : "beat_start"));
    if (app.sound.now === "beat" && !light.place.dataset.on) light.light();
    light.place.dataset.on = app.sound.now === "beat" ? "1" : "";
  };
  app.drawn.push(draw);
  made.addEventListener("close", () => {
    app.drawn.splice(app.drawn.indexOf(draw), 1);
    app.awake(false);
  });
  made.showModal();
  app.awake(true);
  all.focus();
  draw();
}

/**
 * Hear the step, with a drone or with clicks.
 * @param {Work} work
 */
function hearPart(work) {
  const { app, box } = work;
  const { say } = app;
  const how = { drone: false, click: false };
  const start = button("", () => {
    if (app.sound.now === "music") app.sound.stop();
    else void app.sound.play(work.step, { a: app.data.a, drone: how.drone ? box.drone : null, click: how.click });
  });
  const choices = el("div", { className: "row options" });
  if (box.drone !== null) choices.append(option(say("hear_drone"), false, (on) => (how.drone = on)));
  choices.append(option(say("hear_click"), false, (on) => (how.click = on)));
  const part = el("div", { className: "part hear" }, el("div", { className: "row" }, start, choices), el("p", { className: "meta" }, say("hear_purpose")));
  const draw = () => {
    put(start, say(app.sound.now === "music" ? "hear_stop" : "hear"));
    start.disabled = !app.sound.works;
  };
  return { part, draw };
}

/**
 * Where it broke down, and a word to the teacher.
 * @param {Work} work
 */
function wordPart(work) {
  const { say } = work.app;
  const told = work.state.told[work.day] ?? { bars: "", note: "" };
  return el("div", { className: "part words" }, field(say("broke"), told.bars, (text) => work.write("bars", text), 80), field(say("word"), told.note, (text) => work.write("note", text)));
}

/**
 * All the work on a box.
 * @param {App} app
 * @param {HTMLElement} place
 * @param {Box} box
 */
export function showBox(app, place, box) {
  const work = new Work(app, box);
  const sounding = box.steps.some((step) => step.notes.length);
  /** @type {{part: HTMLElement, draw: () => void}[]} */
  const parts = [];
  if (!app.data.child) {
    parts.push(timePart(work));
    if (box.steps.some((step) => step.bpm)) parts.push(beatPart(work));
    parts.push(countPart(work));
  }
  if (sounding) parts.push(hearPart(work));
  place.append(...parts.map((one) => one.part), wordPart(work));
  if (app.data.record) place.append(el("div", { className: "part" }, takePart(app)));
  const view = place.closest(".view");
  app.drawn.push(() => {
    if (view instanceof HTMLElement && !view.hidden) for (const one of parts) one.draw();
  });
}

/**
 * A metronome by itself, for scales and pieces.
 * @param {App} app
 * @param {HTMLElement} place
 */
export function showMetronome(app, place) {
  const { data, kept, say, sound } = app;
  const tempo = el("output", { className: "tempo" });
  const at = () => Math.max(0, data.numbers.indexOf(kept.load().beat.bpm));
  const play = () => void sound.beat({ bpm: data.numbers[at()], bar: 0 }, { accent: false, audible: true });
  const go = (/** @type {number} */ to) => {
    kept.change((state) => (state.beat.bpm = data.numbers[to]));
    if (sound.now === "beat") play();
    app.draw();
  };
  const slower = button(say("slower"), () => go(at() - 1), "quiet");
  const faster = button(say("faster"), () => go(at() + 1), "quiet");
  const start = button("", () => (sound.now === "beat" ? sound.stop() : play()));
  place.querySelector("h2")?.after(el("div", { className: "part metronome" }, el("div", { className: "row step" }, slower, tempo, faster), el("div", { className: "row" }, start)));
  app.drawn.push(() => {
    put(tempo, String(data.numbers[at()]));
    slower.disabled = at() === 0;
    faster.disabled = at() === data.numbers.length - 1;
    put(start, say(sound.now === "beat" ? "beat_stop" : "beat_start"));
    start.disabled = !sound.works;
  });
}
