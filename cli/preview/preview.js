// The page of `staveline preview`. What comes from the job goes into the page as text only; the sheets are SVG that the
// program's own writer made. Lengths come from the server, which prints them as the job does.
"use strict";
(() => {
  const SVG = "http://www.w3.org/2000/svg";
  const SNAP = 12; // px within which a measured point goes to a corner
  const SLIP = 4; // px that a click may slip before it is a drag
  const NARROW = matchMedia("(max-width: 860px)");
  const MOST = 60, LEAST = 0.25; // px to a mm of paper, and times the whole sheet
  const at = (id) => document.getElementById(`pv-${id}`);
  const stage = at("stage");
  let shown = null; // what the job was last drawn as
  let key = null; // which sheet
  let chosen = null; // which thing
  let page = null; // the svg that fills the stage
  const places = new Map(); // by sheet: {x, y: the paper point in the middle, k: px to a mm}
  let measure = null; // {from, to, done, cursor} while measuring

  function make(tag, text = "", attributes = {}) {
    const element = document.createElement(tag);
    element.textContent = text;
    for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
    return element;
  }
  function draw(tag, attributes, parent) {
    const element = document.createElementNS(SVG, tag);
    for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
    parent.append(element);
    return element;
  }

  // --- what the server says ----------------------------------------------------------------------------------------

  let busy = false, again = false;
  async function load() {
    if (busy) { again = true; return; }
    busy = true;
    try {
      do {
        again = false;
        const answer = await fetch("state.json");
        if (!answer.ok) throw new Error(String(answer.status));
        take(await answer.json());
      } while (again);
    } catch {
      lost(true);
    } finally {
      busy = false;
    }
  }

  function lost(yes) {
    at("status").classList.toggle("pv-lost", yes);
    if (yes) at("status").textContent = "The preview has ended, or is out of reach.";
  }

  function take(state) {
    alarm(state);
    lost(false);
    const next = state.shown;
    if (next) {
      const focus = document.activeElement;
      const back = focus && stage.contains(focus) && focus !== stage ? focus.dataset.thing : null;
      shown = next;
      if (!next.sheets.some((s) => s.key === key)) { key = next.sheets[0].key; endMeasure(); }
      if (chosen && !next.things[chosen]) chosen = null;
      head();
      tabs();
      sheet();
      card();
      findings();
      stale();
      if (back) [...stage.querySelectorAll(".pv-thing")].find((e) => e.dataset.thing === back)?.focus();
    }
    at("status").textContent = state.error ? (shown ? "Faults: shown as before." : "Faults: nothing to show yet.")
      : next && !next.complete ? "Drawn; board maps follow." : "Drawn as saved.";
    document.documentElement.dataset.number = state.number;
  }

  function alarm(state) {
    const box = at("alert");
    if (!state.error) { box.replaceChildren(); return; }
    const inner = make("div", "", { tabindex: "0", role: "group", "aria-label": "What is wrong with the file" });
    inner.append(make("strong", state.faults > 1 ? `${state.faults} things are wrong with the file` : "Something is wrong with the file"));
    const told = make("pre", "");
    // what is said may be folded; a line of the file may not, or its caret would point elsewhere
    for (const line of state.error.split(/(?<=\n)/)) told.append(make("span", line, line.startsWith("    ") ? {} : { class: "pv-said" }));
    inner.append(told);
    box.replaceChildren(inner);
  }

  function head() {
    const job = shown.job;
    document.title = `${job.number} ${job.title}`;
    at("number").textContent = job.number;
    at("title").textContent = job.title;
    at("revision").textContent = job.revision || "-";
    at("file").textContent = job.file;
    const graded = { stop: 0, ask: 0, note: 0 };
    for (const thing of listed()) graded[thing.grade] += 1;
    const counts = Object.entries(graded).filter(([, n]) => n).map(([grade, n]) => `${n} ${grade}`);
    at("tally").textContent = counts.join(", ") || "none";
  }

  const row = (thing, label) => (thing.rows.find(([name]) => name === label) || ["", ""])[1];
  const listed = () => Object.entries(shown.things).filter(([, t]) => t.kind === "finding")
    .map(([id, t]) => ({ id, number: t.name, title: t.title, grade: row(t, "grade"), found: row(t, "found") }));
  const current = () => shown.sheets.find((s) => s.key === key);

  // --- tabs --------------------------------------------------------------------------------------------------------

  function tabs() {
    const list = at("tabs");
    const focused = list.contains(document.activeElement);
    const scrolled = list.scrollLeft;
    list.replaceChildren(...shown.sheets.map((s) => {
      const mine = s.key === key;
      const tab = make("button", `${s.number} `, { type: "button", role: "tab", id: `pv-tab-${s.number}`, "aria-selected": mine, "aria-controls": "pv-panel", tabindex: mine ? "0" : "-1" });
      tab.append(make("bdi", s.title));
      tab.addEventListener("click", () => turn(s.key));
      return tab;
    }));
    list.scrollLeft = scrolled;
    const tab = list.querySelector("[aria-selected=true]");
    at("panel").setAttribute("aria-labelledby", tab.id);
    tab.scrollIntoView({ block: "nearest", inline: "nearest" });
    if (focused) tab.focus();
  }
  at("tabs").addEventListener("keydown", (event) => {
    const step = { ArrowLeft: -1, ArrowRight: 1, Home: -Infinity, End: Infinity }[event.key];
    if (step === undefined || !shown) return;
    event.preventDefault();
    turnBy(step);
  });
  function turn(to) {
    if (to === key) return;
    key = to;
    endMeasure();
    tabs();
    sheet();
  }
  function turnBy(step) {
    const from = shown.sheets.findIndex((s) => s.key === key);
    turn(shown.sheets[Math.max(0, Math.min(shown.sheets.length - 1, from + step))].key);
  }

  // --- the sheet ---------------------------------------------------------------------------------------------------

  function sheet() {
    const now = current();
    const drawn = document.importNode(new DOMParser().parseFromString(now.svg, "image/svg+xml").documentElement, true);
    page = document.createElementNS(SVG, "svg");
    page.setAttribute("role", "group");
    page.setAttribute("aria-label", `Sheet ${now.number} of ${now.of}, ${now.title}`);
    draw("rect", { class: "pv-sheet", width: now.width, height: now.height }, page);
    drawn.setAttribute("width", now.width);
    drawn.setAttribute("height", now.height);
    drawn.setAttribute("aria-hidden", "true");
    drawn.classList.add("pv-drawn");
    drawn.querySelectorAll("title").forEach((t) => { if (t.parentNode !== drawn) t.remove(); });
    drawn.querySelector("title")?.remove();
    page.append(drawn);
    things(drawn);
    draw("g", { class: "pv-over" }, page);
    stage.replaceChildren(page);
    if (!places.has(key)) fit(); else show();
    mark();
    drawMeasure();
  }

  // What can be clicked is copied over the drawing: large shapes below small ones, marks above all.
  function things(drawn) {
    const order = ["piece", "milled", "cutout", "joint", "mark", "flag"];
    const found = new Map();
    for (const element of drawn.querySelectorAll("[data-name]")) {
      const kind = element.getAttribute("class");
      if (!order.includes(kind) || !["path", "circle"].includes(element.localName)) continue;
      const thing = named(kind, element);
      if (!thing) continue;
      const layer = element.closest("g[id]")?.id || "";
      const id = `${order.indexOf(kind)} ${layer} ${thing} ${kind === "flag" || kind === "mark" ? found.size : ""}`;
      if (!found.has(id)) found.set(id, { kind, thing, elements: [] });
      found.get(id).elements.push(element);
    }
    const groups = [...found.values()].sort((a, b) => order.indexOf(a.kind) - order.indexOf(b.kind));
    for (const { kind, thing, elements } of groups) {
      const group = draw("g", { class: `pv-thing ${kind === "joint" ? "pv-line" : "pv-area"}` }, page);
      group.dataset.thing = thing;
      for (const element of elements) {
        const copy = element.cloneNode(false);
        for (const name of ["class", "data-name", "stroke", "stroke-width", "stroke-dasharray", "fill"]) copy.removeAttribute(name);
        group.append(copy);
        // strokes that close no outline are clicked on the line
        if (kind === "piece" && !/Z\s*$/.test(element.getAttribute("d") || "Z")) group.classList.replace("pv-area", "pv-line");
      }
      if (kind === "mark" || kind === "flag") group.classList.add("pv-small-mark");
      group.setAttribute("role", "button");
      group.setAttribute("tabindex", "0");
      group.setAttribute("aria-label", shown.things[thing].title);
    }
  }

  // Which thing a drawn shape stands for; the text beside a mark says which finding a triangle is of.
  function named(kind, element) {
    const name = element.getAttribute("data-name");
    const has = (k, n) => (Object.hasOwn(shown.things, `${k}:${n}`) ? `${k}:${n}` : null);
    if (kind === "flag") {
      let next = element.nextElementSibling;
      while (next && next.localName !== "text") next = next.nextElementSibling;
      const number = next?.getAttribute("data-name") === name ? next.textContent.trim() : "";
      return (/^\d+$/.test(number) && has("finding", number)) || has("cutout", name);
    }
    if (kind !== "mark") return has(kind, name);
    const kinds = element.localName === "circle" ? ["piece", "joint", "cutout", "milled"] : ["cutout", "milled", "joint", "piece"];
    return kinds.map((k) => has(k, name)).find(Boolean) || null;
  }

  // --- place and size ----------------------------------------------------------------------------------------------

  const size = () => ({ w: stage.clientWidth || 1, h: stage.clientHeight || 1 });
  const whole = () => { const { w, h } = size(), s = current(); return Math.min(w / s.width, h / s.height) * 0.97; };
  function fit() {
    const s = current();
    places.set(key, { x: s.width / 2, y: s.height / 2, k: whole(), fitted: true });
    show();
  }
  function show() {
    const { w, h } = size(), p = places.get(key), s = current();
    if (p.fitted) Object.assign(p, { x: s.width / 2, y: s.height / 2, k: whole() });
    p.x = Math.max(0, Math.min(s.width, p.x));
    p.y = Math.max(0, Math.min(s.height, p.y));
    page.setAttribute("viewBox", `${p.x - w / 2 / p.k} ${p.y - h / 2 / p.k} ${w / p.k} ${h / p.k}`);
    stage.dataset.view = JSON.stringify([p.x, p.y, p.k]);
    drawMeasure();
  }
  function paper(event) {
    const box = stage.getBoundingClientRect(), p = places.get(key), { w, h } = size();
    return [p.x + (event.clientX - box.left - stage.clientLeft - w / 2) / p.k, p.y + (event.clientY - box.top - stage.clientTop - h / 2) / p.k];
  }
  function zoom(by, around) {
    if (!shown) return;
    const p = places.get(key);
    const k = Math.max(whole() * LEAST, Math.min(MOST, p.k * by));
    const [x, y] = around || [p.x, p.y];
    Object.assign(p, { x: x + (p.x - x) * p.k / k, y: y + (p.y - y) * p.k / k, k, fitted: false });
    show();
  }
  function pan(dx, dy) {
    const p = places.get(key);
    Object.assign(p, { x: p.x - dx / p.k, y: p.y - dy / p.k, fitted: false });
    show();
  }
  at("in").addEventListener("click", () => zoom(1.4));
  at("out").addEventListener("click", () => zoom(1 / 1.4));
  at("fit").addEventListener("click", () => shown && fit());
  new ResizeObserver(() => shown && show()).observe(stage);

  stage.addEventListener("wheel", (event) => {
    if (!shown) return;
    event.preventDefault();
    const lines = event.deltaMode === 1 ? 16 : event.deltaMode === 2 ? 400 : 1;
    zoom(Math.exp(-Math.max(-300, Math.min(300, event.deltaY * lines)) * 0.0022), paper(event));
  }, { passive: false });

  const fingers = new Map();
  let slipped = false, pressed = null;
  stage.addEventListener("pointerdown", (event) => {
    if (!shown || event.button > 1) return;
    fingers.set(event.pointerId, event);
    if (fingers.size === 1) { slipped = false; pressed = event; } else slipped = true;
  });
  addEventListener("pointermove", (event) => {
    if (!shown) return;
    // a button let go outside the window was never told of
    if (event.pointerType === "mouse" && !event.buttons) fingers.delete(event.pointerId);
    const before = fingers.get(event.pointerId);
    if (!before) {
      if (measure && !measure.done && stage.contains(event.target)) point(paper(event));
      return;
    }
    if (fingers.size === 1) {
      if (!slipped && Math.hypot(event.clientX - pressed.clientX, event.clientY - pressed.clientY) < SLIP) return;
      slipped = true;
      stage.classList.add("pv-dragging");
      pan(event.clientX - before.clientX, event.clientY - before.clientY);
    } else {
      const other = [...fingers.entries()].find(([id]) => id !== event.pointerId)[1];
      const was = Math.hypot(before.clientX - other.clientX, before.clientY - other.clientY);
      const is = Math.hypot(event.clientX - other.clientX, event.clientY - other.clientY);
      pan((event.clientX - before.clientX) / 2, (event.clientY - before.clientY) / 2);
      if (was > 1 && is > 1) zoom(is / was, paper({ clientX: (event.clientX + other.clientX) / 2, clientY: (event.clientY + other.clientY) / 2 }));
    }
    fingers.set(event.pointerId, event);
  });
  for (const name of ["pointerup", "pointercancel"]) {
    addEventListener(name, (event) => { fingers.delete(event.pointerId); if (!fingers.size) stage.classList.remove("pv-dragging"); });
  }
  stage.addEventListener("click", (event) => {
    if (!shown || slipped) return;
    if (measure) { point(paper(event)); set(); return; }
    choose(event.target.closest?.(".pv-thing")?.dataset.thing || null);
  });

  document.addEventListener("keydown", (event) => {
    if (!shown || event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.key === "Escape") {
      if (measure) endMeasure(); else choose(null);
      return;
    }
    const inside = stage.contains(document.activeElement) || document.activeElement === document.body;
    if (!inside) return;
    const arrow = { ArrowLeft: [1, 0], ArrowRight: [-1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key];
    const thing = document.activeElement.dataset?.thing;
    let taken = true;
    if (measure && arrow) nudge(-arrow[0], -arrow[1], event.shiftKey);
    else if (measure && event.key === "Enter") { if (!measure.cursor) nudge(0, 0); set(); }
    else if (measure && /^n$/i.test(event.key)) nextCorner();
    else if (arrow) pan(arrow[0] * 60, arrow[1] * 60);
    else if (thing && (event.key === "Enter" || event.key === " ")) choose(thing);
    else if (event.key === "+" || event.key === "=") zoom(1.25);
    else if (event.key === "-" || event.key === "_") zoom(0.8);
    else if (event.key === "0") fit();
    else if (event.key === "[") turnBy(-1);
    else if (event.key === "]") turnBy(1);
    else if (/^m$/i.test(event.key)) toggleMeasure();
    else taken = false;
    if (taken) event.preventDefault();
  });

  // --- what is chosen ----------------------------------------------------------------------------------------------

  function choose(thing) {
    chosen = thing;
    // where the data stands below the sheet, a line on the sheet says what is there
    const now = thing && NARROW.matches ? shown.things[thing] : null;
    tell(now ? `${now.title}${now.told ? `, line ${now.told.line}` : ""}; more below the sheet` : "");
    mark();
    card();
    findings();
  }
  function mark() {
    for (const element of stage.querySelectorAll(".pv-thing")) {
      element.classList.toggle("pv-chosen", element.dataset.thing === chosen);
    }
  }
  function card() {
    const thing = chosen && shown.things[chosen];
    const box = at("chosen");
    if (!thing) { box.replaceChildren(make("p", "Click a piece, cutout, joint or finding on the sheet.")); return; }
    const out = make("div", "", { class: "pv-card" });
    const title = make("h3");
    title.append(make("bdi", thing.title));
    const rows = make("dl");
    for (const [label, text] of thing.rows) {
      const line = make("div"), value = make("dd", "", label === "paste" ? { class: "pv-paste" } : {});
      value.append(make("bdi", text));
      line.append(make("dt", label === "paste" ? "add to the job" : label), value);
      rows.append(line);
    }
    out.append(title, rows);
    const told = thing.told, source = make("div", "", { class: "pv-source" });
    if (told) {
      source.append(make("p", `line ${told.line} of the job file: ${told.label}`));
      const text = make("pre", "", { class: "pv-line-text" });
      for (const [number, line] of told.text) {
        text.append(make("span", `${number}  `), make("bdi", line), "\n");
      }
      source.append(text);
    } else source.append(make("p", "no one line of the job file tells it"));
    out.append(source);
    box.replaceChildren(out);
  }
  function findings() {
    const list = at("findings");
    const focused = list.contains(document.activeElement) ? document.activeElement.dataset.thing : null;
    const items = listed().map((f) => {
      const item = make("li", "", { class: `pv-${f.grade}` });
      const button = make("button", "", { type: "button", "aria-pressed": f.id === chosen });
      button.dataset.thing = f.id;
      const words = make("span");
      words.append(make("em", `${f.grade} `), make("bdi", f.found));
      button.append(make("span", f.number), words);
      button.addEventListener("click", () => choose(f.id));
      item.append(button);
      return item;
    });
    list.replaceChildren(...(items.length ? items : [make("li", "No findings; what the checks cannot see stays to be verified.")]));
    if (focused) [...list.querySelectorAll("button")].find((b) => b.dataset.thing === focused)?.focus();
  }

  // --- measuring ---------------------------------------------------------------------------------------------------

  at("measure").addEventListener("click", () => { toggleMeasure(); if (measure) stage.focus(); });
  function toggleMeasure() {
    if (measure) { endMeasure(); return; }
    if (!shown) return;
    measure = { from: null, cursor: null, done: false };
    stage.classList.add("pv-measuring");
    at("measure").setAttribute("aria-pressed", "true");
    tell("Measure: set the first point.");
  }
  function endMeasure() {
    if (!measure) return;
    measure = null;
    stage.classList.remove("pv-measuring");
    at("measure").setAttribute("aria-pressed", "false");
    tell("");
    drawMeasure();
  }
  const tell = (text) => { at("told").textContent = text; };

  // The view that a paper point lies in, the smallest if several do.
  function viewAt([x, y]) {
    const area = ({ box: b }) => (b[2] - b[0]) * (b[3] - b[1]);
    return current().views.filter(({ box: b }) => x >= b[0] - 2 && x <= b[2] + 2 && y >= b[1] - 2 && y <= b[3] + 2)
      .sort((a, b) => area(a) - area(b))[0] || null;
  }
  // Bring the moving point to a place on the paper, or to a corner near it.
  function point([x, y], snapping = true) {
    if (measure.done) return;
    const view = viewAt([x, y]), reach = SNAP / places.get(key).k;
    let best = null, least = reach;
    for (const [px, py] of snapping && view ? view.points : []) {
      const d = Math.hypot(px - x, py - y);
      if (d < least) { least = d; best = [px, py]; }
    }
    measure.cursor = { at: best || [x, y], view, snapped: Boolean(best) };
    if (measure.from) ask(measure.from, measure.cursor);
    drawMeasure();
  }
  function nudge(dx, dy, far = false) {
    const p = places.get(key), step = far ? 10 : 1;
    const [x, y] = measure.cursor && !measure.done ? measure.cursor.at : [p.x, p.y];
    if (measure.done) Object.assign(measure, { from: null, done: false });
    point([x + dx * step, y + dy * step], false);
    tell(measure.from ? at("told").textContent : "Measure: set the first point.");
  }
  function nextCorner() {
    const all = current().views.flatMap((v) => v.points);
    if (!all.length) return;
    if (measure.done) Object.assign(measure, { from: null, done: false });
    const [x, y] = measure.cursor ? measure.cursor.at : [-1, -1];
    const after = all.findIndex(([px, py]) => Math.hypot(px - x, py - y) < 1e-6);
    point(all[(after + 1) % all.length]);
  }
  function set() {
    if (measure.done) { Object.assign(measure, { from: null, done: false }); return set(); }
    const here = measure.cursor;
    if (!here?.view) { tell("No view is drawn there: set the point on a view."); return; }
    if (!measure.from) {
      measure.from = here;
      answered = ++asked; // what was asked for other points may answer late
      tell("Measure: set the second point.");
    } else if (measure.from.view === here.view) {
      measure.to = here;
      measure.done = true;
      ask(measure.from, here);
    } else tell("The two points lie in different views, which stand beside each other on paper only.");
    drawMeasure();
  }
  let asked = 0, answered = 0;
  async function ask(from, to) {
    if (from.view !== to.view || !to.view) return;
    const [dx, dy] = [0, 1].map((n) => Math.abs(to.at[n] - from.at[n]) / to.view.scale);
    const mine = ++asked;
    try {
      const answer = await fetch(`lengths.json?${[Math.hypot(dx, dy), dx, dy].map((v) => `mm=${v.toFixed(6)}`).join("&")}`);
      const [length, along, up] = await answer.json();
      if (mine < answered || !measure) return;
      answered = mine;
      tell(`${length}; ${along} along, ${up} across the sheet`);
    } catch {
      lost(true);
    }
  }
  function drawMeasure() {
    const over = page?.querySelector(".pv-over");
    if (!over) return;
    over.replaceChildren();
    if (!measure) return;
    const r = 5 / places.get(key).k;
    const cross = (p) => draw("path", { d: `M ${p.at[0] - 2 * r} ${p.at[1]} h ${4 * r} M ${p.at[0]} ${p.at[1] - 2 * r} v ${4 * r}` }, over);
    const to = measure.done ? measure.to : measure.cursor;
    if (measure.from) cross(measure.from);
    if (measure.from && to) draw("path", { d: `M ${measure.from.at.join(" ")} L ${to.at.join(" ")}` }, over);
    if (to) {
      cross(to);
      if (to.snapped) draw("circle", { class: "pv-near", cx: to.at[0], cy: to.at[1], r: 1.6 * r }, over);
    }
  }

  // --- files -------------------------------------------------------------------------------------------------------

  let listedFor = null;
  at("files-make").addEventListener("click", async () => {
    if (!shown) return;
    const button = at("files-make"), of = shown.digest;
    button.disabled = true;
    at("files-note").textContent = "Making them.";
    try {
      const answer = await fetch("files.json");
      if (!answer.ok) throw new Error(String(answer.status));
      const names = await answer.json();
      at("files").replaceChildren(...names.map((name) => {
        const item = make("li"), link = make("a", "", { href: `files/${name.split("/").map(encodeURIComponent).join("/")}`, download: "" });
        link.append(make("bdi", name));
        item.append(link);
        return item;
      }));
      listedFor = of;
      at("files-note").textContent = "As the job was last drawn. A piece with a stop finding has no cut file.";
      stale();
    } catch {
      at("files-note").textContent = "They could not be made.";
    } finally {
      button.disabled = false;
    }
  });
  // A list of an earlier drawing might name what is no longer made.
  function stale() {
    if (!listedFor || listedFor === shown.digest) return;
    listedFor = null;
    at("files").replaceChildren();
    at("files-note").textContent = "The job was drawn anew: make the files again.";
  }

  const news = new EventSource("events");
  news.addEventListener("message", load);
  news.addEventListener("error", () => lost(true));
})();
