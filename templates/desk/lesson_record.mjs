// @ts-check
/* What stands on the page of a lesson: the records and what was decided about the next week, read and filled in. */

import { element } from './desk.mjs';

/**
 * @param {ParentNode} where
 * @param {string} what
 * @returns {any[]}
 */
export const all = (where, what) => [...where.querySelectorAll(what)];
/**
 * @param {ParentNode} where
 * @param {string} what
 * @returns {any}
 */
export const first = (where, what) => where.querySelector(what);
/**
 * @param {ParentNode} where
 * @param {string} what
 * @returns {string}
 */
export const value = (where, what) => first(where, what)?.value.trim() ?? '';
/**
 * @param {string} tag
 * @param {object} values
 * @returns {any}
 */
export const made = (tag, values) => Object.assign(document.createElement(tag), values);

/**
 * Fields of a line.
 * @param {Element} row
 * @param {string[]} names
 */
const texts = (row, names) => Object.fromEntries(names.map((name) => [name, value(row, `.${name}`)]));

/** What stands in the records. */
export function record() {
  /** @type {Record<string, unknown>} */
  const boxes = {};
  for (const box of all(element('record'), '[data-box]')) {
    const lines = all(box, 'tr[data-was]').map((row) => {
      const was = row.dataset.was || null;
      return {
        was, day: row.querySelector('.day') ? value(row, '.day') || null : was,
        cells: all(row, '.cell').map((cell) => cell.value.trim()), ...texts(row, ['other', 'broke', 'noticed']),
      };
    });
    const name = box.dataset.box;
    boxes[name] = { lines, heard: value(box, '.heard input:checked'), line: value(box, '.line') };
  }
  const pieces = all(element('record'), 'tr[data-piece]').map((row) => ({
    piece: row.dataset.piece, row: row.dataset.row, day: value(row, '.day') || null,
    played: first(row, '.played').checked, ...texts(row, ['broke', 'noticed']),
  }));
  const scales = Object.fromEntries(all(element('record'), '.scale [data-heard]').map((one) =>
    [one.dataset.heard.replace(/^scale /, ''), value(one, 'input:checked')]));
  const days = all(element('record'), '.practised:checked').map((day) => day.value);
  return { boxes, pieces, scales, days };
}

/** What was decided about the next week. */
export function choices() {
  /**
   * The parts of the next week that say something, by name.
   * @param {string} name
   * @param {string} [more]
   */
  const named = (name, more = '') => all(element('next'), `[data-${name}]${more}`)
    .map((one) => [one.dataset[name], one.value.trim()]).filter(([, chosen]) => chosen);
  const ways = Object.fromEntries(named('way'));
  for (const [name] of named('resume', ':checked')) ways[name] = 'resume';
  const focus = first(document, '#focus');
  return {
    ways, starts: Object.fromEntries(named('start')),
    kept: named('kept', ':checked').map(([name]) => name), taken: named('taken', ':checked').map(([name]) => name),
    focus: focus.value.trim() === focus.dataset.was ? null : focus.value.trim(),
    notes: value(document, '#notes').split('\n').map((note) => note.trim()).filter(Boolean),
    start: value(document, '#start') || null, until: value(document, '#until') || null,
    boxes: all(document, '[data-new]').map(newBox),
  };
}

/**
 * A new box; its fields are named by its place, so that a fault finds them.
 * @param {any} row
 * @param {number} place
 */
function newBox(row, place) {
  const names = ['piece', 'bars', 'why', 'goal'];
  for (const name of names) first(row, `.${name}`).dataset.cell = `new ${place} ${name}`;
  return texts(row, names);
}

/**
 * Put a record that was typed in one line into its cells.
 * @param {string} box
 * @param {any} lines
 */
export function fill(box, lines) {
  const shown = all(element('record'), '[data-box]').find((one) => one.dataset.box === box);
  if (!shown) return;
  const body = shown.querySelector('tbody');
  lines.forEach((/** @type {any} */ line, /** @type {number} */ place) => {
    let row = all(body, 'tr[data-was]')[place];
    if (!row) {  // a day that the paper has no line for: a line as the last one, its day chosen
      row = all(body, 'tr[data-was]').at(-1)?.cloneNode(true);
      row.dataset.was = line.day;
      for (const input of all(row, 'input')) {
        input.value = '';
        input.dataset.cell = input.dataset.cell.replace(/ \d+ (\w+)$/, ` ${place} $1`);
      }
      body.append(row);
    }
    if (first(row, '.day')) first(row, '.day').value = line.day;
    all(row, '.cell').forEach((cell, column) => { cell.value = line.cells[column] ?? ''; });
    if (first(row, '.other')) first(row, '.other').value = line.other;
  });
  shown.querySelector('.line').value = '';
}

/** One line more for a new box. */
export function another() {
  const rows = all(document, '[data-new]');
  const last = rows.at(-1);
  if (!value(last, '.bars')) return last;
  const fresh = last.cloneNode(true);
  for (const input of all(fresh, 'input')) input.value = '';
  last.after(fresh);
  return fresh;
}
