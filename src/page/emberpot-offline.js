// Keeps the page, as it was served, for use without a network. The digest is that of the page.
const STORE = 'emberpot-@DIGEST@';
const FILES = ['emberpot.html', 'emberpot.webmanifest', 'emberpot.svg'];

addEventListener('install', event => event.waitUntil(caches.open(STORE).then(store => store.addAll(FILES))));
addEventListener('activate', event => event.waitUntil(caches.keys().then(names =>
  Promise.all(names.filter(name => name.startsWith('emberpot-') && name !== STORE).map(name => caches.delete(name))))));
addEventListener('fetch', event => {
  if (event.request.method !== 'GET') return;
  event.respondWith(caches.match(event.request, { ignoreSearch: true }).then(kept => kept ?? fetch(event.request)));
});
