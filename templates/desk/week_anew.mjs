// @ts-check
/* Puts the form of a week anew after something was added, moved or removed: what is open, half typed and in hand stays. */
import { idOf, unlock } from './week_items.mjs';

const CONTAINERS = '#form, section, .add, .add p, .add label, form.row, form.row label, form.row p';

/**
 * @param {HTMLElement} form
 * @param {string} html
 * @param {Set<string>} forAll
 * @param {{path: (string | number)[], value?: unknown}[]} waiting changes that the new form does not know yet
 */
export function showAnew(form, html, forAll, waiting) {
  const open = [...form.querySelectorAll('details[open][id]')].map((one) => one.id);
  const active = /** @type {HTMLInputElement} */ (document.activeElement);
  const caret = active?.tagName === 'INPUT' && active.type === 'text' ? active.selectionStart : null;
  const next = /** @type {HTMLElement} */ (form.cloneNode(false));
  next.innerHTML = html;
  const piece = /** @type {HTMLSelectElement | null} */ (form.querySelector('[data-keep]'))?.value;
  patch(form, next);
  const kept = /** @type {HTMLSelectElement | null} */ (form.querySelector('[data-keep]'));
  if (kept && piece && [...kept.options].some((one) => one.value === piece)) kept.value = piece;
  for (const id of open) document.getElementById(id)?.setAttribute('open', '');
  for (const path of forAll) unlock(form.querySelector(`[data-item="${CSS.escape(path)}"]`));
  for (const { path, value } of waiting) {
    const field = /** @type {HTMLInputElement | null} */ (document.getElementById(idOf(path)));
    if (field && typeof value === 'string' && field.type !== 'checkbox') field.value = value;
  }
  if (active?.isConnected || !active?.id) return;
  const again = document.getElementById(active.id);
  again?.focus();
  if (caret !== null && again instanceof HTMLInputElement) again.setSelectionRange(caret, caret);
}

/**
 * Replace what differs. The small forms for what is new stay in their places, so that typing in them goes on.
 * @param {Element} now
 * @param {Element} next
 */
function patch(now, next) {
  if (now.isEqualNode(next)) return;
  const [olds, news] = [[...now.children], [...next.children]];
  const alike = olds.length === news.length && olds.every((one, place) => one.tagName === news[place].tagName && one.id === news[place].id);
  if (!now.matches(CONTAINERS) || !alike) {
    if (now.id === 'form') now.replaceChildren(...next.childNodes);
    else now.replaceWith(next);
    return;
  }
  /**
   * @type {HTMLElement} */ (now).hidden = /**
   * @type {HTMLElement}
   */ (next).hidden;
  olds.forEach((one, place) => patch(one, news[place]));
}
