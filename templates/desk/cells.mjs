// @ts-check
/* From cell to cell of a table by the arrow keys, and a line down by Enter; from a box's one line to the next box's. */

/** @param {KeyboardEvent} event */
function move(event) {
  const cell = /** @type {any} */ (event.target);
  if (event.key === 'Enter' && !event.ctrlKey && cell.matches('input.line')) {
    const lines = /** @type {HTMLElement[]} */ ([...document.querySelectorAll('input.line')]);
    const next = lines[lines.indexOf(cell) + 1];
    if (next) next.focus(); else cell.blur();
    return;
  }
  const row = cell.closest('.record tbody tr');
  if (!row || cell.tagName !== 'INPUT' || event.ctrlKey || event.altKey || event.metaKey) return;
  const rows = [...(row.parentElement ?? row).querySelectorAll('tr:not(.told)')];
  const cells = [...row.querySelectorAll('input')];
  const [column, line] = [cells.indexOf(cell), rows.indexOf(row)];
  const short = cell.matches('.cell, [type=checkbox]');
  /** @param {number} by */
  const below = (by) => rows[line + by]?.querySelectorAll('input')[column];
  /** @type {Record<string, any>} */
  const to = {
    ArrowUp: below(-1), ArrowDown: below(1),
    ArrowLeft: (short || cell.selectionEnd === 0) && cells[column - 1],
    ArrowRight: (short || cell.selectionStart === cell.value.length) && cells[column + 1],
  };
  to.Enter = to.ArrowDown;
  const target = to[event.key];
  if (!target) return;
  event.preventDefault();
  target.focus();
  target.select();
}

document.addEventListener('keydown', move);
