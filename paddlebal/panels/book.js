// The book in a browser: it draws the list and asks the kernel; it computes nothing and keeps nothing.

const SILENT = 20000;

function render({ model, el }) {
  let labels = {}, page = null, waiting = null, typed = null;
  const root = make("div", { class: "paddlebal paddlebal-desk paddlebal-book" });
  el.append(root);

  function send(message, buffers) {
    model.send(message, undefined, buffers ?? []);
    clearTimeout(waiting);
    waiting = setTimeout(() => say(labels.dead ?? "…"), SILENT);
  }

  function say(words) {
    const box = root.querySelector(".book-told");
    if (box && box.textContent !== words) box.textContent = words;
  }

  const acts = (label, action, more = {}) =>
    make("button", { type: "button", class: "acts", onclick: action, ...more }, label);
  const part = (title, ...children) =>
    make("section", { class: "part" }, make("h2", {}, title), ...children);

  function build(answer) {
    labels = answer.labels;
    const search = make("input", { type: "search", "aria-label": labels.search,
      placeholder: labels.search, value: answer.words ?? "" });
    search.addEventListener("input", () => {
      clearTimeout(typed);
      typed = setTimeout(() => send({ kind: "search", words: search.value }), 120);
    });
    const language = make("select", { "aria-label": labels.language },
      ...answer.languages.map(([code, name]) => make("option",
        { value: code, selected: code === answer.language, lang: code }, name)));
    language.addEventListener("change", () => send({ kind: "language", code: language.value }));
    const file = make("input", { type: "file", hidden: true, multiple: true,
      accept: ".sqlite,.toml,.csv,.xlsx,.ods" });
    file.addEventListener("change", async () => {
      const files = [...file.files];
      const contents = await Promise.all(files.map((each) => each.arrayBuffer()));
      file.value = "";
      if (files.length) send({ kind: "bring", names: files.map((each) => each.name) }, contents);
    });
    const people = make("input", { type: "checkbox", class: "book-people" });
    const named = () => people.checked;
    const kinds = make("select", { "aria-label": labels.pictures, class: "book-kinds" },
      ...labels.kinds.map(([value, text]) => make("option", { value }, text)));
    kinds.addEventListener("change", () => send({ kind: "picture", name: kinds.value }));
    const persons = make("select", { "aria-label": labels.person, class: "book-persons" });
    const erase = acts(labels.erase, () => {
      if (persons.value && confirm(labels.sure.replace("{name}", persons.value)))
        send({ kind: "erase", name: persons.value });
    });
    root.lang = answer.language;
    root.replaceChildren(
      make("div", { class: "book-bar" }, search, make("span", { class: "book-count", role: "status" }),
        acts(labels.back, () => send({ kind: "turn", by: -1 }), { "data-name": "back" }),
        acts(labels.on, () => send({ kind: "turn", by: 1 }), { "data-name": "on" }),
        make("label", { class: "plain" }, labels.language + " ", language)),
      make("p", { class: "book-told", role: "status" }),
      make("div", { class: "book-list", tabindex: "0", role: "region", "aria-label": labels.search },
        make("table", {},
          make("thead", {}, make("tr", {}, make("th"), ...labels.heads.map(([name, text]) =>
            make("th", { scope: "col", "data-order": name },
              acts(text, () => send({ kind: "sort", order: name }), { class: "" }))))),
          make("tbody"))),
      make("div", { class: "book-bar" }, make("span", { class: "book-ticked" }),
        acts(labels.next, () => send({ kind: "next", entry: lastTicked() }), { "data-name": "next" }),
        acts(labels.untick, () => send({ kind: "untick" }), { "data-name": "untick" })),
      make("div", { class: "book-columns" },
        make("div", {},
          part(labels.pictures, kinds, make("div", { class: "book-drawn" })),
          part(labels.compare, make("div", { class: "book-compare", tabindex: "0" }))),
        make("div", {},
          part(labels.models, make("p", { class: "desk-hint" }, labels.models_hint),
            make("div", { class: "book-models", tabindex: "0" })),
          part(labels.out,
            make("label", { class: "plain" }, people, labels.people),
            make("div", { class: "book-bar" },
              acts(labels.csv, () => send({ kind: "table", form: "csv", people: named() })),
              acts(labels.comma, () => send({ kind: "table", form: "csv comma", people: named() })),
              acts(labels.xlsx, () => send({ kind: "table", form: "xlsx", people: named() })),
              acts(labels.files, () => send({ kind: "files", people: named() })),
              acts(labels.backup, () => send({ kind: "backup" })))),
          part(labels.in, acts(labels.bring, () => file.click()), file,
            make("p", { class: "desk-hint" }, labels.bring_hint)),
          part(labels.person, make("div", { class: "book-bar" }, persons, erase)))));
  }

  const lastTicked = () => page.rows.filter((each) => each.ticked).pop()?.entry ?? "";

  function show(answer) {
    page = answer;
    if (answer.labels) build(answer);
    say(page.told);
    if (!page.order) return;
    root.querySelector(".book-count").textContent = page.count;
    root.querySelectorAll("th[data-order]").forEach((head) => {
      const own = head.dataset.order === page.order;
      if (own) head.setAttribute("aria-sort", page.falling ? "descending" : "ascending");
      else head.removeAttribute("aria-sort");
      const button = head.querySelector("button");
      button.textContent = button.textContent.replace(/ [▲▼]$/, "") + (own ? (page.falling ? " ▼" : " ▲") : "");
    });
    list();
    const off = (name, value) => { root.querySelector(`[data-name=${name}]`).disabled = value; };
    off("back", page.first); off("on", page.last);
    off("next", page.rows.filter((each) => each.ticked).length !== 1);
    off("untick", !page.ticked);
    root.querySelector(".book-ticked").textContent = labels.ticked.replace("{count}", page.ticked);
    root.querySelector(".book-kinds").value = page.picture;
    // These come only when they have changed.
    if ("drawn" in page) root.querySelector(".book-drawn").innerHTML = page.drawn;
    if ("compared" in page) {
      const box = root.querySelector(".book-compare");
      if (page.compared) box.innerHTML = page.compared;
      else box.replaceChildren(make("p", { class: "desk-hint" }, labels.compare_hint));
    }
    if ("models" in page) models();
    if ("people" in page) root.querySelector(".book-persons").replaceChildren(
      make("option", { value: "" }, "–"),
      ...page.people.map((name) => make("option", { value: name }, name)));
  }

  function list() {
    const body = root.querySelector(".book-list tbody");
    const focus = document.activeElement?.closest?.("tr[data-entry]")?.dataset.entry;
    const column = document.activeElement?.type === "checkbox" ? "input" : "td button";
    body.replaceChildren(...page.rows.map((row) => {
      const [name, ...cells] = row.cells;
      const tick = make("input", { type: "checkbox", "aria-label": labels.tick.replace("{name}", name) });
      tick.checked = row.ticked;
      tick.addEventListener("change", () => send({ kind: "tick", entry: row.entry, on: tick.checked }));
      return make("tr", { "data-entry": row.entry }, make("td", {}, tick),
        make("td", {}, acts(name, () => send({ kind: "desk", entry: row.entry }),
          { class: "", title: labels.desk })),
        ...cells.map((text) => make("td", {}, text)));
    }));
    if (!page.rows.length) body.append(make("tr", {}, make("td", { colspan: 10 }, labels.empty)));
    if (focus) body.querySelector(`tr[data-entry="${CSS.escape(focus)}"] ${column}`)?.focus();
  }

  function models() {
    root.querySelector(".book-models").replaceChildren(make("table", {},
      make("thead", {}, make("tr", {}, ...labels.columns.map((text) => make("th", { scope: "col" }, text)))),
      make("tbody", {}, ...page.models.map((each) => make("tr", {},
        make("td", {}, acts(each.model, () => find(each.model), { title: labels.only })),
        make("td", {}, each.size), make("td", {}, String(each.count)),
        make("td", {}, each.words))))));
  }

  function find(words) {
    const search = root.querySelector("input[type=search]");
    search.value = words;
    send({ kind: "search", words });
  }

  function go() {
    const there = location.pathname.replace(/[^/]*\.ipynb.*$/, "00_desk.ipynb");
    if (there !== location.pathname) location.assign(there + location.search);
  }

  function receive(message, buffers) {
    clearTimeout(waiting);
    if (message.kind === "page") show(message);
    if (message.kind === "busy") say(message.words);
    if (message.kind === "go") go();
    if (message.kind === "file") message.files.forEach(([name, type], index) =>
      download(root, name, type, buffers[index]));
  }
  model.on("msg:custom", receive);
  send({ kind: "open" });
  return () => { clearTimeout(waiting); clearTimeout(typed); model.off("msg:custom", receive); };
}

export default { render };
