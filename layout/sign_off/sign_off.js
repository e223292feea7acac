(function () {
  "use strict";

  const SVG = "http://www.w3.org/2000/svg";
  const facts = JSON.parse(document.getElementById("facts").textContent);
  const el = (id) => document.getElementById(id);
  const stage = el("stage"), dialog = el("wording"), words = el("words");
  const figures = [...document.querySelectorAll(".sheet")];
  const KINDS = { note: "Note", line: "Line", freehand: "Free-hand", text: "Text" };
  const KEYS = { m: "move", n: "note", l: "line", f: "freehand", t: "text" };
  const CLOSEST = 40, REACH = 2.5;
  const LIMIT = 2000; // points of one stroke
  const MOST_MARKS = 1000, MOST_BYTES = 4 * 1024 * 1024; // of a file, as far as it is read when it comes back

  const state = { marks: [], answers: {}, decision: "", name: "", date: "", signature: [] };
  const past = [], ahead = [];
  const views = new Map(); // by sheet: how far it is zoomed (k) and moved (x, y, in units of the sheet)
  let sheet = 0, tool = "move", cross = null, begun = null, picked = -1, wordsFor = null;

  const round = (p) => [Math.round(p[0] * 100) / 100, Math.round(p[1] * 100) / 100];
  const make = (name, attributes, parent) => {
    const made = document.createElementNS(SVG, name);
    for (const key in attributes) made.setAttribute(key, attributes[key]);
    if (parent) parent.appendChild(made);
    return made;
  };
  const path = (points) => "M " + points.map((p) => p.join(" ")).join(" L ") + (points.length === 1 ? " h 0.01" : "");
  const apart = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1]);
  const number = (n) => Number(figures[n].dataset.sheet);
  const svg = () => figures[sheet].querySelector("svg");
  const paper = () => figures[sheet].querySelector(".paper");
  const size = () => [svg().viewBox.baseVal.width, svg().viewBox.baseVal.height];

  function say(text) {
    el("said").textContent = "";
    setTimeout(() => { el("said").textContent = text; }, 30);
  }

  // --- what is kept over a reload -------------------------------------------------------------------------------------

  const slot = ["staveline-sign-off", facts.number, facts.revision, facts.digest].join(":");
  let keeps = true;

  function keep() {
    try {
      localStorage.setItem(slot, JSON.stringify(state));
    } catch (_) {
      keeps = false;
    }
    el("kept").textContent = keeps
      ? "What you enter is kept in this browser, on this device, until you clear it."
      : "This browser keeps nothing: what you enter is lost when the page is closed. Save before you close it.";
  }

  const isPoint = (p) => Array.isArray(p) && p.length === 2 && p.every(Number.isFinite);
  const isStroke = (s) => Array.isArray(s) && s.length > 0 && s.length <= LIMIT && s.every(isPoint);
  const isMark = (m) => m && Object.hasOwn(KINDS, m.kind) && figures.some((f) => Number(f.dataset.sheet) === m.sheet)
    && isStroke(m.points) && m.points.length >= (m.kind === "text" ? 1 : 2) && typeof m.text === "string";

  function recall() {
    let found = null;
    try {
      found = JSON.parse(localStorage.getItem(slot) || "null");
    } catch (_) {
      found = null;
    }
    if (!found || typeof found !== "object") return;
    if (Array.isArray(found.marks)) state.marks = found.marks.filter(isMark);
    if (Array.isArray(found.signature)) state.signature = found.signature.filter(isStroke);
    for (const key of ["name", "date", "decision"]) if (typeof found[key] === "string") state[key] = found[key];
    if (!facts.decisions.includes(state.decision)) state.decision = "";
    for (const id of facts.questions) {
      if (found.answers && typeof found.answers[id] === "string") state.answers[id] = found.answers[id];
    }
  }

  // --- sheets, pan and zoom -------------------------------------------------------------------------------------------

  function view() {
    if (!views.has(sheet)) views.set(sheet, { k: 1, x: 0, y: 0 });
    return views.get(sheet);
  }

  function place() {
    const v = view(), [w, h] = size();
    v.k = Math.min(CLOSEST, Math.max(1, v.k));
    // some of the sheet always stays in sight
    v.x = Math.min(w * 0.75, Math.max(w * 0.25 - w * v.k, v.x));
    v.y = Math.min(h * 0.75, Math.max(h * 0.25 - h * v.k, v.y));
    if (v.k === 1) v.x = v.y = 0;
    paper().setAttribute("transform", `matrix(${v.k} 0 0 ${v.k} ${v.x} ${v.y})`);
    el("zoom-out").disabled = el("whole").disabled = v.k === 1;
    el("zoom-in").disabled = v.k === CLOSEST;
    // a finger on a sheet that is whole anyway scrolls the page
    stage.style.touchAction = tool === "move" && v.k === 1 ? "pan-y" : "none";
  }

  // from a place on the screen to one on the sheet; `outer`: to one in the sheet's own frame, before pan and zoom
  function onSheet(event, outer) {
    const matrix = (outer ? svg() : paper()).getScreenCTM().inverse();
    const p = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix);
    return [p.x, p.y];
  }

  function within(p) {
    const [w, h] = size();
    return round([Math.min(w, Math.max(0, p[0])), Math.min(h, Math.max(0, p[1]))]);
  }

  function zoom(factor, about) {
    const v = view(), [w, h] = size(), [x, y] = about || [w / 2, h / 2];
    const k = Math.min(CLOSEST, Math.max(1, v.k * factor));
    v.x = x - (x - v.x) * (k / v.k);
    v.y = y - (y - v.y) * (k / v.k);
    v.k = k;
    place();
  }

  function whole() {
    views.set(sheet, { k: 1, x: 0, y: 0 });
    place();
  }

  function inSight(p) {
    const v = view(), [w, h] = size();
    const x = p[0] * v.k + v.x, y = p[1] * v.k + v.y;
    if (x < w * 0.06 || x > w * 0.94) v.x += w / 2 - x;
    if (y < h * 0.06 || y > h * 0.94) v.y += h / 2 - y;
    place();
  }

  function turn(to) {
    if (to < 0 || to >= figures.length) return;
    drop();
    sheet = to;
    cross = null;
    figures.forEach((f, n) => {
      f.classList.toggle("shown", n === sheet);
      f.setAttribute("aria-hidden", String(n !== sheet));
    });
    el("pick").value = String(number(sheet));
    el("before").disabled = sheet === 0;
    el("after").disabled = sheet === figures.length - 1;
    const label = figures[sheet].querySelector("figcaption").textContent;
    stage.setAttribute("aria-label", label);
    if (document.querySelector(".keys").open) tellTexts();
    place();
    draw();
  }

  function tellTexts() {
    el("sheet-texts").textContent = [...svg().querySelectorAll("text")]
      .filter((t) => !t.closest(".marks")).map((t) => t.textContent.trim()).filter(Boolean).join("; ");
  }

  // --- marks ----------------------------------------------------------------------------------------------------------

  function change(marks) {
    past.push(state.marks);
    ahead.length = 0;
    state.marks = marks;
    picked = -1;
    changed();
  }

  function changed() {
    keep();
    draw();
    list();
    el("undo").disabled = past.length === 0;
    el("redo").disabled = ahead.length === 0;
  }

  function step(from, to, said) {
    if (!from.length) return;
    to.push(state.marks);
    state.marks = from.pop();
    picked = -1;
    changed();
    say(`${said}. ${counted()}.`);
  }
  const undo = () => step(past, ahead, "Undone");
  const redo = () => step(ahead, past, "Done again");
  const counted = () => (state.marks.length === 1 ? "1 mark" : `${state.marks.length} marks`);

  function add(kind, points, text) {
    const mark = { sheet: number(sheet), kind, points: points.map(round), text };
    change([...state.marks, mark]);
    say(`Mark ${state.marks.length}, ${KINDS[kind]}, added to sheet ${mark.sheet}.`);
  }

  function finish(kind, points) {
    begun = null;
    if (state.marks.length >= MOST_MARKS) return say("There is no room for more marks.");
    if (kind === "note" || kind === "text") return ask(kind, "", (text) => add(kind, points, text));
    return add(kind, points, "");
  }

  function drop() {
    begun = null;
    draw();
  }

  // where a note stands if it was only tapped: off to the side that has room
  function aside(p) {
    const [w, h] = size(), step = Math.min(w, h) / 14 / Math.sqrt(view().k);
    return within([p[0] + (p[0] < w * 0.7 ? step : -step), p[1] + (p[1] < h * 0.2 ? step : -step)]);
  }

  function lines(text) {
    const out = [];
    for (const row of text.split("\n")) {
      let line = "";
      for (const word of row.split(/\s+/)) {
        if (line && line.length + word.length > 38) {
          out.push(line);
          line = word;
        } else {
          line = line ? `${line} ${word}` : word;
        }
      }
      out.push(line);
    }
    return out;
  }

  function disc(group, at, n) {
    make("circle", { class: "disc", cx: at[0], cy: at[1], r: REACH }, group);
    make("text", { class: "digit", x: at[0], y: at[1] + 1.2 }, group).textContent = n;
  }

  function put(group, mark, n) {
    const g = make("g", n - 1 === picked ? { class: "picked" } : {}, group), first = mark.points[0];
    let at = first;
    if (mark.kind === "note") {
      at = mark.points[1];
      make("path", { class: "stroke", d: path(mark.points) }, g);
      make("circle", { class: "dot", cx: first[0], cy: first[1], r: 0.9 }, g);
    } else if (mark.kind !== "text") {
      make("path", { class: "stroke", d: path(mark.points) }, g);
    }
    if (mark.text) {
      const [w] = size(), left = at[0] > w * 0.72;
      const text = make("text", { class: "words", "text-anchor": left ? "end" : "start" }, g);
      lines(mark.text).forEach((line, row) => {
        const x = at[0] + (left ? -1 : 1) * (REACH + 1.2);
        make("tspan", { x, y: at[1] + 1.3 + row * 4.6 }, text).textContent = line;
      });
    }
    disc(g, at, n);
  }

  function draw() {
    for (const [n, figure] of figures.entries()) {
      const group = figure.querySelector(".marks");
      group.textContent = "";
      state.marks.forEach((mark, i) => { if (mark.sheet === number(n)) put(group, mark, i + 1); });
      if (n !== sheet) continue;
      if (begun && begun.points.length) {
        const points = begun.kind === "freehand" || !begun.to ? begun.points : [begun.points[0], begun.to];
        make("path", { class: "stroke", d: path(points) }, group);
      }
      if (cross && tool !== "move") {
        const r = 5 / Math.sqrt(view().k), [x, y] = cross;
        make("path", { class: "cross", d: `M ${x - r} ${y} H ${x + r} M ${x} ${y - r} V ${y + r}` }, group);
      }
    }
  }

  function list() {
    const ol = el("marks");
    ol.textContent = "";
    el("no-marks").hidden = state.marks.length > 0;
    state.marks.forEach((mark, i) => {
      const li = document.createElement("li");
      const part = (name, kind, text, parent) => {
        const made = document.createElement(name);
        made.className = kind;
        made.textContent = text;
        parent.appendChild(made);
        return made;
      };
      part("span", "number", String(i + 1), li);
      part("span", "what", `${KINDS[mark.kind]}, sheet ${mark.sheet}${mark.text ? ": " : ""}`, li);
      part("bdi", "words", mark.text, li);
      const row = part("div", "row", "", li);
      const button = (label, act) => {
        const b = part("button", "", label, row);
        b.type = "button";
        b.setAttribute("aria-label", `${label} mark ${i + 1}`);
        b.addEventListener("click", act);
      };
      button("Show", () => show(i));
      button(mark.text ? "Reword" : "Add words", () => ask(mark.kind, mark.text, (text) => {
        change(state.marks.map((m, n) => (n === i ? { ...m, text } : m)));
        say(`Mark ${i + 1} reworded.`);
      }));
      button("Delete", () => {
        change(state.marks.filter((_, n) => n !== i));
        const rest = ol.querySelectorAll("li");
        (rest.length ? rest[Math.min(i, rest.length - 1)].querySelector("button") : el("undo")).focus();
        say(`Mark ${i + 1} deleted. ${counted()}. Undo brings it back.`);
      });
      ol.appendChild(li);
    });
  }

  function show(i) {
    const mark = state.marks[i];
    turn(figures.findIndex((f) => Number(f.dataset.sheet) === mark.sheet));
    picked = i;
    draw();
    const [w, h] = size(), box = figures[sheet].querySelector(".picked").getBBox();
    const k = Math.min(4, Math.max(1, Math.min(w / box.width, h / box.height) * 0.7));
    Object.assign(view(), { k, x: w / 2 - (box.x + box.width / 2) * k, y: h / 2 - (box.y + box.height / 2) * k });
    place();
    stage.scrollIntoView({ block: "nearest" });
    stage.focus({ preventScroll: true });
    say(`Mark ${i + 1} is shown.`);
  }

  // --- the words of a mark --------------------------------------------------------------------------------------------

  function ask(kind, text, then) {
    wordsFor = { then, needed: kind === "note" || kind === "text", back: document.activeElement };
    el("wording-head").textContent = text ? "Reword" : KINDS[kind];
    el("words-fault").textContent = "";
    words.removeAttribute("aria-invalid");
    words.value = text;
    dialog.showModal();
    words.focus();
  }

  function close() {
    const done = wordsFor;
    wordsFor = null;
    if (dialog.open) dialog.close();
    draw();
    if (done && done.back && document.contains(done.back)) done.back.focus({ preventScroll: true });
    else stage.focus({ preventScroll: true });
  }

  dialog.querySelector("form").addEventListener("submit", (event) => {
    event.preventDefault();
    const text = words.value.trim();
    if (!wordsFor) return;
    if (wordsFor.needed && !text) {
      el("words-fault").textContent = "Write what you mean, or cancel.";
      words.setAttribute("aria-invalid", "true");
      words.focus();
      return;
    }
    wordsFor.then(text);
    close();
  });
  el("words-drop").addEventListener("click", close);
  dialog.addEventListener("cancel", (event) => { event.preventDefault(); close(); });
  words.addEventListener("keydown", (event) => {
    if (event.key === "Enter" && (event.ctrlKey || event.metaKey)) {
      event.preventDefault();
      dialog.querySelector("form").requestSubmit();
    }
  });

  // --- mouse, pen and touch -------------------------------------------------------------------------------------------

  const pointers = new Map();
  let drag = null;

  const middle = () => {
    const [a, b] = [...pointers.values()];
    return { clientX: (a.clientX + b.clientX) / 2, clientY: (a.clientY + b.clientY) / 2,
      spread: Math.hypot(a.clientX - b.clientX, a.clientY - b.clientY) };
  };

  stage.addEventListener("pointerdown", (event) => {
    if (event.button > 1 || pointers.size > 1) return;
    event.preventDefault();
    stage.focus({ preventScroll: true });
    pointers.set(event.pointerId, event);
    stage.setPointerCapture(event.pointerId);
    cross = null;
    if (pointers.size === 2) {
      // a second finger means: move and zoom, whatever the first had begun
      begun = null;
      drag = { pinch: middle() };
      draw();
    } else if (tool === "move" || event.button === 1) {
      drag = { at: onSheet(event, true) };
    } else {
      drag = null;
      begun = { kind: tool, points: [within(onSheet(event))], to: null, by: event.pointerId };
      draw();
    }
  });

  stage.addEventListener("pointermove", (event) => {
    if (!pointers.has(event.pointerId)) return;
    pointers.set(event.pointerId, event);
    if (drag && drag.pinch && pointers.size === 2) {
      const now = middle(), from = onSheet(drag.pinch, true), to = onSheet(now, true), v = view();
      v.x += to[0] - from[0];
      v.y += to[1] - from[1];
      zoom(drag.pinch.spread > 0 ? now.spread / drag.pinch.spread : 1, to);
      drag.pinch = now;
    } else if (drag && drag.at) {
      const to = onSheet(event, true), v = view();
      v.x += to[0] - drag.at[0];
      v.y += to[1] - drag.at[1];
      drag.at = to;
      place();
    } else if (begun && begun.by === event.pointerId) {
      const all = event.getCoalescedEvents ? event.getCoalescedEvents() : [];
      for (const each of all.length ? all : [event]) reach(within(onSheet(each)));
      draw();
    }
  });

  function reach(p) {
    begun.to = p;
    if (begun.kind !== "freehand") return;
    const last = begun.points[begun.points.length - 1];
    if (begun.points.length < LIMIT && apart(last, p) >= 0.6 / view().k) begun.points.push(p);
  }

  function up(event) {
    if (!pointers.delete(event.pointerId)) return;
    if (pointers.size) { drag = null; return; }
    drag = null;
    if (!begun || begun.by !== event.pointerId) return;
    const { kind, points, to } = begun, far = to && apart(points[0], to) * view().k > 3;
    if (kind === "text") finish(kind, [to || points[0]]);
    else if (kind === "note") finish(kind, [points[0], far ? to : aside(points[0])]);
    else if (kind === "line" && far) finish(kind, [points[0], to]);
    else if (kind === "freehand" && points.length > 1) finish(kind, points);
    else { drop(); say(`Drag to draw a ${KINDS[kind].toLowerCase()} mark.`); }
  }
  stage.addEventListener("pointerup", up);
  stage.addEventListener("pointercancel", (event) => {
    pointers.delete(event.pointerId);
    drag = null;
    drop();
  });
  stage.addEventListener("wheel", (event) => {
    event.preventDefault();
    zoom(Math.exp(-event.deltaY * (event.deltaMode === 1 ? 0.05 : 0.0018) * (event.ctrlKey ? 4 : 1)), onSheet(event, true));
  }, { passive: false });

  // --- keys -----------------------------------------------------------------------------------------------------------

  // the text of the sheet that stands nearest, so that the cross can be placed without being seen
  function nearest(p) {
    let best = null, least = 25;
    for (const text of paper().querySelectorAll("text")) {
      if (text.closest(".marks") || !text.textContent.trim()) continue;
      const at = [Number(text.getAttribute("x")), Number(text.getAttribute("y"))], d = apart(at, p);
      if (d < least) [best, least] = [text.textContent.trim(), d];
    }
    return best;
  }

  function tellCross() {
    clearTimeout(tellCross.soon);
    tellCross.soon = setTimeout(() => {
      if (!cross) return;
      const by = nearest(cross);
      say(`${Math.round(cross[0])} across, ${Math.round(cross[1])} down${by ? `, near ${by}` : ""}`);
    }, 250);
  }

  function move(dx, dy, fine) {
    const v = view();
    if (tool === "move") {
      const [w] = size();
      v.x -= dx * w / 12;
      v.y -= dy * w / 12;
      return place();
    }
    const [w, h] = size(), by = fine ? 1 : 5;
    const from = cross || [(w / 2 - v.x) / v.k, (h / 2 - v.y) / v.k];
    cross = within([from[0] + dx * by, from[1] + dy * by]);
    if (begun) reach(cross);
    inSight(cross);
    draw();
    return tellCross();
  }

  function enter() {
    if (tool === "move") return say("Choose a tool first: N note, L line, F free-hand, T text.");
    if (!cross) return move(0, 0, false);
    if (tool === "text") return finish("text", [cross]);
    if (!begun) {
      begun = { kind: tool, points: [cross], to: null, by: "keys" };
      draw();
      return say({ note: "It points here. Move to where the note shall stand and press Enter.",
        line: "The line starts here. Move to its end and press Enter.",
        freehand: "Drawing. Move with the arrow keys and press Enter to end." }[tool]);
    }
    const { kind, points } = begun, far = apart(points[0], cross) > 0;
    if (kind === "note") return finish(kind, [points[0], far ? cross : aside(points[0])]);
    if (kind === "line" && far) return finish(kind, [points[0], cross]);
    if (kind === "freehand" && points.length > 1) return finish(kind, points);
    return say("Move away from the first point first.");
  }

  stage.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const arrows = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
    const key = event.key.length === 1 ? event.key.toLowerCase() : event.key;
    if (arrows[key]) move(...arrows[key], event.shiftKey);
    else if (key === "Enter") enter();
    else if (key === "Escape") { drop(); cross = null; draw(); say("Dropped."); }
    else if (key === "+" || key === "=") zoom(1.4, cross && onFrame(cross));
    else if (key === "-") zoom(1 / 1.4, cross && onFrame(cross));
    else if (key === "0") whole();
    else if (key === "PageUp" || key === "PageDown") {
      turn(sheet + (key === "PageUp" ? -1 : 1));
      say(stage.getAttribute("aria-label"));
    } else if (KEYS[key]) { choose(KEYS[key]); say(`${KINDS[KEYS[key]] || "Move"} tool.`); } else return;
    event.preventDefault();
  });
  const onFrame = (p) => [p[0] * view().k + view().x, p[1] * view().k + view().y];

  document.addEventListener("keydown", (event) => {
    if (!(event.ctrlKey || event.metaKey) || event.altKey || dialog.open) return;
    if (/^(TEXTAREA|INPUT)$/.test(event.target.tagName) && event.target.type !== "radio") return;
    const key = event.key.toLowerCase();
    if (key === "z" && !event.shiftKey) undo();
    else if (key === "y" || (key === "z" && event.shiftKey)) redo();
    else return;
    event.preventDefault();
  });

  function choose(name) {
    tool = name;
    document.querySelector(`input[name=tool][value=${name}]`).checked = true;
    stage.classList.toggle("marking", tool !== "move");
    drop();
    place();
    const hint = document.querySelector(`input[name=tool][value=${name}]`).parentNode.title;
    el("keys-short").textContent = `${hint} The keys for working without a mouse stand below the sheet.`;
  }

  // --- signature ------------------------------------------------------------------------------------------------------

  const pad = el("pad"), ink = pad.querySelector("g");
  let stroke = null;

  function onPad(event) {
    const p = new DOMPoint(event.clientX, event.clientY).matrixTransform(pad.getScreenCTM().inverse());
    return round([Math.min(320, Math.max(0, p.x)), Math.min(100, Math.max(0, p.y))]);
  }

  function drawInk() {
    ink.textContent = "";
    for (const s of stroke ? [...state.signature, stroke] : state.signature) make("path", { d: path(s) }, ink);
    el("wipe").disabled = state.signature.length === 0;
  }

  pad.addEventListener("pointerdown", (event) => {
    if (event.button || stroke || state.signature.length >= 200) return;
    event.preventDefault();
    pad.setPointerCapture(event.pointerId);
    stroke = [onPad(event)];
    drawInk();
  });
  pad.addEventListener("pointermove", (event) => {
    if (!stroke) return;
    const all = event.getCoalescedEvents ? event.getCoalescedEvents() : [];
    for (const each of all.length ? all : [event]) {
      const p = onPad(each);
      if (stroke.length < LIMIT && apart(stroke[stroke.length - 1], p) >= 0.5) stroke.push(p);
    }
    drawInk();
  });
  const lift = () => {
    if (!stroke) return;
    state.signature = [...state.signature, stroke];
    stroke = null;
    drawInk();
    keep();
  };
  pad.addEventListener("pointerup", lift);
  pad.addEventListener("pointercancel", lift);
  el("wipe").addEventListener("click", () => {
    state.signature = [];
    drawInk();
    keep();
    say("Signature cleared.");
  });

  // --- what is missing, and saving ------------------------------------------------------------------------------------

  const isDay = (text) => /^\d{4}-\d\d-\d\d$/.test(text) && !Number.isNaN(Date.parse(text))
    && new Date(text).toISOString().slice(0, 10) === text;

  // what must be there before saving: the field it is about, and what to say
  function missing() {
    const out = [], approves = state.decision.startsWith("approved");
    if (approves) {
      for (const id of facts.questions) {
        if (!(state.answers[id] || "").trim()) out.push([`answer-${id}`, `Question ${id} has no answer.`]);
      }
    }
    if (!state.decision) out.push(["decision", "No decision is taken."]);
    else if (state.decision === "approved" && state.marks.length) {
      out.push(["decision", `There ${state.marks.length === 1 ? "is 1 mark" : `are ${counted()}`}: `
        + "choose “approved as noted” so that they are heeded, or delete them."]);
    } else if (state.decision === "approved as noted" && !state.marks.length) {
      out.push(["decision", "Nothing is noted: make a mark on a sheet, or choose “approved”."]);
    } else if (!approves && facts.decisions.length > 1 && !state.marks.length
      && !facts.questions.some((id) => (state.answers[id] || "").trim())) {
      out.push(["decision", "Nothing says what to revise: make a mark on a sheet, or answer a question."]);
    }
    if (!state.name.trim()) out.push(["name", "The name is missing."]);
    if (new Blob([JSON.stringify(returned())]).size >= MOST_BYTES) {
      out.push(["marks", "There are more free-hand marks than one file takes: delete some."]);
    }
    if (!isDay(state.date)) out.push(["date", "The date is missing, or is no day."]);
    return out;
  }

  function returned() {
    return {
      staveline_return: 1,
      number: facts.number,
      revision: facts.revision,
      digest: facts.digest,
      decision: state.decision,
      name: state.name.trim(),
      date: state.date,
      signature: state.signature.length ? state.signature : null,
      marks: state.marks.map(({ sheet, kind, points, text }) => ({ sheet, kind, points, text })),
      answers: facts.questions.filter((id) => (state.answers[id] || "").trim())
        .map((id) => ({ id, answer: state.answers[id].trim() })),
    };
  }

  function tellMissing(found) {
    const box = el("missing");
    box.hidden = found.length === 0;
    box.textContent = "";
    const at = new Set(found.map(([id]) => id));
    for (const id of ["decision", "name", "date", ...facts.questions.map((q) => `answer-${q}`)]) {
      const field = el(id);
      if (at.has(id) && id !== "decision") field.setAttribute("aria-invalid", "true");
      else field.removeAttribute("aria-invalid");
      field.classList.toggle("wanting", at.has(id));
    }
    if (!found.length) return;
    box.appendChild(document.createElement("span")).textContent = "Not saved yet:";
    const ul = box.appendChild(document.createElement("ul"));
    for (const [id, text] of found) {
      const a = ul.appendChild(document.createElement("li")).appendChild(document.createElement("a"));
      a.href = `#${id}`;
      a.textContent = text;
      a.addEventListener("click", (event) => {
        event.preventDefault();
        el(id).focus();
      });
    }
    box.focus();
    say(`Not saved yet. ${found.map(([, text]) => text).join(" ")}`);
  }

  el("form").addEventListener("submit", (event) => {
    event.preventDefault();
    const found = missing();
    tellMissing(found);
    if (found.length) return;
    const text = JSON.stringify(returned()) + "\n", name = `${facts.number}-${facts.revision}-returned.json`;
    const a = document.createElement("a");
    a.href = URL.createObjectURL(new Blob([text], { type: "application/json" }));
    a.download = name;
    a.click();
    setTimeout(() => URL.revokeObjectURL(a.href), 60000);
    el("copied").value = text;
    el("copy").hidden = false;
    el("kept").textContent = `Saved as ${name}. Now send that file back. Change something, and you must save and send again.`;
    say(`Saved as ${name}. Now send that file back.`);
  });

  // --- the form's fields ----------------------------------------------------------------------------------------------

  function grow(area) {
    if (CSS.supports("field-sizing", "content")) return;
    area.style.height = "auto";
    area.style.height = `${area.scrollHeight + 2}px`;
  }
  const dateShown = () => el("date").classList.toggle("empty", !state.date);

  function fill() {
    el("name").value = state.name;
    el("date").value = state.date;
    dateShown();
    for (const radio of document.querySelectorAll("input[name=decision]")) radio.checked = radio.value === state.decision;
    for (const id of facts.questions) {
      const area = el(`answer-${id}`);
      area.value = state.answers[id] || "";
      grow(area);
      area.addEventListener("input", () => { state.answers[id] = area.value; grow(area); again(); });
    }
  }

  function again() {
    keep();
    if (!el("missing").hidden) {
      const found = missing(), left = new Set(found.map(([id]) => id));
      for (const wrong of document.querySelectorAll("[aria-invalid]")) if (!left.has(wrong.id)) wrong.removeAttribute("aria-invalid");
      if (!found.length) tellMissing(found);
    }
  }

  el("name").addEventListener("input", () => { state.name = el("name").value; again(); });
  el("date").addEventListener("input", () => { state.date = el("date").value; dateShown(); again(); });
  el("today").addEventListener("click", () => {
    const now = new Date(), two = (n) => String(n).padStart(2, "0");
    el("date").value = state.date = `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
    dateShown();
    again();
  });
  for (const radio of document.querySelectorAll("input[name=decision]")) {
    radio.addEventListener("change", () => { state.decision = radio.value; again(); });
  }
  for (const radio of document.querySelectorAll("input[name=tool]")) radio.addEventListener("change", () => choose(radio.value));
  el("pick").addEventListener("change", () => turn(figures.findIndex((f) => f.dataset.sheet === el("pick").value)));
  el("before").addEventListener("click", () => turn(sheet - 1));
  el("after").addEventListener("click", () => turn(sheet + 1));
  el("zoom-in").addEventListener("click", () => zoom(1.4));
  el("zoom-out").addEventListener("click", () => zoom(1 / 1.4));
  el("whole").addEventListener("click", whole);
  el("undo").addEventListener("click", undo);
  el("redo").addEventListener("click", redo);
  el("print").addEventListener("click", () => window.print());
  document.querySelector(".keys").addEventListener("toggle", tellTexts);

  document.documentElement.classList.add("scripted");
  recall();
  fill();
  choose("move");
  turn(0);
  changed();
  drawInk();
})();
