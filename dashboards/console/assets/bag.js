// The bag's grid by keyboard: Enter and the arrows go up and down a column.
document.addEventListener('keydown', (e) => {
  const cell = e.target.closest('.bag td');
  if (!cell || e.isComposing || !['Enter', 'ArrowDown', 'ArrowUp'].includes(e.key)) return;
  e.preventDefault();
  const rows = [...cell.closest('tbody').rows], row = cell.parentElement, place = cell.cellIndex;
  let at = rows.indexOf(row) + (e.key === 'ArrowUp' ? -1 : 1), column = place;
  if (at >= rows.length) { // the column is done: on to the next one's head
    if (e.key !== 'Enter') return;
    at = 0; column = place + 1;
  }
  const to = rows[at] && rows[at].cells[column] && rows[at].cells[column].querySelector('input');
  if (to) { to.focus(); if (to.select) to.select(); } else document.getElementById('keep').focus();
});
// Enter never sends the grid: a hand that goes down a column presses it at each row.
document.addEventListener('keypress', (e) => { if (e.key === 'Enter' && e.target.closest('.bag td')) e.preventDefault(); });
document.documentElement.dataset.grid = 'ready';
