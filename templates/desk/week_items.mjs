// @ts-check
/* The items of a week: moved by buttons, keys and the mouse, removed, and changed for one player or for all. */
import { element, said, tell } from './desk.mjs';

/**
 * What names a key path on the page.
 * @param {(string | number)[]} path
 */
export const idOf = (path) => ['f', ...path].join('-');

/**
 * The item that an element stands in.
 * @param {Element} at
 */
const itemOf = (at) => /** @type {HTMLElement | null} */ (at.closest('[data-item]'));

/**
 * Let an item of a shared set be changed, for all.
 * @param {Element | null} item
 */
export function unlock(item) {
  item?.classList.add('open');
  for (const one of item?.querySelectorAll('.shared > *') ?? []) /** @type {HTMLElement} */ (one).hidden = !one.matches('.now');
  const inside = /** @type {HTMLFieldSetElement | null | undefined} */ (item?.querySelector('.inside'));
  if (inside) inside.disabled = false;
}

/**
 * Let the buttons, keys and handles of the items do what they say.
 * @param {HTMLElement} form
 * @param {Set<string>} forAll the items that are changed for all
 * @param {(change: {do: string, path: (string | number)[], to?: number, scope?: string}) => void} remember
 * @param {(anew: boolean) => Promise<void>} send
 * @param {(files: File[], at?: Element) => Promise<void>} addScores
 */
export function onItems(form, forAll, remember, send, addScores) {
  /**
   * Move an item to a place.
   * @param {HTMLElement} item
   * @param {number} to
   * @param {string} [again] the button that is pressed again
   */
  async function move(item, to, again = '') {
    const [table, place] = JSON.parse(item.dataset.item ?? '[]');
    const all = item.parentElement?.children.length ?? 0;
    if (to < 0 || to >= all || to === place) return;
    const what = (item.dataset.title ?? '').replace(/^.*?: /, '');
    forAll.clear();
    remember({ do: 'move', path: [table, place], to });
    await send(true);
    const now = document.getElementById(idOf([table, to]));
    const button = now?.querySelector(`[data-do="${again}"]:not(:disabled)`) ?? now?.querySelector('.tools button:not(:disabled)');
    /** @type {HTMLElement | null | undefined} */ (button)?.focus();
    tell(said('desk.week.moved', { what, place: to + 1, all }));
  }

  /**
   * Do what a button of an item says.
   * @param {HTMLElement} button
   */
  async function act(button) {
    const item = itemOf(button);
    if (!item) return;
    const path = JSON.parse(item.dataset.item ?? '[]');
    const what = item.dataset.title ?? '';
    const todo = button.dataset.do;
    if (todo === 'up' || todo === 'down') { await move(item, path[1] + (todo === 'up' ? -1 : 1), todo); return; }
    if (todo === 'all') {
      forAll.add(JSON.stringify(path));
      unlock(item);
      /** @type {HTMLElement | null} */ (item.querySelector('.inside input, .inside select, .inside textarea'))?.focus();
      return;
    }
    if (todo === 'own') { remember({ do: 'own', path, scope: 'own' }); await send(true); return; }
    remember({ do: 'remove', path, scope: todo === 'away' ? 'own' : undefined });
    forAll.clear();
    await send(true);
    const next = document.getElementById(idOf([path[0], path[1]])) ?? document.getElementById(idOf([path[0], path[1] - 1]));
    /** @type {HTMLElement | null | undefined} */ (next?.querySelector('[data-do="remove"]') ?? document.getElementById(`s-${path[0]}`))?.focus();
    tell(said('desk.week.removed', { what }));
  }

  /** @type {HTMLElement | null} */
  let dragged = null;
  const unmark = () => form.querySelectorAll('.before, .after').forEach((one) => one.classList.remove('before', 'after'));
  /**
   * Whether the pointer is in the lower half of an item.
   * @param {DragEvent} event
   * @param {HTMLElement} item
   */
  const below = (event, item) => event.clientY > item.getBoundingClientRect().top + item.offsetHeight / 2;

  form.addEventListener('dragstart', (event) => {
    dragged = itemOf(/** @type {Element} */ (event.target));
    dragged?.classList.add('dragged');
    event.dataTransfer?.setData('text/plain', dragged?.dataset.title ?? '');
  });
  form.addEventListener('dragend', () => { dragged?.classList.remove('dragged'); dragged = null; unmark(); });
  form.addEventListener('dragover', (event) => {
    const over = itemOf(/** @type {Element} */ (event.target));
    if (dragged && over && over.parentElement === dragged.parentElement) {
      event.preventDefault();
      unmark();
      over.classList.add(below(event, over) ? 'after' : 'before');
    } else if (!dragged && event.dataTransfer?.types.includes('Files')) {
      event.preventDefault();
      element('drop').classList.add('over');
    }
  });
  form.addEventListener('dragleave', () => document.getElementById('drop')?.classList.remove('over'));
  form.addEventListener('drop', (event) => {
    event.preventDefault();
    if (!dragged) { if (event.dataTransfer?.files.length) void addScores([...event.dataTransfer.files], /** @type {Element} */ (event.target)); return; }
    const over = itemOf(/** @type {Element} */ (event.target));
    if (!over || over.parentElement !== dragged.parentElement) return;
    const [from, to] = [dragged, over].map((one) => JSON.parse(one.dataset.item ?? '[]')[1]);
    const after = to + (below(event, over) ? 1 : 0);
    void move(dragged, after > from ? after - 1 : after);
  });

  form.addEventListener('keydown', (event) => {
    const item = itemOf(/** @type {Element} */ (event.target));
    if (!event.altKey || !item || !['ArrowUp', 'ArrowDown'].includes(event.key)) return;
    event.preventDefault();
    const place = JSON.parse(item.dataset.item ?? '[]')[1];
    void move(item, place + (event.key === 'ArrowUp' ? -1 : 1), event.key === 'ArrowUp' ? 'up' : 'down');
  });

  form.addEventListener('click', (event) => {
    const button = /** @type {HTMLElement | null} */ (/** @type {Element} */ (event.target).closest('[data-do]'));
    if (button) void act(button);
  });
}
