// @ts-check
/* What stands beside a drawn part: the bars that are picked, what is said of a box, the list of boxes; and saving. */
import { element, inTurn, onKey, said, save, tell } from '/own/desk.mjs';
import { focusOn, layAll, load, nameChosen, page, picked, pickNothing, pickSpan, reach, tabPlace, width } from '/own/part_music.mjs';
import '/own/part_hands.mjs';
import { forWhom } from '/own/for_whom.mjs';
import { marking } from '/own/part_marks.mjs';
import { offers, showOffers } from '/own/part_offers.mjs';

/** @typedef {import('/own/part_places.mjs').Span} Span */
/**
 * @typedef {{id: string, number: number, kind: string, when: string, bars: string, called: string, span: Span, place: number | null,
 *   why?: string[], note?: string, goal?: string, target?: string, start?: string, minutes?: number | string,
 *   beats?: Record<string, string>, steps?: string[]}} Box
 */

const here = location.pathname;
/** @type {{digest: string, boxes: Box[], count: number, shared: import('/own/for_whom.mjs').Shared | null}} */
const data = JSON.parse(element('data').textContent ?? '{}');
const music = element('music');
const form = /** @type {HTMLFormElement} */ (element('form'));
const byBeat = /** @type {HTMLInputElement} */ (element('by-beat'));
const field = (/** @type {string} */ id) => /** @type {HTMLInputElement} */ (element(id));

/** What is picked stands: a box is moved there; else its bars are told beside the music. */
function settled() {
  if (!picked) return;
  typing = false;
  const box = chosen();
  if (box && String(box.span) !== String(picked.span)) void write({ do: 'change', id: box.id, span: picked.span });
  else void describe();
}


const chosen = () => data.boxes.find((box) => box.number && box.id === picked?.id && picked.id);
const FIELDS = ['target', 'start', 'minutes', 'note'];

/** Tell what is picked: its bars, the note that beats there, the tempo of the score. */
async function describe() {
  const now = picked;
  if (!now) { show(); return; }
  const [first, start, last, end] = now.span;
  const query = new URLSearchParams({ first: String(first), start, last: String(last), ...(end === null ? {} : { end }) });
  const answer = await fetch(`${here}/where?${query}`);
  if (now === picked && answer.ok) show(await answer.json());
}

/** @param {{bars: string, beat: string, tempo: string} | null} [told] what the desk says of new bars */
function show(told = null) {
  const box = chosen();
  form.hidden = !picked;
  element('how').hidden = Boolean(picked) || Boolean(music.dataset.notes);
  element('which').textContent = box ? said('desk.part.box', { number: box.number }) : said('desk.part.new_box');
  element('score-says').textContent = told?.tempo ? said('desk.part.in_score', { tempo: told.tempo }) : '';
  element('box-it').hidden = Boolean(box);
  element('let-be').textContent = said(box ? 'desk.part.done' : 'desk.part.cancel');
  element('elsewhere').hidden = !box || box.place !== null;
  element('to-variants').hidden = !box || box.place === null;
  if (box) element('to-variants').querySelector('a')?.setAttribute('href', `${here}/variants/${encodeURIComponent(box.id)}`);
  element('remove').hidden = !box || box.place === null;
  for (const key of ['target', 'start']) {
    const note = box?.beats?.[key] ?? told?.beat ?? '';
    const message = key === 'target' ? 'goal' : 'start';
    element(`${key}-label`).textContent = note ? said(`desk.part.${message}`, { note }) : said(`desk.part.${message}_plain`);
  }
  if (box || told) field('bars').value = box?.bars ?? told?.bars ?? '';
  if (box) {
    for (const key of FIELDS) {
      // What is being typed is not taken away.
      if (field(key) !== document.activeElement) field(key).value = String(box[/** @type {'note'} */ (key)] ?? '');
    }
    for (const tick of ticks()) tick.checked = (box.why ?? []).includes(tick.value);
  }
  for (const one of form.querySelectorAll('input, textarea')) one.toggleAttribute('disabled', Boolean(box) && box?.place === null);
  element('steps').replaceChildren(...(box?.steps ?? []).map((step) => new Option(step)));
  element('take-all').hidden = !box || !offers.fingers.length;
  list();
}

const ticks = () => /** @type {HTMLInputElement[]} */ ([...element('why').querySelectorAll('input')]);
const why = () => ticks().filter((tick) => tick.checked).map((tick) => tick.value);

/** The list of boxes; those of before apart. */
function list() {
  const made = data.boxes.map((box) => {
    const row = document.createElement('li');
    const button = document.createElement('button');
    button.type = 'button';
    button.toggleAttribute('aria-current', box === chosen());
    if (box === chosen()) button.setAttribute('aria-current', 'true');
    const head = document.createElement('b');
    head.textContent = box.number ? String(box.number) : '';
    const kind = box.number ? '' : said(`desk.part.${box.kind}`, { when: box.when });
    const faults = ticks().filter((tick) => box.why?.includes(tick.value)).map((tick) => tick.parentElement?.textContent?.trim());
    button.append(head, [box.called, ...faults, kind].filter(Boolean).join(' · '));
    button.addEventListener('click', () => choose(box));
    row.append(button);
    return row;
  });
  element('list').replaceChildren(...made.filter((_, n) => data.boxes[n].number));
  element('earlier').replaceChildren(...made.filter((_, n) => !data.boxes[n].number));
  element('before').hidden = data.boxes.every((box) => box.number);
  nameChosen(picked?.id ?? '');
}

/** @param {Box} box */
function choose(box) {
  pickSpan(box.number ? box.id : '', box.span);
  if (box.number) show(); else void describe();
  reach(box.span[0]);
}

music.addEventListener('click', (event) => {
  const target = /** @type {HTMLElement} */ (event.target);
  const box = target.classList.contains('tag') && data.boxes.find((one) => one.number && one.id === target.dataset.id);
  if (box) choose(box);
});

let waiting = 0;

/**
 * Write, and show what is written then.
 * @param {Record<string, unknown>} body
 * @param {string} [where]
 * @returns {Promise<boolean>}
 */
function write(body, where = 'box') {
  waiting += 1;
  const done = inTurn(() => writeNow(body, where));
  void done.catch(() => false).then(() => { waiting -= 1; if (!waiting) show(); });
  return done;
}

/**
 * @param {Record<string, unknown>} body
 * @param {string} [where]
 */
async function writeNow(body, where = 'box') {
  const scope = where === 'mark' ? await forWhom(data.shared) : null;
  if (scope === '') return false;
  const answer = await save(`${here}/${where}`, { ...body, digest: data.digest, width, scope: scope ?? '' });
  if (!answer) return false;
  if (!answer.ok) { const box = chosen(); if (box && body.span) choose(box); return false; }
  Object.assign(data, { digest: answer.data.digest, boxes: answer.data.boxes, shared: answer.data.shared });
  page.boxes = data.boxes;
  if (where === 'box') layAll(answer.data.over);
  tell(answer.data.fault || '');
  return true;
}

/** @type {Promise<Span | null>} bars that were typed and are looked up; null where they are not in the part */
let looked = Promise.resolve(null);
let typing = false;

form.addEventListener('submit', async (event) => {
  event.preventDefault();
  if (typing && !await looked) return;  // the bars that were typed are boxed, not those picked before
  if (!picked || picked.id) return;
  const { span } = picked;
  const fields = Object.fromEntries(FIELDS.map((key) => [key, field(key).value.trim()]));
  void write({ do: 'add', span, fields: { ...fields, why: why() } }).then((done) => {
    const box = done && data.boxes.filter((one) => one.number).pop();
    if (box) choose(box);
  });
});
form.addEventListener('change', (event) => {
  const target = /** @type {HTMLInputElement} */ (event.target);
  const box = chosen();
  if (target.id === 'bars') { typing = true; looked = typed(target.value); return; }
  if (!box) return;
  const fields = target.type === 'checkbox' ? { why: why() } : { [target.id]: target.value.trim() };
  void write({ do: 'change', id: box.id, fields });
});
element('remove').addEventListener('click', () => {
  const box = chosen();
  if (box) void write({ do: 'remove', id: box.id }).then((done) => { if (done) letBe(); });
});

/** Nothing is picked any more. */
function letBe() {
  const place = picked?.span[0] ?? 1;
  const inside = !music.contains(document.activeElement) || document.activeElement?.classList.contains('edge');
  pickNothing();
  form.reset();
  show();
  if (inside) focusOn(place);
}
element('let-be').addEventListener('click', letBe);

/**
 * Bars that were typed.
 * @param {string} text
 */
async function typed(text) {
  const answer = await fetch(`${here}/where?${new URLSearchParams({ bars: text })}`);
  const told = await answer.json().catch(() => ({}));
  if (!answer.ok) { tell(told.error ?? said('desk.frame.failed')); return null; }
  pickSpan(picked?.id ?? '', told.span);
  settled();
  reach(told.span[0]);
  return /** @type {Span} */ (told.span);
}

element('go').addEventListener('submit', (event) => {
  event.preventDefault();
  void fetch(`${here}/where?${new URLSearchParams({ bars: field('go-to').value })}`).then(async (answer) => {
    const told = await answer.json().catch(() => ({}));
    if (!answer.ok) tell(told.error ?? said('desk.frame.failed'));
    else if (reach(told.span[0])) { focusOn(told.span[0]); field('go-to').value = ''; }
  });
});

document.addEventListener('keydown', (event) => {
  if (event.key === 'Escape' && picked && !document.querySelector('dialog[open]')) letBe();
});
onKey('b', () => { byBeat.checked = !byBeat.checked; });
onKey('e', () => { if (picked) ticks()[0].focus(); });
onKey('/', () => field('go-to').focus());
onKey('m', () => focusOn(picked?.span[0] ?? tabPlace()));

Object.assign(marking, { write: (/** @type {Record<string, unknown>} */ body) => write(body, 'mark') });
/**
 * A click inside a box means the box; in the box that is chosen, the bar.
 * @param {number} place
 */
function boxAt(place) {
  const found = data.boxes.filter((box) => box.number && box.span[0] <= place && place <= box.span[2]);
  const [box] = found;
  if (!box || found.some((one) => one.id === picked?.id)) return false;
  choose(box);
  return true;
}

Object.assign(page, { choose: boxAt, boxes: data.boxes, count: data.count, settled, box: () => form.requestSubmit(), drawn: () => { list(); showOffers(); } });
Object.assign(offers, {
  write: (/** @type {Record<string, unknown>} */ body) => write(body, 'mark'),
  box: () => chosen()?.id ?? '',
  pick: (/** @type {Span} */ span, /** @type {string[]} */ faults) => {
    pickSpan('', span);
    for (const tick of ticks()) tick.checked = faults.includes(tick.value);
    settled();
    reach(span[0]);
  },
});
show();
void load();
