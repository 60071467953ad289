// @ts-check
/* Warm-ups: the sheet is drawn anew whenever a choice changes. */

import { element, inTurn, onKey, post, said, tell } from './desk.mjs';

/**
 * @param {string} id
 * @returns {any}
 */
const at = (id) => document.getElementById(id);
/**
 * What is chosen.
 * @returns {Record<string, string>}
 */
const chosen = () => Object.fromEntries([...document.querySelectorAll('#choice [name]')].map((field) => {
  const one = /** @type {HTMLInputElement} */ (field);
  return [one.name, one.value.trim()];
}));
/**
 * @param {string} tag
 * @param {string} text
 * @param {string} [name]
 */
const made = (tag, text, name = '') => Object.assign(document.createElement(tag), { textContent: text, className: name });

/** @type {AbortController | null} */
let drawing = null;
/** @type {string[]} */
let pictures = [];
let waiting = 0;

/** Draw the sheet; what cannot be made is told in its place. */
async function draw() {
  drawing?.abort();
  drawing = new AbortController();
  document.body.ariaBusy = 'true';
  const { ok, status, data } = await post('/warmups/draw', chosen(), { quiet: true, signal: drawing.signal });
  if (!status) return;
  document.body.ariaBusy = null;
  element('said').replaceChildren(...(ok ? data.told : [data.error]).map((/** @type {string} */ line) => made('p', line, 'fault')));
  at('print').disabled = !ok;
  if (at('add')) at('add').disabled = !ok;
  for (const old of pictures) URL.revokeObjectURL(old);
  pictures = [];
  element('music').replaceChildren(...(ok ? data.pictures : []).flatMap((/** @type {string[]} */ [head, line, svg]) => {
    const src = URL.createObjectURL(new Blob([svg], { type: 'image/svg+xml' }));
    pictures.push(src);
    return [made('h3', head), made('p', line, 'meta'), Object.assign(document.createElement('img'), { src, alt: head })];
  }));
}

function print() {
  if (at('print').disabled) return;
  element('printed').hidden = false;
  at('viewer').src = at('open-tab').href = `/warmups/sheet?${new URLSearchParams(chosen())}`;
  element('printed').scrollIntoView({ block: 'start' });
}

async function add() {
  const { ok, data } = await inTurn(() => post('/warmups/add', { ...chosen(), player: at('player').value }));
  if (ok) tell(said('desk.warmups.added', { player: data.player, names: data.names.join('; ') }));
}

document.addEventListener('input', (event) => {
  if (!(/** @type {HTMLElement} */ (event.target)).closest('#choice')) return;
  clearTimeout(waiting);
  waiting = setTimeout(() => void draw(), 150);
});
document.addEventListener('keydown', (event) => {
  if (event.key === 'Escape') /** @type {HTMLElement} */ (event.target).blur();
});
element('print').addEventListener('click', print);
at('add')?.addEventListener('click', () => void add());
onKey('k', () => at('key').select());
onKey('w', print);
onKey('a', () => at('player')?.focus());
void draw();
