// @ts-check
// The player's page: puts its parts together. Without this script the page shows all its music and its plan.
import { showBox, showMetronome } from "./box.mjs";
import { Clock } from "./clock.mjs";
import { showDays } from "./day.mjs";
import { showHome } from "./home.mjs";
import { Kept, openStore } from "./kept.mjs";
import { button, el, put, sayer, screen, teller } from "./parts.mjs";
import { showReading } from "./reading.mjs";
import { localDay, wentBack } from "./rules.mjs";
import { Sound } from "./sound.mjs";
import { showStage } from "./stage.mjs";
import { stopTake } from "./take.mjs";

/** @typedef {import("./parts.mjs").App} App */

/** @param {string} id */
const by = (id) => /** @type {HTMLElement} */ (document.getElementById(id));

/**
 * The screen stays awake while it is needed, where the browser can do that.
 * @param {App["say"]} say
 * @param {App["tell"]} tell
 */
function waker(say, tell) {
  /** @typedef {EventTarget & {release: () => Promise<void>}} Lock */
  const screen = /** @type {{wakeLock?: {request: (what: string) => Promise<Lock>}}} */ (/** @type {unknown} */ (navigator));
  /** @type {Lock | null} */
  let lock = null;
  let wanted = 0;
  const take = async () => {
    try {
      if (!screen.wakeLock) throw new Error("no wake lock");
      lock ??= await screen.wakeLock.request("screen");
      lock.addEventListener("release", () => (lock = null));
    } catch {
      tell("awake", say("awake"));
    }
  };
  document.addEventListener("visibilitychange", () => wanted > 0 && !document.hidden && void take());
  return (/** @type {boolean} */ on) => {
    wanted = Math.max(0, wanted + (on ? 1 : -1));
    if (wanted) void take();
    else {
      void lock?.release();
      lock = null;
    }
  };
}

/**
 * Something hurts: everything stops, the caution stands there.
 * @param {App} app
 */
function hurtScreen(app) {
  const { say } = app;
  app.sound.stop();
  app.clock.pause();
  stopTake();
  const made = screen(app, "hurting", say("hurts"));
  const told = el("p", { role: "status" });
  const write = button(say("hurts_write"), () => {
    app.kept.work((state, day) => {
      const before = state.notes[day] ?? "";
      if (!before.includes(say("hurts_note"))) state.notes[day] = [before, say("hurts_note")].filter(Boolean).join(" ");
    });
    put(told, say("hurts_written"));
    app.draw();
  });
  const box = app.data.boxes.find((one) => `box-${one.number}` === document.body.dataset.view && one.steps[0].notes.length);
  const listen = button(say("hear"), () => void (box && app.sound.play(box.steps[0], { a: app.data.a, drone: null, click: false })));
  listen.hidden = !box;
  made.addEventListener("close", () => app.sound.stop());
  made.append(
    el("h2", {}, say("hurts_head")), el("p", { className: "large" }, say("hurts_text")), el("p", {}, say("hurts_instead")), el("p", {}, say("hurts_private")),
    el("div", { className: "row" }, button(say("close"), () => made.close(), "main"), listen, write), told,
  );
  made.showModal();
}

/**
 * Where the page is: one view at a time; a link of the page leads there.
 * @param {App} app
 */
function showViews(app) {
  const views = /** @type {HTMLElement[]} */ ([...document.querySelectorAll(".view")]);
  const links = [...document.querySelectorAll("#nav a")];
  const go = (/** @type {boolean} */ move) => {
    const named = location.hash.slice(1);
    const target = named ? document.getElementById(named) : null;
    const view = target?.closest(".view") ?? views[0];
    for (const one of views) one.hidden = one !== view;
    document.body.dataset.view = view.id;
    const top = view.id.startsWith("box-") ? "boxes" : view.id;
    for (const link of links) {
      if (link.getAttribute("href") === `#${top}`) link.setAttribute("aria-current", "page");
      else link.removeAttribute("aria-current");
    }
    if (move) {
      if (app.sound.now) app.sound.stop();
      (target && target !== view ? target : document.body).scrollIntoView();
      /** @type {HTMLElement | null} */ (view.querySelector("h2"))?.focus({ preventScroll: true });
    }
    app.draw();
  };
  for (const head of document.querySelectorAll(".view h2")) /** @type {HTMLElement} */ (head).tabIndex = -1;
  globalThis.addEventListener("hashchange", () => go(true));
  go(false);
}

/**
 * What is to be known about this device, this week and this clock.
 * @param {App} app
 */
function watch(app) {
  const { data, kept, say, tell } = app;
  const look = () => {
    const here = localDay(new Date());
    if (!kept.works) tell("store", say("store_refused"));
    const newest = kept.newest();
    if (newest > data.week) tell("newer", say("newer_week", { day: data.dates[newest] ?? newest }));
    else if (here > data.last) tell("past", say("week_over"));
    const sitting = kept.load().sitting;
    const day = kept.day();
    if (wentBack(sitting, Date.now())) tell("clock", say("clock_back", { day: data.dates[here] ?? here }));
    else if (day !== here) tell("midnight", say("midnight", { day: data.dates[day] ?? day }));
    else app.untell("midnight");
  };
  let before = kept.day();
  globalThis.addEventListener("storage", (event) => {
    if (!event.key?.startsWith(kept.prefix)) return;
    look();
    app.draw();
  });
  document.addEventListener("visibilitychange", () => !document.hidden && (look(), app.draw()));
  setInterval(() => {
    look();
    if (kept.day() !== before) app.draw();
    before = kept.day();
  }, 10_000);
  look();
}

/** @param {App} app */
function showAbout(app) {
  const { kept, say } = app;
  const place = by("about-work");
  const told = el("p", { role: "status" });
  let sure = false;
  const forget = button(say("forget"), () => {
    if (sure) {
      kept.forget();
      put(told, say("forgotten"));
      app.draw();
    } else put(told, say("forget_sure"));
    sure = !sure;
  });
  place.append(el("p", {}, say(kept.works ? "store_where" : "store_refused")), el("div", { className: "row" }, forget), told);
}

/** @param {import("./parts.mjs").Data} data */
function start(data) {
  const say = sayer(data.script);
  const { tell, untell } = teller(by("messages"), say("close"));
  const app = /** @type {App} */ (/** @type {unknown} */ ({ data, say, tell, untell, drawn: [], kept: new Kept(openStore(), data.key, data.week), sound: new Sound() }));
  app.draw = () => {
    for (const draw of app.drawn) draw();
  };
  app.awake = waker(say, tell);
  app.clock = new Clock(app);
  app.hurts = () => hurtScreen(app);
  let sounds = false;
  app.sound.changed = () => {
    if (sounds !== Boolean(app.sound.now)) app.awake((sounds = !sounds));
    app.draw();
  };
  by("hurts").addEventListener("click", (event) => {
    event.preventDefault();
    app.hurts();
  });
  document.documentElement.classList.add("live");
  showDays(app, by("days"));
  for (const box of data.boxes) {
    const place = document.querySelector(`#box-${box.number} .work`);
    if (place instanceof HTMLElement) showBox(app, place, box);
  }
  if (!data.child) showMetronome(app, by("music"));
  for (const list of document.querySelectorAll("ol.read")) showReading(app, /** @type {HTMLElement} */ (list));
  if (document.getElementById("stage-work")) showStage(app, by("stage-work"));
  showHome(app, by("home-work"));
  showAbout(app);
  watch(app);
  showViews(app);
}

const source = document.getElementById("data");
if (source) start(JSON.parse(source.textContent ?? ""));
