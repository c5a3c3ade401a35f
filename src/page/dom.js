
// An element with attributes and children; texts go in as text, never as markup. A function as an
// attribute is a listener, `false` and null leave the attribute out.
function element(tag, attributes = {}, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (typeof value === 'function') made.addEventListener(name, value);
    else if (value !== false && value !== null && value !== undefined) made.setAttribute(name, value === true ? '' : value);
  }
  made.append(...children.flat().filter(child => child !== null && child !== undefined));
  return made;
}
const at = id => document.getElementById(id);
const button = (text, click, attributes = {}) => element('button', { type: 'button', click, ...attributes }, text);

// What a command printed: its result, or what is wrong. How to call it from a shell is left out.
function printed({ code, stdout, stderr }, label) {
  const isFailed = code > 1, words = isFailed ? stderr.replace(/\n\n(?:Usage:|For more information)[^]*$/, '\n') : stdout;
  return element('pre', { class: isFailed ? 'result problem' : 'result', tabindex: 0, role: 'region', 'aria-label': label }, words);
}

// How many columns of such a text stand beside each other in the answer, 80 at most.
function columns() {
  const MOST = 80, ruler = element('pre', { class: 'result ruler' }, '0'.repeat(MOST));
  const edges = box => 2 * parseFloat(getComputedStyle(box).paddingLeft);
  document.body.append(ruler);
  const column = (ruler.getBoundingClientRect().width - edges(ruler)) / MOST;
  const box = at('answer').clientWidth > 0 ? at('answer') : document.querySelector('main');
  const room = box.clientWidth - edges(box) - edges(ruler);
  ruler.remove();
  return Math.min(MOST, Math.floor(room / column));
}

// Calls `act` once things have been quiet for `wait` milliseconds.
function calmly(wait, act) {
  let timer;
  return (...args) => {
    clearTimeout(timer);
    timer = setTimeout(() => act(...args), wait);
  };
}

// A sentence for screen readers and the line at the foot of the page.
function say(text) { at('status').textContent = text; }
