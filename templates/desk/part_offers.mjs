// @ts-check
/* What is shown on a drawn part when it is asked for: where the work is, proposed fingers, and how it sounds. */
import { element, said, tell } from '/own/desk.mjs';
import { hear } from '/own/hear.mjs';
import { barOf, lines, picked, redraw, stripes, tabPlace } from '/own/part_music.mjs';
import { number } from '/own/part_places.mjs';

/** @typedef {import('/own/part_music.mjs').Head} Head */
/** @typedef {import('/own/part_places.mjs').Span} Span */
/** @typedef {{place: number, onset: string, before: number, pitch: string, finger: string, string: string}} Finger */
/** @typedef {{span: Span, bars: string, why: string[], reasons: string}} Work */

const here = location.pathname;
const music = element('music');

/** What the page knows and does. */
export const offers = {
  /** @type {Finger[]} */ fingers: [],
  /** @type {Work[]} */ work: [],
  /**
   * @param {Record<string, unknown>} _body
   * @returns {Promise<boolean>}
   */ write: async (_body) => false,
  box: () => '',
  /**
   * @param {Span} _span
   * @param {string[]} _faults
   */ pick(_span, _faults) {},
};

/**
 * Ask the desk.
 * @param {string} what
 */
async function ask(what) {
  const answer = await fetch(`${here}/${what}`);
  const told = await answer.json().catch(() => ({}));
  if (!answer.ok) tell(told.error ?? said('desk.frame.failed'));
  return answer.ok ? told : null;
}

/**
 * Switch something on or off.
 * @param {string} id
 * @param {() => Promise<boolean>} on
 * @param {() => void} off
 */
function toggle(id, on, off) {
  const button = element(id);
  button.addEventListener('click', async () => {
    const wanted = button.getAttribute('aria-pressed') !== 'true';
    if (!wanted) off();
    const shown = wanted && await on();
    button.setAttribute('aria-pressed', String(shown));
    showOffers();
  });
}

toggle('show-work', async () => {
  const told = await ask('work');
  if (!told) return false;
  offers.work = told.passages;
  element('work-caption').textContent = told.caption;
  element('work').replaceChildren(...offers.work.map((one) => {
    const row = document.createElement('li');
    const button = document.createElement('button');
    button.type = 'button';
    button.textContent = `${one.bars} · ${one.reasons}`;
    button.addEventListener('click', () => offers.pick(one.span, one.why));
    row.append(button);
    return row;
  }));
  return true;
}, () => { offers.work = []; });

toggle('show-fingers', async () => {
  const told = await ask('fingers');
  if (told) offers.fingers = told.fingers;
  return Boolean(told);
}, () => { offers.fingers = []; });

const meets = (/** @type {Head} */ head, /** @type {Finger} */ one) => (
  head.place === one.place && head.onset === one.onset && head.before === one.before && head.pitch === one.pitch);
/**
 * The head of a proposed finger.
 * @param {Finger} one
 */
const headOf = (one) => lines[barOf(one.place)?.line ?? -1]?.heads.find((head) => meets(head, one));

/** Draw what is on over the lines there are. */
export function showOffers() {
  music.querySelectorAll('.work, .finger').forEach((old) => old.remove());
  for (const id of ['work', 'work-caption']) element(id).hidden = !offers.work.length;
  for (const one of offers.work) {
    for (const stripe of stripes(one.span)) {
      const made = document.createElement('div');
      made.className = `work${stripe.begins ? '' : ' from-left'}${stripe.ends ? '' : ' to-right'}`;
      const { line, left, right } = stripe;
      Object.assign(made.style, { left: `${100 * left / line.width}%`, width: `${100 * (right - left) / line.width}%`, top: '-.3rem', bottom: '-.3rem' });
      line.element.append(made);
    }
  }
  for (const one of offers.fingers) {
    const head = headOf(one);
    const line = head && lines[barOf(one.place)?.line ?? -1];
    if (!head || !line) continue;
    const made = document.createElement('span');
    made.className = 'finger';
    made.setAttribute('aria-hidden', 'true');
    made.textContent = [one.finger, one.string && ['', 'I', 'II', 'III', 'IV', 'V'][Number(one.string)]].filter(Boolean).join(' ');
    const top = Math.min(head.rect[1], line.staves[head.staff - 1]?.top ?? head.rect[1]) - 1.2;
    Object.assign(made.style, { left: `${50 * (head.rect[0] + head.rect[2]) / line.width}%`, top: `${100 * top / line.height}%` });
    line.element.append(made);
  }
  element('take-all').hidden = !offers.box() || !offers.fingers.length;
}

/**
 * What is proposed at a note.
 * @param {Head} head
 * @returns {[string, string][]}
 */
export function proposed(head) {
  const one = offers.fingers.find((finger) => meets(head, finger));
  return one ? /** @type {[string, string][]} */ ([['finger', one.finger], ['string', one.string]].filter((pair) => pair[1])) : [];
}

element('take-all').addEventListener('click', async () => {
  const span = picked?.span;
  if (!span) return;
  const inside = offers.fingers.filter((one) => {
    const after = one.place > span[0] || (one.place === span[0] && number(one.onset) >= number(span[1]));
    const before = one.place < span[2] || (one.place === span[2] && (span[3] === null || number(one.onset) < number(span[3])));
    return after && before;
  });
  const many = inside.flatMap((one) => [['finger', one.finger], ['string', one.string]].filter((pair) => pair[1]).map(([kind, given]) => (
    { kind, value: given, place: one.place, onset: one.onset, grace: one.before, pitch: one.pitch, voice: headOf(one)?.voice ?? '' })));
  if (!many.length || !await offers.write({ many })) return;
  offers.fingers = offers.fingers.filter((one) => !inside.includes(one));
  showOffers();
  const places = [...new Set(stripes(span).map((stripe) => stripe.at))];
  for (const at of places) { const head = lines[at].heads[0]; if (head) await redraw(head.place); }
  // What is proposed beside them now takes some seconds.
  const told = await ask('fingers');
  if (told && element('show-fingers').getAttribute('aria-pressed') === 'true') offers.fingers = told.fingers;
  showOffers();
});

element('hear').addEventListener('click', () => {
  const box = offers.box();
  if (box) { hear(here, { box }); return; }
  if (!picked) { hear(here, { first: tabPlace() }); return; }
  const [first, start, last, end] = picked.span;
  hear(here, { first, start, last, ...(end === null ? {} : { end }) });
});
