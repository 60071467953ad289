// @ts-check
/* What every page of the desk shares: writes with the right headers, conflicts, undo, keys. */

/** @type {Record<string, string>} */
const spoken = JSON.parse(element('spoken').textContent ?? '{}');

/**
 * The element with an id.
 * @param {string} id
 * @returns {HTMLElement}
 */
export function element(id) {
  const found = document.getElementById(id);
  if (!found) throw new Error(`no element ${id}`);
  return found;
}

/**
 * A text in the studio's words.
 * @param {string} name
 * @param {Record<string, string | number>} [values]
 */
export function said(name, values = {}) {
  return (spoken[name] ?? name).replace(/\{(\w+)\}/g, (whole, key) => String(values[key] ?? whole));
}

/**
 * Say something in the line below the frame's links; screen readers read it out.
 * @param {string} text
 */
export function tell(text) {
  element('told').textContent = text;
}

/**
 * The answer to a write.
 * @typedef {{ok: boolean, status: number, data: any}} Answer
 */

/**
 * Write to the desk. A fault is told in the frame; a page may show it in its place too.
 * @param {string} address
 * @param {Record<string, unknown>} body
 * @param {{quiet?: boolean, signal?: AbortSignal}} [how] quiet: do not tell a fault
 * @returns {Promise<Answer>}
 */
export async function post(address, body, how = {}) {
  return send(address, 'application/json', JSON.stringify(body), how);
}

/**
 * Send the bytes of a file to an address that ends in /upload.
 * @param {string} address
 * @param {Blob} file
 */
export async function upload(address, file) {
  return send(address, 'application/octet-stream', await file.arrayBuffer(), {});
}

/**
 * @param {string} address
 * @param {string} type
 * @param {BodyInit} body
 * @param {{quiet?: boolean, signal?: AbortSignal}} how
 */
async function send(address, type, body, how) {
  try {
    const answer = await fetch(address, {
      method: 'POST', headers: { 'Content-Type': type }, body, signal: how.signal, credentials: 'same-origin',
    });
    const data = await answer.json().catch(() => ({}));
    if (!answer.ok && !how.quiet && answer.status !== 409) tell(data.error ?? said('desk.frame.failed'));
    return { ok: answer.ok, status: answer.status, data };
  } catch (error) {
    if (error instanceof DOMException && error.name === 'AbortError') return { ok: false, status: 0, data: {} };
    tell(said('desk.frame.no_answer'));
    return { ok: false, status: 0, data: {} };
  }
}

/** @type {Promise<unknown>} what is being written, and what waits for it */
let writing = Promise.resolve();

/**
 * Write when the writes before it are through: each brings the digest that the one before left, and a step back takes
 * back what was done last. What the page keeps of the answer is kept inside the turn.
 * @template T
 * @param {() => Promise<T>} work
 * @returns {Promise<T>}
 */
export function inTurn(work) {
  const done = writing.then(work);
  writing = done.catch(() => {});
  return done;
}

/**
 * Save, and ask when the file was changed elsewhere meanwhile: both texts are shown. Called in turn.
 * @param {string} address
 * @param {Record<string, unknown>} body with the digest that the file was shown with
 * @returns {Promise<Answer | null>} null when nothing was written: the page is read anew, or the teacher decides later
 */
export async function save(address, body) {
  let answer = await post(address, body);
  while (answer.status === 409) {
    const choice = await ask(answer.data);
    if (choice === 'theirs') { location.reload(); return null; }
    if (choice !== 'ours') return null;
    answer = await post(address, { ...body, [answer.data.which ?? 'digest']: answer.data.digest });
  }
  return answer;
}

/**
 * Show a conflict, and ask what is to be done.
 * @param {{error: string, ours: string, theirs: string}} both
 * @param {boolean} [undoing] what was to be brought back is shown, and nothing can be chosen
 * @returns {Promise<string>} "theirs", "ours", or nothing
 */
export function ask(both, undoing = false) {
  const dialog = /** @type {HTMLDialogElement} */ (element('conflict'));
  element('conflict-title').textContent = both.error;
  element('theirs').textContent = both.theirs;
  element('ours').textContent = both.ours;
  element('ours-title').textContent = said(undoing ? 'desk.frame.before' : 'desk.frame.ours');
  element('conflict-lead').textContent = said(undoing ? 'desk.frame.undo_lead' : 'desk.frame.conflict_lead');
  element('take-theirs').hidden = element('keep-ours').hidden = undoing;
  return new Promise((resolve) => {
    for (const [id, choice] of [['take-theirs', 'theirs'], ['keep-ours', 'ours'], ['decide-later', '']]) {
      element(id).onclick = () => dialog.close(choice);
    }
    dialog.returnValue = '';
    dialog.onclose = () => resolve(dialog.returnValue);
    dialog.showModal();
  });
}

let undoing = false;

/** Take back the last step, one at a time, and show the page as it is then. */
async function undo() {
  if (undoing) return;
  undoing = true;
  const answer = await inTurn(() => post('/undo/last', {}));
  if (answer.ok && answer.data.undone !== null) {
    sessionStorage.setItem('told', said('desk.frame.undone', { what: answer.data.undone }));
    location.reload();
    setTimeout(() => { undoing = false; }, 3000);  // whoever has unsaved changes may have stayed
    return;
  }
  if (answer.ok) tell(said('desk.frame.nothing_to_undo'));
  else if (answer.status === 409) await ask(answer.data, true);
  undoing = false;
}

/** @type {Map<string, () => void>} */
const keys = new Map([
  ['?', () => /** @type {HTMLDialogElement} */ (element('keys')).showModal()],
  ['g s', () => location.assign('/')],
  ['g w', () => location.assign('/warmups')],
  ['g h', () => location.assign('/home')],
  ['g u', () => location.assign('/undo')],
  ['u', () => void undo()],
]);

/**
 * Give a key, or two after one another ("g s"), a meaning on this page; list it in the template's block `keys`.
 * @param {string} key
 * @param {() => void} action
 */
export function onKey(key, action) {
  keys.set(key, action);
}

/* Fields in which a letter is typed; a box to tick is none. */
const typing = 'input:not([type=radio], [type=checkbox]), textarea, select';
let before = '';

/** @param {KeyboardEvent} event */
function pressed(event) {
  if (event.ctrlKey || event.metaKey || event.altKey || event.isComposing) return;
  const where = /** @type {HTMLElement} */ (event.target);
  if (where.isContentEditable || where.closest('dialog[open]') || where.matches(typing)) return;
  const action = keys.get(before ? `${before} ${event.key}` : event.key) ?? keys.get(event.key);
  before = [...keys.keys()].some((key) => key.startsWith(`${event.key} `)) ? event.key : '';
  if (action) { event.preventDefault(); before = ''; action(); }
}

document.addEventListener('keydown', pressed);
element('show-keys').addEventListener('click', () => keys.get('?')?.());
element('undo-last').addEventListener('click', () => void undo());
const kept = sessionStorage.getItem('told');
if (kept) { tell(kept); sessionStorage.removeItem('told'); }
