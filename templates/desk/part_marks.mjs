// @ts-check
/* Marks on single notes of a drawn part: a note is picked by a click or by arrows, and gets finger, string, bow or slur;
   the same once more takes it away. */
import { element, onKey, said, tell } from '/own/desk.mjs';
import { barOf, lines, picked, redraw, tabPlace } from '/own/part_music.mjs';
import { proposed } from '/own/part_offers.mjs';
import { number, put } from '/own/part_places.mjs';

/** @typedef {import('/own/part_music.mjs').Head} Head */
/** @typedef {import('/own/part_music.mjs').Line} Line */
/**
 * What the desk tells of a note: where it is, which of a chord, and what stands at it.
 * @typedef {{at: string, voice: string, head: number, heads: number, marks: Record<string, string>}} Told
 */

const here = location.pathname;
const music = element('music');
const form = element('mark');
const finger = /** @type {HTMLInputElement} */ (element('finger'));
const byNote = /** @type {HTMLInputElement} */ (element('by-note'));

/** How the page writes a mark. */
export const marking = {
  /**
   * @param {Record<string, unknown>} _body
   * @returns {Promise<boolean>}
   */
  write: async (_body) => false,
};

/** @type {{head: Head, button: HTMLButtonElement} | null} */
let at = null;
/** @type {Told | null} what stands at the note that is picked */
let told = null;
/** @type {Head | null} the note that a slur begins on */
let from = null;

const same = (/** @type {Head} */ a, /** @type {Head} */ b) => (
  a.place === b.place && a.onset === b.onset && a.voice === b.voice && a.staff === b.staff && a.before === b.before);
const together = (/** @type {Head} */ a, /** @type {Head} */ b) => a.place === b.place && a.onset === b.onset && a.before === b.before;
const lineOf = (/** @type {Head} */ head) => lines[barOf(head.place)?.line ?? 0];
const asked = (/** @type {Head} */ head) => ({ place: head.place, onset: head.onset, voice: head.voice, grace: head.before, pitch: head.pitch });

/**
 * All note heads in the order of time, those of one time from the top down.
 * @returns {Head[]}
 */
function heads() {
  const turn = (/** @type {Head} */ head) => head.before || Infinity;
  return lines.flatMap((line) => line.heads).sort((a, b) => (
    a.place - b.place || number(a.onset) - number(b.onset) || (turn(a) === turn(b) ? 0 : turn(a) - turn(b)) || a.rect[1] - b.rect[1]));
}

/**
 * Pick a note.
 * @param {Head} head
 * @param {boolean} [focus]
 */
function pickNote(head, focus = true) {
  const button = at?.button ?? document.createElement('button');
  const line = lineOf(head);
  button.type = 'button';
  button.className = 'note';
  put(button, line, head.rect[0] - 0.9, head.rect[2] + 0.9, head.rect[1] - 0.9, head.rect[3] + 0.9);
  at = { head, button };
  told = null;
  if (button.parentElement !== line.element) line.element.append(button);
  frameChord(line, line.heads.filter((one) => same(one, head)));
  if (focus) button.focus();
  void describe();
}

/**
 * Draw a light frame around a chord: a bow and a slur are for all of it.
 * @param {Line} line
 * @param {Head[]} chord
 */
function frameChord(line, chord) {
  music.querySelector('.note.chord')?.remove();
  if (chord.length < 2) return;
  const frame = document.createElement('div');
  frame.className = 'note chord';
  const side = (/** @type {number} */ n) => chord.map((one) => one.rect[n]);
  put(frame, line, Math.min(...side(0)) - 1.5, Math.max(...side(2)) + 1.5, Math.min(...side(1)) - 1.5, Math.max(...side(3)) + 1.5);
  line.element.append(frame);
}

/**
 * What a mark says, in words.
 * @param {string} kind
 * @param {string} value
 */
function inWords(kind, value) {
  const text = kind === 'slur' ? said('desk.marks.slur_end', { at: value }) : kind === 'bow' ? said(`desk.marks.${value}`) : value;
  return `${said(`desk.marks.${kind}`)} ${text}`;
}

/** Tell what is marked at the note. */
async function describe() {
  if (!at) return;
  const { head, button } = at;
  const query = Object.entries(asked(head)).map(([key, value]) => [key, String(value)]);
  const answer = await fetch(`${here}/note?${new URLSearchParams(query)}`);
  /** @type {Told & {error?: string}} */
  const now = await answer.json().catch(() => ({}));
  if (at?.head !== head) return;
  form.hidden = !answer.ok;
  if (!answer.ok) {
    element('note-name').textContent = head.pitch;
    button.setAttribute('aria-label', head.pitch);
    tell(now.error ?? said('desk.frame.failed'));
    return;
  }
  told = now;
  const marks = Object.entries(now.marks).map(([kind, value]) => inWords(kind, value)).join(', ');
  const which = now.heads > 1 ? said('desk.marks.chord', { pitch: head.pitch, n: now.head, all: now.heads }) : head.pitch;
  const where = now.at + (now.voice ? said('desk.marks.voice', { voice: now.voice }) : '');
  const name = said(marks ? 'desk.marks.marked' : 'desk.marks.note', { pitch: which, at: where, marks });
  element('note-name').textContent = name;
  button.setAttribute('aria-label', name);
  element('marks-how').textContent = said(from ? 'desk.marks.slur_to' : 'desk.marks.how');
  const offer = proposed(head).filter(([kind]) => !now.marks[kind]);
  element('take').hidden = !offer.length;
  const take = /** @type {HTMLButtonElement} */ (element('take').firstElementChild);
  take.textContent = said('desk.offers.take', { mark: offer.map(([kind, value]) => inWords(kind, value)).join(', ') });
  take.onclick = () => { for (const [kind, value] of offer) mark(kind, value); };
  if (finger !== document.activeElement) finger.value = now.marks.finger ?? '';
  for (const one of /** @type {NodeListOf<HTMLElement>} */ (form.querySelectorAll('[data-value]'))) {
    const { kind = '', value = '' } = one.dataset;
    if (value) one.setAttribute('aria-pressed', String(now.marks[kind] === value));
    else one.hidden = !now.marks[kind];
  }
  element('away').hidden = !marks;
}

/** @type {Promise<unknown>} marks are written one after the other: each looks at what the one before left */
let busy = Promise.resolve();

/**
 * Put a mark in; take it out where it stands there already, or with an empty value.
 * @param {string} kind
 * @param {string} value
 * @param {boolean} [twice] the same once more takes it out
 */
function mark(kind, value, twice = false) {
  if (!at) return;
  const { head } = at;
  busy = busy.then(async () => {
    const there = told && at && same(at.head, head) && told.marks[kind] === value;
    await write({ kind, value: twice && there ? '' : value, ...asked(head) }, [head]);
  });
}

/**
 * Draw a slur from the note where it was begun; the same slur once more goes.
 * @param {Head} end
 */
function slurTo(end) {
  const begin = from;
  from = null;
  if (!begin || same(begin, end)) { noSlur(); void describe(); return; }
  busy = busy.then(async () => {
    at?.button.focus();
    await write({ kind: 'slur', value: 'slur', ...asked(begin), to: asked(end) }, [begin, end]);
    if (!from) noSlur();
  });
}

/**
 * @param {Record<string, unknown>} body
 * @param {Head[]} changed the notes whose lines are drawn anew
 */
async function write(body, changed) {
  if (!await marking.write(body)) { void describe(); return; }
  const places = [...new Map(changed.map((head) => [barOf(head.place)?.line, head.place])).values()];
  for (const place of places) await redraw(place);
  // The reader may have gone on to another note meanwhile.
  const mine = at?.head;
  const now = mine && heads().find((one) => same(one, mine) && one.pitch === mine.pitch);
  if (!now || !at || !byNote.checked) return;
  at.head = now;
  const { button } = at;
  const focused = document.activeElement === button;
  put(button, lineOf(now), now.rect[0] - 0.9, now.rect[2] + 0.9, now.rect[1] - 0.9, now.rect[3] + 0.9);
  frameChord(lineOf(now), lineOf(now).heads.filter((one) => same(one, now)));
  if (focused) button.focus();
  await describe();
}

/** No slur is begun. */
function noSlur() {
  from = null;
  music.querySelector('.note.from')?.remove();
}

function letGo() {
  noSlur();
  music.querySelectorAll('.note').forEach((one) => one.remove());
  at = null;
  told = null;
  form.hidden = true;
  element('note-name').textContent = said('desk.marks.switch');
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
  const first = byNote.checked && heads().find((head) => head.place >= place);
  if (first) pickNote(first);
});

music.addEventListener('click', (event) => {
  if (!byNote.checked || event.detail === 0) return;
  const target = /** @type {HTMLElement} */ (event.target);
  const line = lines.find((one) => one.element.contains(target));
  if (!line) return;
  const inside = line.element.getBoundingClientRect();
  const [x, y] = [(event.clientX - inside.left) / inside.width * line.width, (event.clientY - inside.top) / inside.height * line.height];
  const away = (/** @type {Head} */ head) => Math.hypot((head.rect[0] + head.rect[2]) / 2 - x, ((head.rect[1] + head.rect[3]) / 2 - y) / 2);
  const near = line.heads.slice().sort((a, b) => away(a) - away(b))[0];
  if (!near || away(near) > 8) return;
  if (from) slurTo(near);
  else pickNote(near);
});

/**
 * The note that an arrow leads to: sideways in time, up and down among those of one time.
 * @param {Head} head
 * @param {string} key
 */
function beside(head, key) {
  const all = heads();
  if (key === 'ArrowUp' || key === 'ArrowDown') {
    const now = all.filter((one) => together(one, head));
    return now[now.findIndex((one) => same(one, head) && one.pitch === head.pitch) + (key === 'ArrowDown' ? 1 : -1)];
  }
  const places = all.map((one) => together(one, head));
  return key === 'ArrowRight' ? all[places.lastIndexOf(true) + 1] : all.find((one) => together(one, all[places.indexOf(true) - 1] ?? head));
}

/** What a key does at the note that is picked. */
const keys = new Map(Object.entries({
  d: () => mark('bow', 'down', true),
  u: () => mark('bow', 'up', true),
  s: () => beginSlur(),
  Delete: () => mark('finger', ''),
  Backspace: () => mark('finger', ''),
}));

music.addEventListener('keydown', (event) => {
  if (!at || event.target !== at.button || event.ctrlKey || event.metaKey || event.altKey) return;
  const { key } = event;
  if (key.startsWith('Arrow')) { const next = beside(at.head, key); if (next) pickNote(next); }
  else if (/^[0-4T]$/.test(key)) mark('finger', key, true);
  else if (keys.has(key)) keys.get(key)?.();
  else if (key === 'Enter') { if (from) slurTo(at.head); }
  else return;
  event.preventDefault();
  event.stopPropagation();
});

document.addEventListener('keydown', (event) => {
  if (event.key !== 'Escape' || !at || document.querySelector('dialog[open]')) return;
  if (from) { noSlur(); void describe(); } else letGo();
});

form.addEventListener('click', (event) => {
  const one = /** @type {HTMLElement} */ (event.target);
  if (one.dataset.kind) mark(one.dataset.kind, one.dataset.value ?? '', true);
});
form.addEventListener('submit', (event) => {
  event.preventDefault();
  mark('finger', finger.value.trim());
});

function beginSlur() {
  if (!at) return;
  noSlur();
  from = at.head;
  const dot = document.createElement('div');
  dot.className = 'note from';
  put(dot, lineOf(from), from.rect[0] - 1.2, from.rect[2] + 1.2, from.rect[1] - 1.2, from.rect[3] + 1.2);
  lineOf(from).element.append(dot);
  element('marks-how').textContent = said('desk.marks.slur_to');
  at.button.focus();
}
element('slur-from').addEventListener('click', beginSlur);
