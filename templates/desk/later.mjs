// @ts-check
/* What keys pick stands a little after the last of them, and before anything else is done: a drag, an undo. */

const PAUSE = 500;

/**
 * Let what is picked stand at once, or after the last of some keys.
 * @param {() => void} stands
 */
export function settling(stands) {
  let waiting = 0;
  const settle = () => {
    clearTimeout(waiting);
    waiting = 0;
    stands();
  };
  const soon = () => {
    clearTimeout(waiting);
    waiting = window.setTimeout(settle, PAUSE);
  };
  const atOnce = () => { if (waiting) settle(); };
  addEventListener('pointerdown', atOnce, true);
  addEventListener('keydown', (event) => { if (!/^(Arrow|Shift|Alt|Control|Meta)/.test(event.key)) atOnce(); }, true);
  return { settle, soon };
}
