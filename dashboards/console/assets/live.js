// Puts the pieces of the page that the server sends in the place of the old
// ones, and leaves alone the forms that a hand is busy with.
(() => {
  const from = document.body.dataset.live;
  if (!from) return;
  const byId = (id) => document.getElementById(id);
  const held = new Map(); // pieces that wait until their form is let go
  const busy = (f) => f.dataset.dirty || (f.contains(document.activeElement) && document.activeElement.matches('input:not([type=checkbox]),select'));
  const forms = (el) => [...el.querySelectorAll('[data-form]')];
  const folded = new Set(); // by hand: what the page opens by itself stays as it was left
  document.addEventListener('click', (e) => { const s = e.target.closest('summary'); if (s) folded.add(s.parentElement.id); });
  const key = (x) => x.name + '=' + x.value;
  let pressed = false; // a piece under a finger is left alone until it is lifted: else the tap is lost
  document.addEventListener('pointerdown', () => { pressed = true; });
  for (const up of ['pointerup', 'pointercancel']) document.addEventListener(up, () => setTimeout(() => { pressed = false; release(); }, 30));
  // What is under the eye stays where it is while pieces above it grow.
  function still(change) {
    const list = byId('part-shots'), box = list && list.getBoundingClientRect(), at = document.elementFromPoint(innerWidth / 3, innerHeight / 3);
    const seen = scrollY > 0 && (box && box.top < innerHeight && box.bottom > 0 ? list : at && at.closest('main [id]')); // the list before all else: it is tapped
    const was = seen ? seen.getBoundingClientRect().top : 0, id = seen ? seen.id : '';
    change();
    const now = id && byId(id);
    if (now) { const by = now.getBoundingClientRect().top - was; if (by) scrollBy(0, by); }
  }
  // The list of shots stays where it is: new ones come above what is looked at.
  function place(list) {
    if (!list) return null;
    const top = list.getBoundingClientRect().top;
    if (!list.scrollTop && !list.querySelector(':checked')) return null;
    const first = [...list.children].find((li) => li.getBoundingClientRect().bottom > top + 1), box = first && first.querySelector('input');
    return box ? [box.id, first.getBoundingClientRect().top - top] : null;
  }
  function replace(list, at) {
    const box = at && list && byId(at[0]);
    if (box) list.scrollTop += box.closest('li').getBoundingClientRect().top - list.getBoundingClientRect().top - at[1];
  }
  function put(name, html) {
    const el = byId('part-' + name);
    if (!el) return;
    if (pressed) { held.set(name, html); return; }
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
    const at = place(el.querySelector('.shots')), across = [...el.querySelectorAll('.chips, .delivered, .strip')].map((x) => x.scrollLeft);
    el.innerHTML = html;
    for (const x of el.querySelectorAll('input[type=checkbox][form=tap]')) x.checked = ticked.has(key(x));
    for (const d of el.querySelectorAll('details[id]')) if (details.has(d.id) && (!('led' in d.dataset) || folded.has(d.id))) d.open = details.get(d.id);
    replace(el.querySelector('.shots'), at);
    [...el.querySelectorAll('.chips, .delivered, .strip')].forEach((x, i) => { x.scrollLeft = across[i] || 0; });
    if (focus) { const again = byId(focus) || el; if (again === el) el.tabIndex = -1; again.focus({ preventScroll: true }); }
    htmx.process(el);
    tapped();
  }
  // A shot is tapped on the picture as well as in the list.
  const boxOf = (m) => document.querySelector('input[name=shot][data-no="' + m.dataset.shot + '"]');
  const boxes = () => [...document.querySelectorAll('input[type=checkbox][form=tap]:checked')];
  const tapped = () => {
    for (const m of document.querySelectorAll('[data-shot]')) m.classList.toggle('tapped', !!(boxOf(m) || {}).checked);
    const n = boxes().length;
    if (!byId('tapped')) return;
    byId('tapped').hidden = !n;
    byId('tapped-n').textContent = n === 1 ? '1 shot tapped' : n + ' shots tapped';
  };
  document.addEventListener('click', (e) => { if (e.target.id === 'untap') { for (const x of boxes()) x.checked = false; tapped(); } });
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
  document.addEventListener('change', (e) => {
    if (e.target.id === 'who') localStorage.setItem('who', e.target.value);
  });
  const who = byId('who');
  if (who) { who.value = localStorage.getItem('who') || ''; if (who.selectedIndex < 0) who.value = ''; }
  // Each thing is sent under a key of its own until it was taken, so that it is
  // taken once; a second tap right after is the same tap.
  const keys = new Map(), taken = new Map();
  const random = () => 'k' + [...crypto.getRandomValues(new Uint8Array(12))].map((b) => b.toString(16).padStart(2, '0')).join('');
  const by = (e, elt) => (e && e.submitter && (e.submitter.id || e.submitter.value)) || elt.id;
  const tapOf = (d) => d.requestConfig.path + ' ' + by(d.requestConfig.triggeringEvent, d.elt);
  document.addEventListener('htmx:configRequest', (e) => {
    const tap = e.detail.path + ' ' + by(e.detail.triggeringEvent, e.detail.elt);
    if (!keys.has(tap)) keys.set(tap, random());
    e.detail.parameters['key'] = keys.get(tap);
    if (who && who.value) e.detail.parameters['who'] = who.value;
  });
  document.addEventListener('htmx:beforeRequest', (e) => {
    const at = taken.get(tapOf(e.detail));
    if (at && Date.now() - at < 700) { e.preventDefault(); return; }
    if (queue.waiting()) { e.preventDefault(); keep(e.detail); queue.send(); return; } // nothing overtakes what waits
    clearTimeout(slow);
    slow = setTimeout(() => { pending = true; say(); }, 400);
  });
  document.addEventListener('click', (e) => { if (e.target.closest('[data-open]')) taken.clear(); }); // a sheet opened anew is meant
  let slow = 0, pending = false;
  // What could not be sent is kept, and is as good as taken for the hand.
  function keep(d) {
    const c = d.requestConfig, elt = d.elt, sheet = elt.closest('dialog');
    const name = sheet ? sheet.querySelector('h2').textContent : '', tap = (c.triggeringEvent && c.triggeringEvent.submitter) || elt;
    const words = [...c.formData].filter(([k, v]) => v && /^(part\.|name$|words$|felt$|player$|reason$)/.test(k)).map((x) => x[1]).join(', ');
    queue.add(c.path, new URLSearchParams([...c.formData]), [name || (elt.ariaLabel && words ? elt.ariaLabel : tap.textContent.trim()), words].filter(Boolean).join(': '), elt.dataset.inhand !== undefined);
    keys.delete(tapOf(d));
    taken.set(tapOf(d), Date.now());
    done(elt);
  }
  function done(elt) {
    const form = elt.form || elt.closest('form'), piece = elt.closest('[data-form]'), sheet = elt.closest('dialog');
    if (form) form.reset();
    if (piece) { delete piece.dataset.dirty; if (document.activeElement && piece.contains(document.activeElement) && document.activeElement.matches('input,select')) document.activeElement.blur(); }
    if (sheet) { sheet.querySelector('.told').replaceChildren(); sheet.close(); }
    tapped();
    release();
    aged();
  }
  queue.onsent((text) => {
    const said = document.createElement('div'), notice = byId('notice');
    said.innerHTML = text;
    for (const x of said.querySelectorAll('[hx-swap-oob]')) x.remove(); // the page is told of it anyway
    notice.replaceChildren(...said.childNodes);
    htmx.process(notice);
  });
  document.addEventListener('htmx:afterRequest', (e) => {
    const elt = e.detail.elt, form = elt.form || elt.closest('form'), piece = elt.closest('[data-form]'), sheet = elt.closest('dialog');
    const tap = tapOf(e.detail), status = e.detail.xhr.status;
    clearTimeout(slow);
    pending = false;
    say();
    answers.unmark();
    if (!e.detail.successful) {
      if (!status) { keep(e.detail); return; }
      keys.delete(tap); // nothing was written
      if (sheet) sheet.querySelector('.told').replaceChildren(...byId('notice').childNodes);
      if (form) answers.mark(form, sheet ? sheet.querySelector('.told') : byId('notice'));
      const session = piece && piece.querySelector('input[name=at_session]');
      if (status === 409 && session && session.value === byId('at-session').value) { // seen and told: the next tap means it
        const trial = piece.querySelector('input[name=at_trial]');
        if (trial) trial.value = byId('at-trial').value;
      }
      return;
    }
    keys.delete(tap);
    taken.set(tap, Date.now());
    done(elt);
  });
  const link = byId('link');
  // A console that says nothing for longer than it ever does stands still.
  let heard = 0, open = false;
  function say() {
    const fresh = open && Date.now() - heard < 2600;
    const text = pending && fresh ? 'sending …' : fresh ? 'live' : open ? 'the console stands still; last heard ' + new Date(heard).toLocaleTimeString('en-GB') : 'no contact, trying again';
    if (link.textContent !== text) link.textContent = text;
    link.classList.toggle('bad', !fresh);
    document.body.classList.toggle('away', !fresh);
    if (fresh && queue.waiting()) queue.send();
  }
  // The bar comes with an answer and with the live page, and either may overtake
  // the other: the one that was looked at later stays.
  let nth = 0;
  const newer = (n) => { if (n < nth) return false; nth = n; return true; };
  document.addEventListener('htmx:oobBeforeSwap', (e) => {
    const f = e.detail.fragment, it = f.dataset ? f : f.firstElementChild;
    if (e.detail.target.id !== 'part-bar') return;
    if (newer(Number(it.dataset.nth))) held.delete('bar'); else e.detail.shouldSwap = false;
  });
  const hear = () => { heard = Date.now(); open = true; say(); };
  const source = new EventSource(from);
  source.addEventListener('open', () => { nth = 0; hear(); }); // a console that came back counts anew
  source.addEventListener('still', hear);
  source.addEventListener('error', () => { open = false; say(); });
  setInterval(say, 250);
  source.addEventListener('parts', (e) => {
    hear();
    const parts = JSON.parse(e.data);
    if ('bar' in parts && !newer(Number(parts.nth))) delete parts.bar;
    still(() => { for (const [name, html] of Object.entries(parts)) put(name, html); });
    document.body.dataset.updates = 1 + Number(document.body.dataset.updates || 0);
    aged();
  });
})();
