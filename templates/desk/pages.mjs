// @ts-check
/* Bars on a printed page: picked by drag, by click and Shift, by keys; where none are found a rectangle is drawn. */
import { element, inTurn, said, save } from '/own/desk.mjs';

/**
 * @typedef {{id: string, number: number, page: number, bars: string, areas: number[][], systems: string[], why: string[]}} Box
 * @typedef {{system: number, bar: number, area: number[], button: HTMLButtonElement}} Bar
 */

/** @type {{digest: string, boxes: Box[], page: number, width: number, height: number, systems: {area: number[], bars: number[][]}[], address: string}} */
const data = JSON.parse(element('data').textContent ?? '{}');
const sheet = element('sheet');
const field = (/** @type {string} */ id) => /** @type {HTMLInputElement} */ (element(id));
const ticks = () => /** @type {HTMLInputElement[]} */ ([...element('why').querySelectorAll('input')]);

/** @type {Bar[]} */ const bars = [];
/** @type {[number, number] | null} the first and the last bar that are picked */ let picked = null;
/** @type {number[] | null} a rectangle in millimetres */ let area = null;
let anchor = 0;

/** @param {HTMLElement} one @param {number[]} sides left, top, right, bottom in mm */
function put(one, [left, top, right, bottom]) {
  Object.assign(one.style, {
    left: `${100 * left / data.width}%`, top: `${100 * top / data.height}%`,
    width: `${100 * (right - left) / data.width}%`, height: `${100 * (bottom - top) / data.height}%`,
  });
}

data.systems.forEach((system, n) => {
  const [, top, , bottom] = system.area;
  for (let bar = 0; bar + 1 < system.bars.length; bar += 1) {
    const button = document.createElement('button');
    button.type = 'button';
    button.className = 'bar';
    button.tabIndex = bars.length ? -1 : 0;
    button.setAttribute('aria-pressed', 'false');
    button.setAttribute('aria-label', said('desk.pages.bar', { system: n + 1, bar: bar + 1 }));
    const sides = [system.bars[bar][0], top - 2, system.bars[bar + 1][0], bottom + 2];
    put(button, sides);
    bars.push({ system: n + 1, bar, area: sides, button });
    sheet.append(button);
  }
});

/** What is picked, as the week file has it: "2: 1-4" for each system. */
function systems() {
  if (!picked) return [];
  const [first, last] = [...picked].sort((a, b) => a - b);
  /** @type {Map<number, [number, number]>} */ const found = new Map();
  for (const bar of bars.slice(first, last + 1)) found.set(bar.system, [found.get(bar.system)?.[0] ?? bar.bar, bar.bar + 1]);
  return [...found].map(([system, [from, to]]) => `${system}: ${from}-${to}`);
}

/** Show what is picked. */
function paint() {
  const [first, last] = picked ? [...picked].sort((a, b) => a - b) : [1, 0];
  bars.forEach((bar, n) => bar.button.setAttribute('aria-pressed', String(n >= first && n <= last)));
  sheet.querySelector('.drawn-here')?.remove();
  if (area) {
    const made = document.createElement('div');
    made.className = 'drawn-here';
    put(made, area);
    sheet.append(made);
  }
  const told = area ? area.map((side) => side.toFixed(0)).join(', ') : systems().join('; ');
  element('which').textContent = told ? said('desk.pages.picked', { what: told }) : said('desk.pages.nothing');
  field('box-it').disabled = !told;
}

/** The boxes on this page, and the list of all. */
function show() {
  sheet.querySelectorAll('.boxed-here').forEach((old) => old.remove());
  for (const box of data.boxes.filter((one) => one.page === data.page)) {
    const spans = box.systems.map((text) => text.match(/^(\d+)\s*:\s*(\d+)\s*-\s*(\d+)$/)).filter((match) => match !== null);
    const found = spans.map(([, system, from, to]) => {
      const seen = data.systems[Number(system) - 1];
      return seen && [seen.bars[Number(from)]?.[0] ?? seen.area[0], seen.area[1] - 3, seen.bars[Number(to)]?.[0] ?? seen.area[2], seen.area[3] + 3];
    });
    [...box.areas, ...found].filter(Boolean).forEach((sides, n) => {
      const made = document.createElement('div');
      made.className = 'boxed-here';
      put(made, sides);
      if (!n) made.append(Object.assign(document.createElement('b'), { textContent: String(box.number) }));
      sheet.append(made);
    });
  }
  element('list').replaceChildren(...data.boxes.map((box) => {
    const row = document.createElement('li');
    const text = document.createElement('span');
    text.textContent = [box.number, box.bars || box.systems.join('; '), ...ticks().filter((tick) => box.why.includes(tick.value)).map((tick) => tick.parentElement?.textContent?.trim())].join(' · ');
    const button = document.createElement('button');
    button.type = 'button';
    button.textContent = said('desk.pages.remove');
    button.setAttribute('aria-label', `${said('desk.pages.remove')}: ${said('desk.part.box', { number: box.number })}`);
    button.addEventListener('click', () => void write({ do: 'remove', id: box.id, page: box.page }));
    row.append(text, button);
    return row;
  }));
}

/** @param {Record<string, unknown>} body */
const write = (body) => inTurn(async () => {
  const answer = await save(`${data.address}/box`, { ...body, digest: data.digest });
  if (!answer?.ok) return;
  Object.assign(data, answer.data);
  letBe();
  show();
});

function letBe() {
  picked = null;
  area = null;
  /** @type {HTMLFormElement} */ (element('form')).reset();
  paint();
}

/** @param {PointerEvent} event */
function at(event) {
  const inside = sheet.getBoundingClientRect();
  return [(event.clientX - inside.left) / inside.width * data.width, (event.clientY - inside.top) / inside.height * data.height];
}
/** @param {PointerEvent} event */
const under = (event) => bars.findIndex((bar) => document.elementsFromPoint(event.clientX, event.clientY).includes(bar.button));

/** @type {{bar: number, point: number[]} | null} */ let drag = null;
sheet.addEventListener('dragstart', (event) => event.preventDefault());
sheet.addEventListener('pointerdown', (event) => {
  if (event.button !== 0) return;
  const bar = under(event);
  drag = { bar, point: at(event) };
  if (bar >= 0) {
    anchor = event.shiftKey && picked ? anchor : bar;
    picked = [anchor, bar];
    area = null;
    paint();
    focusOn(bar);
  }
  sheet.setPointerCapture(event.pointerId);
  event.preventDefault();
});
sheet.addEventListener('pointermove', (event) => {
  if (!drag) return;
  if (drag.bar >= 0) {
    const bar = under(event);
    if (bar >= 0 && picked?.[1] !== bar) { picked = [anchor, bar]; paint(); }
    return;
  }
  const [[x, y], [x2, y2]] = [drag.point, at(event)];
  if (Math.abs(x - x2) < 4 || Math.abs(y - y2) < 4) return;
  const inside = (/** @type {number} */ value, /** @type {number} */ most) => Math.min(Math.max(value, 0), most);
  area = [inside(Math.min(x, x2), data.width), inside(Math.min(y, y2), data.height), inside(Math.max(x, x2), data.width), inside(Math.max(y, y2), data.height)];
  picked = null;
  paint();
});
sheet.addEventListener('pointerup', () => { drag = null; });
sheet.addEventListener('pointercancel', () => { drag = null; });

/** @param {number} bar */
function focusOn(bar) {
  bars.forEach((one, n) => { one.button.tabIndex = n === bar ? 0 : -1; });
  bars[bar]?.button.focus({ preventScroll: true });
}

sheet.addEventListener('keydown', (event) => {
  const now = bars.findIndex((bar) => bar.button === event.target);
  const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
  if (now < 0) return;
  if (event.key === ' ' || event.key === 'Enter') {
    event.preventDefault();
    if (event.key === 'Enter' && picked) { /** @type {HTMLFormElement} */ (element('form')).requestSubmit(); return; }
    anchor = now;
    picked = [now, now];
  } else if (step && bars[now + step]) {
    event.preventDefault();
    if (event.shiftKey) { if (!picked) anchor = now; picked = [anchor, now + step]; }
    focusOn(now + step);
  } else return;
  area = null;
  paint();
});

element('form').addEventListener('submit', (event) => {
  event.preventDefault();
  if (!picked && !area) return;
  const fields = { bars: field('bars').value.trim(), note: field('note').value.trim(), target: field('target').value.trim(),
    why: ticks().filter((tick) => tick.checked).map((tick) => tick.value) };
  void write({ do: 'add', page: data.page, fields, ...(picked ? { systems: systems() } : { area }) });
});
element('let-be').addEventListener('click', letBe);
document.addEventListener('keydown', (event) => { if (event.key === 'Escape' && !document.querySelector('dialog[open]')) letBe(); });
show();
