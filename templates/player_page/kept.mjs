// @ts-check
// What the page keeps on the device: one object for a week, read again before each change, since two pages may be open.
import { dayOfWork, localDay } from "./rules.mjs";

const REST = 20 * 60_000;

/**
 * @typedef {object} BoxState
 * @property {number} step the tempo step chosen last
 * @property {string} day the day on which it was chosen
 * @property {number} count clean runs in a row
 * @property {number} misses runs since the last clean one
 * @property {Record<string, number>} ups steps up by day
 * @property {number} top the fastest step of that day
 * @property {Record<string, number>} best most clean runs in a row by "day|number|unit"
 * @property {Record<string, {bars: string, note: string}>} told what was written by day
 */

/**
 * @typedef {object} State
 * @property {number} version
 * @property {string} week its first day
 * @property {Record<string, Record<string, boolean>>} ticks by day and item
 * @property {Record<string, Record<string, number>>} spent milliseconds by day and item
 * @property {Record<string, number>} playing milliseconds since the last break, by day
 * @property {Record<string, BoxState>} boxes by id
 * @property {{day: string, piece: string, bars: string, note: string}[]} runs
 * @property {string[]} mocks days
 * @property {Record<string, string>} notes words to the teacher by day
 * @property {string[]} sent lines that went home
 * @property {{day: string, last: number} | null} sitting
 * @property {{sound: boolean, light: boolean, first: boolean, bpm: number}} beat
 */

/**
 * @param {string} week
 * @returns {State}
 */
export function freshState(week) {
  return {
    version: 1, week, ticks: {}, spent: {}, playing: {}, boxes: {}, runs: [], mocks: [], notes: {}, sent: [], sitting: null,
    beat: { sound: true, light: true, first: true, bpm: 60 },
  };
}

/**
 * @param {State} state
 * @param {string} id
 * @returns {BoxState}
 */
export function boxOf(state, id) {
  state.boxes[id] ??= { step: 0, day: "", count: 0, misses: 0, top: 0, ups: {}, best: {}, told: {} };
  return state.boxes[id];
}

/**
 * The store of the browser; null where it may not be used.
 * @returns {Storage | null}
 */
export function openStore() {
  try {
    const store = globalThis.localStorage;
    store.setItem("excerpts/try", "1");
    store.removeItem("excerpts/try");
    return store;
  } catch {
    return null;
  }
}

/** The weeks of one player on this device. */
export class Kept {
  /** @type {State} */ #memory;

  /**
   * @param {Storage | null} store
   * @param {string} player digest of the player
   * @param {string} week
   */
  constructor(store, player, week) {
    this.store = store;
    this.prefix = `excerpts/${player}/`;
    this.week = week;
    this.#memory = freshState(week);
  }

  /** Whether anything is kept. */
  get works() {
    return this.store !== null;
  }

  get key() {
    return this.prefix + this.week;
  }

  /**
   * What is kept now, whoever wrote it.
   * @returns {State}
   */
  load() {
    return (this.store && this.#read(this.key, this.week)) ?? this.#memory;
  }

  /**
   * @param {string} key
   * @param {string} week
   * @returns {State | null}
   */
  #read(key, week) {
    let text = null;
    try {
      text = /** @type {Storage} */ (this.store).getItem(key);
      if (text === null) return null;
      const found = JSON.parse(text);
      if (found.version !== 1 || found.week !== week) throw new Error("not a week of this page");
      return { ...freshState(week), ...found };
    } catch {
      if (text !== null) this.#write(`${key}/unread`, text); // nothing that cannot be read is thrown away
      return null;
    }
  }

  /**
   * @param {string} key
   * @param {string} text
   */
  #write(key, text) {
    try {
      this.store?.setItem(key, text);
    } catch {
      this.store = null; // full or forbidden: the page goes on without it and says so
    }
  }

  /**
   * Change what is kept: read it, change it, write it.
   * @param {(state: State) => void} change
   * @returns {State}
   */
  change(change) {
    const state = this.load();
    change(state);
    this.#memory = state;
    this.#write(this.key, JSON.stringify(state));
    return state;
  }

  /**
   * Do something on the day that work counts for.
   * @param {(state: State, day: string) => void} change
   * @returns {State}
   */
  work(change) {
    return this.change((state) => {
      const now = Date.now();
      const day = dayOfWork(state.sitting, now, localDay(new Date(now)));
      if (state.sitting && now - state.sitting.last > REST) state.playing = {}; // a rest of its own
      state.sitting = { day, last: now };
      change(state, day);
    });
  }

  /** The day that work counts for now. */
  day() {
    return dayOfWork(this.load().sitting, Date.now(), localDay(new Date()));
  }

  /**
   * The other weeks of the player that are kept here.
   * @returns {State[]}
   */
  others() {
    const store = this.store;
    if (!store) return [];
    const keys = Array.from({ length: store.length }, (_, n) => store.key(n) ?? "");
    return keys
      .filter((key) => key.startsWith(this.prefix) && key !== this.key && /^\d{4}-\d\d-\d\d$/u.test(key.slice(this.prefix.length)))
      .sort()
      .flatMap((key) => this.#read(key, key.slice(this.prefix.length)) ?? []);
  }

  /**
   * Mark this week as opened; the latest week that was ever opened here.
   * @returns {string}
   */
  newest() {
    const key = `${this.prefix}newest`;
    let newest = this.week;
    try {
      newest = this.store?.getItem(key) ?? "";
    } catch {
      newest = "";
    }
    if (newest < this.week) this.#write(key, this.week);
    return newest < this.week ? this.week : newest;
  }

  /**
   * Write down that a week's lines went home.
   * @param {string} week
   * @param {string[]} lines
   */
  sent(week, lines) {
    const other = new Kept(this.store, this.prefix.split("/")[1], week);
    const keeper = week === this.week ? this : other;
    keeper.change((state) => {
      state.sent = [...new Set([...state.sent, ...lines])];
    });
  }

  /** Forget the player on this device. */
  forget() {
    const store = this.store;
    const keys = store ? Array.from({ length: store.length }, (_, n) => store.key(n) ?? "") : [];
    for (const key of keys) if (key.startsWith(this.prefix)) store?.removeItem(key);
    this.#memory = freshState(this.week);
  }
}
