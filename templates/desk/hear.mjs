// @ts-check
/* Plays what the desk makes: at the tempo that is typed, with clicks or a drone; says why where it cannot. */
import { element, said, tell } from '/own/desk.mjs';

const sound = /** @type {HTMLAudioElement} */ (element('sound'));
const value = (/** @type {string} */ id) => /** @type {HTMLInputElement} */ (element(id));

/**
 * Play some music of a part.
 * @param {string} address of the part
 * @param {Record<string, string | number>} what is to be heard
 */
export function hear(address, what) {
  const query = new URLSearchParams(Object.entries(what).map(([key, given]) => [key, String(given)]));
  const tempo = value('hear-at').value.trim();
  if (tempo) query.set('tempo', tempo);
  for (const key of ['click', 'drone']) if (value(key).checked) query.set(key, 'yes');
  sound.hidden = false;
  element('quiet').hidden = false;
  sound.scrollIntoView({ block: 'nearest' });
  tell('');
  sound.src = `${address}/hear?${query}`;
  void sound.play().catch(() => {});  // what went wrong is asked for below
}

sound.addEventListener('error', async () => {
  const answer = await fetch(sound.src);
  const told = await answer.json().catch(() => ({}));
  sound.hidden = true;
  tell(told.error ?? said('desk.frame.failed'));
});
