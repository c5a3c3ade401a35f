
// The text of a batch file as places: where each section and each value stands, so that a field of
// the form changes its own few characters and nothing else. It does not judge: the program does.
const toml = (() => {
  const BARE = /^[A-Za-z0-9_-]+$/;

  // End of the value that starts at `at`: past the last character that belongs to it.
  function valueEnd(text, at) {
    for (const quotes of ['"""', "'''"]) {
      if (text.startsWith(quotes, at)) {
        const end = text.indexOf(quotes, at + 3);
        return end < 0 ? text.length : end + 3;
      }
    }
    const first = text[at];
    if (first === '"' || first === "'") {
      let i = at + 1;
      while (i < text.length && text[i] !== first && text[i] !== '\n') i += first === '"' && text[i] === '\\' ? 2 : 1;
      return Math.min(text[i] === first ? i + 1 : i, text.length);
    }
    if (first === '[' || first === '{') {
      let depth = 0, i = at;
      while (i < text.length) {
        const c = text[i];
        if (c === '"' || c === "'") { i = valueEnd(text, i); continue; }
        if (c === '#') { while (i < text.length && text[i] !== '\n') i++; continue; }
        if (c === '[' || c === '{') depth++;
        if (c === ']' || c === '}') { depth--; if (depth === 0) return i + 1; }
        i++;
      }
      return text.length;
    }
    let i = at;
    while (i < text.length && text[i] !== '#' && text[i] !== '\n') i++;
    while (i > at && /\s/.test(text[i - 1])) i--;
    return i;
  }

  // What a field shows for a value; null for lists, tables and long texts, which the text view edits.
  function shownValue(raw) {
    if (/^("""|'''|\[|\{)/.test(raw)) return null;
    if (raw.startsWith("'")) return raw.replace(/^'|'$/g, '');
    if (!raw.startsWith('"')) return raw;
    try { return JSON.parse(raw.replace(/\\U([0-9a-fA-F]{8})/g, (_, hex) => String.fromCodePoint(parseInt(hex, 16)))); }
    catch { return raw.replace(/^"|"$/g, ''); }
  }

  const splitKey = key => key.split('.').map(part => part.trim().replace(/^["']|["']$/g, ''));

  let latest = { text: null, sections: null };
  // The places in a text; those of the latest text are remembered.
  function read(text) {
    if (latest.text !== text) latest = { text, sections: scan(text) };
    return latest.sections;
  }

  // A list of sections: `path` such as "ingredient.0" or "" for the top, `head` and `end` in characters,
  // `entries`: `path`, line's start and end, value's start and end, `shown`.
  function scan(text) {
    const sections = [{ path: '', head: 0, body: 0, end: 0, entries: [] }];
    const counts = new Map();
    let at = 0;
    while (at < text.length) {
      const stop = text.indexOf('\n', at);
      let end = stop < 0 ? text.length : stop + 1;
      const line = text.slice(at, end);
      const head = line.length < 500 && line.match(/^\s*\[(\[)?\s*([^\]#]*?)\s*\](\])?\s*(#.*)?$/m);
      const here = sections[sections.length - 1];
      if (head) {
        const names = splitKey(head[2]);
        if (head[1]) {
          const name = names.join('.');
          counts.set(name, (counts.get(name) ?? -1) + 1);
        }
        // A table inside a list belongs to the latest one of the list.
        const path = names.map((part, i) => {
          const n = counts.get(names.slice(0, i + 1).join('.'));
          return n === undefined ? part : `${part}.${n}`;
        }).join('.');
        sections.push({ path, head: at, body: end, end, entries: [] });
      } else {
        const key = line.match(/^(\s*)("[^"]*"|'[^']*'|[A-Za-z0-9_-]+)((?:\s*\.\s*[A-Za-z0-9_-]+)*)\s*=[ \t]*/);
        if (key) {
          const from = at + key[0].length;
          const to = valueEnd(text, from);
          const rest = text.indexOf('\n', to);
          end = rest < 0 ? text.length : rest + 1;
          const path = [...(here.path ? [here.path] : []), ...splitKey(key[2] + key[3])].join('.');
          here.entries.push({ path, start: at, end, from, to, shown: shownValue(text.slice(from, to)) });
          here.end = end;
        }
      }
      at = end;
    }
    return sections;
  }

  const entry = (text, path) => read(text).flatMap(section => section.entries).find(found => found.path === path);
  const value = (text, path) => entry(text, path)?.shown ?? '';
  const section = (text, path) => read(text).find(found => found.path === path);
  // How many [[name]] there are.
  const count = (text, name) => read(text).filter(found => new RegExp(`^${name}\\.\\d+$`).test(found.path)).length;

  // A value as it is written: numbers bare where the file may have them so, true and false, else text.
  function written(value, kind) {
    if (kind === 'flag' && /^(true|false)$/.test(value)) return value;
    if (kind === 'number' && /^[+-]?(0|[1-9]\d*)(\.\d+)?([eE][+-]?\d+)?$/.test(value)) return value;
    return JSON.stringify(value).replace(/\x7f/g, '\\u007f');
  }

  // A decimal comma becomes a point: "1,5 g" is 1.5 g.
  const withPoint = value => value.replace(/(\d),(\d)/g, '$1.$2');

  const splitPath = path => {
    const at = path.lastIndexOf('.');
    return at < 0 ? ['', path] : [path.slice(0, at), path.slice(at + 1)];
  };
  const keyText = key => BARE.test(key) ? key : JSON.stringify(key);

  function remove(text, path) {
    const found = entry(text, path);
    return found ? text.slice(0, found.start) + text.slice(found.end) : text;
  }

  // The text with `path` set to `value`; an empty value takes the line away.
  function set(text, path, value, kind = 'text') {
    if (value === '') return remove(text, path);
    return setRaw(text, path, written(value, kind));
  }

  // As `set`, with the value as the file has it.
  function setRaw(text, path, raw) {
    const found = entry(text, path);
    if (found) return text.slice(0, found.from) + raw + text.slice(found.to);
    const [where, key] = splitPath(path);
    const line = `${keyText(key)} = ${raw}\n`;
    const home = section(text, where);
    if (!home) {
      const gap = text === '' ? '' : text.endsWith('\n') ? '\n' : '\n\n';
      return `${text}${gap}[${where.replace(/\.\d+/g, '')}]\n${line}`;
    }
    let at = home.entries.length ? home.end : home.body;
    // The first key of the file goes below the remarks that open it.
    if (where === '' && home.entries.length === 0) at = text.match(/^(#.*\n)*/)[0].length;
    const gap = at > 0 && text[at - 1] !== '\n' ? '\n' : '';
    return text.slice(0, at) + gap + line + text.slice(at);
  }

  // A new [[name]] after the last one of its kind.
  function add(text, name, values) {
    const lines = Object.entries(values).map(([key, value]) => `${key} = ${written(value, 'text')}\n`);
    const block = `[[${name}]]\n${lines.join('')}`;
    const path = `${name}.${count(text, name) - 1}`;
    const last = read(text).filter(found => found.path === path || found.path.startsWith(`${path}.`)).pop();
    if (!last) return `${text}${text === '' || text.endsWith('\n') ? '' : '\n'}\n${block}`;
    const gap = text[last.end - 1] === '\n' ? '\n' : '\n\n', rest = text.slice(last.end);
    return text.slice(0, last.end) + gap + block + (rest === '' || rest.startsWith('\n') ? '' : '\n') + rest;
  }

  // The text without the section, the sections inside it, and one empty line after it.
  function drop(text, path) {
    const inside = read(text).filter(found => found.path === path || found.path.startsWith(`${path}.`));
    return inside.reverse().reduce((left, found) => {
      const end = left[found.end] === '\n' ? found.end + 1 : found.end;
      return left.slice(0, found.head) + left.slice(end);
    }, text);
  }

  // A single [name] becomes the first of several, [[name]].
  function asList(text, name) {
    const found = section(text, name);
    return found ? text.slice(0, found.head) + text.slice(found.head, found.body).replace(/\[([^\]]*)\]/, '[[$1]]') + text.slice(found.body) : text;
  }

  // The path of the value or section that stands at a line, counted from 1.
  function pathAtLine(text, line) {
    let at = 0;
    for (let i = 1; i < line; i++) {
      const stop = text.indexOf('\n', at);
      if (stop < 0) break;
      at = stop + 1;
    }
    const before = read(text).filter(found => found.head <= at);
    const home = before[before.length - 1];
    return home.entries.find(found => found.start <= at && at < found.end)?.path ?? home.path;
  }

  return { read, value, entry, section, count, set, setRaw, remove, add, drop, asList, pathAtLine, withPoint };
})();
