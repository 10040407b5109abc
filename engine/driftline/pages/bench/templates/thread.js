// What has been: the thread of versions, down to now. A thousand of them are squeezed; the newest keep their names.

import { el, svg } from "./scale.js";
import { now, on, tell } from "./state.js";
import { at, beside } from "./field.js";

const ROW = 24, PLAIN_ROWS = 9, NEWEST = 5, SQUEEZED = 130, FEW = 60, MANY = 120;

const field = document.getElementById("field"), pastBox = document.getElementById("past"), said = document.getElementById("version");

let chosen = -1;
const rows = () => {
  const n = now.versions.length;
  if (n <= PLAIN_ROWS) return { height: n * ROW, y: (i) => (i + 0.5) * ROW };
  const old = n - NEWEST;
  return {
    height: SQUEEZED + NEWEST * ROW,
    y: (i) => (i < old ? ((i + 0.5) * SQUEEZED) / old : SQUEEZED + (i - old + 0.5) * ROW),
  };
};

function measures() {
  const probe = el("i", { class: "probe" });
  field.append(probe);
  const box = probe.getBoundingClientRect(), left = field.getBoundingClientRect().left;
  probe.remove();
  return { line: box.left - left, unit: box.width };
}

export function drawPast() {
  const { versions } = now;
  const { height, y } = rows();
  pastBox.style.height = `${height}px`;
  pastBox.replaceChildren();
  if (!versions.length) return;
  const { line, unit } = measures();
  const x = (version) => line + at(version.distance) * unit;
  let path = "", last = null, lastY = 0;
  versions.forEach((version, i) => {
    if (version.distance === null) return;
    const here = x(version);
    path += last === null ? `M${here} ${y(i)}` : `V${y(i)}H${here}`;
    last = here;
    lastY = y(i);
  });
  const drawing = svg("svg", { "aria-hidden": "true", class: versions.length > MANY ? "thread dense" : "thread", width: "100%", height });
  if (last !== null) drawing.append(svg("path", { d: `${path}M${last} ${lastY}V${height}` }));
  if (versions.length <= FEW) {
    for (const [i, version] of versions.entries()) {
      if (version.distance !== null) drawing.append(svg("path", { class: "measured", d: `M${line} ${y(i)}H${x(version)}` }));
    }
  }
  pastBox.append(drawing);
  const from = versions.length <= PLAIN_ROWS ? 0 : versions.length - NEWEST;
  versions.forEach((version, i) => {
    if (i < from && i !== chosen) return;
    const label = el("span.label", { "data-i": i }, el("b", {}, `@${version.label}`), ` ${version.said}`);
    label.style.left = `${x(version) + 8}px`;
    label.style.top = `${y(i)}px`;
    label.classList.toggle("chosen", i === chosen);
    pastBox.append(label);
  });
  if (from) {
    const older = el("span.label.quiet.many", {}, `${from} older ones`);
    older.style.top = "6px";
    pastBox.append(older);
  }
}

export function choose(i) {
  const { versions } = now;
  if (!versions.length) return;
  chosen = Math.min(Math.max(i, 0), versions.length - 1);
  const version = versions[chosen];
  pastBox.setAttribute("aria-valuemax", versions.length);
  pastBox.setAttribute("aria-valuenow", chosen + 1);
  pastBox.setAttribute("aria-valuetext", `${version.ref}, ${version.day}, ${version.said}, ${version.verdict}`);
  drawPast();
  const hangs = now.hung.includes(version.ref);
  said.replaceChildren(
    el("p", {}, el("b", {}, el("bdi", {}, version.ref)), `, ${version.day}: ${version.said}${version.distance === null ? "" : `, ${version.verdict}`}`),
    version.words.length ? el("p.quiet", {}, version.words.slice(0, 6).join("; "), version.words.length > 6 ? `; and ${version.words.length - 6} more` : "") : "",
    version.note ? el("p.note", { dir: "auto" }, version.note) : "",
    el("p.acts", {},
      el("button", { type: "button", onclick: () => beside(version.ref) }, hangs ? "take it away" : "hang it beside", " ", el("kbd", {}, "↵")),
      el("button", { type: "button", onclick: () => tell("deed", { what: "restore", ref: version.ref }) }, "make it the newest")));
}

export const step = (by) => { choose(chosen < 0 ? now.versions.length - 1 + Math.min(by, 0) + (by > 0 ? 0 : 1) : chosen + by); pastBox.focus({ preventScroll: true }); };
export const toggleChosen = () => { if (chosen >= 0) beside(now.versions[chosen].ref); };

pastBox.addEventListener("click", (event) => {
  const top = event.clientY - pastBox.getBoundingClientRect().top, { y } = rows();
  let best = 0;
  now.versions.forEach((_, i) => { if (Math.abs(y(i) - top) < Math.abs(y(best) - top)) best = i; });
  choose(best);
});

on("past", () => {
  if (chosen >= now.versions.length) chosen = -1;
  drawPast();
  said.replaceChildren();
});
on("scaled", drawPast);
on("hung", () => { if (chosen >= 0) choose(chosen); });
on("state", ({ other }) => { if (other) { chosen = -1; said.replaceChildren(); } });
new ResizeObserver(drawPast).observe(field);
