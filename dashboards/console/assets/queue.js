// Each tap is kept on this tablet before it is sent, and until it was answered:
// in the order of the hand, one after another, under its one-time key. What the
// console does not answer waits, is said so, and is sent again when it is back.
window.queue = (() => {
  const place = 'fairlead-waiting';
  const page = Math.random().toString(36).slice(2); // clocks of another page's life can't be compared
  let memory = null; // where the tablet keeps nothing
  const read = () => { if (memory) return memory; try { return JSON.parse(localStorage.getItem(place)) || []; } catch { return []; } };
  const write = (list) => { try { localStorage.setItem(place, JSON.stringify(list)); memory = null; } catch { memory = list; } show(); };
  const el = () => document.getElementById('waiting');
  const clock = (ms) => new Date(ms).toLocaleTimeString('en-GB');
  const hand = new Map(); // of this page, by key: what is done with the answer to a tap
  let sending = false, rests = 0, sent = () => {};
  const unseen = 1500; // ms that an answer may take before the tap is shown as one that waits
  const mine = (x) => x.page === page || x.late || Date.now() - x.at > 5000; // another page sends its own first
  function show() {
    const to = el(); if (!to) return;
    const list = read(), waiting = list.filter((x) => !x.refused && (x.late || Date.now() - x.at > unseen)), refused = list.filter((x) => x.refused);
    to.replaceChildren();
    for (const [some, cls, head] of [[waiting, 'waits', 'Waiting for the console, will be sent by itself:'], [refused, 'waits refused', 'Not taken; what you had entered:']]) {
      if (!some.length) continue;
      const box = document.createElement('div'), ul = document.createElement('ul'), strong = document.createElement('strong');
      box.className = cls; strong.textContent = head; box.append(strong, ul);
      for (const x of some) {
        const li = document.createElement('li'), drop = document.createElement('button');
        li.textContent = clock(x.at) + ' ' + x.says + (x.refused ? ': ' + x.refused : '');
        drop.type = 'button'; drop.className = 'plain'; drop.textContent = x.refused ? 'Seen' : 'Drop';
        drop.addEventListener('click', () => { hand.delete(x.key); write(read().filter((y) => y.key !== x.key)); });
        li.append(drop); ul.append(li);
      }
      to.append(box);
    }
  }
  // then is told of the answer: taken(text), refused(status, text) while the form
  // is still there as it was sent, or waits() when it must do without one.
  function add(path, body, says, how, then) {
    const key = body.get('key') + path;
    const item = { path, body: body.toString(), says, ...how, key, at: Date.now(), since: performance.now(), page, tries: 0 };
    hand.set(key, then);
    const behind = read().some((x) => x.late && !x.refused);
    write([...read(), item]);
    if (behind) wait(item);
    setTimeout(show, unseen + 50);
    send();
  }
  const patch = (key, f) => write(read().map((x) => (x.key === key ? f(x) : x)));
  function wait(x) {
    patch(x.key, (y) => ({ ...y, late: true }));
    const then = hand.get(x.key);
    hand.delete(x.key);
    if (then) then.waits();
  }
  function unanswered(x) { // and what was entered after it waits with it
    rests = performance.now() + 1000;
    patch(x.key, (y) => ({ ...y, tries: y.tries + 1 }));
    for (const y of read()) if (hand.has(y.key)) wait(y);
  }
  // What was entered after this belongs to what this began, and Undo takes this back.
  function follow(list, x, body, answer) {
    const was = { s: body.get('at_session'), t: body.get('at_trial') }, at = (name) => answer.headers.get('Fairlead-' + name);
    return list.filter((y) => y.key !== x.key).map((y) => {
      const b = new URLSearchParams(y.body);
      if (y.path.split('/')[2] !== x.path.split('/')[2]) return y;
      if (b.get('at_session') === was.s && at('Session') !== null) b.set('at_session', at('Session'));
      if (b.has('at_trial') && b.get('at_trial') === was.t && at('Trial') !== null) b.set('at_trial', at('Trial'));
      if (y.inhand && /\/(trial|turn)$/.test(x.path)) b.set('trial', at('Trial'));
      if (y.last && at('Event')) b.set('event', at('Event'));
      return { ...y, body: b.toString() };
    });
  }
  async function send() {
    if (sending || performance.now() < rests) return;
    sending = true;
    try {
      for (;;) {
        const x = read().find((y) => !y.refused && mine(y));
        if (!x) return;
        const body = new URLSearchParams(x.body), ago = Math.max(0, Math.round(x.page === page ? performance.now() - x.since : Date.now() - x.at));
        if (x.late || x.page !== page || ago > 300) body.set('ago_ms', ago);
        body.set('page', x.page); // whose taps are told in the order of the hand
        let answer, text;
        try {
          answer = await fetch(x.path, { method: 'POST', body, headers: { 'HX-Request': 'true' }, signal: AbortSignal.timeout(Math.min(3000 * 2 ** (x.tries || 0), 48000)) });
          text = await answer.text();
        } catch { unanswered(x); return; }
        const then = hand.get(x.key), first = then && !x.late;
        if (!first && (answer.status === 401 || (answer.status >= 500 && answer.status !== 507))) { rests = performance.now() + 1000; return; } // not now: away, or nobody is signed in
        hand.delete(x.key);
        if (!answer.ok && first) {
          write(read().filter((y) => y.key !== x.key));
          then.refused(answer.status, text);
          continue;
        }
        if (!answer.ok) {
          const note = document.createElement('div');
          note.innerHTML = text;
          const why = [...note.querySelectorAll('li')].map((li) => li.textContent).join('; ') || note.textContent.replace(/\s+/g, ' ').trim() || answer.status;
          patch(x.key, (y) => ({ ...y, refused: why + typed(body) }));
          continue;
        }
        write(follow(read(), x, body, answer));
        if (first) then.taken(text); else sent(text);
      }
    } finally { sending = false; show(); }
  }
  const quiet = /^(at_|key$|page$|who$|last_seen$|base$|event$|trial$|how\.)/;
  const typed = (body) => { const some = [...body].filter(([k, v]) => v && !quiet.test(k) && k !== 'ago_ms').map(([k, v]) => k.replace(/^part\./, '').replaceAll('_', ' ') + ' ' + v); return some.length ? ' (' + some.join(', ') + ')' : ''; };
  setInterval(send, 2000);
  addEventListener('online', () => { rests = 0; send(); });
  addEventListener('storage', show);
  addEventListener('pagehide', () => write(read().map((x) => (x.page === page ? { ...x, late: true } : x)))); // whoever comes next sends it
  document.addEventListener('DOMContentLoaded', () => { show(); send(); });
  return { add, send, waiting: () => read().some((x) => !x.refused && mine(x)), onsent: (f) => { sent = f; } };
})();
