// @ts-check
/* Printed pages: what is found on each as it comes, a button over each bar, boxes over them. */
import { element, said } from '/own/desk.mjs';

/**
 * @typedef {{area: number[], staff: number, bars: number[][], unsure: number[][], first: number | null, known: boolean,
 *   says: string}} System
 * @typedef {{id: string, number: number, spans: number[][], areas: number[][], fault: string}} Place
 * @typedef {{page: number, width: number, height: number, told: string, systems: System[], next: number | null,
 *   unseen: boolean, counted: boolean, boxes: Place[]}} Seen
 * @typedef {{page: number, section: HTMLElement, leaf: HTMLElement, seen: Seen | null, bars: Bar[]}} Sheet
 * @typedef {{sheet: Sheet, system: number, bar: number, button: HTMLButtonElement}} Bar
 */

const here = location.pathname;

/** What the page does when it has looked at a sheet, when something is drawn and when it stands, when a box is chosen or made. */
export const page = {
  /** @param {Sheet} _sheet */
  looked(_sheet) {},
  drawn() {},
  settled() {},
  /** @param {string} _id */
  choose(_id) {},
  box() {},
};

/** @type {Sheet[]} */
export const sheets = [...document.querySelectorAll('.sheet')].map((one, n) => {
  const section = /** @type {HTMLElement} */ (one);
  return { page: n + 1, section, leaf: /** @type {HTMLElement} */ (section.querySelector('.leaf')), seen: null, bars: [] };
});
/** @type {Bar[]} all bars that were found so far, in order */
export let bars = [];

/** @type {Map<Element, Bar>} */
const byButton = new Map();
/** @type {Map<Element, Sheet>} */
const byLeaf = new Map(sheets.map((sheet) => [sheet.leaf, sheet]));

/**
 * The bar of a button, or undefined.
 * @param {Element | null | undefined} button
 */
export const barOf = (button) => (button ? byButton.get(button) : undefined);
/**
 * The sheet that an element lies on.
 * @param {Element} at
 */
export const sheetOf = (at) => byLeaf.get(at.closest('.leaf') ?? at);

/* Pages are looked at one after another, those that are on the screen first. */

/** @type {Set<Sheet>} */
const wanted = new Set();
/** @type {Map<Sheet, Promise<void>>} */
const asked = new Map();
let busy = false;

const watcher = new IntersectionObserver((entries) => {
  for (const entry of entries) {
    const sheet = sheets.find((one) => one.section === entry.target);
    if (sheet && entry.isIntersecting) wanted.add(sheet);
    else if (sheet) wanted.delete(sheet);
  }
  void next();
}, { rootMargin: '40% 0px' });
for (const sheet of sheets) watcher.observe(sheet.section);

async function next() {
  const sheet = busy ? undefined : [...wanted].find((one) => !asked.has(one));
  if (!sheet) return;
  busy = true;
  await lookAt(sheet);
  busy = false;
  void next();
}

/**
 * Look at a page, once.
 * @param {Sheet} sheet
 * @returns {Promise<void>}
 */
export function lookAt(sheet) {
  const going = asked.get(sheet);
  if (going) return going;
  const done = look(sheet);
  asked.set(sheet, done);
  return done;
}

/** @param {Sheet} sheet */
async function look(sheet) {
  const line = /** @type {HTMLElement} */ (sheet.section.querySelector('.looking'));
  element('seen').textContent = said('desk.pages.looking', { n: sheet.page });
  const answer = await fetch(`${here}/${sheet.page}/look`).catch(() => null);
  const told = await answer?.json().catch(() => ({})) ?? {};
  if (!answer?.ok) {
    line.textContent = told.error ?? said('desk.frame.no_answer');
    line.classList.add('fault');
    element('seen').textContent = line.textContent;
    return;
  }
  show(sheet, told);
  const all = told.systems.reduce((/** @type {number} */ sum, /** @type {System} */ one) => sum + one.bars.length - 1, 0);
  element('seen').textContent = said('desk.pages.found', { n: sheet.page, lines: told.systems.length, bars: all });
  if (performance.getEntriesByName('first-look').length === 0) performance.mark('first-look');
}

/**
 * Show what is seen on a page, and the boxes there.
 * @param {Sheet} sheet
 * @param {Seen} seen
 */
export function show(sheet, seen) {
  const before = JSON.stringify(sheet.seen?.systems.map((one) => one.bars));
  sheet.seen = seen;
  sheet.leaf.style.aspectRatio = `${seen.width} / ${seen.height}`;
  const line = /** @type {HTMLElement} */ (sheet.section.querySelector('.looking'));
  line.textContent = seen.told;
  line.classList.toggle('fault', Boolean(seen.told));
  line.hidden = !seen.told;
  if (before !== JSON.stringify(seen.systems.map((one) => one.bars))) cover(sheet, seen);
  for (const bar of sheet.bars) bar.button.setAttribute('aria-label', nameOf(bar));
  draw(sheet, seen);
  lay(sheet, seen);
  page.looked(sheet);
}

/**
 * A button over each bar.
 * @param {Sheet} sheet
 * @param {Seen} seen
 */
function cover(sheet, seen) {
  for (const bar of sheet.bars) { byButton.delete(bar.button); bar.button.remove(); }
  sheet.bars = seen.systems.flatMap((one, system) => one.bars.slice(1).map((_, bar) => {
    const button = document.createElement('button');
    button.type = 'button';
    button.className = 'bar';
    button.tabIndex = -1;
    button.setAttribute('aria-pressed', 'false');
    const made = { sheet, system, bar, button };
    byButton.set(button, made);
    return made;
  }));
  for (const bar of sheet.bars) put(bar.button, seen, rectOf(bar));
  sheet.leaf.append(...sheet.bars.map((bar) => bar.button));
  bars = sheets.flatMap((one) => one.bars);
  if (bars.length && !bars.some((bar) => bar.button.tabIndex === 0)) bars[0].button.tabIndex = 0;
}

/**
 * The number of a bar, where it is known for sure.
 * @param {Bar} bar
 */
export function numberOf(bar) {
  const system = bar.sheet.seen?.systems[bar.system];
  return system?.known && system.first !== null ? system.first + bar.bar : null;
}

/**
 * What a bar is called.
 * @param {Bar} bar
 */
export function nameOf(bar) {
  const number = numberOf(bar);
  const at = { page: bar.sheet.page, system: bar.system + 1 };
  return number === null ? said('desk.pages.bar', { ...at, bar: bar.bar + 1 }) : said('desk.pages.bar_number', { ...at, number });
}

/**
 * The rectangle of a bar, in millimetres.
 * @param {Bar} bar
 */
export function rectOf(bar) {
  return bar.sheet.seen ? across(bar.sheet.seen, bar.system, bar.bar, bar.bar + 1) : [0, 0, 0, 0];
}

/**
 * A system from one barline to another, with some room over and under it.
 * @param {Seen} seen
 * @param {number} place of the system, from 0
 * @param {number} from
 * @param {number} to
 */
export function across(seen, place, from, to) {
  const system = seen.systems[place];
  const [begin, end] = [system.bars[from], system.bars[to]];
  const gap = (/** @type {System | undefined} */ upper, /** @type {System | undefined} */ lower) => {
    const half = upper && lower ? (lower.area[1] - upper.area[3]) / 2.2 : 99;
    return half > 0 ? Math.min(half, system.staff * 0.9) : system.staff / 3;  // else they stand beside one another
  };
  const [over, under] = [gap(seen.systems[place - 1], system), gap(system, seen.systems[place + 1])];
  return [Math.min(begin[0], begin[2]), system.area[1] - over, Math.max(end[0], end[2]), system.area[3] + under];
}

/**
 * Place an element over a page.
 * @param {HTMLElement} one
 * @param {Seen} seen
 * @param {number[]} sides left, top, right, bottom in mm
 */
export function put(one, seen, [left, top, right, bottom]) {
  const [x, y] = [100 / seen.width, 100 / seen.height];
  Object.assign(one.style, { left: `${left * x}%`, top: `${top * y}%`, width: `${(right - left) * x}%`, height: `${(bottom - top) * y}%` });
}

/**
 * Barlines as they were found, those that are doubtful with a question mark, and the numbers of the bars.
 * @param {Sheet} sheet
 * @param {Seen} seen
 */
function draw(sheet, seen) {
  const space = 'http://www.w3.org/2000/svg';
  const svg = document.createElementNS(space, 'svg');
  svg.setAttribute('viewBox', `0 0 ${seen.width} ${seen.height}`);
  svg.setAttribute('class', 'found');
  svg.setAttribute('aria-hidden', 'true');
  const line = (/** @type {number[]} */ [x, y, x2, y2], unsure = false) => {
    const made = document.createElementNS(space, 'line');
    for (const [name, value] of Object.entries({ x1: x, y1: y, x2, y2 })) made.setAttribute(name, String(value));
    if (unsure) made.setAttribute('class', 'unsure');
    svg.append(made);
  };
  const write = (/** @type {number} */ x, /** @type {number} */ y, /** @type {string} */ text) => {
    const made = document.createElementNS(space, 'text');
    made.setAttribute('x', String(x));
    made.setAttribute('y', String(y));
    made.textContent = text;
    svg.append(made);
  };
  for (const system of seen.systems) {
    const doubtful = new Set(system.unsure.map(String));
    for (const [n, [x, y, x2, y2]] of system.bars.entries()) {
      if (doubtful.has(String([x, y, x2, y2]))) continue;
      line([x, y - 2.4, x, y - 0.5]);
      line([x2, y2 + 0.5, x2, y2 + 2.4]);
      if (n && n + 1 < system.bars.length) write(x + 0.5, y - 1.4, system.known && system.first !== null ? String(system.first + n) : `(${n + 1})`);
    }
    for (const [x, y, x2, y2] of system.unsure) {
      line([x, y - 2.4, x2, y2 + 2.4], true);
      write(x + 0.4, y - 0.9, '?');
    }
  }
  sheet.leaf.querySelector('.found')?.remove();
  sheet.leaf.querySelector('img')?.after(svg);
}

/**
 * The boxes on a page, with their numbers.
 * @param {Sheet} sheet
 * @param {Seen} seen
 */
function lay(sheet, seen) {
  sheet.leaf.querySelectorAll('.boxed-here, .tag').forEach((old) => old.remove());
  for (const place of seen.boxes) {
    rects(seen, place).forEach((sides, n) => {
      const made = document.createElement('div');
      made.className = place.number ? 'boxed-here' : 'boxed-here earlier';
      put(made, seen, sides);
      sheet.leaf.append(made);
      if (n || !place.number) return;
      const tag = document.createElement('button');
      tag.type = 'button';
      tag.className = 'tag';
      tag.dataset.id = place.id;
      tag.textContent = String(place.number);
      tag.setAttribute('aria-label', said('desk.part.box', { number: place.number }));
      put(tag, seen, sides);
      tag.style.width = tag.style.height = '';
      sheet.leaf.append(tag);
    });
  }
}

/**
 * The rectangles of a box on a page.
 * @param {Seen} seen
 * @param {Place} place
 */
export const rects = (seen, place) => [...place.areas, ...place.spans.map(([system, from, to]) => across(seen, system - 1, from, to))];

/**
 * Let a bar be the one that Tab leads to, and go there.
 * @param {Bar} bar
 */
export function focusOn(bar) {
  for (const one of bars) one.button.tabIndex = one === bar ? 0 : -1;
  bar.button.focus();
}

/**
 * The bar that stands at a place of a page.
 * @param {number} n the page
 * @param {number} system from 1
 * @param {number} bar from 0
 */
export const barAt = (n, system, bar) => sheets[n - 1]?.bars.find((one) => one.system === system - 1 && one.bar === bar);
