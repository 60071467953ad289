// @ts-check
/* Places in a part: bars, the cells that they are parted into for boxes to the beat, spans; and how they are put on a page. */

/**
 * A bar as it is drawn, in millimetres; `cuts` are the points inside it at which a box may begin: onset, x, whether it is
 * a beat, whether a box may end there.
 * @typedef {{place: number, label: string, count: number, left: number, right: number,
 *   cuts: [string, number, number, number][], line: number, button: HTMLButtonElement}} Bar
 * From a place and onset to a place and onset; null is the end of the bar.
 * @typedef {[number, string, number, string | null]} Span
 * A bar or a part of one; `last` is the last of the bars that a long rest stands for.
 * @typedef {{place: number, start: string, last: number, end: string | null}} Cell
 */

/**
 * A fraction as a number.
 * @param {string} text
 */
export function number(text) {
  const [above, below = '1'] = text.split('/');
  return text === 'end' ? Infinity : Number(above) / Number(below);
}

/**
 * The cells of a bar.
 * @param {Bar} bar
 * @param {boolean} parted by beats
 * @param {boolean} finely by notes too
 * @returns {Cell[]}
 */
export function cells(bar, parted, finely) {
  const cuts = parted ? bar.cuts.filter((cut) => finely || cut[2]) : [];
  const starts = ['0', ...cuts.map((cut) => cut[0])];
  return starts.map((start, at) => ({
    place: bar.place, start, last: bar.place + bar.count - 1, end: cuts.slice(at).find((cut) => cut[3])?.[0] ?? null,
  }));
}

/**
 * The cell at an x.
 * @param {Bar} bar
 * @param {number} x
 * @param {boolean} parted
 * @param {boolean} finely
 * @returns {Cell}
 */
export function cellAt(bar, x, parted, finely) {
  const all = cells(bar, parted, finely);
  let at = 0;
  while (at + 1 < all.length && x >= reads(bar, all[at + 1].start)) at += 1;
  return all[at];
}

/**
 * The x of an onset in a bar.
 * @param {Bar} bar
 * @param {string | null} onset
 */
export function reads(bar, onset) {
  if (onset === null || onset === 'end') return bar.right;
  if (number(onset) <= 0 || bar.count > 1) return bar.left;
  const cut = bar.cuts.find((one) => number(one[0]) >= number(onset));
  return cut ? cut[1] : bar.right;
}

/**
 * The span from one cell to another, whichever comes first.
 * @param {Cell} one
 * @param {Cell} other
 * @returns {Span}
 */
export function joined(one, other) {
  const before = one.place < other.place || (one.place === other.place && number(one.start) <= number(other.start));
  const [first] = before ? [one] : [other];
  const ends = [one, other].sort((a, b) => a.last - b.last || number(a.end ?? 'end') - number(b.end ?? 'end'));
  return [first.place, first.start, ends[1].last, ends[1].end];
}

/**
 * Whether some of a bar is in a span.
 * @param {Bar} bar
 * @param {Span} span
 */
export function within(bar, span) {
  return bar.place + bar.count - 1 >= span[0] && bar.place <= span[2];
}

/**
 * The cell beside another; for an edge, the cell at which the span would begin or end then.
 * @param {Bar[]} bars
 * @param {Cell} tip
 * @param {number} step 1 on, -1 back
 * @param {boolean} parted
 * @param {boolean} finely
 * @param {boolean | null} [closing] an edge: true the end of a span, false its beginning
 * @returns {Cell | null}
 */
export function stepped(bars, tip, step, parted, finely, closing = null) {
  const near = bars.filter((bar) => bar.place + bar.count > tip.place - 2 && bar.place <= tip.last + 2);
  const at = bars.indexOf(near[0]);
  const all = bars.slice(Math.max(0, at - 1), at + near.length + 1).flatMap((bar) => cells(bar, parted, finely));
  const starts = (/** @type {Cell} */ cell) => [cell.place, number(cell.start)];
  const ends = (/** @type {Cell} */ cell) => [cell.last, number(cell.end ?? 'end')];
  const [key, mine] = closing === true ? [ends, ends(tip)] : [starts, starts(tip)];
  const later = (/** @type {number[]} */ a, /** @type {number[]} */ b) => a[0] - b[0] || (a[1] === b[1] ? 0 : a[1] - b[1]);
  const beyond = all.filter((cell) => step * later(key(cell), mine) > 0);
  return (step > 0 ? beyond[0] : beyond[beyond.length - 1]) ?? null;
}

/**
 * A picture of ours from its text.
 * @param {string} svg
 */
export function drawn(svg) {
  const made = document.importNode(new DOMParser().parseFromString(svg, 'image/svg+xml').documentElement, true);
  made.setAttribute('aria-hidden', 'true');
  return made;
}

/**
 * @param {HTMLElement} one
 * @param {{width: number, height: number}} line
 * @param {number} left
 * @param {number} right
 * @param {number} [top]
 * @param {number} [bottom] in mm
 */
export function put(one, line, left, right, top = 0, bottom = line.height) {
  Object.assign(one.style, {
    left: `${100 * left / line.width}%`, width: `${100 * (right - left) / line.width}%`,
    top: `${100 * top / line.height}%`, height: `${100 * (bottom - top) / line.height}%`,
  });
}
