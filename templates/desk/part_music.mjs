// @ts-check
/* A drawn part: lines as they come, a button over each bar, boxes over them; bars are picked by drag, clicks and keys. */
import { element, said, tell } from '/own/desk.mjs';
import { cellAt, drawn, joined, number, put, reads, stepped, within } from '/own/part_places.mjs';

/** @typedef {import('/own/part_places.mjs').Bar} Bar */
/** @typedef {import('/own/part_places.mjs').Span} Span */
/** @typedef {import('/own/part_places.mjs').Cell} Cell */
/**
 * @typedef {{element: HTMLElement, height: number, width: number, staves: {top: number, bottom: number}[], over: Over}} Line
 * @typedef {{svg: string, boxes: {box: number, rect: number[], tag: number[] | null}[]}} Over
 * @typedef {{id: string, number: number, bars: string}} Named
 */

const here = location.pathname;
const music = element('music');
const byBeat = /** @type {HTMLInputElement} */ (element('by-beat'));

/** What the page knows of the boxes, and what it does when bars stand picked or are to be boxed. */
export const page = {
  /** @type {Named[]} */ boxes: [],
  /** how many measures the part has */ count: 0,
  settled() {},
  box() {},
  drawn() {},
};
/** @type {Bar[]} */ let bars = [];
/** @type {Line[]} */ let lines = [];
/** @type {number[]} how many lines each stretch has */ let stretches = [];
/** @type {{id: string, span: Span, from: Cell, to: Cell} | null} what is picked; the id of its box, or "" */
export let picked = null;
/** width of the lines in millimetres */
export let width = 0;
let loading = 0;

const barOf = (/** @type {number} */ place) => bars.find((bar) => bar.place <= place && place < bar.place + bar.count);
const nameOf = (/** @type {Bar} */ bar) => {
  if (bar.count === 1) return said('bar.one', { label: bar.label || `@${bar.place}` });
  const last = /^\d+$/.test(bar.label) ? Number(bar.label) + bar.count - 1 : `@${bar.place + bar.count - 1}`;
  return `${said('bar.many', { first: bar.label || `@${bar.place}`, last })}, ${said('desk.part.rest')}`;
};

/** Fetch the lines, some at a time; the first are there at once. */
export async function load() {
  const turn = ++loading;
  width = Math.floor(music.clientWidth / 37.8) * 10;
  bars = []; lines = []; stretches = [];
  music.replaceChildren();
  for (let more = true, at = 0; more; at += 1) {
    const answer = await fetch(`${here}/lines/${at}?width=${width}`);
    const told = await answer.json().catch(() => ({}));
    if (turn !== loading) return;
    if (!answer.ok) { tell(told.error ?? said('desk.frame.failed')); return; }
    if (told.fault) tell(told.fault);
    const begin = lines.length;
    for (const system of told.systems) add(system);
    stretches.push(told.systems.length);
    told.over.forEach((/** @type {Over} */ over, /** @type {number} */ n) => lay(lines[begin + n], over));
    ({ more } = told);
    if (picked) paint();
    page.drawn();
    settle();
  }
  music.dataset.all = 'yes';
}

/** Add a line with a button over each of its bars. @param {any} system */
function add(system) {
  const box = document.createElement('div');
  box.className = 'line';
  box.append(drawn(system.svg));
  const line = { element: box, height: system.height, width: system.width, staves: system.staves, over: { svg: '', boxes: [] } };
  for (const told of system.bars) {
    const button = document.createElement('button');
    const bar = { ...told, line: lines.length, button };
    button.type = 'button';
    button.className = 'bar';
    button.tabIndex = bars.length ? -1 : 0;
    button.dataset.place = told.place;
    button.setAttribute('aria-label', nameOf(bar));
    put(button, line, told.left, told.right);
    bars.push(bar);
    box.append(button);
  }
  lines.push(line);
  music.append(box);
}

/** Lay boxes and numbers over a line. @param {Line} line @param {Over} over */
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
    button.setAttribute('aria-label', said('desk.part.tag', { number: page.boxes[box].number, bars: page.boxes[box].bars }));
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

/** @param {Cell} from @param {Cell} to */
function pick(from, to, id = picked?.id ?? '') {
  picked = { id, from, to, span: joined(from, to) };
  paint();
}

/** Draw what is picked, with an edge to take hold of at each end. */
function paint() {
  music.querySelectorAll('.picked').forEach((old) => old.remove());
  for (const bar of bars) bar.button.setAttribute('aria-pressed', String(Boolean(picked && within(bar, picked.span))));
  if (!picked) { music.querySelectorAll('.edge').forEach((old) => old.remove()); return; }
  const [first, last] = [barOf(picked.span[0]), barOf(picked.span[2])];
  if (!first || !last) return;
  const ends = [reads(first, picked.span[1]), reads(last, picked.span[3])];
  for (let at = first.line; at <= last.line; at += 1) {
    const line = lines[at];
    const own = bars.filter((bar) => bar.line === at);
    const band = document.createElement('div');
    band.className = picked.id ? 'picked boxed' : 'picked';
    const [left, right] = [at === first.line ? ends[0] : own[0].left, at === last.line ? ends[1] : own[own.length - 1].right];
    put(band, line, left, right, ...heights(line));
    line.element.append(band);
  }
  [first, last].forEach((bar, side) => edge(side, lines[bar.line], ends[side]));
}

/** Top and bottom of what is picked: of its box, or near the staves. @param {Line} line @returns {[number, number]} */
function heights(line) {
  const box = line.over.boxes.find((one) => picked?.id && page.boxes[one.box].id === picked.id);
  if (box) return [box.rect[1], box.rect[3]];
  return [Math.max(0, line.staves[0].top - 2), Math.min(line.height, line.staves[line.staves.length - 1].bottom + 2)];
}

/** @param {number} side 0 the beginning, 1 the end @param {Line} line @param {number} x */
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

/** The cell under a pointer. @param {PointerEvent | MouseEvent} event @returns {Cell | null} */
function under(event) {
  const at = document.elementsFromPoint(event.clientX, event.clientY).find((one) => one.classList.contains('bar'));
  const bar = at instanceof HTMLElement ? barOf(Number(at.dataset.place)) : undefined;
  if (!bar) return null;
  const line = lines[bar.line];
  const inside = line.element.getBoundingClientRect();
  return cellAt(bar, (event.clientX - inside.left) / inside.width * line.width, byBeat.checked || event.altKey, event.altKey);
}

/** @type {{side: number | null, moved: boolean, from: Cell, shift: boolean} | null} */
let drag = null;

music.addEventListener('pointerdown', (event) => {
  const target = /** @type {HTMLElement} */ (event.target);
  const cell = under(event);
  if (event.button !== 0 || !cell) return;
  if (target.classList.contains('edge') && picked) {
    const side = Number(target.dataset.side);
    drag = { side, moved: false, from: side ? startOf(picked.span) : endOf(picked.span), shift: false };
  } else if (target.classList.contains('bar')) {
    drag = { side: null, moved: false, from: event.shiftKey && picked ? picked.from : cell, shift: event.shiftKey };
  } else return;
  music.setPointerCapture(event.pointerId);
});
music.addEventListener('pointermove', (event) => {
  const cell = drag && under(event);
  if (!drag || !cell) return;
  const now = joined(drag.from, cell);
  if (picked && String(now) === String(picked.span)) return;
  if (!drag.moved && drag.side === null && String(joined(cell, cell)) === String(joined(drag.from, drag.from))) return;
  drag.moved = true;
  pick(drag.from, cell, drag.side === null ? '' : picked?.id ?? '');
});
music.addEventListener('pointerup', (event) => {
  if (!drag) return;
  const { side, moved, from, shift } = drag;
  const cell = under(event);
  drag = null;
  if (side === null && !moved && cell) {
    pick(shift ? from : cell, cell, '');
    focusOn(cell.place);
  }
  if (side === null || moved) page.settled();
});
music.addEventListener('pointercancel', () => { drag = null; });

/** @param {Span} span @returns {Cell} */
const startOf = (span) => ({ place: span[0], start: span[1], last: span[0], end: span[1] });
/** @param {Span} span @returns {Cell} */
const endOf = (span) => ({ place: span[2], start: span[3] ?? 'end', last: span[2], end: span[3] });

/** Pick a span, of a box or of none. @param {string} id @param {Span} span */
export function pickSpan(id, span) {
  picked = { id, span, from: startOf(span), to: endOf(span) };
  paint();
}

/** Pick nothing. */
export function pickNothing() {
  picked = null;
  paint();
}

/** Show the line of a bar. @param {number} place */
export function reach(place) {
  const bar = barOf(place);
  if (!bar) { tell(said('desk.part.no_bar')); return false; }
  lines[bar.line].element.scrollIntoView({ block: 'nearest' });
  return true;
}

/** Lay other boxes over all lines. @param {Over[][]} over by stretches */
export function layAll(over) {
  if (over.length < stretches.length) { void load(); return; }
  let at = 0;
  stretches.forEach((count, n) => {
    for (let one = 0; one < count; one += 1) lay(lines[at + one], over[n]?.[one] ?? { svg: '', boxes: [] });
    at += count;
  });
  paint();
}

/** Say which box is chosen. @param {string} id */
export function nameChosen(id) {
  for (const tag of music.querySelectorAll('.tag')) {
    if (tag instanceof HTMLElement && id && tag.dataset.id === id) tag.setAttribute('aria-current', 'true');
    else tag.removeAttribute('aria-current');
  }
}

/** The place of the bar that Tab leads to. */
export const tabPlace = () => bars.find((bar) => bar.button.tabIndex === 0)?.place ?? 1;

/* Keys. */

/** @param {number} place */
export function focusOn(place) {
  const bar = barOf(place);
  for (const one of bars) one.button.tabIndex = one === bar ? 0 : -1;
  bar?.button.focus({ preventScroll: false });
}

/** The bar that an arrow leads to. @param {Bar} bar @param {string} key */
function beside(bar, key) {
  const at = bars.indexOf(bar);
  const own = bars.filter((one) => one.line === bar.line);
  if (key === 'Home') return own[0];
  if (key === 'End') return own[own.length - 1];
  if (key === 'ArrowLeft' || key === 'ArrowRight') return bars[at + (key === 'ArrowRight' ? 1 : -1)];
  const middle = (bar.left + bar.right) / 2;
  const next = bars.filter((one) => one.line === bar.line + (key === 'ArrowDown' ? 1 : -1));
  return next.find((one) => one.right > middle) ?? next[next.length - 1];
}

music.addEventListener('keydown', (event) => {
  const target = /** @type {HTMLElement} */ (event.target);
  if (event.ctrlKey || event.metaKey) return;
  if (target.classList.contains('edge')) { moveEdge(event, Number(target.dataset.side)); return; }
  const bar = target.classList.contains('bar') ? barOf(Number(target.dataset.place)) : undefined;
  if (!bar) return;
  if (event.key === 'Enter') {
    event.preventDefault();
    if (picked && !picked.id && within(bar, picked.span)) page.box();
    else take(bar);
  } else if (event.key === ' ') {
    event.preventDefault();
    take(bar);
  } else if (/^(Arrow|Home|End)/.test(event.key)) {
    event.preventDefault();
    if (event.shiftKey) extend(bar, event);
    else { const next = beside(bar, event.key); if (next) focusOn(next.place); }
  }
});

/** @param {Bar} bar */
function take(bar) {
  const cell = cellAt(bar, bar.left + 0.01, byBeat.checked, false);
  pick(cell, cell, '');
  page.settled();
}

/** @param {Bar} bar @param {KeyboardEvent} event */
function extend(bar, event) {
  const fine = byBeat.checked || event.altKey;
  const from = picked && !picked.id ? picked.from : cellAt(bar, bar.left + 0.01, fine, event.altKey);
  const tip = picked && !picked.id ? picked.to : from;
  const sideways = event.key === 'ArrowRight' ? 1 : event.key === 'ArrowLeft' ? -1 : 0;
  let to = sideways ? stepped(bars, tip, sideways, fine, event.altKey) : null;
  if (!sideways) {
    const next = beside(barOf(tip.place) ?? bar, event.key);
    to = next ? cellAt(next, next.right - 0.01, fine, event.altKey) : null;
  }
  if (!to) return;
  pick(from, to, '');
  focusOn(to.place);
  soon();
}

/** @param {KeyboardEvent} event @param {number} side */
function moveEdge(event, side) {
  const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
  if (!step || !picked) return;
  event.preventDefault();
  const fine = byBeat.checked || event.altKey;
  const tip = side ? stepped(bars, endOf(picked.span), step, fine, event.altKey, true) : stepped(bars, startOf(picked.span), step, fine, event.altKey, false);
  if (!tip) return;
  const span = /** @type {Span} */ (side ? [picked.span[0], picked.span[1], tip.last, tip.end] : [tip.place, tip.start, picked.span[2], picked.span[3]]);
  if (span[0] > span[2] || (span[0] === span[2] && span[3] !== null && number(span[1]) >= number(span[3]))) return;
  picked = { ...picked, span, from: startOf(span), to: endOf(span) };
  paint();
  soon();
}

/** After the last of some keys. */
let waiting = 0;
function soon() {
  clearTimeout(waiting);
  waiting = window.setTimeout(() => page.settled(), 500);
}

/** A click that no pointer made: by a screen reader. */
music.addEventListener('click', (event) => {
  const target = /** @type {HTMLElement} */ (event.target);
  const bar = event.detail === 0 && target.classList.contains('bar') ? barOf(Number(target.dataset.place)) : undefined;
  if (bar) take(bar);
});

let resized = 0;
addEventListener('resize', () => {
  clearTimeout(resized);
  resized = window.setTimeout(() => { if (Math.floor(music.clientWidth / 37.8) * 10 !== width) void load(); }, 300);
});
