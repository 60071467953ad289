// @ts-check
/* The lesson of one player: the records are typed in, the next week follows at once, one key writes and prints it. */

import './cells.mjs';
import { element, inTurn, onKey, post, said, save, tell, upload } from './desk.mjs';
import { all, another, choices, fill, first, made, record } from './lesson_record.mjs';
import { follow } from './making.mjs';

/** @type {{key: string, week: string, of_log: string, of_week: string, rows: number}} */
const lesson = JSON.parse(element('lesson').textContent ?? '{}');
/** Digest of the next week's file, as far as this page has written it. */
let written = sessionStorage.getItem(`next ${lesson.key} ${lesson.week}`) ?? '';
/** @type {Set<string>} what was doubtful and is right */
const agreed = new Set();
/** @type {File | null} */
let sentFile = null;

/**
 * Parts of the page are made by the desk's templates, which escape every text.
 * @param {string} id
 * @param {string} html
 */
const put = (id, html) => { element(id).innerHTML = html; };
/** @param {string} name */
const at = (name) => `/lesson/${lesson.key}/${name}?week=${lesson.week}`;

/** @type {AbortController | null} */
let looking = null;
let waiting = 0;

/** An older answer would take away later choices. */
function lookAnew() {
  clearTimeout(waiting);
  looking?.abort();
  element('next').ariaBusy = 'true';
}

/** Show what follows from what stands on the page; nothing is written. */
async function look() {
  lookAnew();
  const { signal } = looking = new AbortController();
  const { ok, data } = await post(at('look'), { record: record(), choices: choices() }, { signal });
  if (signal.aborted) return;
  if (ok) show(data);
  const mended = ok && !Object.keys(data.faults ?? {}).length;
  if (mended && element('told').textContent === said('desk.lesson.faults')) tell('');
  element('next').ariaBusy = null;
}

function lookSoon() {
  lookAnew();
  waiting = setTimeout(look, 120);
}

/** @param {any} data */
function show(data) {
  for (const [box, lines] of Object.entries(data.lines ?? {})) fill(box, lines);
  tellCells(data.faults ?? {}, data.doubts ?? {});
  if (data.next === undefined) return;
  const had = first(document, '#next :focus');
  put('next', data.next);
  const has = /** @type {any} */ (document.getElementById(had?.id));
  has?.focus();
  if (!has?.size || has.value === had.value) return;
  has.value = had.value;  // half typed
  has.onblur = lookSoon;
}

/**
 * Say beside its cell what cannot be read, and what can hardly be right.
 * @param {Record<string, string>} faults
 * @param {Record<string, string>} doubts
 */
function tellCells(faults, doubts) {
  for (const row of all(element('work'), '.told')) row.remove();
  for (const input of all(element('work'), '[data-cell]').reverse()) {  // several of one line: in their order below it
    const name = input.dataset.cell;
    const text = faults[name] ?? doubts[name];
    input.removeAttribute('aria-invalid');
    input.removeAttribute('aria-describedby');
    if (!text) continue;
    const told = made('p', { className: 'fault', ...(faults[name] ? { lang: 'en' } : {}), id: `told ${name}`.replaceAll(' ', '-') });
    told.append(`${text} `);
    if (!faults[name]) told.append(agreement(`${name} ${text}`));
    if (!agreed.has(`${name} ${text}`)) input.setAttribute('aria-invalid', 'true');
    input.setAttribute('aria-describedby', told.id);
    const line = input.closest('tr');
    if (!line) { told.classList.add('told'); (input.closest('.new') ?? input.closest('.row') ?? input.closest('label')).after(told); continue; }
    const below = made('tr', { className: 'told' });
    below.append(made('td', { colSpan: 20 }));
    below.firstChild.append(told);
    line.after(below);
  }
}

/** @param {string} doubt */
function agreement(doubt) {
  const label = made('label', { className: 'beside' });
  const tick = made('input', { type: 'checkbox', checked: agreed.has(doubt) });
  tick.onchange = () => { if (tick.checked) agreed.add(doubt); else agreed.delete(doubt); };
  label.append(tick, ` ${said('desk.lesson.right')}`);
  return label;
}

/**
 * @param {string} name
 * @param {Record<string, unknown>} body
 */
const saved = (name, body) => inTurn(() => save(at(name), body));

let busy = false;

/**
 * Do one thing at a time: a key pressed twice writes once.
 * @param {() => Promise<void>} work
 */
async function alone(work) {
  if (busy) return;
  busy = true;
  document.body.ariaBusy = 'true';
  try { await work(); } finally { busy = false; document.body.ariaBusy = null; }
}

/**
 * Write down what stands on the page.
 * @param {boolean} next and the next week, and print it
 */
const write = (next) => alone(async () => {
  const answer = await saved('write', {
    record: record(), choices: choices(), agreed: [...agreed], next, of_log: lesson.of_log, digest: written,
  });
  if (!answer) return;
  if (!answer.ok) {
    if (answer.status === 422) show(answer.data);
    goToFault();
    return;
  }
  taken(answer.data);
  if (!next) return;
  remember(answer.data.digest);
  await print(said('desk.lesson.next_written', { file: answer.data.file }));
});

/** Lead the keyboard to the first thing that is wrong, wherever it is folded away. */
function goToFault() {
  const wrong = first(document, '#work [aria-invalid="true"], #next-fault');
  if (!wrong) return;
  if (wrong.closest('.paper') && document.body.classList.contains('nothing')) came('paper', false);
  if (wrong.closest('details')) wrong.closest('details').open = true;
  wrong.focus();
  wrong.scrollIntoView({ block: 'center' });
}

/** @param {string} digest */
function remember(digest) {
  written = digest;
  sessionStorage.setItem(`next ${lesson.key} ${lesson.week}`, digest);
}

/**
 * Show the records as the log has them now.
 * @param {any} data
 */
function taken(data) {
  lesson.of_log = data.of_log;
  put('record', data.record);
  element('practised').textContent = data.practised;
  tell(said(`desk.lesson.written${data.rows ? data.rows === 1 ? '_one' : '' : '_none'}`, { n: data.rows }));
}

/**
 * Build the workbook, and show it in the browser's own viewer.
 * @param {string} before what is told already
 */
async function print(before) {
  const begun = await post(at('print'), {});
  if (!begun.ok) return;
  const data = await follow(begun.data.job, element('told'), { before });
  if (!data.file) {
    tell(`${before} ${data.stopped ?? `${said('desk.week.not_made')} ${data.failed}`}`.trim());
    return;
  }
  const viewer = first(document, '#viewer');
  element('printed').hidden = false;
  element('printed-told').replaceChildren(...(data.told ?? []).map((line) => made('li', { textContent: line })));
  viewer.src = first(document, '#open-tab').href = data.file;
  const until = Date.now() + 3000;  // a viewer takes the keys when it has loaded: they stay with the page
  window.onblur = () => { if (Date.now() < until && document.activeElement === viewer) setTimeout(() => viewer.blur()); };
  tell(`${before} ${data.said}`.trim());
  element('printed').scrollIntoView({ block: 'start' });
}

/**
 * @param {string} kind "paper", "file" or "nothing"
 * @param {boolean} [begin] go to the first field
 */
function came(kind, begin = true) {
  for (const button of all(document, '[data-came]')) button.ariaPressed = String(button.dataset.came === kind);
  element('file').hidden = kind !== 'file';
  element('work').hidden = false;
  document.body.classList.toggle('nothing', kind === 'nothing');
  const field = { paper: '#record .line', nothing: '#record .heard input', file: '#sent' }[kind] ?? '';
  if (begin) first(document, field)?.focus();
}

/** @param {number} number heard clean, not yet, not heard: in turn */
function heard(number) {
  const box = document.querySelector(`[data-number="${number}"]`);
  if (!box) return;
  const [clean, not, none] = all(box, '.heard input');
  const next = clean.checked ? not : not.checked ? none : clean;
  next.checked = true;
  const name = `${number}, ${first(box, '.title').textContent}`;
  tell(said('desk.lesson.heard_now', { box: name, heard: next.parentElement.textContent.trim() }));
  lookSoon();
}

/**
 * Send the file that came home.
 * @param {string} name
 * @param {string} agreed
 */
const send = (name, agreed) => inTurn(() => upload(
  `${at(`${name}/upload`)}&agreed=${agreed}&name=${encodeURIComponent(sentFile?.name ?? '')}`, sentFile ?? new Blob()));

/** @param {File | undefined} file */
async function showSent(file) {
  if (!file) return;
  sentFile = file;
  const { ok, data } = await send('sent', '');
  put('sent-rows', ok ? data.html : '');
  first(document, '#sent').value = '';  // so that the same file can be chosen again
  document.getElementById('take')?.focus();
}

const takeSent = () => alone(async () => {
  const { ok, data } = await send('take', all(element('sent-rows'), '.agreed:checked').map((one) => one.value).join());
  if (!ok) return;
  taken(data);
  put('sent-rows', '');
  await look();
});

const again = () => alone(async () => {
  const answer = await saved('again', { digest: written });
  if (!answer?.ok) return;
  remember(answer.data.digest);
  await print(answer.data.lines.join(' '));
});

const noLesson = () => alone(async () => {
  const button = first(document, '#no-lesson');
  const answer = button.disabled ? null : await saved('no-lesson', { of_week: lesson.of_week });
  if (!answer?.ok) return;
  button.disabled = true;
  tell(answer.data.lines.join(' '));
});

/** @param {HTMLElement} button a proposal of bars that broke down */
function make(button) {
  const row = another();
  for (const name of ['bars', 'piece', 'why']) first(row, `.${name}`).value = button.dataset[name];
  void look();
}

document.addEventListener('keydown', (event) => {
  if (event.key === 'Enter' && event.ctrlKey) { event.preventDefault(); void write(true); return; }
  const where = /** @type {any} */ (event.target);
  if (event.key === 'Escape' && where.closest('main')) where.blur();
});
document.addEventListener('change', (event) => {
  const where = /** @type {any} */ (event.target);
  if (where.id === 'sent') void showSent(where.files?.[0]);
  else if (where.closest('#work') && !where.closest('.fault')) lookSoon();
});
document.addEventListener('click', (event) => {
  const button = /** @type {any} */ (event.target).closest('button');
  if (button?.id === 'take') void takeSent();
  if (button?.classList.contains('make')) make(button);
});
for (const button of all(document, '[data-came]')) {
  const kind = button.dataset.came;
  button.addEventListener('click', () => came(kind));
  onKey(kind[0], () => came(kind));
}
/** @type {[string, string, () => unknown][]} */
const buttons = [
  ['no-lesson', 'i', noLesson], ['again', 'a', again], ['write', 'd', () => write(false)],
  ['write-print', 'w', () => write(true)], ['print-again', '', () => alone(() => print(''))],
  ['another', '', () => first(another(), '.bars').focus()],
];
for (const [id, key, action] of buttons) {
  element(id).addEventListener('click', () => void action());
  if (key) onKey(key, () => void action());
}
onKey('l', () => document.getElementById('next-lesson')?.click());
onKey('t', () => document.getElementById('take')?.click());
onKey('s', () => first(document, '.scale input')?.focus());
for (let number = 1; number <= 9; number += 1) onKey(String(number), () => heard(number));

const drop = element('drop');
for (const name of ['dragover', 'dragleave', 'drop']) {
  drop.addEventListener(name, (event) => {
    event.preventDefault();
    drop.classList.toggle('over', name === 'dragover');
    if (name === 'drop') void showSent(/** @type {DragEvent} */ (event).dataTransfer?.files[0]);
  });
}
if (lesson.rows) came('paper', false);
