// Puts the pieces of the page that the server sends in the place of the old
// ones, and leaves alone the forms that a hand is busy with.
(() => {
  const from = document.body.dataset.live;
  if (!from) return;
  const byId = (id) => document.getElementById(id);
  const held = new Map(); // pieces that wait until their form is let go
  const busy = (f) => f.dataset.dirty || (f.contains(document.activeElement) && document.activeElement.matches('input:not([type=checkbox]),select'));
  const forms = (el) => [...el.querySelectorAll('[data-form]')];
  const key = (x) => x.name + '=' + x.value;
  function put(name, html) {
    const el = byId('part-' + name);
    if (!el) return;
    const kept = 'hand' in el.dataset ? forms(el).filter(busy) : [];
    if (kept.length) { // the other forms of the piece go on
      held.set(name, html);
      const fresh = document.createElement('div');
      fresh.innerHTML = html;
      for (const f of forms(el)) {
        const now = kept.includes(f) ? null : fresh.querySelector('#' + CSS.escape(f.id));
        if (now) { f.replaceWith(now); htmx.process(now); }
      }
      return;
    }
    held.delete(name);
    const ticked = new Set([...el.querySelectorAll('input[type=checkbox][form=tap]:checked')].map(key));
    const details = new Map([...el.querySelectorAll('details[id]')].map((d) => [d.id, d.open]));
    const focus = el.contains(document.activeElement) ? document.activeElement.id : '';
    const list = el.querySelector('.shots'), top = list ? list.scrollTop : 0;
    el.innerHTML = html;
    for (const x of el.querySelectorAll('input[type=checkbox][form=tap]')) x.checked = ticked.has(key(x));
    for (const d of el.querySelectorAll('details[id]')) if (details.has(d.id) && d.id !== 'session-details') d.open = details.get(d.id);
    if (list && el.querySelector('.shots')) el.querySelector('.shots').scrollTop = top;
    if (focus) { const again = byId(focus) || el; if (again === el) el.tabIndex = -1; again.focus({ preventScroll: true }); }
    htmx.process(el);
    tapped();
  }
  // A shot is tapped on the picture as well as in the list.
  const boxOf = (m) => document.querySelector('input[name=shot][data-no="' + m.dataset.shot + '"]');
  const tapped = () => { for (const m of document.querySelectorAll('[data-shot]')) m.classList.toggle('tapped', !!(boxOf(m) || {}).checked); };
  document.addEventListener('click', (e) => { const m = e.target.closest('[data-shot]'), b = m && boxOf(m); if (b) { b.checked = !b.checked; tapped(); } });
  document.addEventListener('change', tapped);
  const release = () => { for (const [name, html] of [...held]) put(name, html); };
  // What a form was made for, and whether the bay went on since.
  function aged() {
    for (const f of document.querySelectorAll('[data-form]')) {
      const of = (x) => { const i = f.querySelector('input[name=at_' + x + ']'), now = byId('at-' + x); return i && now ? i.value !== now.value : false; };
      let note = f.querySelector('.aged');
      const text = !f.dataset.dirty ? '' : of('session') ? 'Another session is open since you began here. Discard, or copy what you typed.' : of('trial') ? 'The trial changed since you began here.' : '';
      if (!text) { if (note) note.remove(); continue; }
      if (!note) {
        note = document.createElement('p');
        note.className = 'aged';
        note.setAttribute('role', 'status');
        f.prepend(note);
      }
      if (note.dataset.text === text) continue;
      note.dataset.text = text;
      note.textContent = text + ' ';
      const drop = document.createElement('button');
      drop.type = 'button';
      drop.textContent = 'Discard';
      drop.addEventListener('click', () => { if (f.reset) f.reset(); delete f.dataset.dirty; note.remove(); release(); });
      note.append(drop);
    }
  }
  document.addEventListener('input', (e) => { const f = e.target.closest('[data-form]'); if (f) f.dataset.dirty = '1'; });
  document.addEventListener('focusout', () => setTimeout(release, 0));
  // The chooser of a build shows what is known of the one that is chosen.
  document.addEventListener('change', (e) => {
    if (e.target.id === 'who') { localStorage.setItem('who', e.target.value); return; }
    const ids = e.target.dataset.parts;
    if (!ids) return;
    const now = JSON.parse(e.target.selectedOptions[0].dataset.now || '{}');
    for (const id of ids.split(' ')) for (const o of byId(id).options) if (o.dataset.label) o.textContent = o.dataset.label + ' (' + (now[o.value] || 'unknown') + ')';
  });
  const who = byId('who');
  if (who) { who.value = localStorage.getItem('who') || ''; if (who.selectedIndex < 0) who.value = ''; }
  // Each thing is sent under a key of its own until it was taken, so that it is
  // taken once; a second tap right after is the same tap.
  const keys = new Map(), taken = new Map();
  const random = () => 'k' + [...crypto.getRandomValues(new Uint8Array(12))].map((b) => b.toString(16).padStart(2, '0')).join('');
  document.addEventListener('htmx:configRequest', (e) => {
    const path = e.detail.path;
    if (!keys.has(path)) keys.set(path, random());
    e.detail.parameters['key'] = keys.get(path);
    if (who && who.value) e.detail.parameters['who'] = who.value;
  });
  document.addEventListener('htmx:beforeRequest', (e) => {
    const at = taken.get(e.detail.pathInfo.requestPath);
    if (at && Date.now() - at < 700) e.preventDefault();
  });
  const unmark = () => { for (const x of document.querySelectorAll('[aria-invalid]')) x.removeAttribute('aria-invalid'); for (const x of document.querySelectorAll('.answer')) x.remove(); };
  // Answers stand at the field, in view.
  function mark(form) {
    let first = null;
    for (const li of document.querySelectorAll('#notice li[data-field]')) {
      const name = li.dataset.field.replace(/^build\./, '').replace(/_(m|deg|mps)$/, '');
      let x = form.querySelector('[name="' + name + '"]:not([type=hidden]), [name="part.' + name + '"]');
      if (!x) for (const f of form.querySelectorAll('select[name=field]')) if (f.value === name) x = f.closest('.changing').querySelector('[name=value]');
      if (!x) x = (form.elements && [...form.elements].find((i) => i.name === name && i.type !== 'hidden')) || null;
      if (!x) continue;
      x.setAttribute('aria-invalid', 'true');
      const note = document.createElement('small');
      note.className = 'answer';
      note.id = 'answer-' + (x.id || name);
      note.textContent = li.textContent;
      x.after(note);
      x.setAttribute('aria-describedby', note.id);
      first = first || x;
    }
    if (first) { first.scrollIntoView({ block: 'center' }); first.focus({ preventScroll: true }); }
    else byId('notice').scrollIntoView({ block: 'nearest' });
  }
  document.addEventListener('htmx:afterRequest', (e) => {
    const elt = e.detail.elt, form = elt.form || elt.closest('form'), piece = elt.closest('[data-form]');
    const path = e.detail.pathInfo.requestPath, status = e.detail.xhr.status;
    unmark();
    if (!e.detail.successful) {
      if (!status) { byId('notice').innerHTML = '<div class="notice wrong" role="alert"><strong>Not sent:</strong> no contact with the console. What you entered is still there; send it again when the page is live.</div>'; return; }
      keys.delete(path); // nothing was written
      if (form) mark(form);
      const session = piece && piece.querySelector('input[name=at_session]');
      if (status === 409 && session && session.value === byId('at-session').value) { // seen and told: the next tap means it
        const trial = piece.querySelector('input[name=at_trial]');
        if (trial) trial.value = byId('at-trial').value;
      }
      return;
    }
    keys.delete(path);
    taken.set(path, Date.now());
    if (form) form.reset();
    if (piece) { delete piece.dataset.dirty; if (document.activeElement && piece.contains(document.activeElement) && document.activeElement.matches('input,select')) document.activeElement.blur(); }
    release();
    aged();
  });
  const link = byId('link');
  const source = new EventSource(from);
  const alive = (yes) => { link.textContent = yes ? 'live' : 'no contact, trying again'; link.classList.toggle('bad', !yes); };
  source.addEventListener('open', () => alive(true));
  source.addEventListener('error', () => alive(false));
  source.addEventListener('parts', (e) => {
    for (const [name, html] of Object.entries(JSON.parse(e.data))) put(name, html);
    document.body.dataset.updates = 1 + Number(document.body.dataset.updates || 0);
    aged();
  });
})();
