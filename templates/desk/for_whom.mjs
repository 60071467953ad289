// @ts-check
/* Asks for whom something is changed that stands in a set which several players share; the answer holds for this page. */
import { element } from '/own/desk.mjs';

/** @typedef {{asked: string, own: string, all: string, now: string}} Shared */

let answered = '';

/**
 * For whom a change is: "own" or "all"; empty where nothing is to be changed.
 * @param {Shared | null} shared the question; none where nobody else is concerned
 * @returns {Promise<string | null>} null where there is nothing to ask
 */
export async function forWhom(shared) {
  if (!shared) return null;
  return answered || ask(shared);
}

/**
 * @param {Shared} shared
 * @returns {Promise<string>}
 */
function ask(shared) {
  const dialog = /** @type {HTMLDialogElement} */ (element('for-whom'));
  element('for-whom-asked').textContent = shared.asked;
  element('for-own').textContent = shared.own;
  element('for-all').textContent = shared.all;
  for (const [id, choice] of [['for-own', 'own'], ['for-all', 'all'], ['for-none', '']]) {
    element(id).onclick = () => dialog.close(choice);
  }
  return new Promise((resolve) => {
    dialog.returnValue = '';
    dialog.onclose = () => {
      answered = dialog.returnValue === 'all' ? 'all' : '';
      element('for-all-now').textContent = answered ? shared.now : '';
      resolve(dialog.returnValue);
    };
    dialog.showModal();
  });
}
