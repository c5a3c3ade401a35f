// Draws what the offline page shows as an SVG: its boxes and its lines of text where the browser puts them.
// Usage: node picture.mjs PAGE OUT.svg
import { chromium } from 'playwright-core';
import { writeFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { pathToFileURL } from 'node:url';

const [page, out] = process.argv.slice(2).map(path => resolve(path));
const size = { width: 1180, height: 760 };
const browser = await chromium.launch({ executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', args: ['--no-sandbox'] });
const tab = await browser.newPage({ viewport: size });
await tab.goto(pathToFileURL(page).href);
await tab.waitForFunction(() => document.body.dataset.ready);
await tab.locator('#door-examples > summary').click();
await tab.locator('[data-example="zinc-aluminate.toml"]').click();
await tab.waitForFunction(() => ['plan', 'decide'].includes(document.getElementById('verdict').className));
// The time depends on the machine.
await tab.evaluate(() => { document.getElementById('took').textContent = ''; });

const parts = await tab.evaluate(({ width, height }) => {
  const clean = text => text.replace(/&/g, '&amp;').replace(/</g, '&lt;');
  const round = number => +number.toFixed(1);
  const parts = [];
  const isDrawn = colour => colour && colour !== 'transparent' && !/, 0\)$/.test(colour);
  const rect = (x, y, w, h, more) => parts.push(`<rect x="${round(x)}" y="${round(y)}" width="${round(w)}" height="${round(h)}" ${more}/>`);
  function box(element, style, { x, y, width: w, height: h }) {
    const edges = ['Top', 'Right', 'Bottom', 'Left'].map(side => [parseFloat(style[`border${side}Width`]), style[`border${side}Color`]]);
    const isFrame = edges.every(([thick, colour]) => thick > 0 && colour === edges[0][1]);
    const fill = isDrawn(style.backgroundColor) ? style.backgroundColor : 'none';
    if (isFrame) rect(x + 0.5, y + 0.5, w - 1, h - 1, `rx="3" fill="${fill}" stroke="${edges[0][1]}" stroke-width="${edges[0][0]}"`);
    else if (fill !== 'none') rect(x, y, w, h, `fill="${fill}"`);
    if (isFrame) return;
    const sides = [[x, y, w, edges[0][0]], [x + w - edges[1][0], y, edges[1][0], h], [x, y + h - edges[2][0], w, edges[2][0]], [x, y, edges[3][0], h]];
    sides.forEach(([left, top, wide, high], i) => { if (edges[i][0] > 0 && isDrawn(edges[i][1])) rect(left, top, wide, high, `fill="${edges[i][1]}"`); });
  }
  function text(x, y, words, style) {
    const mono = /mono/.test(style.fontFamily) ? ' class="m"' : '', bold = Number(style.fontWeight) >= 600 ? ' font-weight="600"' : '';
    const width = round(words.width);
    parts.push(`<text x="${round(x)}" y="${round(y)}" font-size="${parseFloat(style.fontSize)}" textLength="${width}" lengthAdjust="spacingAndGlyphs" fill="${style.color}"${mono}${bold}>${clean(words.text)}</text>`);
  }
  // The lines of a text node: characters that stand at one height.
  function lines(node) {
    const range = document.createRange(), found = [];
    for (let i = 0; i < node.data.length; i++) {
      range.setStart(node, i);
      range.setEnd(node, i + 1);
      const at = range.getClientRects()[0];
      if (!at || at.width === 0) continue;
      const last = found[found.length - 1];
      if (last && Math.abs(last.bottom - at.bottom) < 2) { last.text += node.data[i]; last.right = at.right; }
      else found.push({ text: node.data[i], left: at.left, right: at.right, top: at.top, bottom: at.bottom });
    }
    return found;
  }
  function walk(element, clip) {
    const style = getComputedStyle(element), place = element.getBoundingClientRect();
    if (!element.checkVisibility() || ['SCRIPT', 'STYLE', 'OPTION'].includes(element.tagName)) return;
    if (place.top >= clip.bottom || place.left >= clip.right) return;
    if (element !== document.body && place.width > 0) box(element, style, place);
    const within = style.overflowX === 'visible' ? clip : { right: Math.min(clip.right, place.right), bottom: Math.min(clip.bottom, place.bottom) };
    const value = element.tagName === 'SELECT' ? element.selectedOptions[0]?.textContent : element.tagName === 'INPUT' || element.tagName === 'TEXTAREA' ? element.value : '';
    if (value) {
      const pen = document.createElement('canvas').getContext('2d');
      pen.font = style.font;
      const wide = Math.min(pen.measureText(value).width, place.width - 16);
      text(place.left + 9, place.top + place.height / 2 + parseFloat(style.fontSize) * 0.35, { text: value, width: wide }, style);
    }
    if (element.tagName === 'SUMMARY') {
      const middle = place.top + place.height / 2, left = place.left;
      const corners = element.parentElement.open ? [[0, -4], [10, -4], [5, 5]] : [[1, -5], [10, 0], [1, 5]];
      parts.push(`<path d="M${corners.map(([x, y]) => `${round(left + x)} ${round(middle + y)}`).join('L')}z" fill="${style.color}"/>`);
    }
    for (const child of element.childNodes) {
      if (child.nodeType === Node.ELEMENT_NODE) walk(child, within);
      else if (child.nodeType === Node.TEXT_NODE && child.data.trim() && !['SELECT', 'TEXTAREA'].includes(element.tagName)) {
        for (const line of lines(child)) {
          const words = line.text.replace(/\s+$/, ''), start = words.length - words.trimStart().length;
          const each = (line.right - line.left) / line.text.length;
          if (!words.trim() || line.bottom > within.bottom) continue;
          const left = line.left + start * each;
          text(left, line.bottom - (line.bottom - line.top) * 0.24, { text: words.trimStart(), width: words.length === line.text.length ? line.right - left : (words.length - start) * each }, style);
        }
      }
    }
  }
  walk(document.body, { right: width, bottom: height });
  return parts;
}, size);
await browser.close();

const title = 'The offline page: on the left the batch as a form, on the right the verdict and the first screen of the answer.';
writeFileSync(out, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${size.width} ${size.height}" role="img" aria-label="${title}" font-family="system-ui, 'DejaVu Sans', Helvetica, Arial, sans-serif">
<style>.m{font-family:ui-monospace,'DejaVu Sans Mono',monospace;white-space:pre}</style>
<rect width="${size.width}" height="${size.height}" fill="#fff"/>
${parts.join('\n')}
<rect x="0.5" y="0.5" width="${size.width - 1}" height="${size.height - 1}" fill="none" stroke="#7b838c"/>
</svg>
`);
