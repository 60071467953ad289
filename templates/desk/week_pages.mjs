// @ts-check
/* Printed pages on the page of a week: dropped in, chosen, or out of the inbox, as a new piece or as those of one. */
import { inTurn, post, said, tell, upload } from './desk.mjs';

/** Bytes of a file of pages that the desk takes. */
const LARGEST = 100_000_000;

/**
 * Whether a file may be printed pages.
 * @param {string} name
 */
export const isPages = (name) => /\.(pdf|png|jpe?g|tiff?|hei[cf])$/i.test(name);

/**
 * Let pages be added.
 * @param {(what: string) => string} address
 * @param {(table: string, value: Record<string, unknown>) => Promise<void>} addItem
 * @param {(path: (string | number)[], value: string) => Promise<void>} set
 */
export function onPages(address, addItem, set) {
  /**
   * Tell what is wrong beside the place where it was tried.
   * @param {Element} at
   * @param {string} text
   */
  function refuse(at, text) {
    const place = (at.closest('.its-pages') ?? document.querySelector('#drop')?.parentElement)?.querySelector('.pages-fault');
    if (!(place instanceof HTMLElement)) { tell(text); return; }
    place.textContent = text;
    place.hidden = !text;
    if (text) tell('');
  }

  /**
   * Pages as a new piece, or as those of the piece that they were dropped on.
   * @param {{piece: Record<string, string>, told: string, file: string}} answer
   * @param {Element} at
   */
  async function use(answer, at) {
    const own = /** @type {HTMLElement | null} */ (at.closest('[data-pages]'));
    if (own) await set([...JSON.parse(own.dataset.pages ?? '[]'), 'pages'], answer.piece.pages);
    else await addItem('piece', answer.piece);
    const items = document.querySelectorAll('#list-piece > li');
    const item = own ? document.getElementById(`f-${JSON.parse(own.dataset.pages ?? '[]').join('-')}`) : items[items.length - 1];
    item?.querySelector('details')?.setAttribute('open', '');
    /** @type {HTMLElement | null | undefined} */ (own ? item?.querySelector('a.to-part') : item?.querySelector('.k-title input'))?.focus();
    tell([said('desk.week.score_saved', { file: answer.file }), answer.told].filter(Boolean).join(' '));
  }

  /**
   * Pictures that come together are the pages of one piece; each PDF is a piece.
   * @param {File[]} files
   * @param {Element} at
   */
  async function add(files, at) {
    if (!files.length) return;
    refuse(at, '');
    const large = files.find((file) => file.size > LARGEST);
    if (large) { refuse(at, said('desk.week.pages_large', { file: large.name, n: LARGEST / 1_000_000 })); return; }
    const pictures = files.filter((file) => !/\.pdf$/i.test(file.name));
    const together = pictures.length > 1 ? pictures[0].name.replace(/\.\w+$/, '') : '';
    let last = null;
    for (const file of files) {
      const folder = pictures.includes(file) ? together : '';
      const query = new URLSearchParams({ name: file.name, together: folder });
      const answer = await inTurn(() => upload(`${address('pages/upload')}?${query}`, file));
      if (!answer.ok) { refuse(at, answer.data.error ?? said('desk.frame.failed')); return; }
      last = answer.data;
      if (!folder) { await use(last, at); last = null; }
    }
    if (last) await use(last, at);
  }

  /**
   * Photos that lie in the inbox.
   * @param {HTMLFormElement} at the form in which they are chosen
   */
  async function take(at) {
    const chosen = /** @type {HTMLSelectElement} */ (at.querySelector('select'));
    const names = [...chosen.selectedOptions].map((one) => one.value);
    if (!names.length) { chosen.focus(); return; }
    refuse(at, '');
    const answer = await inTurn(() => post(address('pages'), { names }));
    if (answer.ok) await use(answer.data, at);
    else refuse(at, answer.data.error ?? said('desk.frame.failed'));
  }
  return { add, take };
}
