// @ts-check
/* Hands on a drawn part: bars are picked by drag, by click and Shift, by keys; the edges of a box are moved. */
import { element } from '/own/desk.mjs';
import { settling } from '/own/later.mjs';
import { barOf, bars, endOf, focusOn, lines, page, pick, picked, pickSpan, startOf } from '/own/part_music.mjs';
import { cellAt, joined, number, stepped, within } from '/own/part_places.mjs';

/** @typedef {import('/own/part_places.mjs').Bar} Bar */
/** @typedef {import('/own/part_places.mjs').Span} Span */
/** @typedef {import('/own/part_places.mjs').Cell} Cell */

const music = element('music');
const { settle, soon } = settling(() => page.settled());
const byBeat = /** @type {HTMLInputElement} */ (element('by-beat'));

/**
 * The cell under a pointer.
 * @param {PointerEvent | MouseEvent} event
 * @returns {Cell | null}
 */
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
  if (event.button !== 0 || !cell || music.dataset.notes) return;
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
  // Towards the edge of the window the music moves on under the pointer.
  const edge = event.clientY > innerHeight - 40 ? 1 : event.clientY < 40 ? -1 : 0;
  if (edge && drag.moved) scrollBy(0, 24 * edge);
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
    focusOn(cell.place);
    if (!shift && !byBeat.checked && page.choose(cell.place)) return;
    pick(shift ? from : cell, cell, '');
  }
  if (side === null || moved) settle();
});
music.addEventListener('pointercancel', () => { drag = null; });

/* Keys. */

/**
 * The bar that an arrow leads to.
 * @param {Bar} bar
 * @param {string} key
 */
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
  settle();
}

/**
 * @param {Bar} bar
 * @param {KeyboardEvent} event
 */
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

/**
 * @param {KeyboardEvent} event
 * @param {number} side
 */
function moveEdge(event, side) {
  const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
  if (!step || !picked) return;
  event.preventDefault();
  const fine = byBeat.checked || event.altKey;
  const tip = side ? stepped(bars, endOf(picked.span), step, fine, event.altKey, true) : stepped(bars, startOf(picked.span), step, fine, event.altKey, false);
  if (!tip) return;
  const span = /** @type {Span} */ (side ? [picked.span[0], picked.span[1], tip.last, tip.end] : [tip.place, tip.start, picked.span[2], picked.span[3]]);
  if (span[0] > span[2] || (span[0] === span[2] && span[3] !== null && number(span[1]) >= number(span[3]))) return;
  pickSpan(picked.id, span);
  soon();
}

/** A click that no pointer made: by a screen reader. */
music.addEventListener('click', (event) => {
  const target = /** @type {HTMLElement} */ (event.target);
  const bar = event.detail === 0 && target.classList.contains('bar') ? barOf(Number(target.dataset.place)) : undefined;
  if (bar) take(bar);
});
