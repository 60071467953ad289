// @ts-check
/* Makes workbooks and sound files of a week, and shows them. */
import { element, onKey, post, said } from './desk.mjs';
import { follow } from './making.mjs';

/**
 * Let the buttons and the key make what they name.
 * @param {{week: string}} data
 * @param {(what: string) => string} address
 * @param {() => Promise<boolean>} saveAll
 */
export function onMaking(data, address, saveAll) {
  /**
   * Make something of the week and open it.
   * @param {string} what
   */
  async function make(what) {
    /** @type {HTMLDetailsElement} */ (element('ways')).open = false;
    const mend = element('mend').querySelector('a');
    if (mend) {
      element('made').hidden = false;
      element('made').textContent = said('desk.week.mend_first');
      mend.focus();
      return;
    }
    const tab = what === 'sound' ? null : window.open('', '_blank');
    if (!(await saveAll())) { tab?.close(); return; }
    const made = element('made');
    made.hidden = false;
    const begun = await post(address('make'), { week: data.week, what });
    if (!begun.ok) { tab?.close(); made.textContent = `${said('desk.week.not_made')} ${begun.data.error ?? ''}`; return; }
    const told = await follow(begun.data.job, made, { tab });
    showMade(made, told);
    if (tab && told.file) tab.location.replace(told.file);
    else tab?.close();
  }

  /**
   * @param {HTMLElement} made
   * @param {import('./making.mjs').Made} told
   */
  function showMade(made, told) {
    made.textContent = told.failed ? `${said('desk.week.not_made')} ${told.failed}` : told.stopped ?? told.said ?? '';
    if (told.file) {
      const link = Object.assign(document.createElement('a'), { href: told.file, target: '_blank', textContent: said('desk.week.open') });
      made.append(' ', link);
    }
    if (told.told?.length) {
      const list = document.createElement('ul');
      list.append(...told.told.map((text) => Object.assign(document.createElement('li'), { textContent: text })));
      const fold = document.createElement('details');
      fold.append(Object.assign(document.createElement('summary'), { textContent: `${said('desk.week.told')} (${told.told.length})` }), list);
      made.append(fold);
    }
  }

  for (const button of document.querySelectorAll('[data-make]')) {
    button.addEventListener('click', () => void make(/** @type {HTMLElement} */ (button).dataset.make ?? ''));
  }
  onKey('m', () => void make('workbook'));
  document.addEventListener('keydown', (event) => {
    if ((event.ctrlKey || event.metaKey) && event.key === 'Enter') { event.preventDefault(); void make('workbook'); }
  });
}
