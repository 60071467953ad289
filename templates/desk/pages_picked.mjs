// @ts-check
/* What is picked on printed pages: bars from one to another, or a rectangle; drawn with edges to take hold of. */
import { said, tell } from '/own/desk.mjs';
import { across, bars, nameOf, put, rectOf, sheets } from '/own/pages_sheets.mjs';

/** @typedef {import('/own/pages_sheets.mjs').Bar} Bar */
/** @typedef {import('/own/pages_sheets.mjs').Sheet} Sheet */
/**
 * Bars from one to another in either order, or a rectangle, or no more than what is shown; the id of its box, or "".
 * @typedef {{id: string, bars: [Bar, Bar] | null, sheet: Sheet, area: number[], shown: [Sheet, number[]][],
 *   lines: string}} Picked
 */

/** @type {Picked | null} */
export let picked = null;

/** @type {Map<string, HTMLElement>} what is drawn of it, by page and place */
const bands = new Map();
/** @type {Set<Bar>} */
let pressed = new Set();

/**
 * Pick from one bar to another.
 * @param {Bar} from
 * @param {Bar} to
 * @param {string} [id] of the box that is moved there
 */
export function pickBars(from, to, id = '') {
  const pages = [from.sheet.page, to.sheet.page].sort((a, b) => a - b);
  if (sheets.slice(pages[0], pages[1] - 1).some((sheet) => !sheet.seen)) { tell(said('desk.pages.not_looked')); return; }
  picked = { id, bars: [from, to], sheet: to.sheet, area: [], shown: [], lines: '' };
  paint();
}

/**
 * Pick a rectangle.
 * @param {Sheet} sheet
 * @param {number[]} area in millimetres
 * @param {string} [id] of its box
 * @param {[Sheet, number[]][]} [shown] as it is cut
 * @param {string} [lines] the systems that it is cut from
 */
export function pickArea(sheet, area, id = '', shown = [], lines = '') {
  picked = { id, bars: null, sheet, area, shown, lines };
  paint();
}

/** Pick nothing. */
export function pickNothing() {
  picked = null;
  paint();
}

/**
 * The first and the last bar that are picked.
 * @returns {[Bar, Bar] | null}
 */
export function ends() {
  if (!picked?.bars) return null;
  const [from, to] = picked.bars;
  return bars.indexOf(from) <= bars.indexOf(to) ? [from, to] : [to, from];
}

/** What is picked as parts of systems: page, system, from which barline to which. */
export function parts() {
  /** @type {number[][]} */
  const found = [];
  for (const bar of chosen()) {
    const last = found.at(-1);
    if (last && last[0] === bar.sheet.page && last[1] === bar.system + 1) last[3] = bar.bar + 1;
    else found.push([bar.sheet.page, bar.system + 1, bar.bar, bar.bar + 1]);
  }
  return found;
}

function chosen() {
  const both = ends();
  return both ? bars.slice(bars.indexOf(both[0]), bars.indexOf(both[1]) + 1) : [];
}

/** Draw what is picked, with edges to take hold of. Only what changes is touched: it is drawn at each move. */
function paint() {
  const now = new Set(chosen());
  for (const bar of pressed) if (!now.has(bar)) bar.button.setAttribute('aria-pressed', 'false');
  for (const bar of now) if (!pressed.has(bar)) bar.button.setAttribute('aria-pressed', 'true');
  pressed = now;
  /** @type {Map<string, [Sheet, number[]]>} */
  const drawn = new Map();
  for (const [n, system, from, to] of parts()) {
    const sheet = sheets[n - 1];
    if (sheet.seen) drawn.set(`${n}:${system}`, [sheet, across(sheet.seen, system - 1, from, to)]);
  }
  if (picked && !picked.bars) {
    const { shown, sheet, area } = picked;
    for (const [n, one] of (shown.length ? shown : [/** @type {[Sheet, number[]]} */ ([sheet, area])]).entries()) drawn.set(`area:${n}`, one);
  }
  for (const [key, band] of bands) if (!drawn.has(key)) { band.remove(); bands.delete(key); }
  for (const [key, [sheet, sides]] of drawn) {
    const band = bands.get(key) ?? document.createElement('div');
    band.className = picked?.bars ? 'picked' : 'picked drawn-here';
    if (sheet.seen) put(band, sheet.seen, sides);
    if (band.parentElement !== sheet.leaf) sheet.leaf.append(band);
    bands.set(key, band);
  }
  hold();
}

const AREA = ['left', 'top', 'right', 'bottom'];

/** The edges of what is picked. */
function hold() {
  const both = ends();
  const old = new Map([...document.querySelectorAll('.edge')].map((one) => [/** @type {HTMLElement} */ (one).dataset.side, one]));
  /** @type {[string, Sheet, number[]][]} */
  const wantedNow = [];
  if (both) {
    both.forEach((bar, side) => {
      const sides = rectOf(bar);
      const x = sides[side ? 2 : 0];
      wantedNow.push([String(side), bar.sheet, [x, sides[1], x, sides[3]]]);
    });
  } else if (picked?.area.length) {
    const [left, top, right, bottom] = picked.area;
    const lines = [[left, top, left, bottom], [left, top, right, top], [right, top, right, bottom], [left, bottom, right, bottom]];
    lines.forEach((sides, n) => picked && wantedNow.push([AREA[n], picked.sheet, sides]));
  }
  for (const [side, one] of old) if (!wantedNow.some(([name]) => name === side)) one.remove();
  for (const [side, sheet, sides] of wantedNow) edge(side, sheet, sides, /** @type {HTMLElement | undefined} */ (old.get(side)));
}

/**
 * @param {string} side "0", "1" of bars; "left", "top", "right", "bottom" of a rectangle
 * @param {Sheet} sheet
 * @param {number[]} sides
 * @param {HTMLElement} [found]
 */
function edge(side, sheet, sides, found) {
  const button = found ?? document.createElement('button');
  const flat = side === 'top' || side === 'bottom';
  if (!found) {
    button.className = flat ? 'edge flat' : 'edge';
    button.dataset.side = side;
    button.setAttribute('type', 'button');
    button.setAttribute('role', 'slider');
    button.setAttribute('aria-label', said(side === '0' ? 'desk.part.opening' : side === '1' ? 'desk.part.closing' : `desk.pages.edge_${side}`));
  }
  const both = ends();
  if (both) {
    const bar = both[Number(side)];
    button.setAttribute('aria-valuemin', '1');
    button.setAttribute('aria-valuemax', String(bars.length));
    button.setAttribute('aria-valuenow', String(bars.indexOf(bar) + 1));
    button.setAttribute('aria-valuetext', nameOf(bar));
  } else {
    const n = Math.round(sides[flat ? 1 : 0]);
    button.setAttribute('aria-valuemin', '0');
    button.setAttribute('aria-valuemax', String(Math.round((flat ? sheet.seen?.height : sheet.seen?.width) ?? 0)));
    button.setAttribute('aria-valuenow', String(n));
    button.setAttribute('aria-valuetext', said('desk.pages.millimetres', { n }));
  }
  if (sheet.seen) put(button, sheet.seen, sides);
  button.style[flat ? 'height' : 'width'] = '';
  if (button.parentElement === sheet.leaf) return;
  const kept = document.activeElement === button;
  sheet.leaf.append(button);
  if (kept) button.focus();
}

