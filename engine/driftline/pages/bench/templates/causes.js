// Drift by cause on the proof that is measured: where plain stands, what the edit did, where the bands are.

import { el, svg } from "./scale.js";
import { now, on } from "./state.js";
import { foundOn } from "./field.js";

const WIDTH = 240, HALF = 120, NOTICE = 36, HIGH = 22;
const box = document.getElementById("drift");
let all = false, said = "", shares = null;

const x = (value, cause) => {
  const band = (value < 0 ? cause.bands[2] : cause.bands[0]) ?? cause.bands[0] ?? 1;
  return HALF + NOTICE * Math.min(Math.max(value / band, -3.2), 3.2);
};
const over = (cause, below) => {
  const [notice, far] = below ? [cause.bands[2], cause.bands[3]] : [cause.bands[0], cause.bands[1]];
  return notice && far ? HALF + (below ? -1 : 1) * NOTICE * Math.min(far / notice, 3.2) : null;
};

function drawn(cause) {
  const floor = x(cause.floor, cause), total = x(cause.total, cause), middle = HIGH / 2;
  const one = svg("svg", { viewBox: `0 0 ${WIDTH} ${HIGH}`, role: "img", "aria-label": `floor ${cause.numbers[0]}, edit ${cause.numbers[1]}, total ${cause.numbers[2]}` });
  const limits = [HALF - NOTICE, HALF + NOTICE].map((at) => `M${at} 0V${HIGH}`).join("");
  one.append(svg("path", { class: "far1", d: limits }));
  for (const at of [over(cause, true), over(cause, false)]) if (at !== null) one.append(svg("path", { class: "far2", d: `M${at} 0V${HIGH}` }));
  one.append(svg("path", { class: "plumb", d: `M${HALF} 0V${HIGH}` }), svg("path", { class: "lead", d: `M${HALF} ${middle}H${floor}` }));
  one.append(svg("path", { class: "push", d: `M${floor} ${middle}H${total}` }));
  const way = total >= floor ? -6 : 6;
  if (Math.abs(total - floor) >= 8) one.append(svg("path", { class: "push", d: `M${total} ${middle}m${way} -5L${total} ${middle}l${way} 5` }));
  one.append(svg("rect", { x: floor - 3, y: middle - 3, width: 6, height: 6 }));
  return one;
}

function row(cause) {
  if (!cause.comparable) return el("li.apart", {}, cause.words);
  const by = mover(cause.key);
  return el("li", {},
    el("span.cause", {}, cause.name), drawn(cause),
    el("span.numbers", {}, cause.words.startsWith(cause.name) ? cause.words.slice(cause.name.length).trim() : cause.words),
    el("span.quiet.verdict", {}, `${cause.verdict}${all ? `; floor ${cause.numbers[0]}, edit ${cause.numbers[1]}, total ${cause.numbers[2]}${limits(cause)}` : ""}${by ? `; most by [${by}]` : ""}`));
}

function limits(cause) {
  const [notice, far] = cause.judged < 0 ? cause.bands.slice(2) : cause.bands;
  return notice ? `; noticed from ${notice}, too much from ${far}` : "";
}

function mover(key) {
  const parts = Object.entries(shares?.causes?.[key] ?? {});
  if (!parts.length) return "";
  return parts.reduce((a, b) => (Math.abs(b[1]) > Math.abs(a[1]) ? b : a))[0];
}

function show() {
  const found = foundOn(now.active);
  if (!found) return;
  const name = now.frames[now.active]?.name ?? "";
  const ranked = [...found.causes].sort((a, b) => b.ratio - a.ratio);
  const shown = all ? found.causes : ranked.filter((cause) => cause.comparable && cause.ratio >= 0.1).slice(0, 5);
  box.classList.toggle("all", all);
  box.replaceChildren(
    el("h2", {}, found.nothing ? "Nothing to compare with" : el("span", {}, found.said, el("span.verdict", {}, `, ${found.verdict}`)), el("span.quiet.on", {}, " on ", el("bdi", {}, name))),
    found.nothing ? el("p", {}, found.nothing) : "",
    el("ul.causes", { class: "causes" }, ...shown.map(row)),
    shown.length || found.nothing ? "" : el("p.quiet", {}, "Nothing that anyone would notice."),
    ...found.past.map((line) => el("p.quiet", {}, line)),
    el("p.foot", {}, said ? el("span", {}, `${said}. `) : "",
      found.nothing ? "" : el("button", { type: "button", "aria-expanded": String(all), onclick: () => { all = !all; show(); } }, all ? "the telling ones" : "all sixteen causes")));
}

on("measured", () => show());
on("active", () => { shares = null; said = ""; show(); });
on("values", () => { shares = null; said = ""; });
on("shared", (found) => { shares = found; said = found.said; show(); });
