// @ts-check
/* Marks on single notes of a drawn part: a note is picked by a click or by arrows, and gets finger, string, bow or slur. */
import { element, onKey, said, tell } from '/own/desk.mjs';
import { barOf, lines, picked, redraw, tabPlace } from '/own/part_music.mjs';
import { proposed } from '/own/part_offers.mjs';
import { number, put } from '/own/part_places.mjs';

/** @typedef {import('/own/part_music.mjs').Head} Head */
/** @typedef {import('/own/part_music.mjs').Line} Line */

const here = location.pathname;
const music = element('music');
const form = element('mark');
const finger = /** @type {HTMLInputElement} */ (element('finger'));
const byNote = /** @type {HTMLInputElement} */ (element('by-note'));

/** How the page writes a mark. */
export const marking = { /** @param {Record<string, unknown>} _body @returns {Promise<boolean>} */ write: async (_body) => false };

/** @type {{head: Head, button: HTMLButtonElement} | null} */ let at = null;
/** @type {Head | null} the note that a slur begins on */ let from = null;

/** The notes in the order of time, of a chord its top note. @returns {Head[]} */
function notes() {
  const all = lines.flatMap((line) => line.heads.filter((head) => !head.grace));
  const order = all.sort((a, b) => a.place - b.place || number(a.onset) - number(b.onset) || a.staff - b.staff || a.rect[1] - b.rect[1]);
  return order.filter((head, n) => !n || same(head, order[n - 1]) === false);
}
const same = (/** @type {Head} */ a, /** @type {Head} */ b) => a.place === b.place && a.onset === b.onset && a.voice === b.voice && a.staff === b.staff;
const lineOf = (/** @type {Head} */ head) => lines[barOf(head.place)?.line ?? 0];

/** Pick a note. @param {Head} head @param {boolean} [focus] */
function pickNote(head, focus = true) {
  const button = at?.button ?? document.createElement('button');
  const line = lineOf(head);
  button.type = 'button';
  button.className = 'note';
  put(button, line, head.rect[0] - 0.6, head.rect[2] + 0.6, head.rect[1] - 0.6, head.rect[3] + 0.6);
  at = { head, button };
  if (button.parentElement !== line.element) line.element.append(button);
  if (focus) button.focus();
  void describe();
}

/** Tell what is marked at the note. */
async function describe() {
  if (!at) return;
  const { head, button } = at;
  const answer = await fetch(`${here}/note?${new URLSearchParams({ place: String(head.place), onset: head.onset, voice: head.voice })}`);
  const told = await answer.json().catch(() => ({}));
  if (at?.head !== head) return;
  if (!answer.ok) { tell(told.error ?? said('desk.frame.failed')); return; }
  const marks = Object.entries(told.marks).map(([kind, value]) => `${said(`desk.marks.${kind}`)} ${value}`).join(', ');
  const name = said(marks ? 'desk.marks.marked' : 'desk.marks.note', { pitch: head.pitch, at: told.at, marks });
  element('note-name').textContent = name;
  button.setAttribute('aria-label', name);
  form.hidden = false;
  element('marks-how').textContent = said(from ? 'desk.marks.slur_to' : 'desk.marks.how');
  const offer = proposed(head).filter(([kind]) => !told.marks[kind]);
  element('take').hidden = !offer.length;
  const take = /** @type {HTMLButtonElement} */ (element('take').firstElementChild);
  take.textContent = said('desk.offers.take', { mark: offer.map(([kind, value]) => `${said(`desk.marks.${kind}`)} ${value}`).join(', ') });
  take.onclick = async () => { for (const [kind, value] of offer) await mark(kind, value); };
  if (finger !== document.activeElement) finger.value = told.marks.finger === 'no' ? '' : told.marks.finger ?? '';
  for (const one of form.querySelectorAll('[data-value]')) {
    if (one instanceof HTMLElement && one.dataset.value) one.setAttribute('aria-pressed', String(told.marks[one.dataset.kind ?? ''] === romanless(one.dataset.value)));
  }
}
const romanless = (/** @type {string} */ value) => ({ I: '1', II: '2', III: '3', IV: '4' })[value] ?? value;

/** Put a mark in. @param {string} kind @param {string} value @param {Head | null} [to] */
async function mark(kind, value, to = null) {
  if (!at) return;
  const { head } = at;
  const start = to ? from ?? head : head;
  const body = { kind, value, place: start.place, onset: start.onset, voice: start.voice, ...(to ? { to: [to.place, to.onset] } : {}) };
  const done = await marking.write(body);
  if (!done) return;
  await redraw(start.place);
  if (to && barOf(to.place)?.line !== barOf(start.place)?.line) await redraw(to.place);
  // The reader may have gone on to another note meanwhile.
  const mine = at?.head;
  const now = mine && notes().find((one) => same(one, mine));
  if (now && byNote.checked) pickNote(now, document.activeElement === at?.button);
}

function letGo() {
  at?.button.remove();
  music.querySelectorAll('.note').forEach((one) => one.remove());
  at = null;
  from = null;
  form.hidden = true;
}

byNote.addEventListener('change', () => {
  element('marking').hidden = !byNote.checked;
  element('how').hidden = byNote.checked || Boolean(picked);
  if (byNote.checked) music.dataset.notes = 'yes';
  else { delete music.dataset.notes; letGo(); }
});
onKey('n', () => {
  byNote.checked = !byNote.checked;
  byNote.dispatchEvent(new Event('change'));
  const place = picked?.span[0] ?? tabPlace();
  const first = byNote.checked && notes().find((head) => head.place >= place);
  if (first) pickNote(first);
});

music.addEventListener('click', (event) => {
  if (!byNote.checked) return;
  const target = /** @type {HTMLElement} */ (event.target);
  const line = lines.find((one) => one.element.contains(target));
  if (!line) return;
  const inside = line.element.getBoundingClientRect();
  const [x, y] = [(event.clientX - inside.left) / inside.width * line.width, (event.clientY - inside.top) / inside.height * line.height];
  const away = (/** @type {Head} */ head) => Math.hypot((head.rect[0] + head.rect[2]) / 2 - x, ((head.rect[1] + head.rect[3]) / 2 - y) / 2);
  const near = line.heads.filter((head) => !head.grace).sort((a, b) => away(a) - away(b))[0];
  if (!near || away(near) > 8) return;
  if (from && at) { void mark('slur', 'slur', near).then(() => { from = null; music.querySelector('.note.from')?.remove(); void describe(); }); return; }
  pickNote(near);
});

music.addEventListener('keydown', (event) => {
  if (!at || event.target !== at.button || event.ctrlKey || event.metaKey || event.altKey) return;
  const step = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
  if (step) {
    const all = notes();
    const mine = at.head;
    const next = all[all.findIndex((one) => same(one, mine)) + step];
    if (next) pickNote(next);
  } else if (/^[0-4T]$/.test(event.key)) void mark('finger', event.key);
  else if (event.key === 'd') void mark('bow', 'down');
  else if (event.key === 'u') void mark('bow', 'up');
  else if (event.key === 'Delete' || event.key === 'Backspace') void mark('finger', '');
  else if (event.key === 'Enter' && from) {
    const end = at.head;
    void mark('slur', 'slur', end).then(() => { from = null; music.querySelector('.note.from')?.remove(); });
  } else return;
  event.preventDefault();
  event.stopPropagation();
});

form.addEventListener('click', (event) => {
  const one = /** @type {HTMLElement} */ (event.target);
  if (one.dataset.kind) void mark(one.dataset.kind, one.dataset.value ?? '');
});
form.addEventListener('submit', (event) => {
  event.preventDefault();
  void mark('finger', finger.value.trim());
});
element('slur-from').addEventListener('click', () => {
  if (!at) return;
  from = at.head;
  const dot = document.createElement('div');
  dot.className = 'note from';
  put(dot, lineOf(from), from.rect[0] - 0.9, from.rect[2] + 0.9, from.rect[1] - 0.9, from.rect[3] + 0.9);
  lineOf(from).element.append(dot);
  element('marks-how').textContent = said('desk.marks.slur_to');
  at.button.focus();
});
