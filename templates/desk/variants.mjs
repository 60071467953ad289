// @ts-check
/* The variants of a box: pictures come one after the other; a tick is saved at once. */
import { element, inTurn, said, save } from '/own/desk.mjs';
import { hear } from '/own/hear.mjs';
import { drawn } from '/own/part_places.mjs';

/** @type {{digest: string, box: string, part: string}} */
const data = JSON.parse(element('data').textContent ?? '{}');
const items = /** @type {HTMLElement[]} */ ([...element('fitting').querySelectorAll('li')]);
const tickOf = (/** @type {HTMLElement} */ item) => /** @type {HTMLInputElement} */ (item.querySelector('input'));

/**
 * Fetch the picture of one variant, and set it in its place; one that does not fit goes to the end.
 * @param {HTMLElement} item
 */
async function picture(item) {
  const answer = await fetch(`${location.pathname}/picture?${new URLSearchParams({ name: item.dataset.name ?? '' })}`);
  const told = await answer.json().catch(() => ({}));
  const notes = item.querySelector('.notes');
  if (!notes) return;
  const reason = told.reason ?? told.error ?? (answer.ok ? '' : said('desk.frame.failed'));
  // The reason begins with the name as it is typed; the title says it better.
  if (reason && !tickOf(item).checked) { setAside(item, reason.replace(`${item.dataset.name} `, '')); return; }
  const word = document.createElement('p');
  word.className = reason ? 'fault' : 'meta';
  word.textContent = reason || (told.kind ? said(`desk.variants.${told.kind}`) : '');
  const play = item.querySelector('.hear');
  if (play instanceof HTMLElement) play.hidden = !(told.systems ?? []).length;
  notes.replaceChildren(...(told.systems ?? []).map(drawn), ...(word.textContent ? [word] : []));
  if (told.music) once(item, told.music);
}

/** @param {HTMLElement} item */
const titleOf = (item) => item.querySelector('b')?.textContent ?? '';

/** @type {Map<string, {line: HTMLElement, names: string[]}>} what is not to be chosen, by the reasons */
const reasons = new Map();
let aside = 0;

/**
 * Move a variant that is not to be chosen to the end, with the reason.
 * @param {HTMLElement} item
 * @param {string} reason
 */
function setAside(item, reason) {
  const list = element('unfit').querySelector('ul');
  const told = reasons.get(reason) ?? { line: document.createElement('li'), names: [] };
  told.names.push(titleOf(item));
  told.line.textContent = `${told.names.join(', ')}: ${reason}`;
  if (!reasons.has(reason)) list?.append(told.line);
  reasons.set(reason, told);
  aside += 1;
  element('unfit').hidden = false;
  element('unfit').querySelector('span')?.replaceChildren(String(aside));
  item.remove();
}

/** @type {Map<string, HTMLElement>} the variants that are shown, by their music */
const shown = new Map();

/**
 * Show the same music once: the first of the list stays, and what is chosen.
 * @param {HTMLElement} item
 * @param {string} music
 */
function once(item, music) {
  const other = shown.get(music) ?? item;
  const [first, later] = items.indexOf(item) < items.indexOf(other) ? [item, other] : [other, item];
  shown.set(music, first);
  if (first === later) return;
  const reason = said('desk.variants.same_as', { name: titleOf(first) });
  if (!tickOf(later).checked) { setAside(later, reason); return; }
  const word = document.createElement('p');
  word.className = 'meta';
  word.textContent = reason;
  later.querySelector('.notes')?.append(word);
}

/** Two at a time: the desk draws one while the page shows the other. */
async function all() {
  const waiting = items.slice();
  const worker = async () => { for (let item = waiting.shift(); item; item = waiting.shift()) await picture(item); };
  await Promise.all([worker(), worker()]);
  element('fitting').dataset.all = 'yes';
}

/**
 * Variants in the order in which they were chosen.
 * @type {string[]}
 */
let chosen = items.filter((item) => tickOf(item).checked).map((item) => item.dataset.name ?? '');

element('fitting').addEventListener('change', (event) => {
  const tick = /** @type {HTMLInputElement} */ (event.target);
  const name = tick.closest('li')?.dataset.name ?? '';
  chosen = chosen.filter((one) => one !== name).concat(tick.checked ? [name] : []);
  const variants = chosen.slice();
  void inTurn(async () => {
    const answer = await save(`${data.part}/box`, { do: 'change', id: data.box, fields: { variants }, digest: data.digest });
    if (!answer?.ok) { tick.checked = !tick.checked; chosen = chosen.filter((one) => one !== name).concat(tick.checked ? [name] : []); return; }
    data.digest = answer.data.digest;
    const titles = variants.map((one) => items.find((item) => item.dataset.name === one)?.querySelector('b')?.textContent);
    element('chosen').textContent = titles.length ? said('desk.variants.chosen', { names: titles.join(', ') }) : '';
  });
});
element('fitting').addEventListener('click', (event) => {
  const button = /** @type {HTMLElement} */ (event.target);
  if (!button.classList.contains('hear')) return;
  hear(data.part, { box: data.box, variant: button.closest('li')?.dataset.name ?? '' });
});
void all();
