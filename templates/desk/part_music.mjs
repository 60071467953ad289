// @ts-check
/* A drawn part: lines as they come, a button over each bar, boxes over them; what is picked is shown on them. */
import { element, said, tell } from '/own/desk.mjs';
import { drawn, joined, number, put, reads } from '/own/part_places.mjs';

/** @typedef {import('/own/part_places.mjs').Bar} Bar */
/** @typedef {import('/own/part_places.mjs').Span} Span */
/** @typedef {import('/own/part_places.mjs').Cell} Cell */
/**
 * @typedef {{element: HTMLElement, height: number, width: number, staves: {top: number, bottom: number}[], over: Over,
 *   heads: Head[]}} Line
 * @typedef {{place: number, onset: string, rect: number[], pitch: string, grace: boolean, before: number, voice: string,
 *   staff: number}} Head
 * @typedef {{svg: string, boxes: {box: number, rect: number[], tag: number[] | null}[]}} Over
 * @typedef {{id: string, number: number, called: string}} Named
 */

const here = location.pathname;
const music = element('music');

/** What the page knows of the boxes, and what it does when bars stand picked or are to be boxed. */
export const page = {
  /** @type {Named[]} */ boxes: [],
  /** how many measures the part has */ count: 0,
  settled() {},
  /**
   * choose the box that a click on a bar means
   * @param {number} _place
   */ choose: (_place) => false,
  box() {},
  drawn() {},
};
/** @type {Bar[]} */ export let bars = [];
/** @type {Line[]} */ export let lines = [];
/** @type {number[]} how many lines each portion has */ let portions = [];
/** @type {{id: string, span: Span, from: Cell, to: Cell} | null} what is picked; the id of its box, or "" */
export let picked = null;
/** width of the lines in millimetres */
export let width = 0;
let loading = 0;

/** @type {Map<number, Bar>} the bar of each place */ const places = new Map();
/** @type {Map<number, HTMLElement>} what is drawn of the picked bars, by line */ const bands = new Map();
/** @type {Set<Bar>} */ let pressed = new Set();

/** The bar of a place. */
export const barOf = (/** @type {number} */ place) => places.get(place);
const nameOf = (/** @type {Bar} */ bar) => {
  if (bar.count === 1) return said('bar.one', { label: bar.label || `@${bar.place}` });
  const last = /^\d+$/.test(bar.label) ? Number(bar.label) + bar.count - 1 : `@${bar.place + bar.count - 1}`;
  return `${said('bar.many', { first: bar.label || `@${bar.place}`, last })}, ${said('desk.part.rest')}`;
};

/** Fetch the lines, some at a time; the first are there at once. */
export async function load() {
  const turn = ++loading;
  width = Math.floor(music.clientWidth / 37.8) * 10;
  bars = []; lines = []; portions = [];
  places.clear(); bands.clear(); pressed = new Set();
  music.replaceChildren();
  for (let more = true, at = 0; more; at += 1) {
    const answer = await fetch(`${here}/lines/${at}?width=${width}`);
    const told = await answer.json().catch(() => ({}));
    if (turn !== loading) return;
    if (!answer.ok) { tell(told.error ?? said('desk.frame.failed')); return; }
    if (told.fault) tell(told.fault);
    const begin = lines.length;
    for (const system of told.systems) add(system);
    portions.push(told.systems.length);
    told.over.forEach((/** @type {Over} */ over, /** @type {number} */ n) => lay(lines[begin + n], over));
    ({ more } = told);
    if (picked) paint();
    page.drawn();
    settle();
    if (at === 0) performance.mark('first-lines');
  }
  performance.mark('all-lines');
  music.dataset.all = 'yes';
}

/**
 * Add a line with a button over each of its bars.
 * @param {any} system
 */
function add(system) {
  const box = document.createElement('div');
  box.className = 'line';
  box.append(drawn(system.svg));
  const line = { element: box, height: system.height, width: system.width, staves: system.staves, heads: system.heads, over: { svg: '', boxes: [] } };
  for (const told of system.bars) {
    const button = document.createElement('button');
    const bar = { ...told, line: lines.length, button };
    button.type = 'button';
    button.className = 'bar';
    button.tabIndex = bars.length ? -1 : 0;
    button.dataset.place = told.place;
    button.setAttribute('aria-label', nameOf(bar));
    button.setAttribute('aria-pressed', 'false');
    put(button, line, told.left, told.right);
    bars.push(bar);
    for (let place = bar.place; place < bar.place + bar.count; place += 1) places.set(place, bar);
    box.append(button);
  }
  lines.push(line);
  music.append(box);
}

/**
 * Draw the portion with a bar anew: a mark in it has changed. Its bars and lines stay; else everything is drawn.
 * @param {number} place
 */
export async function redraw(place) {
  const at = barOf(place)?.line ?? 0;
  let [begin, n] = [0, 0];
  while (n + 1 < portions.length && begin + portions[n] <= at) { begin += portions[n]; n += 1; }
  const told = await (await fetch(`${here}/lines/${n}?width=${width}`)).json();
  const own = bars.filter((bar) => bar.line >= begin && bar.line < begin + portions[n]);
  const now = told.systems.flatMap((/** @type {any} */ system, /** @type {number} */ line) => system.bars.map((/** @type {any} */ bar) => ({ ...bar, line: begin + line })));
  if (String(own.map((bar) => [bar.place, bar.line])) !== String(now.map((/** @type {Bar} */ bar) => [bar.place, bar.line]))) { void load(); return; }
  told.systems.forEach((/** @type {any} */ system, /** @type {number} */ which) => {
    const line = lines[begin + which];
    line.element.querySelector('svg')?.replaceWith(drawn(system.svg));
    Object.assign(line, { height: system.height, staves: system.staves, heads: system.heads });
    lay(line, told.over[which]);
  });
  own.forEach((bar, which) => {
    Object.assign(bar, { left: now[which].left, right: now[which].right, cuts: now[which].cuts });
    put(bar.button, lines[bar.line], bar.left, bar.right);
  });
  paint();
}

/**
 * Lay boxes and numbers over a line.
 * @param {Line} line
 * @param {Over} over
 */
function lay(line, over) {
  line.over = over;
  line.element.querySelectorAll('svg + svg, .tag').forEach((old) => old.remove());
  line.element.querySelector('svg')?.after(drawn(over.svg));
  for (const { box, tag } of over.boxes) {
    if (!tag) continue;
    const button = document.createElement('button');
    button.type = 'button';
    button.className = 'tag';
    button.dataset.id = page.boxes[box].id;
    button.setAttribute('aria-label', said('desk.part.tag', { number: page.boxes[box].number, bars: page.boxes[box].called }));
    put(button, line, tag[0], tag[2], tag[1], tag[3]);
    line.element.append(button);
  }
}

/** Where the page stood before it was loaded again: as soon as there are enough lines. */
let before = Number(sessionStorage.getItem(`at ${here}`) ?? 0);
function settle() {
  if (before && document.documentElement.scrollHeight > before + innerHeight) { scrollTo(0, before); before = 0; }
}
addEventListener('pagehide', () => sessionStorage.setItem(`at ${here}`, String(scrollY)));

/* What is picked. */

/**
 * @param {Cell} from
 * @param {Cell} to
 */
export function pick(from, to, id = picked?.id ?? '') {
  picked = { id, from, to, span: joined(from, to) };
  paint();
}

/** Draw what is picked, with an edge to take hold of at each end. Only what changes is touched: it is drawn at each move. */
function paint() {
  const [first, last] = picked ? [barOf(picked.span[0]), barOf(picked.span[2])] : [];
  const now = first && last ? bars.slice(bars.indexOf(first), bars.indexOf(last) + 1) : [];
  const chosen = new Set(now);
  for (const bar of pressed) if (!chosen.has(bar)) bar.button.setAttribute('aria-pressed', 'false');
  for (const bar of chosen) if (!pressed.has(bar)) bar.button.setAttribute('aria-pressed', 'true');
  pressed = chosen;
  for (const [at, band] of bands) if (!first || !last || at < first.line || at > last.line) { band.remove(); bands.delete(at); }
  if (!picked || !first || !last) { music.querySelectorAll('.edge').forEach((old) => old.remove()); return; }
  for (const stripe of stripes(picked.span)) {
    const band = bands.get(stripe.at) ?? document.createElement('div');
    band.className = picked.id ? 'picked boxed' : 'picked';
    put(band, stripe.line, stripe.left, stripe.right, ...heights(stripe.line));
    if (!bands.has(stripe.at)) { bands.set(stripe.at, band); stripe.line.element.append(band); }
  }
  const ends = [reads(first, picked.span[1]), reads(last, picked.span[3])];
  [first, last].forEach((bar, side) => edge(side, lines[bar.line], ends[side]));
}

/**
 * Where a span stands on each of its lines, as far as they are drawn.
 * @param {Span} span
 */
export function stripes(span) {
  const [first, last] = [barOf(span[0]), barOf(span[2]) ?? bars[bars.length - 1]];
  if (!first || !last) return [];
  return Array.from({ length: last.line - first.line + 1 }, (_, n) => {
    const at = first.line + n;
    const own = bars.filter((bar) => bar.line === at);
    const [begins, ends] = [at === first.line, at === last.line];
    return { at, line: lines[at], begins, ends, left: begins ? reads(first, span[1]) : own[0].left, right: ends ? reads(last, span[3]) : own[own.length - 1].right };
  });
}

/**
 * Top and bottom of what is picked: of its box, or near the staves.
 * @param {Line} line
 * @returns {[number, number]}
 */
function heights(line) {
  const box = line.over.boxes.find((one) => picked?.id && page.boxes[one.box].id === picked.id);
  if (box) return [box.rect[1], box.rect[3]];
  return [Math.max(0, line.staves[0].top - 2), Math.min(line.height, line.staves[line.staves.length - 1].bottom + 2)];
}

/**
 * @param {number} side 0 the beginning, 1 the end
 * @param {Line} line
 * @param {number} x
 */
function edge(side, line, x) {
  const found = music.querySelector(`.edge[data-side="${side}"]`);
  const button = found instanceof HTMLElement ? found : document.createElement('button');
  if (picked === null) return;
  const [place, onset] = side ? [picked.span[2], picked.span[3]] : [picked.span[0], picked.span[1]];
  const bar = barOf(place);
  if (!found) {
    button.className = 'edge';
    button.dataset.side = String(side);
    button.setAttribute('type', 'button');
    button.setAttribute('role', 'slider');
    button.setAttribute('aria-label', said(side ? 'desk.part.closing' : 'desk.part.opening'));
    button.setAttribute('aria-valuemin', '1');
    button.setAttribute('aria-valuemax', String(page.count));
  }
  const beat = bar && onset && onset !== '0' ? bar.cuts.filter((cut) => cut[2] && number(cut[0]) <= number(onset)).length + (side ? 0 : 1) : 0;
  button.setAttribute('aria-valuenow', String(place));
  button.setAttribute('aria-valuetext', (bar ? nameOf(bar) : '') + (beat ? said('desk.part.beat', { beat }) : ''));
  put(button, line, x, x, ...heights(line));
  button.style.width = '';
  if (button.parentElement !== line.element) {
    const kept = document.activeElement === button;
    line.element.append(button);
    if (kept) button.focus();
  }
}

/**
 * @param {Span} span
 * @returns {Cell}
 */
export const startOf = (span) => ({ place: span[0], start: span[1], last: span[0], end: span[1] });
/**
 * @param {Span} span
 * @returns {Cell}
 */
export const endOf = (span) => ({ place: span[2], start: span[3] ?? 'end', last: span[2], end: span[3] });

/**
 * Pick a span, of a box or of none.
 * @param {string} id
 * @param {Span} span
 */
export function pickSpan(id, span) {
  picked = { id, span, from: startOf(span), to: endOf(span) };
  paint();
}

/** Pick nothing. */
export function pickNothing() {
  picked = null;
  paint();
}

/**
 * Show the line of a bar.
 * @param {number} place
 */
export function reach(place) {
  const bar = barOf(place);
  if (!bar) { tell(said('desk.part.no_bar')); return false; }
  lines[bar.line].element.scrollIntoView({ block: 'nearest' });
  return true;
}

/**
 * Lay other boxes over all lines.
 * @param {Over[][]} over by portions
 */
export function layAll(over) {
  if (over.length < portions.length) { void load(); return; }
  let at = 0;
  portions.forEach((count, n) => {
    for (let one = 0; one < count; one += 1) lay(lines[at + one], over[n]?.[one] ?? { svg: '', boxes: [] });
    at += count;
  });
  paint();
}

/**
 * Say which box is chosen.
 * @param {string} id
 */
export function nameChosen(id) {
  for (const tag of music.querySelectorAll('.tag')) {
    if (tag instanceof HTMLElement && id && tag.dataset.id === id) tag.setAttribute('aria-current', 'true');
    else tag.removeAttribute('aria-current');
  }
}

/** The place of the bar that has the keyboard, or that Tab leads to. */
export const tabPlace = () => bars.find((bar) => bar.button === document.activeElement)?.place ?? bars.find((bar) => bar.button.tabIndex === 0)?.place ?? 1;

/** @param {number} place */
export function focusOn(place) {
  const bar = barOf(place);
  for (const one of bars) one.button.tabIndex = one === bar ? 0 : -1;
  bar?.button.focus({ preventScroll: false });
}

let resized = 0;
addEventListener('resize', () => {
  clearTimeout(resized);
  resized = window.setTimeout(() => { if (Math.floor(music.clientWidth / 37.8) * 10 !== width) void load(); }, 300);
});
