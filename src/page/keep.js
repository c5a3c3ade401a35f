
// What the browser keeps: batches as text, one entry each, so that a full store loses none. Files in
// and out are the batch files of the command line; several travel in one zip, stored, not packed.
const keep = (() => {
  const PREFIX = 'emberpot.batch.', LAST = 'emberpot.last', TICKS = 'emberpot.bench.';
  const LARGEST = 1_000_000;      // as the program: a larger batch file is refused
  const LONGEST_LINK = 8000;      // characters of the fragment that are written
  const LARGEST_FROM_LINK = 100_000;
  const MOST_FILES = 200;

  // false if the browser does not keep it.
  function store(key, value) {
    try { localStorage.setItem(key, value); return true; } catch { return false; }
  }
  function stored(key) {
    try { return localStorage.getItem(key); } catch { return null; }
  }
  function parsed(text) {
    try { return JSON.parse(text); } catch { return null; }
  }
  const isBatch = batch => typeof batch?.text === 'string' && typeof batch.name === 'string';

  const newId = () => `${Date.now().toString(36)}-${crypto.getRandomValues(new Uint32Array(1))[0].toString(36)}`;
  const save = batch => store(PREFIX + batch.id, JSON.stringify({ name: batch.name, text: batch.text, changed: Date.now() }))
    && store(LAST, batch.id);
  function open(id) {
    const batch = parsed(stored(PREFIX + id));
    return isBatch(batch) ? { ...batch, id } : null;
  }
  function list() {
    let keys = [];
    try { keys = Object.keys(localStorage).filter(key => key.startsWith(PREFIX)); } catch { /* nothing is kept */ }
    return keys.map(key => open(key.slice(PREFIX.length))).filter(Boolean).sort((a, b) => b.changed - a.changed);
  }
  function forget(id) {
    try { localStorage.removeItem(PREFIX + id); localStorage.removeItem(TICKS + id); } catch { /* nothing is kept */ }
  }
  const last = () => open(stored(LAST) ?? '');
  const ticks = id => parsed(stored(TICKS + id)) ?? {};
  const saveTicks = (id, value) => store(TICKS + id, JSON.stringify(value));

  // A name that every file system takes.
  function fileName(name) {
    const plain = name.normalize('NFKD').replace(/[^A-Za-z0-9]+/g, '-').replace(/^-+|-+$/g, '').toLowerCase();
    return `${plain.slice(0, 60) || 'batch'}.toml`;
  }

  function download(name, content, type = 'text/plain;charset=utf-8') {
    const link = document.createElement('a');
    link.href = URL.createObjectURL(new Blob([content], { type }));
    link.download = name;
    document.body.append(link);
    link.click();
    link.remove();
    setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
  }

  const CRC = Uint32Array.from({ length: 256 }, (_, n) => {
    for (let bit = 0; bit < 8; bit++) n = n & 1 ? 0xEDB88320 ^ (n >>> 1) : n >>> 1;
    return n;
  });
  function checksum(data) {
    let sum = -1;
    for (const byte of data) sum = CRC[(sum ^ byte) & 255] ^ (sum >>> 8);
    return (sum ^ -1) >>> 0;
  }

  // A zip of `files`, a list of [name, text]; the layout is PKWARE's APPNOTE 4.3.7, 4.3.12, 4.3.16.
  function zip(files) {
    const encoder = new TextEncoder(), parts = [], directory = [];
    let at = 0, directorySize = 0;
    const UTF8 = 0x800, DATE = 0x21;
    for (const [name, text] of files) {
      const title = encoder.encode(name), data = encoder.encode(text);
      const common = new DataView(new ArrayBuffer(26));
      [20, UTF8, 0, 0, DATE].forEach((value, i) => common.setUint16(2 * i, value, true));
      common.setUint32(10, checksum(data), true);
      common.setUint32(14, data.length, true);
      common.setUint32(18, data.length, true);
      common.setUint16(22, title.length, true);
      const local = new Uint8Array(30), central = new Uint8Array(46);
      local.set([0x50, 0x4B, 3, 4]);
      local.set(new Uint8Array(common.buffer), 4);
      central.set([0x50, 0x4B, 1, 2, 20, 0]);
      central.set(new Uint8Array(common.buffer), 6);
      new DataView(central.buffer).setUint32(42, at, true);
      parts.push(local, title, data);
      directory.push(central, title);
      at += 30 + title.length + data.length;
      directorySize += 46 + title.length;
    }
    const end = new DataView(new ArrayBuffer(22));
    end.setUint32(0, 0x06054B50, true);
    end.setUint16(8, files.length, true);
    end.setUint16(10, files.length, true);
    end.setUint32(12, directorySize, true);
    end.setUint32(16, at, true);
    return new Blob([...parts, ...directory, end.buffer], { type: 'application/zip' });
  }

  // The texts of a zip that `zip` wrote: [name, text]; null if it is another kind.
  async function unzip(blob) {
    const data = new Uint8Array(await blob.arrayBuffer()), view = new DataView(data.buffer);
    const files = [];
    let at = 0;
    while (at + 30 <= data.length && view.getUint32(at, true) === 0x04034B50 && files.length < MOST_FILES) {
      const size = view.getUint32(at + 18, true), title = view.getUint16(at + 26, true);
      const from = at + 30 + title + view.getUint16(at + 28, true);
      if (view.getUint16(at + 8, true) !== 0 || from + size > data.length) return null;
      const name = new TextDecoder().decode(data.subarray(at + 30, at + 30 + title));
      files.push([name, new TextDecoder().decode(data.subarray(from, from + size))]);
      at = from + size;
    }
    return files.length > 0 ? files : null;
  }

  // Texts of the files that were picked or dropped: { name, text } or { name, problem }.
  async function take(files) {
    const taken = [];
    for (const file of [...files].slice(0, MOST_FILES)) {
      if (/\.zip$/i.test(file.name)) {
        const inside = await unzip(file);
        if (!inside) taken.push({ name: file.name, problem: 'zip' });
        for (const [name, text] of inside ?? []) taken.push({ name, text });
      } else if (file.size > LARGEST) {
        taken.push({ name: file.name, problem: 'large' });
      } else {
        try {
          const text = new TextDecoder('utf-8', { fatal: true }).decode(await file.arrayBuffer());
          taken.push({ name: file.name, text });
        } catch { taken.push({ name: file.name, problem: 'binary' }); }
      }
    }
    return taken;
  }

  const through = (data, transform) => new Blob([data]).stream().pipeThrough(transform);

  // A fragment that carries the text, or null if it would be too long.
  async function link(text) {
    const packed = await new Response(through(text, new CompressionStream('deflate'))).arrayBuffer();
    const letters = btoa(Array.from(new Uint8Array(packed), byte => String.fromCharCode(byte)).join(''));
    const fragment = `#batch=${letters.replace(/\+/g, '-').replace(/\//g, '_').replace(/=+$/, '')}`;
    return fragment.length <= LONGEST_LINK ? fragment : null;
  }

  // The text of a fragment; null if it carries none, or one that is broken or too large.
  async function fromLink(fragment) {
    const letters = fragment.match(/^#batch=([A-Za-z0-9_-]+)$/)?.[1];
    if (!letters || letters.length > 4 * LONGEST_LINK) return null;
    try {
      const packed = Uint8Array.from(atob(letters.replace(/-/g, '+').replace(/_/g, '/')), c => c.charCodeAt(0));
      const reader = through(packed, new DecompressionStream('deflate')).getReader();
      const decoder = new TextDecoder('utf-8', { fatal: true });
      let text = '';
      for (let part; !(part = await reader.read()).done;) {
        text += decoder.decode(part.value, { stream: true });
        if (text.length > LARGEST_FROM_LINK) { reader.cancel(); return null; }
      }
      return text + decoder.decode();
    } catch { return null; }
  }

  return { newId, save, open, list, forget, last, ticks, saveTicks, fileName, download, zip, take, link, fromLink, LARGEST };
})();
