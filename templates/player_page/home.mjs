// @ts-check
// Home to the teacher: every row is shown before it goes, as a file or as text. Nothing is sent by the page itself.
import { button, el, field, option, put } from "./parts.mjs";
import { csvLine, csvText, daysBetween, rowsOf } from "./rules.mjs";

const SOME_WEEKS = 35;

/** @typedef {import("./parts.mjs").App} App */
/** @typedef {import("./rules.mjs").Row} Row */

/**
 * A row in words.
 * @param {App} app
 * @param {Row} row
 */
function inWords({ data, say }, row) {
  const [week, day, kind, id, number, unit, clean, bars, note] = row;
  const box = week === data.week ? data.boxes.find((one) => one.id === id) : undefined; // numbers are those of their week
  const step = box?.steps.find((one) => one.number === number && one.unit === unit);
  const tempo = step?.label || [unit, number].filter(Boolean).join(" = ");
  const piece = data.pieces.find((one) => one.piece === id)?.title ?? id;
  const what = { box: box ? say("row_box", { n: box.number }) : id, "run-through": say("row_run", { piece }), day: say("row_day") }[kind] ?? kind;
  const said = [what, tempo, clean && say("row_clean", { n: clean }), bars && say("row_bars", { bars }), note && `“${note}”`];
  return `${data.dates[day] ?? day}: ${said.filter(Boolean).join(", ")}`;
}

/**
 * @param {App} app
 * @param {HTMLElement} place
 */
export function showHome(app, place) {
  const { data, kept, say } = app;
  const list = el("div", { className: "rows" });
  const text = el("textarea", { className: "csv", readOnly: true, rows: 6, "aria-label": say("home_text") });
  const told = el("p", { role: "status" });
  /** @type {Map<string, boolean>} what was ticked or unticked by hand */
  const chosen = new Map();
  let word = field(say("home_word"), "", () => {});
  const weeks = () => [kept.load(), ...kept.others().filter((state) => daysBetween(state.week, data.week) <= SOME_WEEKS)];
  // Of this week everything goes each time, since what the log has is not doubled; of weeks before what has not gone yet.
  const goes = (/** @type {import("./kept.mjs").State} */ state, /** @type {Row} */ row) => {
    const key = csvLine(row);
    return chosen.get(key) ?? (state.week === data.week || !state.sent.includes(key));
  };
  const going = () => weeks().flatMap((state) => rowsOf(state).filter((row) => goes(state, row)));
  const gone = (/** @type {string} */ message) => {
    for (const state of weeks()) kept.sent(state.week, rowsOf(state).filter((row) => goes(state, row)).map(csvLine));
    put(told, say(message));
    app.draw();
  };
  const csv = () => csvText(data.player, going());
  const save = button(say("home_save"), () => {
    const file = new Blob([csv()], { type: "text/csv;charset=utf-8" });
    const link = el("a", { href: URL.createObjectURL(file), download: `${data.week}.csv` });
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
    gone("home_saved");
  }, "main");
  const copy = button(say("home_copy"), async () => {
    try {
      await navigator.clipboard.writeText(csv());
      gone("home_copied");
    } catch {
      text.focus();
      text.select();
      put(told, say("home_select"));
    }
  });
  const buttons = el("div", { className: "row" }, save, copy);
  if (navigator.share) {
    buttons.append(button(say("home_share"), async () => {
      try {
        await navigator.share({ text: csv() });
        gone("home_shared");
      } catch {
        put(told, say("home_not_shared"));
      }
    }));
  }
  const wordPlace = el("div", {}, word);
  place.append(wordPlace, list, buttons, told, el("details", {}, el("summary", {}, say("home_text")), text));
  let shown = "";
  app.drawn.push(() => {
    if (/** @type {HTMLElement} */ (place.closest(".view")).hidden) return;
    const rows = weeks().flatMap((state) => rowsOf(state).map((row) => ({ state, row, on: goes(state, row) })));
    const now = JSON.stringify(rows.map(({ state, row, on }) => [row, on, state.sent.includes(csvLine(row))]));
    if (now !== shown) {
      shown = now;
      list.replaceChildren(...(rows.length ? rows.map(({ state, row, on }) => line(app, state, row, on, chosen)) : [el("p", {}, say("home_nothing"))]));
      text.value = csv();
      save.disabled = copy.disabled = !going().length;
    }
    const day = kept.day();
    if (word.dataset.day !== day) {
      word = field(say("home_word"), kept.load().notes[day] ?? "", (said) => {
        kept.work((state, on) => (state.notes[on] = said));
        app.draw();
      });
      word.dataset.day = day;
      wordPlace.replaceChildren(word);
    }
  });
}

/**
 * One row that is to go, or to stay.
 * @param {App} app
 * @param {import("./kept.mjs").State} state
 * @param {Row} row
 * @param {boolean} on
 * @param {Map<string, boolean>} chosen
 */
function line(app, state, row, on, chosen) {
  const key = csvLine(row);
  const sent = state.sent.includes(key) ? ` (${app.say("home_sent_before")})` : "";
  return option(inWords(app, row) + sent, on, (ticked) => {
    chosen.set(key, ticked);
    app.draw();
  });
}
