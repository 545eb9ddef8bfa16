// Answers to what was entered stand at the field, in view: on a live page as the
// answer comes, on a page that came whole when it is there.
window.answers = (() => {
  const unmark = () => { for (const x of document.querySelectorAll('[aria-invalid]')) { x.removeAttribute('aria-invalid'); if (x.dataset.described !== undefined) { x.setAttribute('aria-describedby', x.dataset.described); delete x.dataset.described; } else x.removeAttribute('aria-describedby'); } for (const x of document.querySelectorAll('.answer')) x.remove(); for (const x of document.querySelectorAll('.told')) x.replaceChildren(); };
  // The field that a fault names: its own name, a part's of a build, a figure's of a set.
  const meant = { build: ['trial'], session_corrected: ['player'] }; // what is to blame has no field of its own name
  function find(form, fault, sheet) {
    const within = [...form.elements].filter((x) => !sheet || sheet.contains(x));
    const name = fault.replace(/^build\./, '').replace(/_(m|deg|mps|kg)$/, '');
    const all = within.filter((x) => x.type !== 'hidden' && x.type !== 'submit');
    for (const wanted of [fault, name, 'part.' + name, 'fix.' + fault, 'bag.' + fault, 'to_' + name, ...(meant[fault] || [])]) { const x = all.find((y) => y.name === wanted); if (x) return x; }
    return within.find((x) => x.name === fault && x.type === 'submit') || null;
  }
  function mark(form, told) {
    let first = null;
    for (const li of told.querySelectorAll('li[data-field]')) {
      const name = li.dataset.field, x = name && find(form, name, told.closest('dialog'));
      if (!x) continue;
      const note = document.createElement('small'), kind = x.closest('.kinds');
      note.className = 'answer';
      note.id = 'answer-' + (x.id || name);
      const of = li.querySelector('.of'); // the field says itself what it is, and what was typed into it
      note.textContent = li.textContent.slice(of ? of.textContent.length : 0);
      li.hidden = !!told.closest('dialog');
      (kind || x.closest('.part, td') || x.parentElement).append(note);
      if (x.type !== 'submit' && !kind) { // a button is never wrong
        x.setAttribute('aria-invalid', 'true');
        if (x.hasAttribute('aria-describedby')) x.dataset.described = x.getAttribute('aria-describedby');
        x.setAttribute('aria-describedby', note.id);
      }
      for (let d = x.closest('details'); d; d = d.parentElement.closest('details')) d.open = true;
      if ((name === 'player' || name === 'fitter') && form.id === 'open' && /nobody of this name/.test(li.textContent)) {
        const add = document.createElement('button');
        add.type = 'submit'; add.name = 'add'; add.value = name; add.id = 'add-' + name; add.className = 'main answer';
        add.textContent = 'Add ' + li.dataset.value + ' and go on';
        note.after(add);
      }
      first = first || x;
    }
    if (told.closest('dialog') && first && !told.querySelector('li:not([hidden])')) told.querySelector('strong').textContent = 'Not taken: see what is marked.';
    if (first) { first.scrollIntoView({ block: 'center' }); first.focus({ preventScroll: true }); }
    else told.scrollIntoView({ block: 'nearest' });
  }
  document.addEventListener('DOMContentLoaded', () => {
    const told = document.querySelector('[data-refused]'), form = told && document.getElementById(told.dataset.refused);
    if (form) mark(form, told);
  });
  return { mark, unmark };
})();
