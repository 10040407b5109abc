// The data sheet: one line a parameter; its control is its own way through the versions, whose last point moves.

import { bandOf, el, generic, named, read, stepped, stops, svg, valueAt, written } from "./scale.js";
import { change, now, on, same, tell } from "./state.js";
import { explain } from "./does.js";
import { HEIGHT, SIDE, way } from "./track.js";
import { circle } from "./hues.js";

const PAUSE_MS = 1200; // keys pressed after a longer pause are undone by themselves

const $ = (id) => document.getElementById(id);
const sheet = $("sheet");
const lines = new Map(); // path -> what is known of its line on the screen
let order = localStorage.getItem("driftline-order") ?? "question";
let current = "", found = null, gestures = 0;

const known = (path) => now.lines.get(generic(path));
const valueOf = (path) => now.values[path] ?? (bandOf(path) && path in now.values ? now.values[path] : known(path).neutral);

// --- building ---

function build() {
  now.lines = new Map(now.sheet.flatMap((asked) => asked.lines.map((line) => [line.path, line])));
  lines.clear();
  sheet.replaceChildren(ordering());
  for (const asked of sorted()) {
    const group = el("section.asked", { "data-key": asked.key, "aria-label": asked.question },
      el("header", {}, el("h2", {}, asked.question), el("p.share")));
    for (const line of asked.lines) {
      if (!line.path.includes("*")) group.append(built(line, line.path));
      if (line.path === "chroma.scale") group.append(bandsOf(asked));
    }
    sheet.append(group);
  }
  drawAll();
  showShares();
}

function ordering() {
  const one = (key, words) => el("label", {}, el("input", { type: "radio", name: "order", value: key, checked: order === key,
    onchange: () => reorder(key) }), ` ${words}`);
  return el("fieldset.order", {}, el("legend.hidden", {}, "Order of the sheet"), one("question", "by question"), one("share", "by share in the drift"));
}

export function reorder(key = order === "question" ? "share" : "question") {
  order = key;
  localStorage.setItem("driftline-order", key);
  arrange();
}

// The groups in their order; the one that is worked in stays where it is on the screen, and the others go around it.
function arrange() {
  const wanted = sorted().map((asked) => sheet.querySelector(`[data-key="${asked.key}"]`));
  const held = wanted.find((group) => group.contains(document.activeElement));
  const before = held?.getBoundingClientRect().top;
  if (held) {
    const place = wanted.indexOf(held);
    for (const group of wanted.slice(0, place)) held.before(group);
    for (const group of wanted.slice(place + 1).reverse()) held.after(group);
    sheet.scrollTop += held.getBoundingClientRect().top - before;
  } else sheet.append(...wanted);
  for (const choice of sheet.querySelectorAll(".order input")) choice.checked = choice.value === order;
}

function sorted() {
  if (order !== "share" || !found) return now.sheet;
  return [...now.sheet].sort((a, b) => shareOf(b) - shareOf(a));
}

const bandNames = () => Object.keys(now.values).filter((path) => /^chroma\.band\.[^.]+\.hue$/.test(path)).map(bandOf);

function bandsOf(asked) {
  const box = el("div.bands", {}, circle(bandNames()));
  for (const name of bandNames()) {
    box.append(el("p.band-name", {}, el("span", {}, "band ", el("b", {}, el("bdi", {}, name))),
      el("button", { type: "button", onclick: () => removeBand(name) }, "take it out")));
    for (const line of asked.lines) if (line.path.includes("*")) box.append(built(line, line.path.replace("*", name)));
  }
  return box;
}

const removeBand = (name) => change(Object.fromEntries(Object.keys(now.values)
  .filter((path) => path.startsWith(`chroma.band.${name}.`)).map((path) => [path, null])));

function built(line, path) {
  const id = `line-${path.replaceAll(".", "-")}`;
  const label = el("span.label", { id }, line.label);
  if (line.path === "mono.weights") return weights(line, path, label);
  const drawing = svg("svg", { "aria-hidden": "true", height: HEIGHT });
  const track = el("div.track", {
    role: "slider", tabindex: "-1", "aria-labelledby": id,
    "aria-valuemin": line.choices.length ? 0 : line.low, "aria-valuemax": line.choices.length ? stops(line).length - 1 : line.high,
  }, drawing);
  const row = el("div.line", { "data-path": path }, label, track, field(line, path));
  const kept = { line, path, row, track, drawing };
  lines.set(path, kept);
  moving(kept);
  row.addEventListener("focusin", () => enter(path));
  row.addEventListener("pointerdown", () => { if (current !== path) enter(path); });
  return row;
}

function field(line, path) {
  const label = `${bandOf(path) ? `band ${bandOf(path)}, ` : ""}${line.label}`;
  if (line.choices.length) {
    const chosen = el("select", { "aria-label": label, onchange: () => set(path, JSON.parse(chosen.value)) },
      ...stops(line).map((one) => el("option", { value: JSON.stringify(one) }, named(line, one))));
    return el("span.value.chosen", {}, chosen);
  }
  const input = el("input", { type: "text", inputmode: "decimal", "aria-label": label, tabindex: "-1", autocomplete: "off" });
  const taken = () => {
    const number = read(line, input.value);
    if (number === null && path === "white.kelvin") set(path, null);
    else if (number !== null && input.value !== written(line, valueOf(path))) set(path, number);
    draw(path);
  };
  input.addEventListener("change", taken);
  input.addEventListener("keydown", (event) => {
    if (event.key === "Enter") { taken(); lines.get(path).track.focus(); event.preventDefault(); }
    if (event.key === "Escape") { draw(path, true); lines.get(path).track.focus(); event.stopPropagation(); }
  });
  return el("span.value", {}, input, el("span.unit", {}, line.unit));
}

function weights(line, path, label) {
  const inputs = ["red", "green"].map((colour, i) => el("input", {
    type: "text", inputmode: "decimal", "aria-label": `weight of ${colour}`, autocomplete: "off",
    onchange: (event) => {
      const number = Number(event.target.value.replace("−", "-"));
      if (!Number.isFinite(number)) return draw(path);
      const three = [...(valueOf(path) ?? [0.3, 0.6, 0.1])];
      three[i] = Math.min(Math.max(number, -1), 2);
      three[2] = Number((1 - three[0] - three[1]).toFixed(4));
      return change({ "mono.filter": null, [path]: three });
    },
  }));
  const rest = el("output");
  const row = el("div.line.weights", { "data-path": path }, label,
    el("span.three", {}, "red ", inputs[0], " green ", inputs[1], " blue ", rest));
  lines.set(path, { line, path, row, inputs, rest });
  row.addEventListener("focusin", () => enter(path));
  return row;
}

// --- changing ---

export function set(path, value, gesture = "") {
  if (same(value, valueOf(path))) return;
  const changes = { [path]: value };
  if (path === "white.kelvin" && value !== null) changes["white.shift"] = 0;
  if (path === "white.shift" && now.values["white.kelvin"]) changes["white.kelvin"] = null;
  if (path === "mono.filter") changes["mono.weights"] = null;
  change(changes, gesture);
}

function moving({ line, path, track }) {
  const at = (event) => valueAt(line, (event.clientX - box.left - SIDE) / (box.width - 2 * SIDE));
  let gesture = "", pressed = 0, box = null; // where the track lies is asked once a drag, not at every move
  track.addEventListener("pointerdown", (event) => {
    if (event.button) return;
    gesture = `drag ${gestures += 1}`;
    box = track.getBoundingClientRect();
    track.setPointerCapture(event.pointerId);
    track.focus({ preventScroll: true });
    set(path, at(event), gesture);
  });
  track.addEventListener("pointermove", (event) => { if (gesture) set(path, at(event), gesture); });
  for (const end of ["pointerup", "pointercancel"]) track.addEventListener(end, () => { gesture = ""; });
  track.addEventListener("keydown", (event) => {
    const by = { ArrowRight: 1, ArrowLeft: -1, PageUp: 10, PageDown: -10 }[event.key];
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (by) {
      if (performance.now() - pressed > PAUSE_MS) gestures += 1;
      pressed = performance.now();
      const start = valueOf(path) ?? line.shown ?? line.neutral;
      set(path, stepped(line, start, by, event.shiftKey), `keys ${path} ${gestures}`);
    } else if (event.key === "ArrowDown" || event.key === "ArrowUp") neighbour(path, event.key === "ArrowDown" ? 1 : -1);
    else if (event.key === "Home" || event.key === "End") set(path, valueAt(line, event.key === "Home" ? 0 : 1));
    else if (event.key === "Delete" || event.key === "Backspace") { if (line.neutral !== null || !bandOf(path)) set(path, line.neutral); }
    else if (event.key === "Enter" || /^[0-9.−-]$/.test(event.key)) {
      const input = lines.get(path).row.querySelector("input, select");
      input.focus();
      if (event.key === "Enter" || input.tagName === "SELECT") input.select?.();
      else { input.value = event.key; input.setSelectionRange(1, 1); }
    } else return;
    event.preventDefault();
    event.stopPropagation();
  });
}

function neighbour(path, by) {
  const all = [...sheet.querySelectorAll(".line")].map((row) => row.dataset.path).filter((other) => lines.get(other).track);
  focus(all[Math.min(Math.max(all.indexOf(path) + by, 0), all.length - 1)]);
}

export function focus(path = current || [...lines.keys()][0]) {
  gestures += 1;
  lines.get(path)?.track?.focus();
}

// --- drawing ---

function drawAll() {
  for (const kept of lines.values()) kept.width = kept.track?.clientWidth;
  for (const path of lines.keys()) draw(path);
  const first = current && lines.has(current) ? current : [...lines.keys()][0];
  for (const [path, { track }] of lines) if (track) track.tabIndex = path === first ? 0 : -1;
}

const drawn = {};
function draw(path, force = false) {
  const kept = lines.get(path);
  if (!kept) return;
  const { line, row, track, drawing } = kept, value = valueOf(path);
  drawn[path] = value;
  row.classList.toggle("neutral", same(value, line.neutral));
  if (!track) {
    for (const [i, input] of kept.inputs.entries()) if (force || document.activeElement !== input) input.value = value ? value[i].toFixed(2) : "";
    kept.rest.textContent = value ? value[2].toFixed(2) : "–";
    return;
  }
  const input = row.querySelector("input, select");
  if (input.tagName === "SELECT") input.value = JSON.stringify(value ?? null);
  else if (force || document.activeElement !== input) input.value = value === null || value === undefined ? "" : written(line, value);
  track.setAttribute("aria-valuenow", line.choices.length ? stops(line).indexOf(value ?? null) : value ?? line.low);
  track.setAttribute("aria-valuetext", value === null || value === undefined ? named(line, value) : `${written(line, value)} ${line.unit}`.trim());
  drawing.replaceChildren(...way(kept, value));
}

// --- shares ---

const shareOf = (asked) => asked.sections.reduce((sum, section) => sum + (found?.sections[section] ?? 0), 0);

function showShares() {
  for (const asked of now.sheet) {
    const place = sheet.querySelector(`[data-key="${asked.key}"] .share`);
    if (!place) continue;
    const share = shareOf(asked);
    const moved = asked.sections.some((section) => section in (found?.sections ?? {}));
    place.textContent = !found ? "" : !moved ? "moves nothing" : `${share < 0 ? "brings it back by" : "moves it by"} ${Math.abs(share).toFixed(2)} of ${found.distance.toFixed(2)}`;
    place.style.setProperty("--share", found?.distance ? Math.min(Math.max(share / found.distance, 0), 1) : 0);
  }
}

on("shares", ({ place, found: shares }) => {
  if (place !== now.active) return;
  found = shares;
  showShares();
  if (order === "share") arrange();
  tell("shared", shares);
});

// --- the line that is worked in ---

function enter(path) {
  if (current === path) return;
  current = path;
  gestures += 1;
  for (const [other, { row, track }] of lines) {
    row.classList.toggle("current", other === path);
    if (track) track.tabIndex = other === path ? 0 : -1;
  }
  explain(lines.get(path), valueOf(path), true);
}

// --- following ---

const explainAgain = () => { if (lines.has(current)) explain(lines.get(current), valueOf(current)); };

let built_ = "";
on("state", () => {
  if (built_ !== now.recipe) { built_ = now.recipe; found = null; build(); }
});
on("values", () => {
  const names = [...new Set([...lines.keys()].map(bandOf).filter(Boolean))].sort().join();
  if (built_ && names !== bandNames().sort().join()) build();
  else {
    const moved = [...lines.keys()].filter((path) => !same(drawn[path], valueOf(path)));
    for (const path of moved) draw(path);
    if (moved.some(bandOf)) tell("hues");
  }
  explainAgain();
});
on("ways", drawAll);
on("active", explainAgain);
let width = 0;
new ResizeObserver(() => { if (sheet.clientWidth !== width) { width = sheet.clientWidth; drawAll(); } }).observe(sheet);
