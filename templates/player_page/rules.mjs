// @ts-check
// The rules of counting, of days and of the rows that go home: pure functions, held to Python's answers by tests.

/** @typedef {{count: number, misses: number}} Run Clean runs in a row, and runs since the last clean one. */
/** @typedef {"one" | "all" | "none"} Slip What a slip costs in the count. */
/** @typedef {string[]} Row The nine cells of a row of the log, in the order of COLUMNS. */

export const COLUMNS = ["week", "date", "kind", "box", "tempo", "unit", "clean", "bars", "note"];
export const MOST_RUNS = 999;
export const LONGEST = 2000;
const LEAST_BEATS = 64;
const MORE_BEATS = 512;
const HOUR = 3_600_000;

/**
 * The count after one more run. Two misses in a row are no slip of their own: they cost what two slips cost.
 * @param {Run} run
 * @param {boolean} clean
 * @param {Slip} slip
 * @returns {Run}
 */
export function afterRun(run, clean, slip) {
  if (clean) return { count: Math.min(run.count + 1, MOST_RUNS), misses: 0 };
  const cost = { one: 1, all: run.count, none: 0 }[slip];
  return { count: Math.max(run.count - cost, 0), misses: run.misses + 1 };
}

/**
 * What is offered, never done: the next step after the wanted runs, a slower one after two misses in a row.
 * @param {Run} run
 * @param {number} wanted
 * @param {{at: number, last: number, ups: number, most: number}} steps
 * @returns {"up" | "slower" | "goal" | ""}
 */
export function offerOf(run, wanted, steps) {
  if (run.misses >= 2) return steps.at > 0 ? "slower" : "";
  if (run.count < wanted) return "";
  if (steps.at >= steps.last) return "goal";
  return steps.ups < steps.most ? "up" : "";
}

/**
 * The step that a day begins with: the last one chosen that day; else so many below the fastest that held on the last
 * day before. Days that were missed are no debt: without any the slowest.
 * @param {{step: number, day: string}} kept
 * @param {{day: string, step: number, clean: number}[]} done
 * @param {string} day
 * @param {number} wanted
 * @param {number} below
 */
export function readyStep(kept, done, day, wanted, below) {
  if (kept.day === day) return kept.step;
  const before = done.filter((one) => one.day < day && one.step >= 0);
  if (!before.length) return 0;
  const last = before.reduce((latest, one) => (one.day > latest ? one.day : latest), "");
  const own = before.filter((one) => one.day === last);
  const held = own.filter((one) => one.clean >= wanted).map((one) => one.step);
  return held.length ? Math.max(Math.max(...held) - below, 0) : Math.min(...own.map((one) => one.step));
}

/**
 * A day as it is here, not in Greenwich.
 * @param {Date} at
 */
export function localDay(at) {
  const two = (/** @type {number} */ n) => String(n).padStart(2, "0");
  return `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())}`;
}

/**
 * The day that work counts for: a sitting that goes on over midnight stays on its day.
 * @param {{day: string, last: number} | null} sitting
 * @param {number} now
 * @param {string} day
 */
export function dayOfWork(sitting, now, day) {
  return sitting && Math.abs(now - sitting.last) < HOUR ? sitting.day : day;
}

/**
 * Whether the clock of the device went back by more than an hour.
 * @param {{last: number} | null} sitting
 * @param {number} now
 */
export function wentBack(sitting, now) {
  return Boolean(sitting) && /** @type {{last: number}} */ (sitting).last - now > HOUR;
}

/**
 * Whole days from one day to another.
 * @param {string} from
 * @param {string} to
 */
export function daysBetween(from, to) {
  return Math.round((Date.parse(`${to}T00:00Z`) - Date.parse(`${from}T00:00Z`)) / 86_400_000);
}

/**
 * A text in one line, without signs that cannot be seen.
 * @param {string} text
 */
export function plain(text) {
  const seen = text
    .replace(/[\u202a-\u202e\u2066-\u2069\ufeff]/gu, "")
    .replace(/[\p{Cc}\p{Cs}\p{Zl}\p{Zp}]/gu, " ");
  const line = seen.split(/\s+/u).filter(Boolean).join(" ");
  return [...line].slice(0, LONGEST).join("").trimEnd();
}

/**
 * A text as a cell that no spreadsheet takes for a formula.
 * @param {string} text
 */
export function escaped(text) {
  return /^'*[=+\-@＝＋－＠]/u.test(text) ? `'${text}` : text;
}

/**
 * A row as a line of the file, with its end.
 * @param {Row} row
 */
export function csvLine(row) {
  const quoted = (/** @type {string} */ cell) => (/[",\n\r]/u.test(cell) ? `"${cell.replaceAll('"', '""')}"` : cell);
  const texts = new Set(["box", "bars", "note"]);
  return `${row.map((cell, at) => quoted(texts.has(COLUMNS[at]) ? escaped(plain(cell)) : cell)).join(",")}\n`;
}

/**
 * The file that goes home.
 * @param {string} player
 * @param {Row[]} rows
 */
export function csvText(player, rows) {
  return [COLUMNS, ["", "", "player", "", "", "", "", "", player], ...rows].map(csvLine).join("");
}

/**
 * What was done in a week, as rows: days only, no times of day, no failed tries.
 * @param {import("./kept.mjs").State} state
 * @returns {Row[]}
 */
export function rowsOf(state) {
  /** @type {Row[]} */
  const rows = [];
  const told = new Set();
  for (const [id, box] of Object.entries(state.boxes)) {
    /** @type {Map<string, Row>} the last row of each day, which takes what was written that day */
    const last = new Map();
    for (const [key, clean] of Object.entries(box.best)) {
      const [day, number, unit] = key.split("|");
      const row = [state.week, day, "box", id, number, unit, String(clean), "", ""];
      rows.push(row);
      last.set(day, row);
    }
    for (const [day, { bars, note }] of Object.entries(box.told)) {
      if (!bars && !note) continue;
      const row = last.get(day) ?? [state.week, day, "box", id, "", "", "", "", ""];
      if (!last.has(day)) rows.push(row);
      [row[7], row[8]] = [bars, note];
    }
  }
  for (const run of state.runs) rows.push([state.week, run.day, "run-through", run.piece, "", "", "", run.bars, run.note]);
  for (const row of rows) told.add(row[1]);
  const days = new Set([...Object.keys(state.ticks), ...Object.keys(state.spent), ...Object.keys(state.notes)]);
  for (const day of days) {
    const note = state.notes[day] ?? "";
    const played = Object.values(state.ticks[day] ?? {}).some(Boolean) || Object.values(state.spent[day] ?? {}).some((ms) => ms >= 60_000);
    if (note || (played && !told.has(day))) rows.push([state.week, day, "day", "", "", "", "", "", note]);
  }
  return rows.sort((one, other) => (one[1] < other[1] ? -1 : one[1] > other[1] ? 1 : 0));
}

/**
 * A loop of beats for a metronome: whole bars, 64 beats at least, as many as bring its end nearest to a whole sample.
 * @param {number} bpm
 * @param {number} rate samples a second
 * @param {number} bar beats in a bar, 0 for none
 * @returns {{beats: number, length: number, at: number[]}} length and places in samples
 */
export function loopOf(bpm, rate, bar) {
  const step = Math.max(bar, 1);
  const period = (60 * rate) / bpm;
  const off = (/** @type {number} */ n) => Math.abs(n * period - Math.round(n * period));
  let beats = Math.ceil(LEAST_BEATS / step) * step;
  for (let n = beats; n <= MORE_BEATS && off(beats) > 1e-6; n += step) if (off(n) < off(beats)) beats = n;
  return { beats, length: Math.round(beats * period), at: Array.from({ length: beats }, (_, n) => Math.round(n * period)) };
}
