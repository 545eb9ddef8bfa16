// What is entered while the console does not answer waits on this tablet, is
// said so, and is sent again under the same one-time key when it is back.
window.queue = (() => {
  const place = 'fairlead-waiting';
  const page = Math.random().toString(36).slice(2); // clocks of another page's life can't be compared
  const read = () => { try { return JSON.parse(localStorage.getItem(place)) || []; } catch { return []; } };
  const write = (list) => { localStorage.setItem(place, JSON.stringify(list)); show(); };
  const el = () => document.getElementById('waiting');
  const clock = (ms) => new Date(ms).toLocaleTimeString('en-GB');
  let sending = false, sent = () => {};
  function show() {
    const to = el(); if (!to) return;
    const list = read(), waiting = list.filter((x) => !x.refused), refused = list.filter((x) => x.refused);
    to.replaceChildren();
    for (const [some, cls, head] of [[waiting, 'waits', 'Waiting for the console, will be sent by itself:'], [refused, 'waits refused', 'Not taken; what you had entered:']]) {
      if (!some.length) continue;
      const box = document.createElement('div'), ul = document.createElement('ul'), strong = document.createElement('strong');
      box.className = cls; strong.textContent = head; box.append(strong, ul);
      for (const x of some) {
        const li = document.createElement('li'), drop = document.createElement('button');
        li.textContent = clock(x.at) + ' ' + x.says + (x.refused ? ': ' + x.refused : '');
        drop.type = 'button'; drop.className = 'plain'; drop.textContent = x.refused ? 'Seen' : 'Drop';
        drop.addEventListener('click', () => write(read().filter((y) => y.key !== x.key)));
        li.append(drop); ul.append(li);
      }
      to.append(box);
    }
  }
  function add(path, body, says, inhand) {
    write([...read(), { path, body: body.toString(), says, inhand, key: body.get('key') + path, at: Date.now(), since: performance.now(), page }]);
  }
  const patch = (key, f) => write(read().map((x) => (x.key === key ? f(x) : x)));
  // One after another, in the order of the hand; what begins a trial or a session
  // takes those that were entered after it along.
  async function send() {
    if (sending) return;
    sending = true;
    try {
      for (;;) {
        const x = read().find((y) => !y.refused);
        if (!x) return;
        const body = new URLSearchParams(x.body);
        body.set('ago_ms', Math.max(0, Math.round(x.page === page ? performance.now() - x.since : Date.now() - x.at)));
        let answer;
        try { answer = await fetch(x.path, { method: 'POST', body, headers: { 'HX-Request': 'true' }, signal: AbortSignal.timeout(3000) }); } catch { return; }
        const text = await answer.text();
        if (answer.status === 401 || (answer.status >= 500 && answer.status !== 507)) return; // not now: away, or nobody is signed in
        if (!answer.ok) {
          const note = document.createElement('div');
          note.innerHTML = text;
          const why = [...note.querySelectorAll('li')].map((li) => li.textContent).join('; ') || note.textContent.replace(/\s+/g, ' ').trim() || answer.status;
          patch(x.key, (y) => ({ ...y, refused: why + typed(body) }));
          continue;
        }
        const was = { s: body.get('at_session'), t: body.get('at_trial') }, now = { s: answer.headers.get('Fairlead-Session'), t: answer.headers.get('Fairlead-Trial') };
        write(read().filter((y) => y.key !== x.key).map((y) => {
          const b = new URLSearchParams(y.body);
          if (y.path.split('/')[2] !== x.path.split('/')[2]) return y;
          if (b.get('at_session') === was.s && now.s !== null) b.set('at_session', now.s);
          if (b.has('at_trial') && b.get('at_trial') === was.t && now.t !== null) b.set('at_trial', now.t);
          if (y.inhand && /\/(trial|turn)$/.test(x.path)) b.set('trial', now.t);
          return { ...y, body: b.toString() };
        }));
        sent(text);
      }
    } finally { sending = false; show(); }
  }
  const quiet = /^(at_|key$|who$|last_seen$|base$|event$|trial$|how\.)/;
  const typed = (body) => { const some = [...body].filter(([k, v]) => v && !quiet.test(k) && k !== 'ago_ms').map(([k, v]) => k.replace(/^part\./, '').replaceAll('_', ' ') + ' ' + v); return some.length ? ' (' + some.join(', ') + ')' : ''; };
  setInterval(send, 2000);
  addEventListener('online', send);
  addEventListener('storage', show);
  document.addEventListener('DOMContentLoaded', () => { show(); send(); });
  return { add, send, waiting: () => read().some((x) => !x.refused), onsent: (f) => { sent = f; } };
})();
