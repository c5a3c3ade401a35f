// Makes a function that runs one command of the program: `run(args, files, columns)` gives `code`, `stdout`
// and `stderr`; `files` is a Map from name to text, `columns` the width of the text. One instance answers one command after the other and
// keeps its tables; if it leaves by exiting or breaks, the next command gets a new one.
function runner(module) {
  let instance = null, now = null, width = null;
  const imports = {};
  for (const { module: from, name } of WebAssembly.Module.imports(module)) {
    (imports[from] ??= {})[name] = (...values) => now.call(name, values);
  }
  return (args, files, columns) => {
    // The program reads its environment once.
    if (!instance || columns !== width) {
      width = columns;
      instance = new WebAssembly.Instance(module, imports);
      now = system(instance, args, files, columns);
      instance.exports._initialize?.();
    }
    now = system(instance, args, files, columns);
    let code;
    try {
      code = instance.exports.answer();
    } catch (error) {
      instance = null;
      code = error?.exit ?? 70;
      if (error?.exit === undefined) now.tell(`\nthe program stopped: ${error}\n`);
    }
    return { code, ...now.written() };
  };
}

// The part of WASI preview 1 that the program uses: arguments, environment, standard streams, clock, chance, and
// the files, to read. Any other call answers "not supported" (52).
function system({ exports: { memory } }, args, files, columns) {
  const BAD_FD = 8, INVALID = 28, MISSING = 44, UNSUPPORTED = 52, READ_ONLY = 69, FOLDER = 3;
  const toBytes = new TextEncoder(), toText = new TextDecoder();
  const disk = new Map([...files].map(([name, text]) => [name, toBytes.encode(text)]));
  const streams = { 1: [], 2: [] };
  const open = new Map();
  const strings = texts => texts.map(text => toBytes.encode(text + '\0'));
  const argv = strings(['emberpot', ...args]), environment = strings([`COLUMNS=${columns}`]);
  let next = 10;
  const view = () => new DataView(memory.buffer), bytes = () => new Uint8Array(memory.buffer);
  const setU32 = (at, value) => view().setUint32(at, value, true);
  const getU32 = at => view().getUint32(at, true);
  const setU64 = (at, value) => view().setBigUint64(at, BigInt(value), true);
  const nameAt = (at, length) => toText.decode(bytes().slice(at, at + length)).replace(/^(\.\/)+/, '');
  const joined = parts => {
    const whole = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
    let at = 0;
    for (const part of parts) { whole.set(part, at); at += part.length; }
    return whole;
  };
  // Address and length of each piece of a scattered buffer.
  const pieces = (list, count) => Array.from({ length: count },
    (_, i) => [getU32(list + 8 * i), getU32(list + 8 * i + 4)]);
  const writeStat = (at, kind, size) => {
    bytes().fill(0, at, at + 64);
    view().setUint8(at + 16, kind);
    setU64(at + 32, size);
    return 0;
  };
  const sizes = (items, count, size) => {
    setU32(count, items.length);
    setU32(size, items.reduce((sum, item) => sum + item.length, 0));
    return 0;
  };
  const list = (items, at, text) => items.forEach((item, i) => {
    setU32(at + 4 * i, text);
    bytes().set(item, text);
    text += item.length;
  });

  const known = {
    args_sizes_get(count, size) { return sizes(argv, count, size); },
    args_get(at, text) { list(argv, at, text); return 0; },
    environ_sizes_get(count, size) { return sizes(environment, count, size); },
    environ_get(at, text) { list(environment, at, text); return 0; },
    clock_time_get(id, _precision, at) {
      setU64(at, Math.round((id === 0 ? Date.now() : performance.now()) * 1e6));
      return 0;
    },
    random_get(at, length) {
      for (let i = 0; i < length; i += 65536) {
        crypto.getRandomValues(bytes().subarray(at + i, at + Math.min(length, i + 65536)));
      }
      return 0;
    },
    fd_write(fd, at, count, written) {
      const parts = pieces(at, count).map(([start, length]) => bytes().slice(start, start + length));
      if (!streams[fd]) return BAD_FD;
      streams[fd].push(...parts);
      setU32(written, parts.reduce((sum, part) => sum + part.length, 0));
      return 0;
    },
    fd_read(fd, at, count, read) {
      const file = open.get(fd);
      if (!file && fd !== 0) return BAD_FD;
      let sum = 0;
      for (const [start, length] of file ? pieces(at, count) : []) {
        const part = disk.get(file.name).subarray(file.at, file.at + length);
        bytes().set(part, start);
        file.at += part.length;
        sum += part.length;
      }
      setU32(read, sum);
      return 0;
    },
    fd_seek(fd, offset, from, at) {
      const file = open.get(fd);
      if (!file) return BAD_FD;
      const base = [0, file.at, disk.get(file.name).length][from];
      if (base === undefined || base + Number(offset) < 0) return INVALID;
      file.at = base + Number(offset);
      setU64(at, file.at);
      return 0;
    },
    fd_close(fd) { return open.delete(fd) ? 0 : BAD_FD; },
    fd_fdstat_get(fd, at) {
      if (fd > FOLDER && !open.has(fd)) return BAD_FD;
      bytes().fill(0, at, at + 24);
      view().setUint8(at, fd < FOLDER ? 2 : fd === FOLDER ? 3 : 4);
      setU64(at + 8, 0x1fffffff);
      setU64(at + 16, 0x1fffffff);
      return 0;
    },
    fd_filestat_get(fd, at) {
      if (open.has(fd)) return writeStat(at, 4, disk.get(open.get(fd).name).length);
      return writeStat(at, fd === FOLDER ? 3 : 2, 0);
    },
    fd_prestat_get(fd, at) {
      if (fd !== FOLDER) return BAD_FD;
      setU32(at, 0);
      setU32(at + 4, 1);
      return 0;
    },
    fd_prestat_dir_name(_fd, at) { bytes()[at] = 46; return 0; },
    path_filestat_get(_fd, _flags, at, length, stat) {
      const data = disk.get(nameAt(at, length));
      return data ? writeStat(stat, 4, data.length) : MISSING;
    },
    path_open(_fd, _look, at, length, how, _rights, _inherited, _flags, to) {
      const CREATE = 1, OPEN_FOLDER = 2, TRUNCATE = 8, name = nameAt(at, length);
      if (how & OPEN_FOLDER) return UNSUPPORTED;
      if (how & (CREATE | TRUNCATE)) return READ_ONLY;
      if (!disk.has(name)) return MISSING;
      open.set(next, { name, at: 0 });
      setU32(to, next++);
      return 0;
    },
    sched_yield() { return 0; },
    proc_exit(code) { throw { exit: code }; },
  };
  return {
    call: (name, values) => known[name]?.(...values) ?? UNSUPPORTED,
    tell: text => streams[2].push(toBytes.encode(text)),
    written: () => ({ stdout: toText.decode(joined(streams[1])), stderr: toText.decode(joined(streams[2])) }),
  };
}
