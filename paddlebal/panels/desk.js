// The desk in a browser: it draws the form and the grid, sends every change to the kernel, and
// shows what the kernel answers. It computes nothing and keeps nothing.

const SILENT = 6000, BEAT = 2500;

function render({ model, el }) {
  let page = null, words = {}, serial = 0, answered = Date.now(), dead = false, ended = false;
  let begun = false;  // a new paddle was asked for: its name comes next
  const inputs = new Map(), sent = new Map();
  const root = make("div", { class: "paddlebal paddlebal-desk" });
  el.append(root);

  function send(message, buffers) {
    serial += 1;
    model.send({ serial, ...message }, undefined, buffers ?? []);
    return serial;
  }

  // Edits that the kernel has not answered yet, each with the message that carried it.
  function edit(name, text) {
    sent.set(name, { text, serial: send({ kind: "edit", texts: { [name]: text } }) });
    status();
  }

  function status() {
    const line = root.querySelector(".desk-status");
    if (!line || !page) return;
    const [kind, text] = dead ? ["lost", words.dead]
      : sent.size ? ["", words.keeping]
      : [page.kept.ok ? "" : "lost", page.kept.words];
    if (line.textContent !== text) line.textContent = text;
    line.className = `desk-status ${kind}`;
    root.querySelectorAll("input, select, button.acts").forEach((each) => {
      if (each.tagName === "INPUT") each.readOnly = dead;
      else each.disabled = dead || (each.dataset.off === "yes");
    });
  }

  function labelled(field) {
    const id = `desk-${model.model_id ?? "x"}-${field.name}`.replace(/[^\w-]/g, "");
    let input;
    if (field.kind === "choice") {
      input = make("select", { id }, ...field.choices.map(([value, label]) =>
        make("option", { value }, label)));
    } else {
      const numeric = field.kind === "number";
      input = make("input", { id, type: "text", autocomplete: "off",
        inputmode: numeric ? "decimal" : false,
        placeholder: field.optional && field.name !== "name" ? words.unknown : false,
        "aria-describedby": `${id}-note` });
    }
    input.addEventListener("change", () => edit(field.name, input.value));
    if (field.kind !== "choice") input.addEventListener("keydown", (event) => {
      if (event.key === "Enter") onward(input);
    });
    inputs.set(field.name, input);
    const unit = make("span", { class: "unit", "data-unit": field.unit },
      field.unit === "deg" ? "°" : field.unit === "scale" ? "g" : field.unit);
    const note = make("span", { class: "note", id: `${id}-note` });
    note.dataset.help = field.help;
    input.note = note;
    return make("div", { class: "field" }, make("label", { for: id }, field.label),
      make("span", { class: "box" }, input, unit), note);
  }

  function onward(input) {
    const all = [...root.querySelectorAll("input.pull, .field input, .field select, .desk-mass")]
      .filter((each) => each.checkVisibility());
    const following = all[all.indexOf(input) + 1];
    if (following) { following.focus(); following.select?.(); } else input.blur();
  }

  function build(answer) {
    words = answer.words;
    inputs.clear();
    const part = (each) => {
      const body = make("div", { class: "fields" }, ...each.fields.map(labelled));
      return each.folded
        ? make("details", { class: "part" }, make("summary", {}, each.title), body)
        : make("section", { class: "part" }, make("h2", {}, each.title), body);
    };
    const file = make("input", { type: "file", hidden: true,
      accept: ".csv,.tsv,.txt,.xlsx,.ods,.toml" });
    file.addEventListener("change", async () => {
      const [chosen] = file.files;
      if (chosen) send({ kind: "file", name: chosen.name }, [await chosen.arrayBuffer()]);
      file.value = "";
    });
    const film = make("input", { type: "file", hidden: true, multiple: true,
      accept: "video/*,.mp4,.mov,.m4v" });
    film.addEventListener("change", () => {
      coming.push(...film.files);
      film.value = "";
      nextFilm();
    });
    const search = make("input", { type: "search", "aria-label": words.search,
      placeholder: words.search });
    search.addEventListener("input", () => send({ kind: "search", words: search.value }));
    search.addEventListener("focus", () => send({ kind: "search", words: search.value }));
    const language = make("select", { "aria-label": words.language },
      ...answer.languages.map(([code, name]) => make("option",
        { value: code, selected: code === answer.language, lang: code }, name)));
    language.addEventListener("change", () => send({ kind: "language", code: language.value }));
    const acts = (kind, label, more = {}) => make("button",
      { type: "button", class: "acts", onclick: () => send({ kind }), ...more }, label);
    root.replaceChildren(
      make("div", { class: "desk-top", lang: answer.language },
        acts("new", words.new, { onclick: () => { begun = true; send({ kind: "new" }); } }), make("div", { class: "desk-find" }, search,
          make("div", { class: "desk-list" })),
        make("button", { type: "button", class: "acts", onclick: () => file.click() }, words.bring),
        file, make("button", { type: "button", class: "acts desk-film",
          onclick: () => film.click() }, words.film), film, make("label", { class: "desk-language" }, words.language + " ", language)),
      make("p", { class: "desk-status", role: "status" }),
      make("div", { class: "desk-notices", role: "alert" }),
      make("div", { class: "desk-question" }),
      make("div", { class: "desk-columns", lang: answer.language },
        make("div", { class: "desk-left" }, ...answer.parts.map(part)),
        make("div", { class: "desk-middle" },
          make("section", { class: "part" }, make("h2", {}, words.readings),
            make("p", { class: "desk-next", "aria-live": "polite" }),
            make("div", { class: "desk-coming", role: "status" }),
            make("div", { class: "desk-films" }),
            make("table", { class: "desk-grid" }),
            make("p", { class: "desk-hint" }, words.hint)),
          make("section", { class: "part desk-on" })),
        make("div", { class: "desk-right" },
          make("div", { class: "desk-verdict", "aria-live": "polite" }),
          make("div", { class: "desk-pictures" }),
          make("div", { class: "desk-numbers" }),
          make("p", { class: "desk-buttons" },
            acts("sheet", words.sheet, { "data-name": "sheet" }),
            acts("form", page.form, { "data-name": "form" }), acts("files", words.files)),
          make("details", { class: "part desk-preview" },
            make("summary", {}, words.preview), make("div", {})),
          make("details", { class: "part desk-history" },
            make("summary", {}, words.history), make("div", {})))));
    root.querySelector(".desk-preview").addEventListener("toggle", (event) =>
      send({ kind: "preview", open: event.target.open }));
    root.querySelector(".desk-history").addEventListener("toggle", (event) =>
      send({ kind: "history", open: event.target.open }));
    root.querySelector(".desk-find").addEventListener("keydown", (event) => {
      if (event.key === "Escape") { fill(".desk-list", ""); search.blur(); }
    });
    grid();
  }

  function fill(selector, html) {
    const target = root.querySelector(selector);
    if (target && target.shown !== html) { target.innerHTML = html; target.shown = html; }
  }

  function grid() {
    const table = root.querySelector(".desk-grid");
    const columns = page.columns;
    table.replaceChildren(
      make("caption", {}, page.caption),
      make("thead", {}, make("tr", {}, make("th", { scope: "col" }, "#"),
        ...columns.map((each) => make("th", { scope: "col" }, each.label)))),
      make("tbody"));
    table.kind = page.grid_kind;
    for (const name of [...inputs.keys()].filter((each) => each.includes("/"))) inputs.delete(name);
    rows();
  }

  function rows() {
    const body = root.querySelector(".desk-grid tbody");
    while (body.rows.length > page.rows) {
      page.columns.forEach((column) =>
        inputs.delete(`${page.grid}/${body.rows.length - 1}/${column.name}`));
      body.lastElementChild.remove();
    }
    while (body.rows.length < page.rows) {
      const row = body.rows.length;
      body.append(make("tr", {}, make("th", { scope: "row" }, String(row + 1)),
        ...page.columns.map((column) => make("td", {}, cell(row, column)))));
    }
  }

  function cell(row, column) {
    const name = `${page.grid}/${row}/${column.name}`;
    const label = words.cell.replace("{row}", row + 1).replace("{column}", column.label);
    if (column.choices) {
      const input = make("select", { "aria-label": label }, ...column.choices.map(([value, text]) =>
        make("option", { value }, text)));
      input.addEventListener("change", () => edit(name, input.value));
      inputs.set(name, input);
      return input;
    }
    const input = make("input", { type: "text", inputmode: "decimal", autocomplete: "off",
      "aria-label": label, class: column.name === "angle" ? "angle" : "pull" });
    const note = make("span", { class: "note" });
    input.note = note;
    input.addEventListener("change", () => edit(name, input.value));
    input.addEventListener("keydown", (event) => move(event, input, row, column.name));
    input.addEventListener("paste", (event) => {
      const text = event.clipboardData.getData("text");
      if (!/[\t\n;]/.test(text.trim())) return;
      event.preventDefault();
      send({ kind: "paste", row, column: column.name, text });
    });
    inputs.set(name, input);
    return make("span", { class: "cell" }, input, note);
  }

  function move(event, input, row, column) {
    const step = { ArrowUp: -1, ArrowDown: 1 }[event.key];
    if (step) {
      const other = inputs.get(`${page.grid}/${row + step}/${column}`);
      if (other) { event.preventDefault(); other.focus(); other.select(); }
    } else if (event.key === "Enter") {
      event.preventDefault();
      const pulls = [...root.querySelectorAll(column === "angle" ? "input.pull, input.angle" : "input.pull")];
      const following = pulls[pulls.indexOf(input) + 1];
      if (following) { following.focus(); following.select(); } else input.blur();
    }
  }

  function show(answer) {
    page = answer;
    if (!root.querySelector(".desk-status") || answer.parts) build(answer);
    const table = root.querySelector(".desk-grid");
    if (table.kind !== page.grid_kind) grid(); else rows();
    films();
    for (const [name, { serial: last }] of sent) if (last <= page.serial) sent.delete(name);
    for (const [name, input] of inputs) {
      const text = page.texts[name] ?? "";
      const busy = document.activeElement === input && input.tagName === "INPUT" && input.value !== (input.was ?? "");
      if (!sent.has(name) && !busy && input.value !== text) input.value = text;
      if (!busy) input.was = text;
      const problem = page.troubles[name] ?? "";
      input.setAttribute("aria-invalid", problem ? "true" : "false");
      if (input.note) {
        const words = problem || input.note.dataset.help || "";
        if (input.note.textContent !== words) input.note.textContent = words;
        input.note.classList.toggle("wrong", Boolean(problem));
      }
      if (name.endsWith("/angle")) input.placeholder = page.proposed[name] ?? "";
    }
    root.querySelectorAll("[data-unit='scale']").forEach((each) => { each.textContent = page.unit; });
    hide();
    fill(".desk-next", page.next);
    fill(".desk-verdict", page.verdict);
    fill(".desk-pictures", page.pictures);
    fill(".desk-numbers", page.numbers);
    fill(".desk-history > div", page.history);
    notices();
    preview();
    on();
    const sheet = root.querySelector("[data-name='sheet']");
    sheet.dataset.off = page.sheet ? "no" : "yes";
    status();
    if (begun && answer.parts) { begun = false; inputs.get("name").focus(); }
  }

  // Fields that do not count now are not shown, nor a part of which none counts.
  function hide() {
    for (const [name, input] of inputs) {
      const field = input.closest(".field");
      if (field) field.hidden = page.hidden.includes(name);
    }
    root.querySelectorAll(".desk-left .part").forEach((part) => {
      part.hidden = [...part.querySelectorAll(".field")].every((each) => each.hidden);
    });
    const filmed = page.films !== null;
    root.querySelector(".desk-film").hidden = !filmed;
    root.querySelector(".desk-grid").hidden = root.querySelector(".desk-hint").hidden = filmed;
    root.querySelector("[data-name='form']").textContent = page.form;
  }

  function films() {
    const box = root.querySelector(".desk-films");
    const key = JSON.stringify([page.films, words.drop]);
    if (box.key === key) return;
    box.key = key;
    for (const name of [...inputs.keys()].filter((each) => each.startsWith("film")))
      if (name.includes("/")) inputs.delete(name);
    box.replaceChildren(...(page.films ?? []).map((each, index) =>
      make("fieldset", { class: "film" },
        make("legend", {}, `${index + 1}. ${each.name}`),
        make("p", { class: "note" }, each.words),
        ...each.fields.map(labelled),
        make("button", { type: "button", class: "acts",
          onclick: () => send({ kind: "drop film", row: each.row }) }, words.drop))));
  }

  // Films come one after the other, each in pieces; the kernel asks for the next piece or step.
  let coming = [], film = null;
  const PIECE = 1 << 20;

  function nextFilm() {
    if (film || !coming.length) return;
    film = coming.shift();
    send({ kind: "film", name: film.name, size: film.size });
  }

  async function filmStep(answer) {
    const box = root.querySelector(".desk-coming");
    if (!answer.words) {
      film = null;
      box.replaceChildren();
      nextFilm();
      return;
    }
    if (!box.firstChild) {
      box.append(make("progress", { max: 1, "aria-label": answer.words }), make("span"),
        make("button", { type: "button", class: "acts",
          onclick: () => { coming = []; send({ kind: "no film" }); } }, words.stop));
    }
    box.querySelector("progress").value = answer.share;
    box.querySelector("span").textContent = ` ${answer.words} `;
    if (!film) return;
    if (answer.more) {
      const piece = await film.slice(answer.there, answer.there + PIECE).arrayBuffer();
      if (film) send({ kind: "film part" }, [piece]);
    } else send({ kind: "film on" });
  }

  function notices() {
    const box = root.querySelector(".desk-notices");
    const key = JSON.stringify(page.notices);
    if (box.key === key) return;
    box.key = key;
    box.replaceChildren(...page.notices.map((each) => make("p", {}, each.words + " ",
      ...(each.texts ? [make("button", { type: "button", class: "acts",
        onclick: () => send({ kind: "edit", texts: each.texts }) }, each.button)] : []))));
  }

  function preview() {
    const box = root.querySelector(".desk-preview > div");
    if (box.shown === page.preview) return;
    box.shown = page.preview;
    box.replaceChildren();
    if (!page.preview) return;
    const frame = make("iframe", { title: words.preview, sandbox: "allow-modals allow-same-origin",
      srcdoc: page.preview });
    const print = make("button", { type: "button", class: "acts",
      onclick: () => frame.contentWindow.print() }, words.print);
    box.append(print, frame);
  }

  function on() {
    const box = root.querySelector(".desk-on");
    const key = JSON.stringify(page.on);
    if (box.key === key) return;
    box.key = key;
    box.replaceChildren();
    if (!page.on) return;
    box.append(make("h2", {}, page.on.title), make("p", {}, page.on.words));
    if (page.on.stage === "planned") {
      const mass = make("input", { type: "text", inputmode: "decimal", class: "desk-mass",
        value: page.on.mass, "aria-label": words.grams });
      const go = () => send({ kind: "mounted", mass: mass.value });
      mass.addEventListener("keydown", (event) => { if (event.key === "Enter") go(); });
      box.append(make("p", {}, make("button", { type: "button", class: "acts strong", onclick: go },
        words.mounted), " ", mass, " g"));
      return;
    }
    box.append(make("fieldset", { class: "eight" }, make("legend", {}, page.on.eight),
      ...page.on.angles.map(([name, label, choices]) => {
        const input = make("select", { "aria-label": label },
          ...choices.map(([value, text]) => make("option", { value }, text)));
        input.value = page.texts[name] ?? "";
        input.addEventListener("change", () => edit(name, input.value));
        inputs.set(name, input);
        return make("label", {}, label + " ", input);
      })));
    if (page.on.result) box.append(make("p", { class: "strong", role: "status" }, page.on.result));
    box.append(make("button", { type: "button", class: "acts", onclick: () => send({ kind: "taken off" }) },
      words.off));
  }

  function ask(question) {
    const box = root.querySelector(".desk-question");
    if (!question) { box.replaceChildren(); return; }
    const choosers = question.columns.map((column, index) => {
      const role = make("select", { "aria-label": `${column.title}: ${words.means}` },
        ...question.roles.map(([value, text]) => make("option", { value }, text)));
      role.value = column.role;
      const unit = make("select", { "aria-label": `${column.title}: ${words.unit}` },
        ...question.units.map(([value, text]) => make("option", { value }, text)));
      unit.value = column.unit;
      return { role, unit, index };
    });
    const mark = question.mark && make("select", { "aria-label": question.mark.words },
      ...question.mark.choices.map(([value, text]) => make("option", { value }, text)));
    const use = make("button", { type: "button", class: "acts strong", onclick: () => {
      send({ kind: "columns", mark: mark ? mark.value : null,
        columns: choosers.map(({ role, unit }) => [role.value, unit.value]) });
    } }, words.use);
    box.replaceChildren(make("section", { class: "part", role: "dialog", "aria-label": question.title },
      make("h2", {}, question.title), make("p", {}, question.words),
      ...(mark ? [make("p", {}, question.mark.words + " ", mark)] : []),
      make("div", { class: "scrolls", tabindex: "0" }, make("table", {},
        make("thead", {},
          make("tr", {}, ...question.columns.map((each) => make("th", { scope: "col" }, each.title))),
          make("tr", {}, ...choosers.map(({ role, unit }) => make("td", {}, role, " ", unit)))),
        make("tbody", {}, ...question.rows.map((row) =>
          make("tr", {}, ...row.map((text) => make("td", {}, text))))))),
      make("p", {}, use, " ", make("button", { type: "button", class: "acts",
        onclick: () => { send({ kind: "no columns" }); } }, words.leave))));
    use.focus();
  }

  function list(found) {
    const box = root.querySelector(".desk-list");
    box.shown = null;
    box.replaceChildren(make("ul", {}, ...found.entries.map(([id, name, time]) =>
      make("li", {}, make("button", { type: "button", onclick: () => {
        box.replaceChildren();
        send({ kind: "choose", entry: id });
      } }, name, make("small", {}, " " + time))))),
      make("p", {}, found.words));
  }

  function receive(message, buffers) {
    answered = Date.now();
    if (dead) { dead = false; }
    if (message.kind === "page") show(message);
    if (message.kind === "list") list(message);
    if (message.kind === "question") ask(message.question);
    if (message.kind === "film") filmStep(message);
    if (message.kind === "file") message.files.forEach(([name, type], index) =>
      download(root, name, type, buffers[index]));
    if (message.kind === "alive") status();
  }
  model.on("msg:custom", receive);

  // A kernel that is gone does not say so: it is asked.
  let asked = Date.now();
  const beat = setInterval(() => {
    if (ended) return;
    if (!el.isConnected) return;
    const now = Date.now();
    if (now - asked > 3 * BEAT) answered = now;  // the page itself slept
    asked = now;
    if (page && now - answered > SILENT && !dead) { dead = true; status(); }
    if (!document.hidden) { try { send({ kind: "beat" }); } catch { dead = true; status(); } }
  }, BEAT);

  // Leaving the page with something typed and not sent asks first.
  const leave = (event) => { if (sent.size && !dead) event.preventDefault(); };
  window.addEventListener("beforeunload", leave);
  document.addEventListener("click", closeList);
  function closeList(event) {
    if (!root.querySelector(".desk-find")?.contains(event.target)) {
      const box = root.querySelector(".desk-list");
      if (box?.firstChild) box.replaceChildren();
    }
  }
  send({ kind: "open" });
  return () => {
    ended = true;
    clearInterval(beat);
    model.off("msg:custom", receive);
    window.removeEventListener("beforeunload", leave);
    document.removeEventListener("click", closeList);
  };
}

export default { render };
