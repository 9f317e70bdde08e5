// The page: takes up states as they come, shows one part, size or sketch of
// one file, and answers hand and keys.

import { Camera, looks } from "./camera.js";
import { about, measures, mm, pickAt } from "./measure.js";
import { Drawing, loadSketch } from "./sketch.js";
import { add, dot, hit, scale, size, sub, unpack } from "./shape.js";
import { Stage } from "./stage.js";

const $ = (id) => document.getElementById(id);
const svgNS = "http://www.w3.org/2000/svg";
const camera = new Camera();
const stage = new Stage($("sheet"));
const meshes = new Map(); // by blob
const figuresOf = new Map(); // drawings of sketches, by blob
const drawing = new Drawing($("drawing"));

const shown = {
  seq: 0, lag: 0, state: null, connected: false,
  file: null, key: null, // what is chosen: "part NAME SIZE" or "sketch NAME"
  size: "", // of the part looked at last
  told: null, // the choice that the server knows of
  design: null, part: null, mesh: null, sketch: null,
  cut: null, mates: true, bed: true,
  picks: [], place: null, check: -1, framed: false,
};

// --- small helpers

function make(tag, text, attributes = {}) {
  const e = document.createElement(tag);
  if (text !== undefined) e.textContent = text;
  for (const [k, v] of Object.entries(attributes)) e.setAttribute(k, v);
  return e;
}

function line(list, rows) {
  list.replaceChildren(...rows.flatMap(([k, v]) => [make("dt", k), make("dd", v)]));
}

function span(ms) {
  const s = Math.max(0, Math.round(ms / 1000));
  if (s < 2) return "just now";
  if (s < 100) return `${s} s ago`;
  const m = Math.round(s / 60);
  if (m < 100) return `${m} min ago`;
  const h = Math.round(m / 60);
  return h < 50 ? `${h} h ago` : `${Math.round(h / 24)} days ago`;
}

const figures = (x, n) => (x === 0 ? "0" : Number(x.toPrecision(n)).toLocaleString("en", { maximumSignificantDigits: n, useGrouping: false }));
const volume = (v) => (v < 1000 ? `${figures(v, 4)} mm³` : `${figures(v / 1000, 4)} cm³`);

// --- what the server says

const source = new EventSource("events");
source.onmessage = (e) => {
  const { now, state } = JSON.parse(e.data);
  shown.lag = Date.now() - now;
  shown.connected = true;
  shown.state = state;
  take();
};
source.onerror = () => {
  shown.connected = false;
  age();
};

// One state at a time is taken up; of those that come meanwhile the newest.
let taking = false, again = false;
async function take() {
  if (taking) {
    again = true;
    return;
  }
  taking = true;
  try {
    do {
      again = false;
      // What cannot be fetched any more comes with the next state.
      await takeUp(shown.state).catch((e) => {
        if (!(e instanceof TypeError)) throw e;
      });
    } while (again);
  } finally {
    taking = false;
  }
}

async function fetched(id, cache, read) {
  if (cache.has(id)) return cache.get(id);
  const answer = await fetch("blob/" + id);
  if (!answer.ok) return null; // superseded; the next state is on its way
  const value = await read(answer);
  cache.set(id, value);
  return value;
}

async function takeUp(state) {
  const design = state.designs.find((d) => d.file === shown.file) ?? state.designs[0] ?? null;
  const slips = design ? slipsOf(design) : [];
  // What is not built yet keeps the choice; what is gone gives way to the
  // first.
  const slip = slips.find((s) => s.key === shown.key) ?? slips[0] ?? null;
  const part = slip?.part ?? null, sketch = slip?.sketch ?? null;
  let mesh = null, tree = null;
  if (part) {
    mesh = await fetched(part.mesh, meshes, async (r) => unpack(await r.arrayBuffer()));
    if (!mesh) return;
    const mates = shown.mates ? part.mates : [];
    await Promise.all(mates.map((m) => fetched(m.mesh, meshes, async (r) => unpack(await r.arrayBuffer()))));
    stage.load(part.mesh, mesh);
    for (const m of mates) if (meshes.get(m.mesh)) stage.load(m.mesh, meshes.get(m.mesh));
  }
  if (sketch) {
    tree = figuresOf.get(sketch.figure) ?? (await loadSketch("blob/" + sketch.figure));
    if (!tree) return;
    figuresOf.set(sketch.figure, tree);
  }
  const same = part && shown.part && shown.file === design.file && shown.part.name === part.name;
  const changed = mesh !== shown.mesh;
  Object.assign(shown, { seq: state.seq, design, part, mesh, sketch, file: design?.file ?? null, key: slip?.key ?? shown.key });
  const told = part && `${design.file} ${slip.key}`;
  if (part && told !== shown.told) {
    // So that this size is built first after the next save.
    shown.told = told;
    shown.size = part.size;
    fetch("look?" + new URLSearchParams({ file: design.file, part: part.name, size: part.size })).catch(() => {});
  }
  if (changed) {
    shown.picks = [];
    shown.place = null;
    shown.check = -1;
  }
  const named = new Set(state.designs.flatMap((d) => d.parts.flatMap((p) => [p.mesh, ...p.mates.map((m) => m.mesh)])));
  for (const id of meshes.keys()) if (!named.has(id)) meshes.delete(id);
  const drawn = new Set(state.designs.flatMap((d) => d.sketches.map((s) => s.figure)));
  for (const id of figuresOf.keys()) if (!drawn.has(id)) figuresOf.delete(id);
  stage.keep(named);
  if (part) {
    stage.setBed(design.bed, [(part.min[0] + part.max[0]) / 2, (part.min[1] + part.max[1]) / 2], part.min[2]);
    if (!shown.framed || !same) fit(false);
    shown.framed = true;
  }
  heading(state, slips, slip);
  notes();
  faults();
  age();
  if (tree) drawing.show(sketch.name, tree);
  $("drawing").hidden = !tree;
  for (const g of document.querySelectorAll(".ofpart")) g.inert = Boolean(tree);
  $("empty").hidden = Boolean(part || tree);
  if (stage.gl) $("empty").textContent = slip ? "This size is being built." : design ? "There is no part to show yet." : "Waiting for the first part.";
  $("scale").hidden = !part;
  cutRange();
  redraw();
}

// slipsOf lists what of a file can be looked at; what is not built yet has
// neither part nor sketch.
function slipsOf(design) {
  const out = [];
  const names = [...new Set([...design.parts.map((p) => p.name), ...design.sizes.map((s) => s.part)])];
  for (const name of names) {
    const sizes = [...new Set([...design.parts.filter((p) => p.name === name).map((p) => p.size), ...design.sizes.filter((s) => s.part === name).map((s) => s.size)])];
    for (const z of sizes) {
      const part = design.parts.find((p) => p.name === name && p.size === z);
      out.push({ key: `part ${name} ${z}`, label: z ? `${name} ${z}` : name, part });
    }
  }
  // Sketches are those of the size that was looked at last.
  const ofSize = design.sketches.filter((s) => s.size === shown.size);
  const sketches = ofSize.length ? ofSize : design.sketches.filter((s) => s.size === design.sketches[0].size);
  for (const s of sketches) out.push({ key: `sketch ${s.name}`, label: s.name, sketch: s });
  return out;
}

function heading(state, slips, slip) {
  $("name").textContent = shown.part ? shown.part.name : slip?.label ?? "Perch";
  document.title = (shown.design && !shown.design.whole ? "! " : "") + (slip?.label ?? "Perch");
  const files = state.designs.length > 1
    ? state.designs.map((d) => {
        const b = make("button", d.file, { "aria-pressed": String(d === shown.design) });
        b.classList.toggle("bad", !d.whole);
        b.onclick = () => choose(d.file, null);
        return b;
      })
    : [];
  const buttons = slips.length > 1 || files.length
    ? slips.map((s) => {
        const b = make("button", s.label, { "aria-pressed": String(s === slip) });
        const waits = s.sketch ? s.sketch.old : !s.part || s.part.old;
        b.classList.toggle("pending", waits);
        b.classList.toggle("drawn", Boolean(s.sketch));
        const failing = s.part?.checks.some((c) => !c.pass && !c.unknown);
        b.classList.toggle("bad", Boolean(failing));
        if (s.sketch) b.setAttribute("aria-label", `sketch ${s.label}`);
        if (failing) b.setAttribute("aria-label", `${s.label}, a check fails`);
        if (waits) b.title = "is being built";
        b.onclick = () => choose(shown.file, s.key);
        return b;
      })
    : [];
  const focused = $("slips").contains(document.activeElement) ? document.activeElement.textContent : null;
  $("slips").replaceChildren(...files, ...(files.length && buttons.length ? [make("span", "·")] : []), ...buttons);
  if (focused !== null) [...$("slips").querySelectorAll("button")].find((b) => b.textContent === focused)?.focus();
}

function choose(file, key) {
  shown.file = file;
  shown.key = key;
  take();
}

function step(by) {
  if (!shown.design) return;
  const slips = slipsOf(shown.design);
  const i = slips.findIndex((s) => s.key === shown.key);
  if (slips.length) choose(shown.file, slips[(i + by + slips.length) % slips.length].key);
}

// age says of when the shown text is.
function age() {
  const a = $("age"), d = shown.design;
  let text = "";
  if (d) {
    const now = Date.now() - shown.lag;
    const clock = (t) => new Date(t + shown.lag).toLocaleTimeString([], { hour12: false });
    if (d.whole && shown.part?.old) text = `shows this size of the text before; it is being built`;
    else if (d.whole) text = `shows the text saved ${span(now - d.shown)} (${clock(d.shown)}), built in ${Math.max(1, Math.round(d.took))} ms`;
    else {
      const then = d.parts.length ? `shows the text of ${span(now - d.shown)}` : "nothing to show yet";
      text = d.saved ? `${then}; that of ${span(now - d.saved)} has faults` : `${then}; the file is missing`;
    }
  }
  if (d?.building) text += "; a newer text is being built";
  if (!shown.connected && shown.state) text = "perch watch has ended or cannot be reached; " + text;
  a.textContent = text;
  a.classList.toggle("behind", Boolean((d && !d.whole) || (!shown.connected && shown.state)));
}
setInterval(age, 1000);

function notes() {
  const p = shown.part;
  const dims = p ? `${["x", "y", "z"].map((_, i) => figures(p.max[i] - p.min[i], 5)).join(" × ")} mm` : "";
  $("sheet").setAttribute("aria-label", p ? `${p.name} ${p.size}, ${dims}. Arrow keys turn it, question mark lists all keys.` : "Nothing to show yet.");
  for (const id of ["now", "judged", "taken"]) $(id).hidden = Boolean(shown.sketch);
  line($("figures"), p
    ? [
        ["size", dims],
        ...(p.printed ? [["printed", `${p.printed.map((v) => figures(v, 5)).join(" × ")} mm; shown as drawn`]] : []),
        ["volume", volume(p.volume)],
        ["mass", `${figures(p.mass, 3)} g in ${p.material}${p.assumed ? " (assumed)" : ""}`],
      ]
    : []);
  $("changes").replaceChildren(...(shown.design?.changes ?? []).map((c) => make("li", c)));
  const judged = p?.checks ?? [];
  const none = !p?.judging ? "This part states no checks." : shown.design.whole ? "The checks are being judged." : "The checks of this text were not judged.";
  $("checks").replaceChildren(...(judged.length ? judged.map(checkRow) : p ? [make("li", none)] : []));
  const free = shown.sketch?.free ?? [];
  $("loose").hidden = !shown.sketch;
  $("pinned").hidden = free.length > 0;
  $("free").replaceChildren(...free.map((f) => make("li", f)));
  const remarks = shown.design?.whole ? shown.design.messages.filter((m) => m.code !== "check-failed") : [];
  $("remarks").hidden = !remarks.length;
  $("warnings").replaceChildren(...remarks.map(messageBox));
  measured();
}

function checkRow(c, i) {
  const li = make("li");
  const b = make("button", undefined, { "aria-pressed": String(shown.check === i) });
  const word = c.unknown ? "open" : c.pass ? "pass" : "fail";
  const text = make("code", c.text);
  const head = make("span", word, { class: word });
  const more = [];
  if (c.value) more.push(`${c.value} against ${c.limit}`);
  if (c.unknown) more.push(c.unknown);
  if (c.where) more.push(c.where);
  b.append(head, text, make("small", more.join("; ")));
  b.onclick = () => goToCheck(i);
  li.append(b);
  return li;
}

function messageBox(m) {
  const box = make("div", undefined, { class: "message" });
  const h = make("h3");
  h.append(make("span", m.severity, { class: m.severity }), ": " + m.text);
  box.append(h);
  if (m.sizes) box.append(make("p", `only in ${m.sizes.join(", ")}`, { class: "where" }));
  for (const s of m.spots) {
    box.append(make("span", `${s.file}, line ${s.line}`, { class: "where" }));
    const pre = make("pre");
    pre.append(s.text.slice(0, s.from), make("mark", s.text.slice(s.from, s.to) || " ", { class: s.label ? "other-mark" : "error-mark" }), s.text.slice(s.to));
    if (s.label) pre.append("   ", make("span", s.label, { class: "where" }));
    box.append(pre);
  }
  for (const n of m.notes) {
    const p = make("p");
    p.append(make("b", n.kind + " "), n.text);
    box.append(p);
  }
  return box;
}

// faults lays the messages over the last good part.
function faults() {
  const d = shown.design, box = $("faults");
  const list = d && !d.whole ? d.messages : [];
  box.hidden = !(d && !d.whole);
  const rows = list.map(messageBox);
  if (d?.trouble) rows.unshift(messageBox({ severity: "error", text: d.trouble, spots: [], notes: [] }));
  box.replaceChildren(...rows);
}

// --- the sheet

let pending = false;
function redraw() {
  if (pending) return;
  pending = true;
  requestAnimationFrame(() => {
    pending = false;
    draw();
    $("sheet").dataset.camera = JSON.stringify([camera.turn, camera.tilt, camera.zoom, ...camera.target]);
    document.documentElement.dataset.seq = shown.seq;
    document.documentElement.dataset.shown = shown.design?.shown ?? 0;
    document.dispatchEvent(new CustomEvent("drawn", { detail: shown.seq }));
  });
}

function reach() {
  const p = shown.part;
  if (!p) return 1000;
  // Everything lies within this of the target: the part, its mates, the bed.
  const far = Math.max(...p.min.map(Math.abs), ...p.max.map(Math.abs), ...shown.design.bed);
  return 4 * far + 2 * size(camera.target) + 200;
}

function cutPlane() {
  const c = shown.cut, p = shown.part;
  if (!c || !p) return null;
  const n = [0, 0, 0];
  n[c.axis] = c.flipped ? -1 : 1;
  const at = p.min[c.axis] + (p.max[c.axis] - p.min[c.axis]) * c.share;
  return [...n, (c.flipped ? -1 : 1) * at];
}

function keepAt() {
  const c = cutPlane();
  return c ? (p) => p[0] * c[0] + p[1] * c[1] + p[2] * c[2] <= c[3] + 1e-6 : null;
}

function draw() {
  const sheet = $("sheet");
  camera.width = sheet.clientWidth || 1;
  camera.height = sheet.clientHeight || 1;
  const faces = [-1, -1], curves = [-1, -1];
  shown.picks.forEach((p, i) => {
    if (p.sort === "face") faces[i] = p.face.id;
    if (p.sort === "edge") curves[i] = p.curve.id;
  });
  stage.draw({
    part: shown.part?.mesh, mates: shown.mates && shown.part ? shown.part.mates.map((m) => m.mesh) : [],
    bed: shown.bed && Boolean(shown.part), cut: cutPlane(), min: shown.part?.min, max: shown.part?.max, faces, curves, reach: reach(),
  }, camera);
  overlay();
  scaleBar();
}

function scaleBar() {
  const most = 160 / camera.zoom;
  const p = Math.pow(10, Math.floor(Math.log10(most)));
  const mmLong = [5, 2, 1].map((k) => k * p).find((l) => l <= most) ?? p;
  $("scalebar").style.width = `${mmLong * camera.zoom}px`;
  $("scaletext").textContent = `${Number(mmLong.toPrecision(3))} mm`;
}

function svg(tag, attributes, text) {
  const e = document.createElementNS(svgNS, tag);
  for (const [k, v] of Object.entries(attributes)) e.setAttribute(k, v);
  if (text !== undefined) e.textContent = text;
  return e;
}

function overlay() {
  const parts = [];
  const axes = camera.axes();
  const seen = (p) => camera.screen(p, axes);
  if (shown.part) {
    const o = [camera.width - 46, camera.height - 46];
    for (const [name, d] of [["x", [1, 0, 0]], ["y", [0, 1, 0]], ["z", [0, 0, 1]]]) {
      const ex = dot(d, axes.right) * 24, ey = -dot(d, axes.up) * 24;
      if (Math.hypot(ex, ey) < 4) continue;
      parts.push(svg("line", { class: "axis", x1: o[0], y1: o[1], x2: o[0] + ex, y2: o[1] + ey }), svg("text", { class: "axisname", x: o[0] + ex * 1.45 - 3, y: o[1] + ey * 1.45 + 4 }, name));
    }
  }
  if (shown.place) parts.push(...placeMarks(shown.place, seen));
  const at = shown.picks.map((p) => seen(p.at));
  if (at.length === 2) {
    parts.push(svg("line", { class: "pick", x1: at[0][0], y1: at[0][1], x2: at[1][0], y2: at[1][1] }));
    parts.push(svg("text", { x: (at[0][0] + at[1][0]) / 2 + 8, y: (at[0][1] + at[1][1]) / 2 - 8 }, mm(size(sub(shown.picks[1].at, shown.picks[0].at)))));
  }
  at.forEach(([x, y]) => parts.push(svg("circle", { class: "pick", cx: x, cy: y, r: 5 })));
  if (document.activeElement === $("sheet") && $("sheet").matches(":focus-visible")) {
    const x = camera.width / 2, y = camera.height / 2;
    parts.push(svg("path", { class: "cross", d: `M${x - 9} ${y}h18M${x} ${y - 9}v18` }));
  }
  $("over").replaceChildren(...parts);
}

function placeMarks({ box, ok }, seen) {
  const lo = box.slice(0, 3), hi = box.slice(3);
  const corner = (i) => seen([i & 1 ? hi[0] : lo[0], i & 2 ? hi[1] : lo[1], i & 4 ? hi[2] : lo[2]]);
  const cs = [0, 1, 2, 3, 4, 5, 6, 7].map(corner);
  const cls = ok ? "place ok" : "place";
  const width = Math.max(...cs.map((c) => c[0])) - Math.min(...cs.map((c) => c[0]));
  const height = Math.max(...cs.map((c) => c[1])) - Math.min(...cs.map((c) => c[1]));
  if (Math.max(width, height) < 14) {
    const [x, y] = seen(scale(add(lo, hi), 0.5));
    return [svg("circle", { class: cls, cx: x, cy: y, r: 14 })];
  }
  let d = "";
  for (let i = 0; i < 8; i++) for (const b of [1, 2, 4]) if (!(i & b)) d += `M${cs[i][0]} ${cs[i][1]}L${cs[i | b][0]} ${cs[i | b][1]}`;
  return [svg("path", { class: cls, d })];
}

// --- looking

function fit(glide = true) {
  const p = shown.part;
  if (!p) return;
  camera.width = $("sheet").clientWidth || 1;
  camera.height = $("sheet").clientHeight || 1;
  camera.stop();
  const pose = camera.framed(p.min, p.max, 0.72);
  if (glide) camera.glide(pose, redraw);
  else Object.assign(camera, pose);
}

function look(name) {
  const p = shown.part;
  if (!p) return;
  const [turn, tilt] = looks[name];
  const now = [camera.turn, camera.tilt];
  camera.look(turn, tilt);
  const pose = camera.framed(p.min, p.max, 0.72);
  camera.look(...now);
  camera.glide({ turn, tilt, ...pose }, redraw);
}

// goTo takes the view to a box of the part, from a side from which it is not
// hidden.
function goTo(box, ok) {
  shown.place = { box, ok };
  const lo = box.slice(0, 3), hi = box.slice(3);
  const middle = scale(add(lo, hi), 0.5);
  const now = [camera.turn, camera.tilt];
  const ways = [now, ...Object.values(looks)];
  for (const tilt of [0.5, -0.5]) for (let i = 0; i < 8; i++) ways.push([(i * Math.PI) / 4 + 0.3, tilt]);
  const keep = keepAt();
  const free = ways.find(([turn, tilt]) => {
    camera.look(turn, tilt);
    const a = camera.axes();
    const slack = Math.max(0.05, size(sub(hi, lo)) / 2);
    const h = shown.mesh && hit(shown.mesh, add(middle, scale(a.away, -reach())), a.away, keep);
    return !h || h.far > reach() - slack;
  }) ?? now;
  camera.look(...free);
  const least = size(sub(shown.part.max, shown.part.min)) / 7; // some of the part stays in view
  const pad = [0, 1, 2].map((i) => Math.max(0, (least - (hi[i] - lo[i])) / 2));
  const pose = camera.framed(sub(lo, pad), add(hi, pad), 0.5);
  const whole = camera.framed(shown.part.min, shown.part.max, 0.72);
  pose.zoom = Math.max(pose.zoom, whole.zoom);
  camera.look(...now);
  camera.glide({ turn: free[0], tilt: free[1], ...pose }, redraw);
}

function goToCheck(i) {
  const c = shown.part?.checks[i];
  if (!c) return;
  if (shown.sketch) return;
  shown.check = i;
  [...$("checks").querySelectorAll("button")].forEach((b, k) => b.setAttribute("aria-pressed", String(k === i)));
  if (c.places?.length) {
    goTo(c.places[0], c.pass);
    say(`${c.text}: ${c.where ?? ""}`);
    return;
  }
  shown.place = null;
  say(`${c.text} is about the whole part`);
  fit();
}

function say(text) {
  $("spoken").textContent = text;
}

// --- measuring

function measured() {
  const [p, q] = shown.picks;
  const rows = p ? (q ? [...measures(p, q), ...about(p), ...about(q)] : about(p)) : [];
  line($("measured"), rows);
  $("hint").hidden = rows.length > 0;
}

function pick(x, y) {
  if (!shown.mesh || shown.sketch) return;
  const p = pickAt(shown.mesh, camera, x, y, reach(), keepAt());
  if (!p) shown.picks = [];
  else if (shown.picks.length === 1) shown.picks.push(p);
  else shown.picks = [p];
  measured();
  redraw();
}

// --- cutting open

function cutAlong(axis) {
  shown.cut = shown.cut?.axis === axis ? null : { axis, share: 0.5, flipped: false };
  if (shown.cut) {
    // The side towards the viewer goes.
    const away = camera.axes().away[axis];
    shown.cut.flipped = away > 0;
  }
  cutRange();
  redraw();
}

function cutRange() {
  const c = shown.cut, p = shown.part;
  for (const b of document.querySelectorAll("[data-cut]")) b.setAttribute("aria-pressed", String(c !== null && "xyz"[c.axis] === b.dataset.cut));
  $("cutat").disabled = $("flip").disabled = !c;
  if (c && p) {
    $("cutat").value = String(Math.round(c.share * 1000));
    $("cuttext").textContent = `${"xyz"[c.axis]} ${(p.min[c.axis] + (p.max[c.axis] - p.min[c.axis]) * c.share).toFixed(2)} mm`;
  } else $("cuttext").textContent = "";
}

function moveCut(by) {
  if (!shown.cut) return;
  shown.cut.share = Math.max(0, Math.min(1, shown.cut.share + by));
  cutRange();
  redraw();
}

function flip() {
  if (shown.cut) shown.cut.flipped = !shown.cut.flipped;
  redraw();
}

function toggle(what) {
  shown[what] = !shown[what];
  $(what).setAttribute("aria-pressed", String(shown[what]));
  if (what === "mates") take();
  redraw();
}

// --- hand

const pointers = new Map();
let dragged = false;
const sheet = $("sheet");

sheet.addEventListener("pointerdown", (e) => {
  sheet.setPointerCapture(e.pointerId);
  camera.stop();
  pointers.set(e.pointerId, [e.offsetX, e.offsetY]);
  if (pointers.size === 1) dragged = false;
});
sheet.addEventListener("pointermove", (e) => {
  const was = pointers.get(e.pointerId);
  if (!was) return;
  const dx = e.offsetX - was[0], dy = e.offsetY - was[1];
  if (!dragged && Math.hypot(dx, dy) < 4) return;
  dragged = true;
  if (pointers.size === 2) {
    const [other] = [...pointers].filter(([id]) => id !== e.pointerId).map(([, p]) => p);
    const before = Math.hypot(was[0] - other[0], was[1] - other[1]), after = Math.hypot(e.offsetX - other[0], e.offsetY - other[1]);
    camera.pan(dx / 2, dy / 2);
    if (before > 0 && after > 0) camera.nearer(after / before, (e.offsetX + other[0]) / 2, (e.offsetY + other[1]) / 2);
  } else if (e.buttons & 6 || e.shiftKey) camera.pan(dx, dy);
  else camera.look(camera.turn - dx * 0.008, camera.tilt + dy * 0.008);
  pointers.set(e.pointerId, [e.offsetX, e.offsetY]);
  redraw();
});
for (const kind of ["pointerup", "pointercancel"]) {
  sheet.addEventListener(kind, (e) => {
    const was = pointers.delete(e.pointerId);
    if (was && kind === "pointerup" && !dragged && e.button === 0 && pointers.size === 0) pick(e.offsetX, e.offsetY);
  });
}
sheet.addEventListener("contextmenu", (e) => e.preventDefault());
sheet.addEventListener("wheel", (e) => {
  e.preventDefault();
  camera.stop();
  const lines = e.deltaMode === 1 ? e.deltaY * 16 : e.deltaY;
  camera.nearer(Math.exp(-lines * (e.ctrlKey ? 0.01 : 0.0015)), e.offsetX, e.offsetY);
  redraw();
}, { passive: false });
// What was on the card is lost with it; a new page puts it there again.
sheet.addEventListener("webglcontextlost", (e) => e.preventDefault());
sheet.addEventListener("webglcontextrestored", () => location.reload());
sheet.addEventListener("focus", redraw);
sheet.addEventListener("blur", redraw);

// --- keys

const lookKeys = ["corner", "front", "right", "back", "left", "top", "below"];
const turnBy = 10 * (Math.PI / 180), panBy = 40;

const keys = {
  f: () => (shown.sketch ? drawing.fit() : fit()), g: () => toggle("mates"), b: () => toggle("bed"),
  x: () => cutAlong(0), y: () => cutAlong(1), z: () => cutAlong(2), "\\": flip,
  "[": () => moveCut(-0.02), "]": () => moveCut(0.02), "{": () => moveCut(-0.002), "}": () => moveCut(0.002),
  ",": () => step(-1), ".": () => step(1),
  "+": () => nearer(1.25), "=": () => nearer(1.25), "-": () => nearer(0.8),
  c: () => nextCheck(1), C: () => nextCheck(-1),
  "?": () => $("keys").showModal(),
  Escape: () => {
    shown.picks = [];
    shown.place = null;
    shown.check = -1;
    notes();
  },
};

function nearer(factor) {
  if (shown.sketch) drawing.nearer(1 / factor);
  else camera.nearer(factor);
}

function nextCheck(by) {
  const n = shown.part?.checks.length ?? 0;
  if (n) goToCheck(((shown.check < 0 && by < 0 ? 0 : shown.check) + by + n) % n);
}

document.addEventListener("keydown", (e) => {
  if (e.ctrlKey || e.metaKey || e.altKey || $("keys").open) return;
  if (e.target instanceof HTMLInputElement && e.key.startsWith("Arrow")) return;
  const arrow = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[e.key];
  if (arrow) {
    if ($("notes").contains(e.target) || $("faults").contains(e.target)) return; // these scroll
    camera.stop();
    if (shown.sketch) drawing.pan(-arrow[0] * panBy, -arrow[1] * panBy);
    else if (e.shiftKey) camera.pan(-arrow[0] * panBy, -arrow[1] * panBy);
    else camera.look(camera.turn + arrow[0] * turnBy, camera.tilt - arrow[1] * turnBy);
  } else if (e.key === "Enter" && e.target === sheet) pick(camera.width / 2, camera.height / 2);
  else if (/^[1-7]$/.test(e.key)) look(lookKeys[Number(e.key) - 1]);
  else {
    const act = keys[e.key] ?? keys[e.key.toLowerCase()];
    if (!act) return;
    act();
  }
  e.preventDefault();
  redraw();
});

// --- buttons

for (const b of document.querySelectorAll("[data-look]")) b.onclick = () => look(b.dataset.look);
for (const b of document.querySelectorAll("[data-cut]")) b.onclick = () => cutAlong("xyz".indexOf(b.dataset.cut));
$("fit").onclick = () => keys.f();
$("flip").onclick = flip;
$("cutat").oninput = () => moveCut(Number($("cutat").value) / 1000 - shown.cut.share);
$("mates").onclick = () => toggle("mates");
$("bed").onclick = () => toggle("bed");
$("help").onclick = () => $("keys").showModal();
new ResizeObserver(() => redraw()).observe(sheet);
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", redraw);
if (!stage.gl) {
  $("empty").textContent = "This browser draws no WebGL2, so the part cannot be shown; figures, checks and messages still are.";
}
