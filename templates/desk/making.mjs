// @ts-check
/* Follows something that is being made: says in words what is going on, with a button and a key that stop it. */
import { onKey, post, said } from './desk.mjs';

/**
 * What is told at the end: the address of a file and its name, or why there is none.
 * @typedef {{file?: string, said?: string, told?: string[], failed?: string, stopped?: string, files?: string[]}} Made
 */

/** @type {HTMLButtonElement | null} */
let last = null;

/**
 * Follow a making to its end.
 * @param {string} job
 * @param {HTMLElement} where what stands in it gives way to what is going on
 * @param {{before?: string, tab?: Window | null}} [how] what is said before it; a tab that shows it too
 * @returns {Promise<Made>}
 */
export function follow(job, where, how = {}) {
  const { before = '', tab = null } = how;
  const stop = () => void post(`/making/${job}/stop`, {});
  const shown = [show(document, stop), ...(tab ? [show(tab.document, stop)] : [])];
  const [here] = shown;
  last = here.stop;
  where.replaceChildren(before ? `${before} ` : '', here.now, ' ', here.stop);
  if (tab) tab.document.body.replaceChildren(shown[1].now, ' ', shown[1].stop);
  return new Promise((resolve) => {
    const events = new EventSource(`/making/${job}`);
    /** @param {Made} made */
    const end = (made) => {
      events.close();
      here.stop.remove();
      resolve(made);
    };
    events.onmessage = (event) => {
      const told = JSON.parse(event.data);
      if (told.now) for (const one of shown) one.now.textContent = told.now;
      if (told.end) end(told);
    };
    events.onerror = () => end({ failed: said('desk.frame.no_answer') });
  });
}

/**
 * What is going on, and a button that stops it.
 * @param {Document} on
 * @param {() => void} action
 */
function show(on, action) {
  const stop = Object.assign(on.createElement('button'), { type: 'button', textContent: said('desk.making.stop') });
  stop.onclick = () => { stop.disabled = true; action(); };
  return { now: on.createElement('span'), stop };
}

onKey('x', () => { if (last?.isConnected) last.click(); });
