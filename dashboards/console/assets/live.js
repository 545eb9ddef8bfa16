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
  let touched = -1e4; // when a finger came down last
  document.addEventListener('pointerdown', () => { clearTimeout(lifting); pressed = true; touched = performance.now(); });
  let lifting = 0; // a finger's click may come well after it was lifted, while much is to be done
  const lift = (after) => { clearTimeout(lifting); lifting = setTimeout(() => { pressed = false; release(); }, after); };
  document.addEventListener('pointerup', () => lift(400));
  document.addEventListener('pointercancel', () => lift(30));
  document.addEventListener('click', () => { if (pressed) lift(30); }, true);
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
  // A tap is taken by the queue, whatever becomes of the button while the answer is
  // on its way: the page may put another in its place. Only what says the very same,
  // with nothing between, is the same tap: while it is under way, and right after.
  let last = null, slow = 0, pending = false;
  const random = () => 'k' + [...crypto.getRandomValues(new Uint8Array(12))].map((b) => b.toString(16).padStart(2, '0')).join('');
  const same = (tap, id) => last && (last.tap === tap || (id && last.id === id)) && (!last.answered || Date.now() - last.answered < 700);
  document.addEventListener('click', (e) => { if (e.target.closest('[data-open]')) last = null; }); // a sheet opened anew is meant
  document.addEventListener('htmx:confirm', (e) => { // before htmx would let a second tap of one button wait for the first
    const d = e.detail, elt = d.elt, button = (d.triggeringEvent && d.triggeringEvent.submitter) || (elt.matches('button') ? elt : null), form = elt.form || elt.closest('form');
    if (d.verb !== 'post' || !form) return;
    e.preventDefault();
    if (!form.reportValidity()) return;
    const body = new URLSearchParams(new FormData(form, button && button.form === form && button.type === 'submit' ? button : null));
    for (const x of elt.hasAttribute('hx-include') ? document.querySelectorAll(elt.getAttribute('hx-include')) : []) body.set(x.name, x.value);
    if (who && who.value) body.set('who', who.value);
    const tap = d.path + ' ' + [...body].filter(([k]) => k !== 'key' && k !== 'last_seen').join('&');
    const sheet = elt.closest('dialog'), piece = elt.closest('[data-form]'), id = sheet && (button || elt).id; // a sheet's form is emptied by the answer
    if (same(tap, id)) { again(); return; }
    body.set('key', random());
    const mine = last = { tap, id, answered: 0 };
    const words = [...body].filter(([k, v]) => v && /^(part\.|name$|words$|felt$|player$|reason$)/.test(k)).map((x) => x[1]).join(', '), named = sheet ? sheet.querySelector('h2').textContent : '';
    const says = [named || (elt.ariaLabel && words ? elt.ariaLabel : (button || elt).textContent.trim()), words].filter(Boolean).join(': ');
    const now = (x) => (x && !x.isConnected && x.id ? byId(x.id) || x : x); // the piece may have come anew meanwhile
    const over = () => { clearTimeout(slow); pending = false; mine.answered = Date.now(); say(); answers.unmark(); };
    clearTimeout(slow);
    slow = setTimeout(() => { pending = true; say(); }, 400);
    if (performance.now() - touched < 1000) cover(button || elt);
    queue.add(d.path, body, says, { inhand: elt.dataset.inhand !== undefined, last: (button || elt).id === 'undo' && queue.waiting() }, {
      taken: (text) => { over(); tell(text); done(now(form), now(piece), sheet); },
      waits: () => { over(); done(now(form), now(piece), sheet); }, // as good as taken for the hand
      refused: (status, text) => {
        over();
        tell(text);
        if (sheet) sheet.querySelector('.told').replaceChildren(...byId('notice').childNodes);
        answers.mark(now(form), sheet ? sheet.querySelector('.told') : byId('notice'));
        const at = now(piece), session = at && at.querySelector('input[name=at_session]');
        if (status === 409 && session && session.value === byId('at-session').value) { // seen and told: the next tap means it
          const trial = at.querySelector('input[name=at_trial]');
          if (trial) trial.value = byId('at-trial').value;
        }
        last = null;
      },
    });
  });
  // The button stays under a finger that may tap twice, whatever comes in its place:
  // the second tap meets what the first met.
  function cover(button) {
    const until = touched + 350, at = button.getBoundingClientRect(), over = document.createElement('div'), seen = button.cloneNode(true);
    for (const x of document.querySelectorAll('.cover')) x.remove();
    over.className = 'cover';
    over.setAttribute('aria-hidden', 'true');
    Object.assign(over.style, { left: at.left + 'px', top: at.top + 'px', width: at.width + 'px', height: at.height + 'px' });
    seen.removeAttribute('id');
    seen.inert = true;
    over.append(seen);
    over.addEventListener('click', again);
    (button.closest('dialog') || document.body).append(over);
    const leave = () => { const left = until - performance.now(); if (left > 0) setTimeout(leave, left); else over.remove(); };
    leave();
    return over;
  }
  // The same tap came twice: it is not lost, and that is said.
  function again() {
    if (last && !last.answered) { pending = true; say(); return; }
    const p = byId('notice').querySelector('.notice:not(.wrong)');
    if (!p || p.querySelector('.twice')) return;
    const note = document.createElement('span');
    note.className = 'twice quiet';
    note.textContent = 'Tapped twice, taken once.';
    p.append(note);
  }
  // An answer is a notice, and the bar as it is now.
  function tell(text) {
    const said = document.createElement('div'), notice = byId('notice');
    said.innerHTML = text;
    for (const x of said.querySelectorAll('[hx-swap-oob]')) {
      x.remove();
      if (x.id === 'part-bar' && newer(Number(x.dataset.nth))) put('bar', x.innerHTML);
    }
    notice.replaceChildren(...said.childNodes);
    htmx.process(notice);
  }
  queue.onsent(tell);
  function done(form, piece, sheet) {
    if (form) form.reset();
    if (piece) { delete piece.dataset.dirty; if (document.activeElement && piece.contains(document.activeElement) && document.activeElement.matches('input,select')) document.activeElement.blur(); }
    if (sheet) { sheet.querySelector('.told').replaceChildren(); document.body.append(...sheet.querySelectorAll('.cover')); sheet.close(); }
    tapped();
    release();
    aged();
  }
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
  const hear = () => { heard = Date.now(); open = true; say(); };
  const source = new EventSource(from);
  let met = false;
  source.addEventListener('open', () => { if (met) nth = 0; met = true; hear(); }); // a console that came back counts anew
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
