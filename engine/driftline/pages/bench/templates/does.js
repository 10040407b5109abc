// What a line does to a picture: in a sentence, and with one pair on this very frame, without it and with it.

import { bandOf, el, written } from "./scale.js";
import { now, same } from "./state.js";
import { still } from "./live.js";

const does = document.getElementById("does");
let asking = 0, showing = null;

export function explain(kept, value, anew = false) {
  clearTimeout(asking);
  if (!kept) return;
  showing = { ...kept, value };
  if (anew) {
    const { line, path } = kept;
    const range = line.choices.length || line.low === null ? "" : ` From ${written({ ...line, low: Math.min(line.low, 0) }, line.low)} to ${written(line, line.high)}${line.unit ? ` ${line.unit}` : ""}.`;
    does.replaceChildren(
      el("p", {}, el("b", {}, bandOf(path) ? `band ${bandOf(path)}, ${line.label}` : line.label), `. ${line.means}`, el("span.quiet", {}, range)),
      el("div.pair", {}, el("figure", {}, el("img", { alt: "", width: 3, height: 2 }), el("figcaption")), el("figure", {}, el("img", { alt: "", width: 3, height: 2 }), el("figcaption"))));
    does.hidden = false;
    if (matchMedia("(max-width: 1099px)").matches) kept.row.after(does); else document.getElementById("sheet").after(does);
  }
  asking = setTimeout(pair, anew ? 180 : 350);
}

async function pair() {
  if (!showing || does.hidden) return;
  const { line, path, value } = showing;
  const still_ = same(value, line.neutral), shown = still_ ? line.shown : value;
  const pairing = does.querySelector(".pair");
  pairing.hidden = shown === null || shown === undefined;
  if (pairing.hidden) return;
  const sides = [["without it", withValue(path, line.neutral)], [`with it${still_ ? `, at ${written(line, shown)} ${line.unit}`.trimEnd() : ""}`, withValue(path, shown)]];
  for (const [i, [words, values]] of sides.entries()) {
    const figure = pairing.children[i], wanted = path;
    figure.querySelector("figcaption").textContent = words;
    try {
      const url = await still({ place: now.active, values, small: true, who: `pair.${i}` });
      if (!url || wanted !== showing.path) return;
      const image = figure.querySelector("img");
      image.onload = () => URL.revokeObjectURL(url);
      image.src = url;
      image.alt = `${now.frames[now.active].name}, ${words}: ${line.label}`;
    } catch { return; }
  }
}

function withValue(path, value) {
  const values = { ...now.values, [path]: value };
  if (bandOf(path) && value === null) {
    for (const other of Object.keys(values)) if (bandOf(other) === bandOf(path)) delete values[other];
  }
  if (path === "white.kelvin" && value !== null) values["white.shift"] = 0;
  if (path === "white.shift") values["white.kelvin"] = null;
  if (path === "mono.filter") values["mono.weights"] = null;
  if (path === "mono.weights" && value !== null) values["mono.filter"] = null;
  return values;
}
