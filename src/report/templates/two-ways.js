"use strict";
(() => {
  const panel = document.getElementById("ways");
  if (!panel) return;
  const { ways, first } = JSON.parse(document.getElementById("ways-table").textContent);
  const names = ["floor", "middle", "surface"], [left, right, top, bottom] = [40, 330, 16, 168];
  const all = ways.flatMap(way => way.settings);
  const last = Math.max(...all.map(course => course.t.at(-1)));
  const early = Math.min(...all.map(course => course.lights ?? last)) / 20;
  const hottest = Math.ceil(Math.max(...all.flatMap(course => course.places.flat()), 150) / 100) * 100;
  const x = t => left + Math.log(Math.max(t, early) / early) / Math.log(last / early) * (right - left);
  const y = value => bottom - Math.max(value, 0) / hottest * (bottom - top);
  const moment = part => early * (last / early) ** part;
  const minutes = t => `${Number(t.toPrecision(2))} min`;

  // Floor, middle, surface and water at a time, held at both ends.
  const state = (course, time) => {
    const lists = [...course.places, course.water], end = course.t.length - 1;
    const above = course.t.findIndex(t => t >= time);
    if (above === 0 || time >= course.t[end]) return lists.map(list => list[above === 0 ? 0 : end]);
    const part = (time - course.t[above - 1]) / (course.t[above] - course.t[above - 1]);
    return lists.map(list => list[above - 1] + part * (list[above] - list[above - 1]));
  };
  const text = (px, py, words, anchor = "middle") => `<text class="small pale" x="${px}" y="${py}" text-anchor="${anchor}">${words}</text>`;
  const frame = () => {
    let marks = "";
    for (let t = 0; t <= hottest; t += hottest > 600 ? 200 : 100)
      marks += `<line class="grid" x1="${left}" y1="${y(t)}" x2="${right}" y2="${y(t)}"/>` + text(left - 5, y(t) + 4, t, "end");
    for (let power = Math.floor(Math.log10(early)); power <= Math.log10(last); power += 1)
      for (const digit of [1, 2, 5]) {
        const t = Number(`${digit}e${power}`);
        if (t >= early && t <= last) marks += `<line class="grid" x1="${x(t)}" y1="${top}" x2="${x(t)}" y2="${bottom}"/>` + text(x(t), bottom + 14, t);
      }
    return marks + `<path class="axis" d="M${left} ${top}V${bottom}H${right}"/>`
      + text((left + right) / 2, bottom + 28, "minutes since the heating began") + text(4, top - 6, "°C, and % of the water left", "start");
  };
  const curves = course => {
    const end = course.t.at(-1), times = course.t.filter(t => t > early);
    for (let step = 0; step <= 100; step += 1) if (moment(step / 100) < end) times.push(moment(step / 100));
    const states = times.sort((a, b) => a - b).map(t => [x(t).toFixed(1), state(course, t)]);
    return ["line0", "line1", "line2", "thin3"].map((kind, at) => {
      const height = values => at < 3 ? y(values[at]) : bottom - values[3] / 100 * (bottom - top);
      return `<path class="${kind}" d="M${states.map(([px, values]) => `${px} ${height(values).toFixed(1)}`).join("L")}"/>`;
    }).reverse().join("");
  };
  const diamond = (px, py) => `<path class="dot1" d="M${px - 5} ${py}l5 -5l5 5l-5 5z"/>`;
  // The vessel in section, the stronger the colour the hotter, from its floor to the surface of the layer.
  const vessel = (course, time, column) => {
    const [from, to, high, low] = [90, 240, 224, 282], now = state(course, time), heights = [low - 8, (high + low) / 2, high + 8];
    const tint = t => (0.04 + 0.6 * Math.max(t - 20, 0) / hottest).toFixed(2);
    const stops = [2, 1, 0].map((at, row) => `<stop class="warm" offset="${row / 2}" stop-opacity="${tint(now[at])}"/>`).join("");
    const lit = course.lights !== null && time >= course.lights;
    return `<linearGradient id="heat${column}" x1="0" y1="0" x2="0" y2="1">${stops}</linearGradient>`
      + `<rect x="${from}" y="${high}" width="${to - from}" height="${low - high}" fill="url(#heat${column})"/>`
      + `<path class="axis" d="M${from} ${high - 13}V${low}H${to}V${high - 13}"/>`
      + names.map((name, at) => text(from - 6, heights[at] + 4, name, "end") + text(to + 6, heights[at] + 4, `${Math.round(now[at])} °C`, "start")).join("")
      + text((from + to) / 2, high - 5, `${Math.round(now[3])} % of the water left`) + (lit ? diamond((from + to) / 2, heights[course.place]) : "");
  };

  let hidden = false;
  const slider = panel.querySelector("[name=moment]"), button = panel.querySelector("button"), guesses = [null, null];
  const sides = [...panel.querySelectorAll(".way")].map((box, column) => {
    const find = part => box.querySelector(part), drawing = find("svg"), [choice, setting, said] = ["select", "[name=setting]", "output"].map(find);
    const number = find(".guess input"), course = () => ways[choice.value].settings[setting.value];
    const judged = () => {
      if (guesses[column] === null) return "";
      const { lights, band } = course();
      return ` Your guess was ${minutes(guesses[column])}: ` + (lights === null ? "the course drawn does not light here." : guesses[column] > band[1] ? "it lights earlier."
        : guesses[column] < band[0] ? "it lights later." : "within the band, well guessed.");
    };
    const show = () => {
      const now = course(), time = slider.value === slider.max ? now.t.at(-1) : moment(slider.value / slider.max), guess = guesses[column];
      const line = (t, kind) => `<line class="${kind}" x1="${x(t)}" x2="${x(t)}" y1="${top}" y2="${bottom}"/>`;
      const [from, to] = (now.band ?? [last, last]).map(t => x(Math.min(t, last)));
      const shown = () => `<rect class="zone" x="${from}" width="${to - from}" y="${top}" height="${bottom - top}"/>` + curves(now) + line(Math.min(time, now.t.at(-1)), "tick") + (now.lights === null ? "" : diamond(x(now.lights), y(state(now, now.lights)[now.place]))) + vessel(now, time, column);
      drawing.innerHTML = frame() + (hidden ? "" : shown()) + (guess === null ? "" : line(guess, "here"));
      find(".setting").textContent = now.label;
      setting.setAttribute("aria-valuetext", now.label);
      said.textContent = hidden ? `${ways[choice.value].way}, ${now.label}: when does it light? Press on the picture or set the number.` : now.says + judged();
      find(".guess").hidden = !hidden;
    };
    const clear = () => { guesses[column] = null; number.value = ""; };
    const place = t => { guesses[column] = t > 0 ? Math.min(Math.max(t, early), last) : null; show(); };
    ways.forEach((way, at) => choice.add(new Option(way.way, at)));
    choice.addEventListener("change", () => { setting.max = ways[choice.value].settings.length - 1; setting.value = ways[choice.value].usual; clear(); show(); });
    setting.addEventListener("input", () => { clear(); show(); });
    number.addEventListener("input", () => place(Number(number.value.replace(",", "."))));
    drawing.addEventListener("pointerdown", event => {
      if (!hidden) return;
      const box = drawing.getBoundingClientRect(), part = ((event.clientX - box.left) * drawing.viewBox.baseVal.width / box.width - left) / (right - left);
      place(moment(Math.min(Math.max(part, 0), 1)));
      number.value = Number(guesses[column].toPrecision(2));
    });
    choice.value = first[column];
    choice.dispatchEvent(new Event("change"));
    return { show, clear };
  });
  const show = () => {
    const words = slider.value === slider.max ? "the end of heating" : minutes(moment(slider.value / slider.max));
    panel.querySelector(".moment span").textContent = words;
    slider.setAttribute("aria-valuetext", words);
    sides.forEach(side => side.show());
  };
  slider.addEventListener("input", show);
  button.addEventListener("click", () => {
    hidden = !hidden;
    if (hidden) sides.forEach(side => side.clear());
    button.textContent = hidden ? "Show the answer" : "Predict first";
    show();
  });
  panel.hidden = false;
  const still = document.getElementById("ways-still");
  panel.append(still.querySelector("details"));
  still.remove();
  show();
})();
