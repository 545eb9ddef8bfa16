// Forms are sheets over the page: opened from the bar, closed with the focus
// back where it was. The grid of a club's parts has steppers.
(() => {
  const byId = (id) => document.getElementById(id);
  let opener = '';
  document.addEventListener('click', (e) => {
    const open = e.target.closest('[data-open]');
    if (open) {
      const from = open.closest('dialog');
      if (from) from.close(); else opener = open.id;
      const sheet = byId('sheet-' + open.dataset.open);
      if (!sheet.open) sheet.showModal();
      for (const x of sheet.querySelectorAll('[data-grid-of]')) regrid(x);
      return;
    }
    if (e.target.closest('[data-close]')) e.target.closest('dialog').close();
    else if (e.target.matches('dialog.sheet')) e.target.close(); // beside the sheet
  });
  document.addEventListener('close', (e) => {
    if (!e.target.matches || !e.target.matches('dialog.sheet') || document.querySelector('dialog[open]')) return;
    const back = byId(opener) || document.querySelector('#part-bar button');
    if (back) back.focus({ preventScroll: true });
  }, true);

  // A number of steps as the trade writes it: +1 1/2 in.
  function written(x, unit) {
    const sign = x < 0 ? '-' : '+', size = Math.abs(x);
    let whole = Math.floor(size + 1e-9), part = Math.round((size - whole) * 64), under = 64, text = String(Math.round(size * 100) / 100);
    if (unit === 'in') {
      while (part && part % 2 === 0) { part /= 2; under /= 2; }
      text = (whole || !part ? whole + (part ? ' ' : '') : '') + (part ? part + '/' + under : '');
    }
    return sign + text + (unit ? (unit === '°' ? '' : ' ') + unit : '');
  }
  const part = (x) => x.closest('.part');
  // What the field comes to, where that can be said here; the console reads it.
  function given(input) {
    const row = part(input), of = row.querySelector('.of');
    row.classList.toggle('given', input.value !== '');
    if (of.dataset.how === undefined) of.dataset.how = of.textContent;
    const n = Number(input.dataset.steps || 0), now = Number(input.dataset.now), own = Number(input.dataset.own);
    if (!input.value || !n || input.dataset.now === '' || input.dataset.unit === 'in·oz') { of.textContent = of.dataset.how; return; }
    of.textContent = 'was ' + input.placeholder + ', will be ' + Math.round((now + n * own) * 100) / 100 + (input.dataset.unit === '°' ? '' : ' ') + input.dataset.unit;
  }
  document.addEventListener('click', (e) => {
    const b = e.target.closest('button[data-step]');
    if (!b) return;
    const input = part(b).querySelector('input[data-part]'), step = Number(b.dataset.step);
    if (input.value && input.dataset.steps === undefined) { // it goes on from what was typed
      const x = input.value.match(/^\s*(\d+(?:[.,]\d+)?)\s*(.*)$/);
      if (x) input.value = Math.round((Number(x[1].replace(',', '.')) + Math.sign(step) * Number(input.dataset.own)) * 100) / 100 + (x[2] ? ' ' + x[2] : '');
    } else if (input.dataset.now !== '') {
      const n = Number(input.dataset.steps || 0) + Math.sign(step);
      input.dataset.steps = n;
      input.value = n ? written(n * Math.abs(step), b.dataset.in) : '';
      if (!n) delete input.dataset.steps;
    } else {
      const of = part(b).querySelector('.of');
      of.textContent = 'not known: write the whole figure';
      input.focus({ preventScroll: true });
      return;
    }
    given(input);
    input.dispatchEvent(new CustomEvent('input', { bubbles: true, detail: 'step' }));
  });
  document.addEventListener('input', (e) => {
    if (!e.target.matches('input[data-part]') || e.detail === 'step') return;
    delete e.target.dataset.steps;
    given(e.target);
  });
  document.addEventListener('reset', (e) => setTimeout(() => {
    for (const x of e.target.querySelectorAll('input[data-part]')) { delete x.dataset.steps; given(x); }
    for (const x of e.target.querySelectorAll('[data-grid-of]')) regrid(x);
  }));
  // The grid shows what is known of the build that is chosen.
  function regrid(choice) {
    const now = JSON.parse((choice.selectedOptions[0] || { dataset: {} }).dataset.now || '{}');
    for (const x of choice.form.querySelectorAll('input[data-part]')) {
      const [text, number, how] = now[x.dataset.part] || ['unknown', '', ''];
      x.placeholder = text; x.dataset.now = number;
      part(x).querySelector('.of').dataset.how = how;
      given(x);
    }
  }
  document.addEventListener('change', (e) => { if (e.target.dataset.gridOf !== undefined) regrid(e.target); });
})();
