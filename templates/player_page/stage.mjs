// @ts-check
// Before a performance: run-throughs in drawn order, starts from memory, a mock. Nothing is shown but the name.
import { button, el, field, put, screen } from "./parts.mjs";
import { daysBetween } from "./rules.mjs";
import { takePart } from "./take.mjs";

const MOCK_FROM = 21;
const MOCKS = 2;
const WEEK = 7;

/** @typedef {import("./parts.mjs").App} App */
/** @typedef {{piece: string, title: string, start?: string}} Entry */

/**
 * One name after the other over the whole screen, and then what broke down.
 * @param {App} app
 * @param {string} label
 * @param {Entry[]} list
 * @param {{starts?: boolean, record?: boolean, done?: () => void}} how
 */
function stage(app, label, list, { starts = false, record = false, done = () => {} }) {
  const { say } = app;
  const made = screen(app, "stage", label);
  const what = el("p", { className: "meta" }, label);
  const name = el("p", { className: "name", tabIndex: -1 });
  const start = el("p", { className: "from" });
  let at = 0;
  const next = button("", () => (++at < list.length ? show() : after()), "main big");
  const foot = el("div", { className: "row" }, next, button(say("close"), () => made.close()), button(say("hurts"), app.hurts, "hurts"));
  const take = record ? takePart(app) : null;
  const show = () => {
    put(name, list[at].title);
    put(start, list[at].start ?? "");
    put(what, `${label} (${at + 1}/${list.length})`);
    put(next, say(at + 1 < list.length ? "next_name" : "all_played"));
    name.focus();
  };
  const after = () => {
    app.sound.stop();
    done();
    app.draw();
    if (starts) {
      made.close();
      return;
    }
    const lines = list.map((one) => ({ ...one, bars: "", note: "" }));
    const asked = lines.map((line) =>
      el("fieldset", {}, el("legend", {}, line.title), field(say("broke"), "", (text) => (line.bars = text), 80), field(say("noticed"), "", (text) => (line.note = text))),
    );
    const keep = button(say("write_down"), () => {
      app.kept.work((state, day) => {
        for (const { piece, bars, note } of lines) state.runs.push({ day, piece, bars, note });
      });
      made.close();
      app.draw();
    }, "main");
    name.remove();
    start.remove();
    next.remove();
    put(what, say("afterwards"));
    foot.prepend(keep);
    foot.before(...asked);
    asked[0]?.querySelector("textarea")?.focus();
  };
  made.append(what, name, start, ...(take ? [take] : []), foot);
  made.addEventListener("close", () => app.awake(false));
  made.showModal();
  app.awake(true);
  show();
}

/**
 * @param {App} app
 * @param {HTMLElement} place
 */
export function showStage(app, place) {
  const { data, kept, say } = app;
  const day = kept.day();
  for (const one of data.days) {
    if (!one.run?.list.length) continue;
    const pieces = one.run.list.filter((entry) => !entry.start);
    const starts = one.run.list.filter((entry) => entry.start);
    const mine = document.querySelector(`[data-draw="${one.date}"]`);
    const row = el("div", { className: "row" });
    if (pieces.length) row.append(button(say(one.run.kind === "light" ? "openings" : "run_begin"), () => stage(app, one.run?.title ?? "", pieces, { record: data.record })));
    if (starts.length) row.append(button(say("starts_begin"), () => stage(app, say("starts_begin"), starts, { starts: true })));
    mine?.append(row);
  }
  for (const concert of data.concerts) {
    const left = daysBetween(day, concert.date);
    if (left < 0 || left > MOCK_FROM) continue;
    const begin = button(say("mock_begin"), () =>
      stage(app, say("mock"), concert.pieces, {
        record: data.record,
        done: () => kept.work((state, now) => state.mocks.push(now)),
      }),
    );
    const told = el("p", { className: "meta", role: "status" });
    place.append(el("h3", {}, say("mock_for", { day: concert.label })), el("p", {}, say("mock_how")), el("div", { className: "row" }, begin), told);
    app.drawn.push(() => {
      const recent = [kept.load(), ...kept.others()].flatMap((state) => state.mocks).filter((one) => Math.abs(daysBetween(one, kept.day())) < WEEK);
      begin.disabled = recent.length >= MOCKS;
      put(told, begin.disabled ? say("mock_enough") : "");
    });
  }
}
