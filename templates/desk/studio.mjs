// @ts-check
/* The studio: building all that has changed, a new player, scores that are dropped on the page, the keys. */
import { element, inTurn, onKey, post, said, tell, upload } from '/own/desk.mjs';
import { isPages } from '/own/week_pages.mjs';

/** @typedef {{kind: string, count?: number, state?: string, player?: string, key?: string, file?: string,
 *   told?: string[], faults?: [string, string][], made?: number, unchanged?: number, failed?: number, why?: string, now?: string}} News */

/**
 * An element with text.
 * @param {string} name
 * @param {string} text
 * @returns {HTMLElement}
 */
function made(name, text) {
  const one = document.createElement(name);
  one.textContent = text;
  return one;
}

/**
 * A link.
 * @param {string} address
 * @param {string} text
 * @param {boolean} [apart] in a window of its own
 */
function link(address, text, apart = false) {
  const one = /** @type {HTMLAnchorElement} */ (made('a', text));
  one.href = address;
  if (apart) { one.target = '_blank'; one.rel = 'noopener'; }
  return one;
}

const build = /** @type {HTMLButtonElement | null} */ (document.getElementById('build'));
const bar = /** @type {HTMLProgressElement} */ (element('bar'));
let count = 0;
let done = 0;

/**
 * One workbook is through.
 * @param {News} news
 */
function oneDone(news) {
  done += 1;
  bar.value = done;
  element('how-far').textContent = said('desk.studio.building', { n: done, of: count, player: news.player ?? '' });
  const line = document.createElement('li');
  const failed = news.state === 'failed';
  line.append(made('b', news.player ?? ''), `: ${said(failed ? 'desk.studio.failed' : 'desk.studio.made')} `);
  if (news.file) line.append(link(`/file/${news.file}`, said('desk.studio.open'), true));
  const list = document.createElement('ul');
  for (const [text, key] of news.faults ?? []) {
    const fault = made('li', `${text} `);
    if (news.key) {
      const where = key ? `?at=${encodeURIComponent(key)}` : '';
      fault.append(link(`/week/${news.key}${where}`, said('desk.studio.to_fault')));
    }
    list.append(fault);
  }
  for (const text of news.told ?? []) list.append(made('li', text));
  if (list.children.length) line.append(list);
  // What went well stands in the list of players below; here stands what the teacher should know.
  if (failed || list.children.length) element('outcomes').append(line);
}

/**
 * All are through: the list of players is shown as it is now.
 * @param {News} news
 */
async function allDone(news) {
  if (build) build.disabled = false;
  bar.hidden = element('stop').hidden = true;
  const { made: fresh = 0, unchanged = 0, failed = 0 } = news;
  element('how-far').textContent = news.made === undefined
    ? said('desk.studio.stopped') : said('desk.studio.built', { made: fresh, unchanged, failed });
  if (news.why) element('outcomes').prepend(made('li', news.why));
  const page = new DOMParser().parseFromString(await (await fetch('/')).text(), 'text/html');
  const players = page.getElementById('players');
  if (players) element('players').replaceWith(document.adoptNode(players));
}

/** Follow the build that is under way. */
function follow() {
  if (build) build.disabled = true;
  count = done = 0;
  bar.hidden = element('stop').hidden = false;
  bar.removeAttribute('value');
  element('outcomes').replaceChildren();
  element('how-far').textContent = '';
  element('progress').hidden = false;
  const news = new EventSource('/studio/build/events');
  /**
   * @param {Event} event
   * @returns {News}
   */
  const read = (event) => JSON.parse(/** @type {MessageEvent} */ (event).data);
  news.addEventListener('begun', (event) => {
    count = read(event).count ?? 0;
    bar.max = Math.max(count, 1);
    bar.value = count ? 0 : 1;
  });
  news.addEventListener('step', (event) => {
    element('how-far').textContent = `${said('desk.studio.done', { n: done, of: count })} ${read(event).now ?? ''}`;
  });
  news.addEventListener('waiting', () => { element('how-far').textContent = said('desk.studio.waiting'); });
  news.addEventListener('done', (event) => oneDone(read(event)));
  news.addEventListener('end', (event) => { news.close(); void allDone(read(event)); });
  news.addEventListener('error', () => { news.close(); void allDone({ kind: 'end' }); });
}

async function buildAll() {
  if (build && !build.disabled && (await post('/studio/build', {})).ok) follow();
}

build?.addEventListener('click', () => void buildAll());
if (build?.dataset.running !== undefined) follow();

const dialog = /** @type {HTMLDialogElement} */ (element('player'));
const form = /** @type {HTMLFormElement} */ (element('player-form'));

/**
 * The field of a name.
 * @param {string} name
 */
function field(name) {
  return /** @type {HTMLInputElement} */ (form.elements.namedItem(name));
}

/**
 * A day of the calendar here, not of Greenwich.
 * @param {number} ahead days from today
 */
function day(ahead) {
  const now = new Date();
  const then = new Date(now.getFullYear(), now.getMonth(), now.getDate() + ahead, 12);
  return then.toISOString().slice(0, 10);
}

function openForm() {
  field('lesson').value ||= day(0);
  field('next').value ||= day(7);
  dialog.showModal();
  field('name').focus();
}

/**
 * Show what is wrong beside its field.
 * @param {Record<string, string>} faults
 */
function showFaults(faults) {
  for (const old of form.querySelectorAll('.beside')) old.remove();
  for (const input of form.querySelectorAll('[aria-invalid]')) {
    input.removeAttribute('aria-invalid');
    input.removeAttribute('aria-describedby');
  }
  for (const [name, text] of Object.entries(faults)) {
    const note = made('p', text);
    note.className = 'beside fault';
    note.id = `fault-${name}`;
    field(name).after(note);
    field(name).setAttribute('aria-invalid', 'true');
    field(name).setAttribute('aria-describedby', note.id);
  }
  const [first] = Object.keys(faults);
  if (first) field(first).focus();
}

form.addEventListener('submit', async (event) => {
  event.preventDefault();
  const answers = Object.fromEntries(new FormData(form).entries());
  const answer = await inTurn(() => post('/studio/player', answers, { quiet: true }));
  if (answer.ok) location.assign(`/week/${answer.data.key}`);
  else showFaults(answer.data.faults ?? { name: answer.data.error ?? said('desk.frame.failed') });
});
field('lesson').addEventListener('change', () => {
  const lesson = new Date(`${field('lesson').value}T12:00`);
  if (Number.isNaN(lesson.valueOf())) return;
  lesson.setDate(lesson.getDate() + 7);
  field('next').value = lesson.toISOString().slice(0, 10);
});
element('new-player').addEventListener('click', openForm);
element('no-player').addEventListener('click', () => dialog.close());

const chosen = /** @type {HTMLInputElement} */ (element('score-file'));

/**
 * Take scores into the studio, one after another; one that is no music stops none of the others.
 * @param {Iterable<File>} files
 */
async function take(files) {
  const added = [];
  const faults = [];
  for (const file of files) {
    const kind = isPages(file.name) ? 'pages' : 'score';
    const answer = await inTurn(() => upload(`/studio/${kind}/upload?name=${encodeURIComponent(file.name)}`, file));
    if (answer.ok) added.push(file.name);
    else faults.push(answer.data.error ?? `${file.name}: ${said('desk.frame.failed')}`);
  }
  const done = document.getElementById('first-done');
  if (done && added.length) done.hidden = false;
  tell([added.length ? said('desk.studio.score_added', { file: added.join(', ') }) : '', ...faults].join(' ').trim());
}
element('add-score').addEventListener('click', () => chosen.click());
chosen.addEventListener('change', () => void take(chosen.files ?? []));
document.addEventListener('dragover', (event) => event.preventDefault());
document.addEventListener('drop', (event) => {
  event.preventDefault();
  void take(event.dataTransfer?.files ?? []);
});

/**
 * Go to the player after or before the one that is in focus.
 * @param {number} by
 */
function toRow(by) {
  const rows = /** @type {HTMLElement[]} */ ([...document.querySelectorAll('.who a')]);
  const at = rows.indexOf(/** @type {HTMLElement} */ (document.activeElement));
  rows[at < 0 ? (by > 0 ? 0 : rows.length - 1) : (at + by + rows.length) % rows.length]?.focus();
}
onKey('b', () => void buildAll());
element('stop').addEventListener('click', () => void post('/studio/build/stop', {}));
onKey('x', () => { if (!element('stop').hidden) element('stop').click(); });
onKey('n', openForm);
onKey('j', () => toRow(1));
onKey('k', () => toRow(-1));
