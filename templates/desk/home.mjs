// @ts-check
/* What goes home: the folders one after another, messages to copy, who was given what. */
import { inTurn, onKey, post, said, tell } from './desk.mjs';
import { follow } from './making.mjs';

/**
 * What belongs to one player.
 * @param {Element} section
 * @param {string} name
 * @returns {any}
 */
function part(section, name) {
  return section.querySelector(name);
}

const sections = /** @type {HTMLElement[]} */ ([...document.querySelectorAll('.going')]);

/**
 * Put together what was chosen for one player.
 * @param {HTMLElement} section
 * @returns {Promise<boolean>} whether it was not stopped
 */
async function make(section) {
  const { player = '', day = '' } = section.dataset;
  const chosen = Object.fromEntries(['workbook', 'sounds', 'page'].map((name) => [name, part(section, `[name=${name}]`).checked]));
  const status = part(section, '.files');
  const told = part(section, '.told');
  told.replaceChildren();
  const begun = await post('/home/make', { player, day, ...chosen }, { quiet: true });
  /** @type {import('./making.mjs').Made} */
  const made = begun.ok ? await follow(begun.data.job, status) : { failed: begun.data.error ?? said('desk.frame.failed') };
  const { length } = made.files ?? [];
  status.textContent = made.stopped ?? (made.failed ? '' : said(`desk.home.${length === 1 ? 'made_one' : length ? 'made' : 'none_chosen'}`, { n: length }));
  if (made.files) part(section, '.given').disabled = !length;
  for (const line of made.failed ? [made.failed] : made.told ?? []) told.append(Object.assign(document.createElement('li'), { textContent: line }));
  return !made.stopped;
}

async function makeAll() {
  const button = /** @type {HTMLButtonElement | null} */ (document.getElementById('make-all'));
  if (!button || button.disabled) return;
  button.disabled = true;
  for (const section of sections) if (!await make(section)) break;
  button.disabled = false;
  button.focus();
}

/**
 * Let the message say of sounds and page what was chosen; the teacher's own words in it stay.
 * @param {HTMLElement} section
 * @param {string} name
 */
function mention(section, name) {
  const text = part(section, 'textarea');
  const says = text.dataset[name];
  const paragraphs = text.value.split('\n\n').filter((/** @type {string} */ one) => one !== says);
  if (part(section, `[name=${name}]`).checked) paragraphs.splice(Math.min(2, paragraphs.length), 0, says);
  text.value = paragraphs.join('\n\n');
}

for (const section of sections) {
  for (const name of ['sounds', 'page']) part(section, `[name=${name}]`).addEventListener('change', () => mention(section, name));
  part(section, '.given').addEventListener('click', async () => {
    const { player = '', day = '' } = section.dataset;
    const answer = await inTurn(() => post('/home/given', { player, day }));
    if (!answer.ok) return;
    const line = Object.assign(document.createElement('li'), { textContent: answer.data.given });
    part(section, '.given-list').append(line);
    part(section, '.given').disabled = true;
  });
  part(section, '.copy').addEventListener('click', async () => {
    const text = part(section, 'textarea');
    try {
      await navigator.clipboard.writeText(text.value);
      tell(said('desk.home.copied'));
    } catch {
      text.select();  // the browser keeps the clipboard: Control-C does it
    }
  });
}
document.getElementById('make-all')?.addEventListener('click', () => void makeAll());
onKey('m', () => void makeAll());
