// @ts-check
/* What was saved: the last step taken back, and a file made what it was. */
import { inTurn, save } from '/own/desk.mjs';

document.getElementById('undo-here')?.addEventListener('click', () => document.getElementById('undo-last')?.click());

const button = document.getElementById('bring-back');
button?.addEventListener('click', async () => {
  const { key = '', digest = '' } = button.dataset;
  const answer = await inTurn(() => save('/undo/bring-back', { key, digest }));
  if (answer?.ok) location.assign('/undo');
});
