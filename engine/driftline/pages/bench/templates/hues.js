// The hue circle: a band stands where it is put, by its degree.

import { el, rounded, stepped, svg } from "./scale.js";
import { change, now, on, say } from "./state.js";

const SIZE = 260, MIDDLE = SIZE / 2, INNER = 74, OUTER = 92, ARC = 100, NAME = 112;
const HUE = { path: "chroma.band.*.hue", low: 0, high: 360, decimals: 0, step: 1, choices: [], scale: "even" };
const spot = (hue, radius) => {
  const turn = (hue * Math.PI) / 180;
  return [MIDDLE + radius * Math.cos(turn), MIDDLE - radius * Math.sin(turn)];
};
const arc = (from, to, radius) => {
  const [x1, y1] = spot(from, radius), [x2, y2] = spot(to, radius);
  return `M${x1} ${y1}A${radius} ${radius} 0 ${to - from > 180 ? 1 : 0} 0 ${x2} ${y2}`;
};

let ring, bands = [], wanted = 40, gestures = 0;

export function circle(names) {
  bands = names;
  ring = svg("svg", { class: "ring", viewBox: `-40 -6 ${SIZE + 80} ${SIZE + 12}`, role: "group", "aria-label": "Hue circle, OkLCh degrees" });
  for (let hue = 0; hue < 360; hue += 3) {
    ring.append(svg("path", { d: arc(hue, hue + 3.4, (INNER + OUTER) / 2), "stroke-width": OUTER - INNER, class: "hue" }));
    ring.lastChild.style.stroke = `oklch(0.72 0.11 ${hue + 1.5})`;
  }
  for (let hue = 0; hue < 360; hue += 30) {
    const [x, y] = spot(hue, INNER - 13);
    ring.append(svg("text", { x, y, class: "degree" }, `${hue}°`));
  }
  ring.append(svg("g", { class: "marks" }));
  ring.addEventListener("pointerdown", (event) => { if (!event.target.closest(".handle")) { wanted = hueAt(event); degree.value = wanted; } });
  const degree = el("input", { type: "text", inputmode: "numeric", size: "3", value: wanted, "aria-label": "degrees", onchange: () => { wanted = ((Math.round(Number(degree.value)) % 360) + 360) % 360 || 0; } });
  const name = el("input", { type: "text", size: "9", "aria-label": "name of the new band", placeholder: "a name", autocomplete: "off", maxlength: "64" });
  const form = el("form.new-band", { onsubmit: (event) => { event.preventDefault(); add(name, wanted); } },
    "a band at ", degree, "°, called ", name, " ", el("button", {}, "add it"));
  drawBands();
  return el("div.circle", {}, ring, form);
}

function hueAt(event) {
  const box = ring.getBoundingClientRect(), scale = (SIZE + 80) / box.width;
  const x = (event.clientX - box.left) * scale - 40 - MIDDLE, y = (event.clientY - box.top) * scale - 6 - MIDDLE;
  return (Math.round((Math.atan2(-y, x) * 180) / Math.PI) + 360) % 360;
}

function add(field, hue) {
  const name = field.value.trim().toLowerCase().replace(/[^a-z0-9]+/g, "-").replace(/^-+|-+$/g, "") || `at-${hue}`;
  if (bands.includes(name)) { say(`there is a band called ${name}`); return; }
  const keys = { hue, width: 40, turn: 0, scale: 1, lightness: 0 };
  change(Object.fromEntries(Object.entries(keys).map(([key, value]) => [`chroma.band.${name}.${key}`, value])));
}

function drawBands() {
  if (!ring) return;
  const marks = ring.querySelector(".marks"), focused = document.activeElement?.dataset?.band;
  marks.replaceChildren();
  for (const name of bands) {
    const at = (key) => now.values[`chroma.band.${name}.${key}`];
    const hue = at("hue");
    if (typeof hue !== "number") continue;
    const half = Math.min(at("width"), 179) / 2;
    marks.append(svg("path", { class: "extent", d: arc(hue - half, hue + half, ARC) }));
    const turn = at("turn");
    if (turn) {
      const [x, y] = spot(hue + turn, INNER - 2), [x0, y0] = spot(hue, INNER - 2);
      marks.append(svg("path", { class: "turned", d: `M${x0} ${y0}L${x} ${y}` }), svg("circle", { class: "turned-to", cx: x, cy: y, r: 2.5 }));
    }
    const [x1, y1] = spot(hue, INNER - 4), [x2, y2] = spot(hue, ARC + 4), [tx, ty] = spot(hue, NAME);
    const cosine = Math.cos((hue * Math.PI) / 180);
    marks.append(svg("g", {
      class: "handle", role: "slider", tabindex: "0", "data-band": name, "aria-label": `band ${name} stands at`,
      "aria-valuemin": 0, "aria-valuemax": 360, "aria-valuenow": hue, "aria-valuetext": `${Math.round(hue)} degrees`,
    }, svg("path", { class: "needle", d: `M${x1} ${y1}L${x2} ${y2}` }), svg("path", { class: "grip", d: `M${x1} ${y1}L${x2} ${y2}` }),
    svg("text", { x: tx, y: ty, "text-anchor": cosine > 0.3 ? "start" : cosine < -0.3 ? "end" : "middle" }, `${name.length > 14 ? `${name.slice(0, 13)}…` : name} ${Math.round(hue)}°`)));
  }
  for (const handle of marks.querySelectorAll(".handle")) {
    turning(handle, handle.dataset.band);
    if (handle.dataset.band === focused) handle.focus({ preventScroll: true });
  }
}

const put = (name, hue, gesture) => change({ [`chroma.band.${name}.hue`]: hue }, gesture);
let dragging = null;
function turning(handle, name) {
  handle.addEventListener("pointerdown", (event) => {
    dragging = { name, gesture: `ring ${gestures += 1}` };
    event.preventDefault();
    handle.focus({ preventScroll: true });
  });
  handle.addEventListener("keydown", (event) => {
    const by = { ArrowRight: -1, ArrowUp: 1, ArrowLeft: 1, ArrowDown: -1 }[event.key];
    if (!by || event.ctrlKey || event.metaKey) return;
    put(name, rounded(HUE, stepped(HUE, now.values[`chroma.band.${name}.hue`], by, event.shiftKey)), `ring keys ${name}`);
    event.preventDefault();
    event.stopPropagation();
  });
}
addEventListener("pointermove", (event) => { if (dragging) put(dragging.name, hueAt(event), dragging.gesture); });
addEventListener("pointerup", () => { dragging = null; });

on("hues", drawBands);
