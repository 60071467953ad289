// @ts-check
/* A week file that is no TOML is mended as text. */
import { element, inTurn, said, save, tell } from './desk.mjs';

const data = JSON.parse(element('data').textContent ?? '{}');

element('save').addEventListener('click', async () => {
  const text = /** @type {HTMLTextAreaElement} */ (element('text')).value;
  const { digest } = data.files[data.week];
  const body = { week: data.week, file: data.week, text, digest };
  const answer = await inTurn(() => save(`/week/${data.key}/save`, body));
  if (!answer?.ok) return;
  tell(said('desk.week.saved_now'));
  location.replace(`/week/${answer.data.key}`);
});
