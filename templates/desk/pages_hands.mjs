// @ts-check
/* Hands on printed pages: bars are picked and rectangles drawn by the mouse and by keys; their edges are moved. */
import { element, onKey } from '/own/desk.mjs';
import { settling } from '/own/later.mjs';
import { ends, picked, pickArea, pickBars } from '/own/pages_picked.mjs';
import { barOf, bars, focusOn, page, sheetOf, sheets } from '/own/pages_sheets.mjs';

/** @typedef {import('/own/pages_sheets.mjs').Bar} Bar */
/** @typedef {import('/own/pages_sheets.mjs').Sheet} Sheet */

const all = element('sheets');
const { settle, soon } = settling(() => page.settled());
const byRectangle = /** @type {HTMLInputElement} */ (element('by-rectangle'));
const SIDES = ['left', 'top', 'right', 'bottom'];
/** Millimetres that a pointer moves before it draws. */
const LEAST = 2;

/** @param {PointerEvent} event */
const under = (event) => barOf(document.elementsFromPoint(event.clientX, event.clientY).find((one) => one.classList.contains('bar')));

/**
 * Where a pointer is on a page, in millimetres, at its edge where it is outside.
 * @param {PointerEvent} event
 * @param {Sheet} sheet
 */
function at(event, sheet) {
  const inside = sheet.leaf.getBoundingClientRect();
  const { width, height } = sheet.seen ?? { width: 0, height: 0 };
  const x = (event.clientX - inside.left) / inside.width * width;
  const y = (event.clientY - inside.top) / inside.height * height;
  return [Math.min(Math.max(x, 0), width), Math.min(Math.max(y, 0), height)];
}

/**
 * @typedef {{moved: boolean, shift: boolean, from?: Bar, fixed?: Bar, sheet?: Sheet, start?: number[], side?: number}} Drag
 */
/** @type {Drag | null} */
let drag = null;

all.addEventListener('dragstart', (event) => event.preventDefault());
all.addEventListener('pointerdown', (event) => {
  const target = /** @type {HTMLElement} */ (event.target);
  const sheet = sheetOf(target);
  if (event.button !== 0 || !sheet?.seen || target.closest('.tag')) return;
  const bar = under(event);
  const both = ends();
  if (target.classList.contains('edge') && picked) {
    const side = target.dataset.side ?? '';
    drag = both ? { moved: false, shift: false, fixed: both[side === '0' ? 1 : 0] } : { moved: false, shift: false, sheet, side: SIDES.indexOf(side) };
  } else if (bar && !byRectangle.checked && !event.altKey) {
    drag = { moved: false, shift: event.shiftKey, from: event.shiftKey && picked?.bars ? picked.bars[0] : bar };
  } else drag = { moved: false, shift: false, sheet, start: at(event, sheet) };
  all.setPointerCapture(event.pointerId);
});
all.addEventListener('pointermove', (event) => {
  if (!drag) return;
  // Towards the edge of the window the pages move on under the pointer.
  const edge = event.clientY > innerHeight - 40 ? 1 : event.clientY < 40 ? -1 : 0;
  if (edge && drag.moved) scrollBy(0, 24 * edge);
  const anchor = drag.fixed ?? drag.from;
  if (anchor) {
    const bar = under(event);
    if (!bar || (!drag.moved && bar === drag.from) || (drag.moved && bar === picked?.bars?.[1])) return;
    drag.moved = true;
    pickBars(anchor, bar, drag.fixed ? picked?.id : '');
  } else if (drag.sheet) draw(drag, drag.sheet, at(event, drag.sheet));
});

/**
 * Draw a rectangle, or move a side of it.
 * @param {Drag} now
 * @param {Sheet} sheet
 * @param {number[]} to
 */
function draw(now, sheet, to) {
  if (now.side !== undefined && picked) {
    now.moved = true;
    pickArea(sheet, moved(picked.area, now.side, to[now.side % 2]), picked.id);
  } else if (now.start) {
    const [[x, y], [x2, y2]] = [now.start, to];
    if (!now.moved && (Math.abs(x - x2) < LEAST || Math.abs(y - y2) < LEAST)) return;
    now.moved = true;
    pickArea(sheet, [Math.min(x, x2), Math.min(y, y2), Math.max(x, x2), Math.max(y, y2)]);
  }
}

/**
 * A rectangle with a side moved; it keeps some width.
 * @param {number[]} area
 * @param {number} side
 * @param {number} value
 */
function moved(area, side, value) {
  const other = area[(side + 2) % 4];
  const now = [...area];
  now[side] = side < 2 ? Math.min(value, other - LEAST) : Math.max(value, other + LEAST);
  return now;
}

all.addEventListener('pointerup', (event) => {
  if (!drag) return;
  const now = drag;
  drag = null;
  if (now.moved) { settle(); return; }
  const bar = under(event);
  if (now.from && bar) {
    focusOn(bar);
    if (!now.shift && chooseAt(bar.sheet, at(event, bar.sheet))) return;
    pickBars(now.shift ? now.from : bar, bar);
    settle();
  } else if (now.sheet && now.start) chooseAt(now.sheet, now.start);
});
all.addEventListener('pointercancel', () => { drag = null; });

/**
 * Choose the box at a place, unless it is chosen already.
 * @param {Sheet} sheet
 * @param {number[]} place
 */
function chooseAt(sheet, [x, y]) {
  const found = sheet.seen?.boxes.find((box) => box.number && box.id !== picked?.id && (
    box.areas.some(([left, top, right, bottom]) => x > left && x < right && y > top && y < bottom)
    || box.spans.some(([system, from, to]) => {
      const { area, bars: lines } = /** @type {NonNullable<Sheet['seen']>} */ (sheet.seen).systems[system - 1];
      return x > lines[from][0] && x < lines[to][0] && y > area[1] && y < area[3];
    })));
  if (found) page.choose(found.id);
  return Boolean(found);
}

/* Keys. */

/**
 * The bar that an arrow leads to.
 * @param {Bar} bar
 * @param {string} key
 */
function beside(bar, key) {
  const place = bars.indexOf(bar);
  const line = bars.filter((one) => one.sheet === bar.sheet && one.system === bar.system);
  if (key === 'Home') return line[0];
  if (key === 'End') return line[line.length - 1];
  if (key === 'ArrowLeft' || key === 'ArrowRight') return bars[place + (key === 'ArrowRight' ? 1 : -1)];
  const end = key === 'ArrowDown' ? bars[bars.indexOf(line[line.length - 1]) + 1] : bars[bars.indexOf(line[0]) - 1];
  if (!end) return undefined;
  const other = bars.filter((one) => one.sheet === end.sheet && one.system === end.system);
  const right = (/** @type {Bar} */ one) => one.sheet.seen?.systems[one.system].bars[one.bar + 1][0] ?? 0;
  const left = bar.sheet.seen?.systems[bar.system].bars[bar.bar][0] ?? 0;
  return other.find((one) => right(one) > (left + right(bar)) / 2) ?? other[other.length - 1];
}

all.addEventListener('keydown', (event) => {
  const target = /** @type {HTMLElement} */ (event.target);
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  if (target.classList.contains('edge')) { onEdge(event, target.dataset.side ?? ''); return; }
  const bar = barOf(target);
  if (!bar) return;
  const both = ends();
  if (event.key === 'Enter' || event.key === ' ') {
    event.preventDefault();
    const inside = both && bars.indexOf(bar) >= bars.indexOf(both[0]) && bars.indexOf(bar) <= bars.indexOf(both[1]);
    if (event.key === 'Enter' && inside && !picked?.id) page.box();
    else { pickBars(bar, bar); settle(); }
  } else if (/^(Arrow|Home|End)/.test(event.key)) {
    event.preventDefault();
    const from = event.shiftKey && picked?.bars && !picked.id ? picked.bars : null;
    const to = beside(from ? from[1] : bar, event.key);
    if (!to) return;
    if (event.shiftKey) { pickBars(from ? from[0] : bar, to); soon(); }
    focusOn(to);
  }
});

/**
 * An edge moved by an arrow: by a bar, or by a millimetre, by five with Shift.
 * @param {KeyboardEvent} event
 * @param {string} side
 */
function onEdge(event, side) {
  if (event.key === 'Enter' && !picked?.id) { event.preventDefault(); page.box(); return; }
  const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
  if (!step || !picked) return;
  event.preventDefault();
  const both = ends();
  if (both) {
    const [first, last] = both.map((bar) => bars.indexOf(bar));
    const place = (side === '0' ? first : last) + step;
    if (!bars[place] || (side === '0' ? place > last : place < first)) return;
    pickBars(side === '0' ? both[1] : both[0], bars[place], picked.id);
  } else {
    const n = SIDES.indexOf(side);
    const most = (n % 2 ? picked.sheet.seen?.height : picked.sheet.seen?.width) ?? 0;
    const value = picked.area[n] + step * (event.shiftKey ? 5 : 1);
    pickArea(picked.sheet, moved(picked.area, n, Math.min(Math.max(value, 0), most)), picked.id);
  }
  soon();
}

/** A click that no pointer made: by a screen reader. */
all.addEventListener('click', (event) => {
  const target = /** @type {HTMLElement} */ (event.target);
  const bar = event.detail === 0 ? barOf(target) : undefined;
  if (target.classList.contains('tag')) page.choose(target.dataset.id ?? '');
  else if (bar) { pickBars(bar, bar); settle(); }
});

/** A rectangle at the bar that has the keyboard, else on the page that is on the screen. */
function rectangle() {
  const bar = barOf(document.activeElement);
  const shown = sheets.find((one) => one.leaf.getBoundingClientRect().bottom > innerHeight / 3);
  const sheet = bar?.sheet ?? shown;
  if (!sheet?.seen) return;
  const { width, height, systems } = sheet.seen;
  const inside = sheet.leaf.getBoundingClientRect();
  const middle = (innerHeight / 2 - inside.top) / inside.height * height;
  const system = bar && systems[bar.system];
  const y = Math.min(Math.max(middle, 20), height - 40);
  pickArea(sheet, system
    ? [system.bars[bar.bar][0], system.area[1] - system.staff, system.bars[bar.bar + 1][0], system.area[3] + system.staff]
    : [width * 0.2, y, width * 0.6, y + 25]);
  /** @type {HTMLElement | null} */ (document.querySelector('.edge[data-side="left"]'))?.focus();
  page.drawn();
}
onKey('r', rectangle);
onKey('m', () => { const bar = picked?.bars?.[0] ?? bars.find((one) => one.button.tabIndex === 0); if (bar) focusOn(bar); });
