
// Which place shows: start, work (batch and answer), tools, bench.
const view = (() => {
  const PLACES = ['start', 'work', 'tools', 'bench'], IN_NAV = ['start', 'work', 'tools'];

  function show(place) {
    for (const name of PLACES) at(name).hidden = name !== place;
    for (const name of IN_NAV) at(`go-${name}`).setAttribute('aria-current', name === place ? 'page' : 'false');
    document.body.dataset.place = place;
    if (place === 'start') start.listKept();
    at(place).querySelector('h2')?.focus({ preventScroll: true });
    scrollTo(0, 0);
  }

  // A batch is opened for its answer.
  function open() { show('work'); side('answer'); }

  // On a narrow screen either the batch or the answer shows.
  function side(name) {
    at('work').dataset.side = name;
    for (const other of ['edit', 'answer']) at(`side-${other}`).setAttribute('aria-pressed', String(other === name));
  }

  function edit(name) {
    side('edit');
    at('form').hidden = name !== 'form';
    at('text-view').hidden = name !== 'text';
    if (name === 'form') form.show();
    for (const other of ['form', 'text']) at(`edit-${other}`).setAttribute('aria-pressed', String(other === name));
  }

  batch.changed(() => { at('go-work').disabled = !batch.text; });
  for (const name of IN_NAV) at(`go-${name}`).addEventListener('click', () => show(name));
  for (const name of ['edit', 'answer']) at(`side-${name}`).addEventListener('click', () => side(name));
  for (const name of ['form', 'text']) at(`edit-${name}`).addEventListener('click', () => edit(name));
  return { show, open, side, edit };
})();

async function share() {
  const fragment = await keep.link(batch.text);
  if (!fragment) { say(t('link.long')); return; }
  const address = location.href.replace(/#.*$/, '') + fragment;
  at('link').value = address;
  at('link-box').hidden = false;
  at('link').select();
  try { await navigator.clipboard.writeText(address); say(t('link.copied')); } catch { say(t('link.ready')); }
}

async function openLink() {
  if (!location.hash.startsWith('#batch=')) return false;
  const text = await keep.fromLink(location.hash);
  history.replaceState(null, '', location.pathname + location.search);
  if (text === null) { say(t('link.broken')); return false; }
  batch.open(text);
  view.open();
  say(t('link.opened'));
  return true;
}

// Where the page is served, it can be kept for use without a network. Nothing hangs on it.
function install() {
  if (!isSecureContext || !location.protocol.startsWith('http') || !navigator.serviceWorker) return;
  document.head.append(element('link', { rel: 'manifest', href: 'emberpot.webmanifest' }));
  navigator.serviceWorker.register('emberpot-offline.js').catch(() => {});
}

async function begin() {
  say('');
  if (typeof DecompressionStream === 'undefined' || typeof WebAssembly === 'undefined') { say(t('old')); return; }
  engine.start();
  start.build();
  answer.build();
  at('save-file').addEventListener('click', () => keep.download(batch.file, batch.text));
  at('share').addEventListener('click', share);
  addEventListener('hashchange', openLink);
  addEventListener('pagehide', batch.flush);
  view.edit('form');
  const last = keep.last();
  if (!await openLink()) {
    if (last) { batch.open(last.text, { id: last.id }); view.open(); } else view.show('start');
  }
  try {
    await engine.ready;
    await substances.load();
    if (!at('status').textContent) say(t('ready'));
    document.body.dataset.ready = Math.round(performance.now());
  } catch (error) { say(`${t('old')} (${error.message})`); }
  install();
}

// For tests, and for whoever wants a command of the program from the console.
window.emberpot = { run: (args, files = []) => engine.quick.run(args, files), file: () => batch.file, columns };
begin();
