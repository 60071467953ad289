// @ts-check
/* The week of a player: every change goes to the desk, which gives back the text, the plan and what is wrong. */
import { element, inTurn, onKey, post, said, save, tell, upload } from './desk.mjs';
import { onMaking } from './week_make.mjs';
import { showAnew } from './week_anew.mjs';
import { onItems } from './week_items.mjs';
import { isPages, onPages } from './week_pages.mjs';

/** @typedef {{do: string, path: (string | number)[], value?: unknown, to?: number, scope?: string}} Change */
/** @typedef {{texts: Record<string, string>, faults: Record<string, string[]>, plan: string, form?: string}} Told */

/** @type {{key: string, week: string, files: Record<string, {digest: string, text: string}>, faults: Record<string, string[]>, at: string}} */
const data = JSON.parse(element('data').textContent ?? '{}');
const form = element('form');
/**
 * The texts as they would be saved.
 * @type {Record<string, string>}
 */
let texts = Object.fromEntries(Object.entries(data.files).map(([name, file]) => [name, file.text]));
/**
 * Changes that the desk has not answered yet.
 * @type {Change[]}
 */
let waiting = [];
/** @type {Record<string, string[]>} */
let faults = data.faults;
/**
 * What only the making of the music showed.
 * @type {Record<string, string[]>}
 */
let deep = {};
/**
 * Items of shared sets that are changed for all.
 * @type {Set<string>}
 */
const forAll = new Set();
/** @type {Promise<void>} */
let busy = Promise.resolve();
let timer = 0, checkTimer = 0;

const address = (/** @type {string} */ what) => `/week/${data.key}/${what}`;
const dirty = () => waiting.length > 0 || Object.entries(texts).some(([name, text]) => text !== data.files[name]?.text);
const pathOf = (/** @type {Element} */ at) => JSON.parse(/** @type {HTMLElement} */ (at).dataset.path ?? '[]');

/**
 * What a field or a group of fields says.
 * @param {HTMLElement} at
 */
function valueOf(at) {
  const many = at.dataset.many;
  if (many === 'ticks') return [...at.querySelectorAll('input:checked')].map((one) => /** @type {HTMLInputElement} */ (one).value);
  if (many === 'texts') return [...at.querySelectorAll('textarea')].map((one) => one.value).filter((text) => text.trim());
  if (many === 'ordered') return [...at.querySelectorAll('select')].map((one) => one.value).filter(Boolean);
  const field = /** @type {HTMLInputElement} */ (at);
  if (many === 'commas') return field.value.split(/[,;\s]+/).filter(Boolean);
  if (many === 'lines') return field.value.split('\n').filter((line) => line.trim());
  if (field.type === 'checkbox') return String(field.checked) === field.dataset.usual ? '' : String(field.checked);
  return field.value;
}

/**
 * Remember a change; one to the same key takes the place of the last.
 * @param {Change} change
 */
function remember(change) {
  const last = waiting.at(-1);
  if (forAll.has(JSON.stringify(change.path.slice(0, 2)))) change.scope ??= 'all';
  if (change.do === 'set' && last?.do === 'set' && JSON.stringify(last.path) === JSON.stringify(change.path)) waiting.pop();
  waiting.push(change);
  tell('');
  if (!element('made').querySelector('details[open]')) element('made').hidden = true;
  showState();
}

function showState() {
  const state = element('state');
  const open = dirty();
  state.classList.toggle('unsaved', open);
  const text = said(open ? 'desk.week.unsaved' : 'desk.week.saved');
  if (state.textContent !== text) state.textContent = text;
}

/**
 * Send what waits.
 * @param {boolean} anew whether the form is made anew
 */
function send(anew = false) {
  clearTimeout(timer);
  busy = busy.then(async () => {
    const sent = waiting.splice(0);
    if (!sent.length && !anew) return;
    const answer = await post(address(anew ? 'form' : 'plan'), { week: data.week, texts, changes: sent });
    if (!answer.ok) { waiting = [...sent.filter((one) => one.do === 'set'), ...waiting]; showState(); return; }
    /** @type {Told} */
    const told = answer.data;
    texts = { ...texts, ...told.texts };
    element('days').innerHTML = told.plan;
    if (told.form !== undefined) { deep = {}; showAnew(form, told.form, forAll, waiting); }
    showFaults(told.faults);
    showState();
    clearTimeout(checkTimer);
    checkTimer = window.setTimeout(() => void check(), 500);
  });
  return busy;
}

async function check() {
  const asked = texts;
  const answer = await post(address('check'), { week: data.week, texts }, { quiet: true });
  if (!answer.ok || asked !== texts) return;
  deep = answer.data.faults;
  showFaults(faults);
}

/**
 * Show what is wrong beside each field, and list it.
 * @param {Record<string, string[]>} told
 */
function showFaults(told) {
  faults = told;
  const all = { ...deep, ...told };
  for (const place of form.querySelectorAll('.fault')) {
    const id = place.id.replace(/-fault$/, '');
    const list = all[id] ?? [];
    const text = list.join('\n');
    if (place.textContent?.trim() !== text || !list.length) {
      place.replaceChildren(...list.map((line) => Object.assign(document.createElement('p'), { textContent: line })));
    }
    /** @type {HTMLElement} */ (place).hidden = !list.length;
    const at = document.getElementById(id);
    if (at?.dataset.path) at.toggleAttribute('aria-invalid', list.length > 0);
    if (at?.hasAttribute('aria-invalid')) at.setAttribute('aria-invalid', 'true');
    if (list.length) for (let fold = place.closest('details'); fold; fold = fold.parentElement?.closest('details') ?? null) fold.open = true;
  }
  const lines = Object.entries(all).flatMap(([id, list]) => list.map((text) => ({ id, text })));
  element('mend').hidden = !lines.length;
  element('mend-title').textContent = said(lines.length === 1 ? 'desk.week.fault_count.one' : 'desk.week.fault_count.many', { n: lines.length });
  element('mend').querySelector('ul')?.replaceChildren(...lines.map(({ id, text }) => {
    const link = Object.assign(document.createElement('a'), { href: `#${id}`, textContent: `${nameOf(id)}${text}` });
    link.addEventListener('click', (event) => { event.preventDefault(); goTo(id); });
    const line = document.createElement('li');
    line.append(link);
    return line;
  }));
}

/**
 * What a field or an item is called, for the list of faults.
 * @param {string} id
 */
function nameOf(id) {
  const at = document.getElementById(id);
  const item = /** @type {HTMLElement | null | undefined} */ (at?.closest('[data-item]'));
  const label = at?.closest('.field, .minutes-by-day')?.querySelector('label, legend')?.textContent?.trim();
  const names = [item?.dataset.title?.split(':')[0], label].filter(Boolean);
  return names.length ? `${names.join(', ')}: ` : '';
}

/**
 * Bring a field or an item into view, and the keyboard to it.
 * @param {string} id
 */
function goTo(id) {
  const at = document.getElementById(id);
  if (!at) return;
  for (let fold = at.closest('details'); fold; fold = fold.parentElement?.closest('details') ?? null) fold.open = true;
  const field = at.matches('input, select, textarea') ? at : at.querySelector('input, select, textarea, button');
  /** @type {HTMLElement} */ (field ?? at).focus();
  at.scrollIntoView({ block: 'center' });
}

/**
 * Add what a small form says.
 * @param {HTMLFormElement} at
 */
async function add(at) {
  const fields = /** @type {HTMLInputElement[]} */ ([...at.querySelectorAll('[data-key]')]);
  const value = Object.fromEntries(fields.map((one) => [one.dataset.key, one.value.trim()]).filter(([, text]) => text));
  const typed = fields.find((one) => one.tagName === 'INPUT');
  if (typed && !typed.value.trim()) { typed.focus(); return; }
  if (!Object.keys(value).length) return;
  if (at.querySelector('[data-keep] option:checked')?.hasAttribute('data-paper')) {  // no score: a place in words
    value.place = value.bars;
    delete value.bars;
  }
  for (const one of fields) if (!one.hasAttribute('data-keep')) one.value = '';
  typed?.focus();  // the next one can be typed while this one is on its way
  await addItem(at.dataset.add ?? '', value.why ? { ...value, why: [value.why] } : value);
}

/**
 * @param {string} table
 * @param {Record<string, unknown>} value
 */
async function addItem(table, value) {
  remember({ do: 'add', path: [table], value });
  await send(true);
  const made = form.querySelector(`#list-${table} > :last-child`);
  const pieces = /** @type {HTMLSelectElement | null} */ (form.querySelector('[data-keep]'));
  if (table === 'piece' && pieces) pieces.selectedIndex = pieces.length - 1;  // its boxes come next
  tell(said('desk.week.added', { what: /** @type {HTMLElement | null} */ (made)?.dataset.title ?? '' }));
}

/**
 * Save scores and printed pages that were dropped in, and add their pieces.
 * @param {FileList | File[]} files
 * @param {Element} [at] where
 */
async function addScores(files, at = form) {
  const scores = [...files].filter((file) => !isPages(file.name));
  await pages.add([...files].filter((file) => isPages(file.name)), at);
  for (const file of scores) {
    const answer = await inTurn(() => upload(`${address('score/upload')}?name=${encodeURIComponent(file.name)}`, file));
    if (!answer.ok) return;
    await addItem('piece', answer.data.piece);
    tell(said('desk.week.score_saved', { file: answer.data.file }));
  }
  if (scores.length) document.getElementById('new-bars')?.focus();
}

/**
 * Save every text that has changed.
 * @returns {Promise<boolean>} whether all of it is in the files
 */
const saveAll = () => inTurn(async () => {
  await send();
  if (waiting.length) return false;
  for (const [name, text] of Object.entries(texts)) {
    if (text === data.files[name]?.text) continue;
    const body = { week: data.week, file: name, text, digest: data.files[name]?.digest ?? '' };
    const answer = await save(address('save'), body);
    if (!answer?.ok) return false;
    data.files[name] = { digest: answer.data.digest, text };
    data.key = answer.data.key;
  }
  history.replaceState(null, '', `/week/${data.key}`);
  showState();
  return true;
});

async function saveNow() {
  if (await saveAll()) tell(said('desk.week.saved_now'));
}

/**
 * Load the variants that fit a box, once.
 * @param {HTMLDetailsElement} fold
 */
async function loadVariants(fold) {
  if (!fold.open || fold.dataset.loaded) return;
  fold.dataset.loaded = 'yes';
  await send();
  const answer = await post(address('variants'), { week: data.week, texts, place: Number(fold.dataset.variants) });
  const into = fold.querySelector('.into');
  if (answer.ok && into) into.innerHTML = answer.data.html;
}

form.addEventListener('input', (event) => {
  const at = /** @type {HTMLElement} */ (event.target);
  const field = /** @type {HTMLElement | null} */ (at.closest('[data-path]'));
  if (!field) return;
  if (field.dataset.many === 'texts' && at === field.querySelector('textarea:last-of-type')) {
    const next = /** @type {HTMLTextAreaElement} */ (at.cloneNode());
    next.value = '';
    next.setAttribute('aria-label', (at.getAttribute('aria-label') ?? '').replace(/\d+$/, (n) => String(Number(n) + 1)));
    at.after(next);
  }
  if (field.dataset.day === 'every') for (const day of form.querySelectorAll('[data-day]')) if (day !== field) /** @type {HTMLInputElement} */ (day).placeholder = /** @type {HTMLInputElement} */ (field).value;
  remember({ do: 'set', path: pathOf(field), value: valueOf(field) });
  clearTimeout(timer);
  timer = window.setTimeout(() => void send(), 80);
});

form.addEventListener('change', (event) => {
  const at = /** @type {HTMLElement} */ (event.target);
  if (at.id === 'score-file' || at.closest('.its-pages')) { void addScores(/** @type {HTMLInputElement} */ (at).files ?? [], at); return; }
  const path = at.closest('[data-path]') ? pathOf(/** @type {HTMLElement} */ (at.closest('[data-path]'))) : [];
  if (path[0] === 'piece' && ['score', 'title', 'id'].includes(String(path.at(-1)))) void send(true);
});

form.addEventListener('submit', async (event) => {
  event.preventDefault();
  const at = /** @type {HTMLFormElement} */ (event.target);
  if (at.dataset.add) await add(at);
  if (at.hasAttribute('data-inbox')) await pages.take(at);
  if (at.hasAttribute('data-take')) {
    const answer = await post(address('piece'), { score: /** @type {HTMLSelectElement} */ (at.querySelector('select')).value });
    if (answer.ok) { await addItem('piece', answer.data.piece); document.getElementById('new-bars')?.focus(); }
  }
});

form.addEventListener('click', async (event) => {
  const at = /** @type {HTMLElement} */ (event.target);
  const button = /** @type {HTMLElement | null} */ (at.closest('button'));
  if (button?.hasAttribute('data-add-date')) {
    const day = /** @type {HTMLInputElement} */ (element('new-date')).value;
    if (!day) return;
    remember({ do: 'set', path: ['week', 'minutes', day], value: '0' });
    await send(true);
    /** @type {HTMLElement | null} */ (form.querySelector(`[data-day="${day}"]`))?.focus();
  }
  const link = /** @type {HTMLAnchorElement | null} */ (at.closest('a.to-part'));
  if (link && dirty()) {
    event.preventDefault();
    if (await saveAll()) location.assign(link.href);
  }
});

form.addEventListener('toggle', (event) => {
  const fold = /** @type {HTMLDetailsElement} */ (event.target);
  if (fold.dataset.variants) void loadVariants(fold);
}, true);

element('save').addEventListener('click', () => void saveNow());
document.addEventListener('keydown', (event) => {
  if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === 's') { event.preventDefault(); void saveNow(); }
});
document.addEventListener('keydown', (event) => {  // so that the keys of the page are heard again
  const where = /** @type {HTMLElement} */ (event.target);
  if (event.key === 'Escape' && where.closest('main')) where.blur();
});
const pages = onPages(address, addItem, (path, value) => { remember({ do: 'set', path, value }); return send(true); });
onItems(form, forAll, remember, send, addScores);
onMaking(data, address, saveAll);
onKey('p', () => element('plan').focus());
onKey('b', () => { element('s-box').focus(); element('s-box').scrollIntoView(); });
window.addEventListener('beforeunload', (event) => { if (dirty() && /** @type {HTMLDialogElement} */ (element('conflict')).returnValue !== 'theirs') event.preventDefault(); });
showFaults(faults);
void check();
if (data.at) goTo(data.at);
