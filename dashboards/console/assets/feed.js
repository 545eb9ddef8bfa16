// The page of devices: a sample goes to the console, which answers with pieces
// of the page; what is answered or edited goes there again.
(() => {
  const byId = (id) => document.getElementById(id);
  const page = document.querySelector('[data-feeds]');
  if (!page) return;
  const at = page.dataset.feeds, bench = byId('bench');
  const mostBytes = 250000; // of a file: some hundred shots say enough
  // What the hand changed, in its order: an answer takes nothing of it back that is
  // newer than what was asked.
  const touched = new Map(), answered = new Map(), asked = new WeakMap();
  let hand = 0;
  const keyOf = (x) => x.id ? '#' + CSS.escape(x.id) : x.name ? `[name="${CSS.escape(x.name)}"]` : '';
  for (const kind of ['input', 'change']) {
    bench.addEventListener(kind, (e) => { if (keyOf(e.target)) touched.set(keyOf(e.target), ++hand); }, true);
  }
  // What of a piece of the page the hand changed since.
  function since(began, into) {
    const kept = [];
    for (const [key, when] of touched) {
      const x = when > began && into.querySelector(key);
      if (x) kept.push({ key, value: x.value, checked: x.checked, from: x.selectionStart, to: x.selectionEnd, focus: x === document.activeElement });
    }
    return kept;
  }
  function giveBack(kept, into) {
    for (const k of kept) {
      const x = into.querySelector(k.key);
      if (!x) continue;
      if (x.type === 'radio' || x.type === 'checkbox') x.checked = k.checked; else x.value = k.value;
      if (k.focus) {
        x.focus();
        if (k.from != null) x.setSelectionRange(k.from, k.to);
      }
      if (x.id === 'map') x.dispatchEvent(new Event('input', { bubbles: true }));
      // The browser counts a value that was given back as unchanged.
      else if (x.matches('[data-told]')) x.addEventListener('blur', () => x.dispatchEvent(new Event('change', { bubbles: true })), { once: true });
      else if (x.id === 'to') x.dispatchEvent(new Event('change', { bubbles: true }));
    }
  }
  async function ask(path, body, into) {
    const mine = (asked.get(into) || 0) + 1, began = hand, sent = new Map(answered);
    asked.set(into, mine);
    into.setAttribute('aria-busy', 'true');
    let text;
    try {
      const answer = await fetch(at + path, { method: 'POST', body });
      text = answer.ok && !answer.redirected ? await answer.text() : '<p class="alarm" role="alert">Not done: sign in as someone who may set up devices, with the password.</p>';
    } catch {
      text = '<p class="alarm" role="alert">The console does not answer: try again when the page says live.</p>';
    }
    if (mine !== asked.get(into)) return; // a later question is under way
    const kept = into === bench ? since(began, into) : [];
    into.innerHTML = text;
    into.removeAttribute('aria-busy');
    for (const [name, value] of sent) if (answered.get(name) === value) answered.delete(name);
    giveBack(kept, into);
  }
  // A workbook or a database is no lines: it goes whole, or the console says that it is too large.
  async function whole(file) {
    const head = new TextDecoder('latin1').decode(await file.slice(0, 15).arrayBuffer());
    return head.startsWith('PK\u0003\u0004') || head.startsWith('SQLite format 3');
  }
  // A large file is cut at the end of a line.
  async function part(file) {
    if (file.size <= mostBytes || await whole(file)) return file;
    const head = file.slice(0, mostBytes), bytes = new Uint8Array(await head.arrayBuffer()), end = bytes.lastIndexOf(10);
    return new File([end > 0 ? head.slice(0, end + 1) : head], file.name);
  }
  async function take(files) {
    const body = new FormData();
    answered.clear();
    for (const f of [...files].slice(0, 4)) body.append('files', await part(f), f.name);
    await ask('/sample', body, bench);
  }
  byId('files').addEventListener('change', (e) => { if (e.target.files.length) take(e.target.files); });
  const drop = byId('drop');
  for (const over of ['dragenter', 'dragover']) drop.addEventListener(over, (e) => { e.preventDefault(); drop.classList.add('over'); });
  for (const out of ['dragleave', 'drop']) drop.addEventListener(out, () => drop.classList.remove('over'));
  drop.addEventListener('drop', (e) => { e.preventDefault(); take(e.dataTransfer.files); });
  const look = byId('look');
  if (look) look.addEventListener('submit', (e) => { e.preventDefault(); ask('/sample', new URLSearchParams(new FormData(look)), bench); });

  // What was told so far goes along with what is told now.
  function told() {
    const body = new URLSearchParams();
    for (const x of byId('told').querySelectorAll('input')) body.set(x.name, x.value);
    for (const [name, value] of answered) body.set(name, value); // the answer to it is under way
    return body;
  }
  bench.addEventListener('change', (e) => {
    if (!e.target.matches('[data-told]')) return;
    answered.set(e.target.name, e.target.value);
    ask('/draft', told(), bench);
  });
  let wait = 0;
  bench.addEventListener('input', (e) => {
    if (e.target.id !== 'map') return;
    for (const x of bench.querySelectorAll('[data-told]')) x.disabled = true;
    byId('by-hand').hidden = false;
    clearTimeout(wait);
    wait = setTimeout(() => {
      const body = told();
      body.set('map', e.target.value);
      ask('/read', body, byId('reading'));
    }, 300);
  });
  bench.addEventListener('click', (e) => { if (e.target.id === 'draft-again') ask('/draft', told(), bench); });
  bench.addEventListener('submit', (e) => {
    if (e.target.id !== 'work') return;
    e.preventDefault();
    ask('/work', work(), byId('works'));
  });
  function work() {
    const body = new URLSearchParams(new FormData(byId('work')));
    body.set('map', byId('map').value);
    return body;
  }
  // Beside the running map: what the device writes meanwhile, by both.
  setInterval(() => {
    const on = byId('beside-on');
    if (on && on.checked && !byId('beside').hasAttribute('aria-busy')) ask('/beside', work(), byId('beside'));
  }, 1000);
  bench.addEventListener('change', (e) => {
    const to = byId('to');
    if (to && e.target === to) byId('new-feed').hidden = !to.value.startsWith('folder:');
  });
})();
