// @ts-check
/* The numbers of bars, typed where they are seen: a field at each line of a page; what was counted stands beside it. */
import { element, onKey, said, tell } from '/own/desk.mjs';
import { sheets } from '/own/pages_sheets.mjs';

/** @typedef {import('/own/pages_sheets.mjs').Sheet} Sheet */

/** What the page does with numbers, and what it calls when it has looked at a sheet. */
export const numbers = {
  /**
   * @param {Record<string, unknown>} _body
   * @returns {Promise<boolean>}
   */
  write: (_body) => Promise.resolve(false),
  looked,
};

/**
 * What is typed on a page and not saved yet.
 * @type {Map<Sheet, string[]>}
 */
const typed = new Map();

/**
 * The numbers that are saved for a page, as they are shown.
 * @param {Sheet} sheet
 * @returns {string[]}
 */
function saved(sheet) {
  const seen = sheet.seen;
  if (!seen) return [];
  return [...seen.systems.map((one) => one.first), seen.next].map((one) => (one === null ? '' : String(one)));
}

/**
 * Make the fields of a page, or show in them what is saved now.
 * @param {Sheet} sheet
 */
function looked(sheet) {
  const gutter = sheet.section.querySelector('.gutter');
  const seen = sheet.seen;
  if (!gutter || !seen) return;
  const count = seen.systems.length;
  if (gutter.querySelectorAll('input').length !== (count ? count + 1 : 0)) make(sheet, gutter, count);
  const values = typed.get(sheet) ?? saved(sheet);
  fields(sheet).forEach((one, n) => {
    if (one !== document.activeElement) one.value = values[n] ?? '';
    const at = seen.systems[Math.min(n, count - 1)];
    one.style.top = `${100 * (n < count ? (at.area[1] + at.area[3]) / 2 : at.area[3] + at.staff * 1.6) / seen.height}%`;
  });
  guess(sheet);
  const before = sheets[sheet.page - 2];
  if (before?.seen) { ends(before); guess(before); }
  const after = sheets[sheet.page];
  if (after?.seen) guess(after);
  ends(sheet);
  says(sheet);
  const confirm = /** @type {HTMLElement} */ (sheet.section.querySelector('.confirm'));
  confirm.hidden = !seen.unseen;
}

/** @param {Sheet} sheet */
const fields = (sheet) => /** @type {HTMLInputElement[]} */ ([...sheet.section.querySelectorAll('.gutter input')]);

/**
 * @param {Sheet} sheet
 * @param {Element} gutter
 * @param {number} count
 */
function make(sheet, gutter, count) {
  gutter.replaceChildren(...Array.from({ length: count ? count + 1 : 0 }, (_, n) => {
    const one = document.createElement('input');
    one.inputMode = 'numeric';
    one.maxLength = 5;
    one.autocomplete = 'off';
    one.className = 'first-bar';
    const page = sheet.page;
    one.setAttribute('aria-label', n < count ? said('desk.pages.first_bar', { system: n + 1, page }) : said('desk.pages.next_bar', { page }));
    one.addEventListener('change', () => void changed(sheet));
    one.addEventListener('keydown', (event) => entered(event, sheet, one));
    return one;
  }));
}

/**
 * The field of the bar that comes next is wanted only where the next page does not tell it.
 * @param {Sheet} sheet
 */
function ends(sheet) {
  const last = fields(sheet).at(-1);
  const follows = sheets[sheet.page]?.seen?.systems[0]?.first ?? null;
  if (last) last.hidden = follows !== null && sheet.seen?.next === null;
}

/**
 * What the counting makes of the numbers before, in grey where nothing is typed.
 * @param {Sheet} sheet
 */
function guess(sheet) {
  const seen = sheet.seen;
  if (!seen) return;
  const before = sheets[sheet.page - 2]?.seen;
  const last = before?.systems.at(-1);
  let next = before?.next ?? (last && last.first !== null ? last.first + last.bars.length - 1 : null);
  fields(sheet).forEach((one, n) => {
    one.placeholder = one.value || next === null ? '' : String(next);
    const number = /^\d+$/.test(one.value.trim()) ? Number(one.value) : null;
    next = number === null || n >= seen.systems.length ? null : number + seen.systems[n].bars.length - 1;
  });
}

/**
 * What is wrong with a sum stands at its line.
 * @param {Sheet} sheet
 */
function says(sheet) {
  sheet.leaf.querySelectorAll('.says').forEach((old) => old.remove());
  sheet.seen?.systems.forEach((system, n) => {
    const one = fields(sheet)[n];
    one?.removeAttribute('aria-describedby');
    if (!system.says || !sheet.seen) return;
    const text = Object.assign(document.createElement('p'), { className: 'says', id: `says-${sheet.page}-${n + 1}`, textContent: system.says });
    text.style.top = `${100 * (system.area[3] + system.staff * 0.4) / sheet.seen.height}%`;
    sheet.leaf.append(text);
    one?.setAttribute('aria-describedby', text.id);
  });
}

/**
 * Enter takes the number that was counted, and leads to the next line.
 * @param {KeyboardEvent} event
 * @param {Sheet} sheet
 * @param {HTMLInputElement} one
 */
function entered(event, sheet, one) {
  const own = fields(sheet).filter((field) => !field.hidden);
  const place = own.indexOf(one);
  if (event.key === 'Enter') {
    event.preventDefault();
    if (!one.value && one.placeholder) one.value = one.placeholder;
    const next = own[place + 1] ?? (sheets[sheet.page] && fields(sheets[sheet.page])[0]);
    if (next) next.focus(); else one.blur();
    void changed(sheet);
  } else if (event.key === 'ArrowDown' || event.key === 'ArrowUp') {
    const next = own[place + (event.key === 'ArrowDown' ? 1 : -1)];
    if (next) { event.preventDefault(); next.focus(); }
  }
}

/**
 * Save the numbers of a page when each of its lines has one, or none.
 * @param {Sheet} sheet
 */
async function changed(sheet) {
  const seen = sheet.seen;
  if (!seen) return;
  const values = fields(sheet).map((one) => one.value.trim());
  fields(sheet).forEach((one, n) => one.toggleAttribute('aria-invalid', !/^\d*$/.test(values[n])));
  for (const one of document.querySelectorAll('[aria-invalid]')) one.setAttribute('aria-invalid', 'true');
  guess(sheet);
  if (String(values) === String(typed.get(sheet) ?? saved(sheet))) return;
  typed.set(sheet, values);
  if (values.some((text) => !/^\d*$/.test(text))) { tell(said('desk.pages.number_needed')); return; }
  const [count, lines] = [seen.systems.length, values.slice(0, seen.systems.length)];
  const given = lines.filter(Boolean).length;
  if (given && given < count) {
    element('seen').textContent = said('desk.pages.typed', { n: given, all: count, page: sheet.page });
    return;
  }
  const first = given ? [...lines, values[count]].filter(Boolean).map(Number) : [];
  element('seen').textContent = '';
  // What is typed while this is on its way is not taken away by its answer.
  await numbers.write({ page: sheet.page, first_bars: first });
  if (typed.get(sheet) === values) typed.delete(sheet);
}

for (const sheet of sheets) {
  sheet.section.querySelector('.confirm button')?.addEventListener('click', () => void numbers.write({ page: sheet.page, counted: true }));
}
onKey('n', () => {
  const shown = sheets.find((sheet) => sheet.leaf.getBoundingClientRect().bottom > innerHeight / 4) ?? sheets[0];
  (fields(shown).find((one) => !one.value) ?? fields(shown)[0])?.focus();
});
