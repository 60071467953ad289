// @ts-check
/* The variants of a box: pictures come one after the other; a tick is saved at once. */
import { element, said, save } from '/own/desk.mjs';
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
  if (reason && !tickOf(item).checked) {
    const line = document.createElement('li');
    // The reason begins with the name as it is typed; the title says it better.
    line.textContent = `${item.querySelector('b')?.textContent ?? ''}: ${reason.replace(`${item.dataset.name} `, '')}`;
    const list = element('unfit').querySelector('ul');
    list?.append(line);
    element('unfit').hidden = false;
    element('unfit').querySelector('span')?.replaceChildren(String(list?.childElementCount ?? ''));
    item.remove();
    return;
  }
  const word = document.createElement('p');
  word.className = reason ? 'fault' : 'meta';
  word.textContent = reason || (told.kind ? said(`desk.variants.${told.kind}`) : '');
  const hear = item.querySelector('.hear');
  if (hear instanceof HTMLElement) hear.hidden = !(told.systems ?? []).length;
  notes.replaceChildren(...(told.systems ?? []).map(drawn), ...(word.textContent ? [word] : []));
}

/** Two at a time: the desk draws one while the page shows the other. */
async function all() {
  const waiting = items.slice();
  const worker = async () => { for (let item = waiting.shift(); item; item = waiting.shift()) await picture(item); };
  await Promise.all([worker(), worker()]);
  element('fitting').dataset.all = 'yes';
}

/** @type {Promise<unknown>} */
let writing = Promise.resolve();
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
  writing = writing.then(async () => {
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
  const sound = /** @type {HTMLAudioElement} */ (element('sound'));
  sound.hidden = false;
  sound.src = `${data.part}/hear?${new URLSearchParams({ box: data.box, variant: button.closest('li')?.dataset.name ?? '' })}`;
  void sound.play().catch(() => {});
});
void all();
