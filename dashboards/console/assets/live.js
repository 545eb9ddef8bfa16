// Puts the pieces of the page that the server sends in the place of the old
// ones, and leaves alone what a hand is busy with.
(() => {
  const from = document.body.dataset.live;
  if (!from) return;
  const held = new Map(); // pieces that wait until their form is let go
  const typing = (el) => el.dataset.dirty || (el.contains(document.activeElement) && document.activeElement.matches('input:not([type=checkbox]),select'));
  const key = (x) => x.name + '=' + x.value;
  function put(name, html) {
    const el = document.getElementById('part-' + name);
    if (!el) return;
    if ('hand' in el.dataset && typing(el)) { held.set(name, html); return; }
    held.delete(name);
    const ticked = new Set([...el.querySelectorAll('input[type=checkbox][form=tap]:checked')].map(key));
    const details = new Map([...el.querySelectorAll('details[id]')].map((d) => [d.id, d.open]));
    const focus = el.contains(document.activeElement) ? document.activeElement.id : '';
    const list = el.querySelector('.shots'), top = list ? list.scrollTop : 0;
    el.innerHTML = html;
    for (const x of el.querySelectorAll('input[type=checkbox][form=tap]')) x.checked = ticked.has(key(x));
    for (const d of el.querySelectorAll('details[id]')) if (details.has(d.id) && d.id !== 'session-details') d.open = details.get(d.id);
    if (list && el.querySelector('.shots')) el.querySelector('.shots').scrollTop = top;
    if (focus) { const again = document.getElementById(focus) || el; if (again === el) el.tabIndex = -1; again.focus({ preventScroll: true }); }
    htmx.process(el);
  }
  const release = () => { for (const [name, html] of [...held]) put(name, html); };
  document.addEventListener('input', (e) => { const p = e.target.closest('[data-hand]'); if (p) p.dataset.dirty = '1'; });
  document.addEventListener('focusout', () => setTimeout(release, 0));
  document.addEventListener('htmx:afterRequest', (e) => {
    if (!e.detail.successful) return;
    const form = e.detail.elt.form || e.detail.elt.closest('form');
    const piece = e.detail.elt.closest('[data-hand]');
    if (form) form.reset();
    if (piece) { delete piece.dataset.dirty; if (document.activeElement && piece.contains(document.activeElement) && document.activeElement.matches('input,select')) document.activeElement.blur(); }
    release();
  });
  const link = document.getElementById('link');
  const source = new EventSource(from);
  const alive = (yes) => { link.textContent = yes ? 'live' : 'no contact, trying again'; link.classList.toggle('bad', !yes); };
  source.addEventListener('open', () => alive(true));
  source.addEventListener('error', () => alive(false));
  source.addEventListener('parts', (e) => {
    for (const [name, html] of Object.entries(JSON.parse(e.data))) put(name, html);
    document.body.dataset.updates = 1 + Number(document.body.dataset.updates || 0);
  });
})();
