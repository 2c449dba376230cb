// Shows a live picture: its controls, charts and numbers, moved by expressions in the charts.
// `embed` is Vega-Embed's function; `picture` is what LivePicture.spec gives.

function element(tag, attributes = {}, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  made.append(...children);
  return made;
}

function digitsOf(step) {
  return (String(step).split(".")[1] || "").length;
}

// Stretches of a curve over a cycle; the rows of a series are a multiple of them.
const DRAWN = 100;

// Numbers that no longer fit below the sliders.
const MANY = 14;

const MATHS = "const { sin, cos, abs, exp, pow, sqrt, PI } = Math;";

// The rows of a series by column, computed by one function that is made once.
function rowsOf({ count, names, steps, columns, sums }) {
  const kept = [...new Set([...columns, ...Object.values(sums).map(([, step]) => step)])];
  const lines = steps.map(([name, words]) => `const ${name} = ${words};`);
  const stores = kept.map((name) => `found.${name}[i] = ${name};`);
  const body = `for (let i = 0; i <= ${count}; i++) { ${lines.join("\n")} ${stores.join(" ")} }`;
  const fill = new Function("found", ...names, `${MATHS} ${body} return found;`);
  return (held) =>
    fill(Object.fromEntries(kept.map((name) => [name, new Float64Array(count + 1)])), ...held);
}

// Half a row at either end: the end of a cycle is its start.
const mean = (values) => {
  const n = values.length - 1;
  return values.reduce((sum, value, i) => sum + (i % n ? value : value / 2), 0) / n;
};
const SUMS = {
  mean,
  largest: (values) => values.reduce((most, value) => Math.max(most, value), -Infinity),
  positive: (values) => mean(values.map((value) => Math.max(value, 0))),
  rise: (values) =>
    values.reduce((sum, value, i) => sum + (i ? Math.max(value - values[i - 1], 0) : 0), 0),
};

function quantile(values, order) {
  const n = values.length - 1;
  const sorted = [...values].map((value, i) => [value, i % n ? 2 : 1]).sort(([a], [b]) => a - b);
  let passed = 0;
  return sorted.find(([, weight]) => (passed += weight) >= 2 * n * order)[0];
}

let number = 0;

class Live {
  constructor(host, picture, embed) {
    this.picture = picture;
    this.values = {};
    this.inputs = {};
    this.views = [];
    this.running = 0;
    this.id = `live-${number++}`;
    this.rows = picture.series && rowsOf(picture.series);
    this.side = element("div", { class: "live-side" });
    this.charts = element("div", { class: "live-charts", role: "group" });
    this.told = element("div", { class: "live-told" });
    this.box = element("div", { class: "live" }, this.side, this.charts, this.told);
    // JupyterLab takes keys typed here for its own shortcuts, if it is not told otherwise.
    this.box.setAttribute("data-lm-suppress-shortcuts", "true");
    host.classList.add("live-host");
    host.append(this.box);
    for (const control of picture.controls) this.addControl(control);
    this.addButtons();
    this.table = this.addNumbers();
    this.sizes = new ResizeObserver(() => this.fit());
    this.ready = Promise.all(picture.views.map((each) => this.addView(each, embed))).then((views) => {
      this.views = views;
      this.listen();
      this.sizes.observe(this.box);
      return this.show();
    });
  }

  addControl(control) {
    const id = `${this.id}-${control.name}`;
    const label = element("label", { for: id }, control.label);
    const line = element("div", { class: "live-control" }, label);
    this.values[control.name] = control.value;
    if (control.entries) {
      const list = element("select", { id });
      control.entries.forEach((words, i) => list.add(new Option(words, i)));
      list.value = control.value;
      list.addEventListener("change", () => this.choose(control, Number(list.value)));
      this.inputs[control.name] = { control, write: (value) => (list.value = value) };
      line.append(list);
    } else {
      const { low: min, high: max, step, value } = control;
      const range = element("input", { id, type: "range", min, max, step });
      const exact = element("input", {
        type: "number", min, max, step, "aria-label": `${control.label}, exactly`,
      });
      range.addEventListener("input", () => this.set({ [control.name]: Number(range.value) }));
      exact.addEventListener("change", () => this.set({ [control.name]: Number(exact.value) }));
      const write = (now) => {
        range.value = now;
        exact.value = Number(now).toFixed(digitsOf(step));
      };
      write(value);
      this.inputs[control.name] = { control, write };
      line.append(range, exact);
    }
    this.side.append(line);
  }

  addView({ spec, aspect, rows, across, share, cycle }, embed) {
    const place = element("div", { class: "live-chart", style: `--rows: ${rows}` });
    place.setAttribute("aria-hidden", "true");
    if (across) place.classList.add("live-across");
    this.charts.append(place);
    const { left, right, top, bottom } = spec.padding;
    const options = { actions: false, renderer: "svg", tooltip: false, hover: false };
    return embed(place, spec, options).then(({ view }) => {
      return { view, place, aspect, share, cycle, beside: left + right, down: top + bottom };
    });
  }

  addButtons() {
    const row = element("div", { class: "live-buttons" });
    for (const each of this.picture.buttons) {
      const button = element("button", { type: "button" }, each.label);
      button.addEventListener("click", () => (each.sets ? this.press(each) : this.run(each)));
      row.append(button);
    }
    const wall = element("button", { type: "button", title: "key f" }, "Fill the screen");
    wall.addEventListener("click", () => this.fill());
    if (this.box.requestFullscreen) row.append(wall);
    this.box.addEventListener("keydown", (event) => {
      if (event.key === "f" && !["INPUT", "SELECT"].includes(event.target.tagName)) this.fill();
    });
    this.alert = element("p", { class: "live-alert", role: "alert" });
    this.side.append(row, this.alert);
  }

  addNumbers() {
    // Rows that style sheets lay out in columns are no table to a screen reader unless told so.
    const table = element("table", { class: "live-numbers", role: "table" });
    for (const [what] of this.picture.numbers) {
      const head = element("th", { scope: "row", role: "rowheader" }, what);
      table.append(element("tr", { role: "row" }, head, element("td", { role: "cell" })));
    }
    if (table.rows.length > MANY) this.box.classList.add("live-many");
    this.words = element("p", { class: "live-words", role: "img" });
    this.told.append(table, this.words);
    if (this.picture.cautions.length) {
      const list = this.picture.cautions.map((each) => element("li", {}, each));
      this.box.append(element("ul", { class: "live-cautions" }, ...list));
    }
    return table;
  }

  signal(name) {
    return this.views[0].view.signal(name);
  }

  fit() {
    const scale = document.fullscreenElement === this.box ? 1.6 : 1;
    for (const { view, place, aspect, share, beside, down } of this.views) {
      const total = place.clientWidth / scale;
      if (total < beside + 60) continue;
      let width = total - beside;
      const room = (window.innerHeight * share) / scale - down;
      width = Math.min(width, Math.max(room, 180) / aspect);
      view.width(width).height(width * aspect).runAsync().then(() => {
        const svg = place.querySelector("svg");
        svg.style.width = `${(width + beside) * scale}px`;
        svg.style.height = `${(width * aspect + down) * scale}px`;
      });
    }
  }

  clean(name, value) {
    const { control } = this.inputs[name];
    if (control.entries) return value;
    if (!Number.isFinite(value)) return this.values[name];
    const steps = Math.round((value - control.low) / control.step);
    const on = control.low + steps * control.step;
    return Math.min(control.high, Math.max(control.low, Number(on.toFixed(9))));
  }

  set(values, exactly = false) {
    if (!exactly) this.running = 0;
    this.alert.textContent = "";
    if (this.moved) this.moved();
    for (const [name, value] of Object.entries(values)) {
      this.values[name] = exactly ? value : this.clean(name, value);
      this.inputs[name].write(this.values[name]);
      for (const { view } of this.views) view.signal(name, this.values[name]);
    }
    return this.show();
  }

  // The sums of the series go into all charts, its rows into those that draw them.
  async count() {
    const { names, columns, sums, count } = this.picture.series;
    await this.views[0].view.runAsync();
    const found = this.rows(names.map((name) => this.signal(name)));
    const shown = [];
    for (let i = 0; i <= count; i += count / DRAWN) {
      const row = { share: (100 * i) / count };
      for (const column of columns) row[column] = found[column][i];
      shown.push(row);
    }
    for (const { view, cycle } of this.views) {
      for (const [name, [how, step]] of Object.entries(sums)) {
        view.signal(name, SUMS[how] ? SUMS[how](found[step]) : quantile(found[step], how));
      }
      if (cycle) view.data("cycle", shown);
    }
  }

  async show() {
    if (this.rows) await this.count();
    return Promise.all(this.views.map(({ view }) => view.runAsync())).then(() => {
      const rows = this.picture.numbers.map(([, name]) => this.signal(name));
      rows.forEach((words, i) => (this.table.rows[i].cells[1].textContent = words));
      const said = this.picture.numbers.map(([what], i) => `${what} ${rows[i]}`);
      this.words.setAttribute("aria-label", `${this.picture.shows} ${said.join("; ")}`);
    });
  }

  choose(control, value) {
    this.set({ [control.name]: value }).then(() => this.take(control.sets));
  }

  press(button) {
    const refusal = this.signal(button.refusal);
    if (refusal) this.alert.textContent = refusal;
    else this.take(button.sets);
  }

  take(sets) {
    const found = Object.entries(sets).map(([name, wanted]) => [name, this.signal(wanted)]);
    if (found.length) this.set(Object.fromEntries(found));
  }

  // The whole track is computed before its first frame is shown.
  track({ control, acceleration, names, duration }) {
    const step = 0.001, radians = Math.PI / 180, angles = [];
    let angle = this.values[control] * radians, rate = 0;
    const pull = new Function("angle", "rate", ...names, `${MATHS} return ${acceleration};`);
    const held = names.map((name) => this.signal(name));
    const slope = (a, r) => pull(a, r, ...held);
    for (let n = 0; n <= duration / step; n++) {
      angles.push(angle);
      const k1 = slope(angle, rate), r2 = rate + (step / 2) * k1;
      const k2 = slope(angle + (step / 2) * rate, r2), r3 = rate + (step / 2) * k2;
      const k3 = slope(angle + (step / 2) * r2, r3), r4 = rate + step * k3;
      const k4 = slope(angle + step * r3, r4);
      angle += (step / 6) * (rate + 2 * r2 + 2 * r3 + r4);
      rate += (step / 6) * (k1 + 2 * k2 + 2 * k3 + k4);
    }
    return { step, angles };
  }

  run(button) {
    const { step, angles } = this.track(button), run = (this.running = Math.random());
    const start = performance.now();
    const frame = (now) => {
      if (this.running !== run) return;
      const passed = Math.round((now - start) / 1000 / step);
      const n = Math.min(Math.max(passed, 0), angles.length - 1);
      const degrees = (angles[n] * 180) / Math.PI;
      const value = degrees - 360 * Math.floor((degrees + 180) / 360);
      this.set({ [button.control]: value }, true);
      if (n < angles.length - 1) requestAnimationFrame(frame);
    };
    requestAnimationFrame(frame);
  }

  // Calls `move` with each place of the pointer until it is let go.
  follow(move) {
    const stop = () => {
      window.removeEventListener("pointermove", move);
      window.removeEventListener("pointerup", stop);
      window.removeEventListener("pointercancel", stop);
    };
    window.addEventListener("pointermove", move);
    window.addEventListener("pointerup", stop);
    window.addEventListener("pointercancel", stop);
  }

  listenToTurn({ chart, across, upward }) {
    const { place } = this.views[chart];
    place.classList.add("live-turned");
    place.addEventListener("pointerdown", (start) => {
      start.preventDefault();
      const { width, height } = place.getBoundingClientRect();
      const began = { [across]: this.values[across], [upward]: this.values[upward] };
      this.follow((at) => {
        const turned = began[across] - (180 * (at.clientX - start.clientX)) / width;
        this.set({
          [across]: turned - 360 * Math.round(turned / 360),
          [upward]: began[upward] + (180 * (at.clientY - start.clientY)) / height,
        });
      });
    });
  }

  listen() {
    if (this.picture.turn) this.listenToTurn(this.picture.turn);
    this.views.forEach(({ view, place }, chart) => {
      const grabs = this.picture.grabs.filter((each) => each.chart === chart);
      if (!grabs.length) return;
      view.addEventListener("pointerdown", (event, item) => {
        const name = (item && item.mark.name) || "";
        const found = grabs.find(({ mark }) => name.startsWith(`${mark}_`));
        if (!found) return;
        event.preventDefault();
        const move = (at) => {
          const svg = place.querySelector("svg"), box = svg.getBoundingClientRect();
          const scale = svg.viewBox.baseVal.width / box.width, { left, top } = view.padding();
          const pixel = [(at.clientX - box.left) * scale - left, (at.clientY - box.top) * scale - top];
          const first = this.views[0].view;
          pixel.forEach((p, i) => first.signal(`grab_${"xy"[i]}`, view.scale("xy"[i]).invert(p)));
          first.runAsync().then(() => this.take(found.sets));
        };
        this.follow(move);
      });
      place.classList.add("live-grabbed");
    });
  }

  stop() {
    this.running = 0;
    this.sizes.disconnect();
    this.views.forEach(({ view }) => view.finalize());
  }

  fill() {
    if (document.fullscreenElement) document.exitFullscreen();
    else this.box.requestFullscreen();
  }
}
