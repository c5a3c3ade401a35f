"use strict";
(() => {
  const panel = document.getElementById("try");
  if (!panel) return;
  const data = JSON.parse(document.getElementById("what-if-table").textContent);
  const { table, plan } = data;
  let enthalpy = 0, rise = 0;
  const products = table.products_bends_j.map(bend => enthalpy += rise += bend);
  const field = name => panel.querySelector(`[name="${name}"]`);
  const inputs = ["ratio", "water", "lost", "air"].map(name => [name, field(name), field(name + "-number")]);
  const state = { ...plan };
  let pinned = null, guess = null, hidden = false;

  // The two nodes around a value with their weights, the value held within the nodes.
  const ends = (nodes, value) => {
    let above = nodes.findIndex(node => node >= value);
    if (above < 0) above = nodes.length - 1;
    const below = Math.max(above - 1, 0), width = nodes[above] - nodes[below];
    const part = width > 0 ? Math.min(Math.max((value - nodes[below]) / width, 0), 1) : 1;
    return [[below, 1 - part], [above, part]];
  };
  const corners = at => {
    const list = [], waters = table.water_left.length, airs = table.air.length, ratios = ends(table.fuel_ratios, at.ratio);
    const water = of => ratios.reduce((total, [f, weight]) => total + weight * table.water[f][of], 0);
    const left = at.water * water("all_mol"), crystal = water("crystal_mol");
    const place = left > crystal ? 1 + (left - crystal) / (water("all_mol") - crystal) : left > 0 ? left / crystal : 0;
    for (const [f, wf] of ratios)
      for (const [w, ww] of ends(table.water_left, place))
        for (const [a, wa] of ends(table.air, at.air)) list.push([(f * waters + w) * airs + a, wf * ww * wa]);
    return list;
  };
  // The flame in °C; null where there is none.
  const flame = at => {
    const nodes = corners(at), count = table.temperatures_k.length, each = table.water_left.length * table.air.length;
    const sum = of => nodes.reduce((total, [node, weight]) => total + weight * of(node), 0);
    const product = t => sum(node => products[node * count + t]);
    const reactants = sum(node => table.reactants_j[node]);
    const available = reactants + sum(node => table.external_j[Math.floor(node / each)])
      - at.lost * Math.max(reactants - product(0), 0);
    let low = product(0);
    if (available < low) return null;
    for (let t = 1; t < count; t += 1) {
      const high = product(t);
      if (high >= available) {
        const from = table.temperatures_k[t - 1];
        return from + (available - low) / (high - low) * (table.temperatures_k[t] - from) - 273.15;
      }
      low = high;
    }
    return null;
  };

  const [left, right, top, bottom] = [46, 386, 18, 250], highest = 2600;
  const x = share => left + share * (right - left);
  const y = t => bottom - Math.min(Math.max(t, 0), highest) / highest * (bottom - top);
  const curve = at => {
    const points = [];
    for (let step = 0; step <= 80; step += 1) {
      const share = step / 80, t = flame({ ...at, water: share });
      if (t !== null) points.push(`${x(share).toFixed(1)} ${y(t).toFixed(1)}`);
    }
    return points.length > 1 ? "M" + points.join("L") : "";
  };
  const text = (px, py, words, anchor = "middle") => `<text class="small pale" x="${px}" y="${py}" text-anchor="${anchor}">${words}</text>`;
  const drawing = panel.querySelector("svg");
  const frame = () => {
    let marks = "";
    for (let t = 0; t <= highest; t += 500)
      marks += `<line class="grid" x1="${left}" y1="${y(t)}" x2="${right}" y2="${y(t)}"/>` + text(left - 6, y(t) + 4, t, "end");
    for (let step = 0; step <= 5; step += 1) {
      const share = step / 5;
      marks += text(x(share), bottom + 16, Math.round(100 * share));
    }
    return marks + `<line class="axis" x1="${left}" y1="${bottom}" x2="${right}" y2="${bottom}"/>`
      + `<line class="axis" x1="${left}" y1="${top}" x2="${left}" y2="${bottom}"/>`
      + text((left + right) / 2, bottom + 34, "water left, % of all water") + text(left, top - 4, "flame / °C", "start");
  };
  const mark = (shape, at, t) => t === null ? "" : `<circle class="${shape}" cx="${x(at.water).toFixed(1)}" cy="${y(t).toFixed(1)}" r="5"/>`;
  const whole = t => t === null ? "no flame" : `${Math.round(t)} °C`;
  const sentence = () => {
    const now = flame(state), before = flame(plan);
    if (hidden) return guess === null ? "Place your guess: press on the picture, or set the number beside it, then show the answer."
      : `Your guess: ${Math.round(guess)} °C. Show the answer when you are ready.`;
    const same = ["ratio", "water", "lost", "air"].every(name => Math.abs(state[name] - plan[name]) < 1e-9);
    const guessed = guess === null ? "" : now === null ? ` Your guess of ${Math.round(guess)} °C: there is no flame.`
      : ` Your guess of ${Math.round(guess)} °C is off by ${Math.round(Math.abs(guess - now))} K.`;
    if (same) return `As planned: ${whole(now)} by complete combustion.${guessed}`;
    const change = now === null || before === null ? "" : `, ${Math.abs(Math.round(now - before))} K ${now < before ? "colder" : "hotter"} than planned`;
    return `${whole(now)}${change}. Interpolated; not checked for danger: run the tool on the changed batch before you weigh it.${guessed}`;
  };
  const show = () => {
    const now = flame(state);
    let shapes = frame();
    if (pinned) shapes += `<path class="line2" d="${curve(pinned)}"/>` + mark("ring1", pinned, flame(pinned));
    if (!hidden) shapes += `<path class="line0" d="${curve(state)}"/>` + mark("dot1", state, now);
    if (guess !== null) shapes += `<line class="here" x1="${left}" x2="${right}" y1="${y(guess)}" y2="${y(guess)}"/>`;
    drawing.innerHTML = shapes;
    panel.querySelector("output").textContent = sentence();
    panel.querySelector(".settings").textContent = `φ ${state.ratio.toFixed(2)}, ${Math.round(100 * state.water)} % of the water left, `
      + `${Math.round(100 * state.lost)} % of the heat lost, ${Math.round(100 * state.air)} % of the air for the surplus`;
  };
  const put = (name, value) => {
    const [, slider, number] = inputs.find(([own]) => own === name);
    const scale = name === "ratio" ? 1 : 100;
    state[name] = Math.min(Math.max(value / scale, slider.min / scale), slider.max / scale);
    slider.value = state[name] * scale;
    if (document.activeElement !== number) number.value = Number((state[name] * scale).toFixed(2));
    show();
  };
  const reset = () => { for (const [name] of inputs) put(name, plan[name] * (name === "ratio" ? 1 : 100)); };
  for (const [name, slider, number] of inputs) {
    slider.addEventListener("input", () => put(name, Number(slider.value)));
    number.addEventListener("input", () => {
      const value = Number(number.value.replace(",", "."));
      if (number.value !== "" && Number.isFinite(value)) put(name, value);
    });
    number.addEventListener("change", () => { number.value = Number(slider.value); });
  }
  const press = name => panel.querySelector(`[data-do="${name}"]`);
  press("pin").addEventListener("click", () => { pinned = pinned ? null : { ...state }; press("pin").textContent = pinned ? "Take the pin out" : "Pin this curve"; show(); });
  press("reset").addEventListener("click", reset);
  press("guess").addEventListener("click", () => {
    hidden = !hidden;
    if (hidden) guess = null;
    press("guess").textContent = hidden ? "Show the answer" : "Predict first";
    field("guess").closest("p").hidden = !hidden;
    show();
  });
  field("guess").addEventListener("input", () => {
    const value = Number(field("guess").value.replace(",", "."));
    guess = field("guess").value !== "" && Number.isFinite(value) ? Math.min(Math.max(value, 0), highest) : null;
    show();
  });
  drawing.addEventListener("pointerdown", event => {
    if (!hidden) return;
    const box = drawing.getBoundingClientRect(), scale = drawing.viewBox.baseVal.height / box.height;
    guess = Math.min(Math.max((bottom - (event.clientY - box.top) * scale) / (bottom - top) * highest, 0), highest);
    field("guess").value = Math.round(guess);
    show();
  });
  panel.hidden = false;
  reset();
})();
