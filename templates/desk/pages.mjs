// @ts-check
/* What stands beside printed pages: the bars that are picked, what is said of a box, the list of boxes; and saving. */
import { element, inTurn, onKey, said, save, tell } from '/own/desk.mjs';
import { ends, parts, picked, pickArea, pickBars, pickNothing } from '/own/pages_picked.mjs';
import { barAt, focusOn, lookAt, numberOf, page, rects, sheets, show as showPage } from '/own/pages_sheets.mjs';
import '/own/pages_hands.mjs';
import { numbers } from '/own/pages_numbers.mjs';

/** @typedef {import('/own/pages_sheets.mjs').Sheet} Sheet */
/** @typedef {import('/own/pages_sheets.mjs').Seen} Seen */
/**
 * @typedef {{id: string, number: number, kind: string, when: string, place: number | null, pages: number[], bars: string, where: string,
 *   why: string[], note: string, target: string, start: string, minutes: number | string}} Box
 */

const here = location.pathname;
/** @type {{digest: string, boxes: Box[]}} */
const data = JSON.parse(element('data').textContent ?? '{}');
const form = /** @type {HTMLFormElement} */ (element('form'));
const field = (/** @type {string} */ id) => /** @type {HTMLInputElement} */ (element(id));
const FIELDS = /** @type {const} */ (['target', 'start', 'minutes', 'note']);
const ticks = () => /** @type {HTMLInputElement[]} */ ([...element('why').querySelectorAll('input')]);
const why = () => ticks().filter((tick) => tick.checked).map((tick) => tick.value);
const chosen = () => data.boxes.find((box) => box.number && picked?.id && box.id === picked.id);

/** What is picked in words, and by the numbers of its bars where all are known. */
function told() {
  const both = ends();
  if (!both || !picked) {
    const at = { page: picked?.sheet.page ?? '', system: picked?.lines ?? '' };
    return { text: said(at.system ? 'desk.pages.area_on' : 'desk.pages.area', at), bars: '' };
  }
  const [first, last] = both;
  const [from, to] = [numberOf(first), numberOf(last)];
  const count = parts().reduce((sum, part) => sum + part[3] - part[2], 0);
  const bars = from !== null && to !== null && to - from + 1 === count ? (from === to ? `${from}` : `${from}-${to}`) : '';
  const at = { page: first.sheet.page, system: first.system + 1 };
  const text = first.sheet === last.sheet && first.system === last.system
    ? said('desk.pages.lines', { ...at, first: first.bar + 1, last: last.bar + 1 })
    : said('desk.pages.lines_on', { ...at, bar: first.bar + 1, other: last.sheet.page, last: last.system + 1, end: last.bar + 1 });
  return { text, bars };
}

/**
 * Tell what cannot be done with what is picked, at its place.
 * @param {string} text
 */
function refuse(text) {
  element('refused').textContent = text;
  element('refused').hidden = !text;
}

/** The id of the box whose fields the form shows. */
let formOf = '';

/** The form as it is for what is picked. */
function show() {
  const box = chosen();
  if (formOf && !box) form.reset();  // what was said of that box is not said of a new one
  formOf = box?.id ?? '';
  form.hidden = !picked;
  element('how').hidden = Boolean(picked);
  if (picked) {
    const now = told();
    element('which').textContent = box ? said('desk.part.box', { number: box.number }) : said('desk.part.new_box');
    element('where').textContent = picked.bars || picked.area.length ? now.text : '';
    if (box) { if (document.activeElement !== field('bars')) field('bars').value = box.bars; }
    else if (now.bars || /^\d+(-\d+)?$/.test(field('bars').value)) field('bars').value = now.bars;
  }
  element('box-it').hidden = Boolean(box);
  element('let-be').textContent = said(box ? 'desk.part.done' : 'desk.part.cancel');
  element('elsewhere').hidden = !box || box.place !== null;
  element('remove').hidden = !box || box.place === null;
  if (box) {
    for (const key of FIELDS) if (field(key) !== document.activeElement) field(key).value = String(box[key] ?? '');
    for (const tick of ticks()) tick.checked = box.why.includes(tick.value);
  }
  for (const one of form.querySelectorAll('input, textarea')) one.toggleAttribute('disabled', Boolean(box) && box?.place === null);
  list();
}

/** The list of boxes; those of before apart. */
function list() {
  const current = chosen();
  const made = data.boxes.map((box) => {
    const row = document.createElement('li');
    const button = document.createElement('button');
    button.type = 'button';
    if (box === current) button.setAttribute('aria-current', 'true');
    const head = document.createElement('b');
    head.textContent = box.number ? String(box.number) : '';
    const faults = ticks().filter((tick) => box.why.includes(tick.value)).map((tick) => tick.parentElement?.textContent?.trim());
    const on = box.where || (box.pages.length ? said('desk.pages.page', { n: box.pages.join(', ') }) : '');
    const kind = box.number ? '' : said(`desk.part.${box.kind}`, { when: box.when });
    button.append(head, [box.bars, on, ...faults, kind].filter(Boolean).join(' · '));
    button.addEventListener('click', () => void choose(box));
    row.append(button);
    const fault = box.number ? sheets.map((sheet) => sheet.seen?.boxes.find((one) => one.id === box.id)?.fault).find(Boolean) : '';
    if (fault) row.append(Object.assign(document.createElement('p'), { className: 'fault', textContent: fault }));
    return row;
  });
  element('list').replaceChildren(...made.filter((_, n) => data.boxes[n].number));
  element('earlier').replaceChildren(...made.filter((_, n) => !data.boxes[n].number));
  element('before').hidden = data.boxes.every((box) => box.number);
  for (const tag of document.querySelectorAll('.tag')) {
    if (tag instanceof HTMLElement && current && tag.dataset.id === current.id) tag.setAttribute('aria-current', 'true');
    else tag.removeAttribute('aria-current');
  }
}

/**
 * Pick what a box has, and bring it into view.
 * @param {Box} box
 */
async function choose(box) {
  const on = box.pages.map((n) => sheets[n - 1]).filter(Boolean);
  on[0]?.section.scrollIntoView({ block: 'nearest' });
  await Promise.all(on.map(lookAt));
  refuse('');
  pickBox(box);
  show();
  document.querySelector('.picked')?.scrollIntoView({ block: 'nearest' });
}

/** @param {Box} box */
function pickBox(box) {
  const id = box.number ? box.id : '';
  /** @type {[Sheet, import('/own/pages_sheets.mjs').Place][]} */
  const places = [];
  for (const sheet of sheets) for (const place of sheet.seen?.boxes ?? []) if (place.id === box.id && Boolean(place.number) === Boolean(id)) places.push([sheet, place]);
  const spans = places.flatMap(([sheet, place]) => place.spans.map((span) => [sheet.page, ...span]));
  if (spans.length) {
    const [first, last] = [spans[0], spans[spans.length - 1]];
    const [from, to] = [barAt(first[0], first[1], first[2]), barAt(last[0], last[1], last[3] - 1)];
    if (from && to) pickBars(from, to, id);
    if (JSON.stringify(parts()) === JSON.stringify(spans)) return;
  }
  const [sheet, place] = places[0] ?? [sheets[0], null];
  const shown = places.flatMap(([one, at]) => (one.seen ? rects(one.seen, at).map((sides) => /** @type {[Sheet, number[]]} */ ([one, sides])) : []));
  pickArea(sheet, place?.areas.length ? around(place.areas) : [], id, shown);  // bars that do not follow one another have no edges
}

/**
 * The rectangle round some.
 * @param {number[][]} areas
 */
const around = (areas) => [0, 1, 2, 3].map((n) => Math[n < 2 ? 'min' : 'max'](...areas.map((area) => area[n])));

/** What is picked stands: a box is moved there; a rectangle is snapped; else it is told. */
async function settled() {
  refuse('');
  show();
  const now = picked;
  const box = chosen();
  if (!now) return;
  if (now.bars) {
    if (box) await write({ do: 'change', id: box.id, parts: parts() });
    return;
  }
  if (box) { await write({ do: 'change', id: box.id, page: now.sheet.page, area: now.area }); return; }
  const answer = await fetch(`${here}/${now.sheet.page}/snap?area=${now.area.map((side) => side.toFixed(2)).join(',')}`);
  const told = await answer.json().catch(() => ({}));
  if (picked !== now) return;
  if (!answer.ok) { refuse(told.error ?? said('desk.frame.failed')); return; }
  snapped(now.sheet, told.parts);
  show();
}

/**
 * Show a rectangle as it is cut: bars where it goes from barline to barline.
 * @param {Sheet} sheet
 * @param {{area: number[], system: number, span: number[] | null}[]} found
 */
function snapped(sheet, found) {
  const held = document.activeElement instanceof HTMLElement ? document.activeElement.dataset.side : undefined;
  const [first, last] = [found[0].span, found[found.length - 1].span];
  const [from, to] = [first && barAt(sheet.page, first[0], first[1]), last && barAt(sheet.page, last[0], last[2] - 1)];
  if (from && to && found.every((one) => one.span)) {
    pickBars(from, to);
    if (held) /** @type {HTMLElement | null} */ (document.querySelector(`.edge[data-side="${held === 'right' ? 1 : 0}"]`))?.focus();
  } else pickArea(sheet, around(found.map((one) => one.area)), '', found.map((one) => [sheet, one.area]), found.map((one) => one.system).join(', '));
}

/**
 * Write in turn, and show what is written then.
 * @param {Record<string, unknown>} body
 * @param {string} [where]
 * @returns {Promise<boolean>}
 */
const write = (body, where = 'box') => inTurn(() => writeNow(body, where));

/**
 * @param {Record<string, unknown>} body
 * @param {string} where
 */
async function writeNow(body, where) {
  const looked = sheets.filter((sheet) => sheet.seen).map((sheet) => sheet.page);
  const answer = await save(`${here}/${where}`, { ...body, digest: data.digest, pages: looked });
  const box = chosen();
  if (!answer?.ok) {
    if (answer && where === 'box') refuse(answer.data.error ?? '');
    if (answer && box && (body.parts || body.area)) pickBox(box);
    return false;
  }
  Object.assign(data, { digest: answer.data.digest, boxes: answer.data.boxes });
  for (const seen of /** @type {Seen[]} */ (answer.data.pages)) showPage(sheets[seen.page - 1], seen);
  tell('');
  refuse('');
  const now = chosen();
  if (now && body.do === 'change' && document.activeElement?.closest('.edge') === null) pickBox(now);
  show();
  return true;
}

form.addEventListener('submit', (event) => {
  event.preventDefault();
  if (!picked || picked.id) return;
  const where = picked.bars ? { parts: parts() } : { page: picked.sheet.page, area: picked.area };
  const fields = Object.fromEntries([...FIELDS, /** @type {const} */ ('bars')].map((key) => [key, field(key).value.trim()]));
  const before = new Set(data.boxes.map((one) => one.id));
  void write({ do: 'add', ...where, fields: { ...fields, why: why() } }).then((done) => {
    const box = done && data.boxes.find((one) => one.number && !before.has(one.id));
    if (box) void choose(box);
  });
});
form.addEventListener('change', (event) => {
  const target = /** @type {HTMLInputElement} */ (event.target);
  const box = chosen();
  if (box) {
    const fields = target.type === 'checkbox' ? { why: why() } : { [target.id]: target.value.trim() };
    void write({ do: 'change', id: box.id, fields });
  } else if (target.id === 'bars' && /^\d+([-–]\d+)?$/.test(target.value.trim())) void typed(target.value.trim());
});

/**
 * Bars that were typed are picked, where their numbers are known.
 * @param {string} text
 */
async function typed(text) {
  if (text === told().bars) return;
  const answer = await fetch(`${here}/bars?${new URLSearchParams({ bars: text })}`);
  const found = await answer.json().catch(() => ({}));
  if (!answer.ok) { refuse(found.error ?? said('desk.frame.failed')); return; }
  const places = /** @type {number[][]} */ (found.parts);
  await Promise.all([...new Set(places.map(([n]) => n))].map((n) => lookAt(sheets[n - 1])));
  const [first, last] = [places[0], places[places.length - 1]];
  const [from, to] = [barAt(first[0], first[1], first[2]), barAt(last[0], last[1], last[3] - 1)];
  if (from && to) { refuse(''); pickBars(from, to); show(); from.button.scrollIntoView({ block: 'nearest' }); }
}

element('remove').addEventListener('click', () => {
  const box = chosen();
  if (box) void write({ do: 'remove', id: box.id }).then((done) => { if (done) letBe(); });
});

/** Nothing is picked any more. */
function letBe() {
  const bar = ends()?.[0];
  const inside = Boolean(document.activeElement?.closest('.edge')) || document.activeElement === document.body;
  pickNothing();
  form.reset();
  refuse('');
  show();
  if (inside && bar) focusOn(bar);
}
element('let-be').addEventListener('click', letBe);
document.addEventListener('keydown', (event) => {
  if (event.key === 'Escape' && picked && !document.querySelector('dialog[open]')) letBe();
});
// A file that is dropped here would take the place of the page in the browser.
document.addEventListener('dragover', (event) => { if (event.dataTransfer?.types.includes('Files')) event.preventDefault(); });
document.addEventListener('drop', (event) => { event.preventDefault(); tell(said('desk.pages.drop_there')); });
onKey('e', () => { if (picked) ticks()[0].focus(); });

Object.assign(numbers, { write: (/** @type {Record<string, unknown>} */ body) => write(body, 'numbers') });
Object.assign(page, {
  settled: () => void settled(),
  drawn: show,
  choose: (/** @type {string} */ id) => { const box = data.boxes.find((one) => one.number && one.id === id); if (box) void choose(box); },
  box: () => form.requestSubmit(),
  looked: (/** @type {Sheet} */ sheet) => { numbers.looked(sheet); list(); },
});
for (const sheet of sheets) if (sheet.seen) page.looked(sheet);
show();
