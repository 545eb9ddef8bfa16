// The page of devices: a sample goes to the console, which answers with pieces
// of the page; what is answered or edited goes there again.
(() => {
  const byId = (id) => document.getElementById(id);
  const page = document.querySelector('[data-feeds]');
  if (!page) return;
  const at = page.dataset.feeds, bench = byId('bench');
  const mostBytes = 250000; // of a file: some hundred shots say enough
  let asked = 0;
  async function ask(path, body, into) {
    const mine = ++asked;
    into.setAttribute('aria-busy', 'true');
    try {
      const answer = await fetch(at + path, { method: 'POST', body });
      const text = answer.ok && !answer.redirected ? await answer.text() : '<p class="alarm" role="alert">Not done: sign in as someone who may set up devices, with the password.</p>';
      if (into === bench && mine !== asked) return; // a later question is under way
      into.innerHTML = text;
    } catch {
      into.innerHTML = '<p class="alarm" role="alert">The console does not answer: try again when the page says live.</p>';
    } finally { into.removeAttribute('aria-busy'); }
  }
  // A large file is cut at the end of a line.
  async function part(file) {
    if (file.size <= mostBytes) return file;
    const head = file.slice(0, mostBytes), bytes = new Uint8Array(await head.arrayBuffer()), end = bytes.lastIndexOf(10);
    return new File([end > 0 ? head.slice(0, end + 1) : head], file.name);
  }
  async function take(files) {
    const body = new FormData();
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
    return body;
  }
  bench.addEventListener('change', (e) => {
    if (!e.target.matches('[data-told]')) return;
    const body = told();
    body.set(e.target.name, e.target.value);
    ask('/draft', body, bench);
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
