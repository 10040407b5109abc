// A parameter's track: its way through the versions, older ones above, and the point where it stands now.

import { place, stops, svg } from "./scale.js";
import { now } from "./state.js";

export const HEIGHT = 36, SIDE = 9;
const TOP = 4, NOW = 28;

export function way({ line, path, width: wide }, value) {
  const width = Math.max(wide ?? 0, 60);
  const x = (one) => { const at = place(line, one); return at === null ? null : SIDE + at * (width - 2 * SIDE); };
  const made = [];
  const neutral = line.neutral === null && !line.choices.length ? null : x(line.neutral);
  made.push(svg("path", { class: "range", d: `M${SIDE} ${NOW}H${width - SIDE}` }));
  if (line.choices.length) for (const one of stops(line)) made.push(svg("path", { class: "stop", d: `M${x(one)} ${NOW - 3}v6` }));
  if (neutral !== null) made.push(svg("path", { class: "neutral-line", d: `M${neutral} 0V${HEIGHT}` }));
  const { d, last } = thread(now.ways[path] ?? [[0, savedValue(path, line)]], x);
  const here = x(value);
  if (last !== null) {
    made.push(svg("path", { class: "way", d }));
    if (here !== null && Math.abs(here - last) > 0.5) made.push(svg("path", { class: "moved", d: `M${last} ${NOW}H${here}` }), svg("path", { class: "was", d: `M${last} ${NOW - 4}v8` }));
  }
  if (here !== null) made.push(svg("path", { class: "point", d: `M${here - 6} ${NOW - 5}h12v3l-6 8l-6 -8z` }));
  return made;
}

const savedValue = (path, line) => now.saved?.[path] ?? line.neutral;

// The way of a parameter, older ones above, at right angles; at most two turns a pixel.
function thread(steps, x) {
  const count = Math.max(now.count ?? 1, 1), y = (i) => TOP + ((NOW - TOP) * i) / count;
  let d = "", last = null, drawn = -1;
  for (const [i, value] of steps) {
    const here = x(value);
    if (here === null) continue;
    if (last === null) d = `M${here} ${y(i)}`;
    else if (y(i) - drawn >= 0.4) { d += `V${y(i)}H${here}`; drawn = y(i); }
    else d += `H${here}`;
    last = here;
  }
  return { d: last === null ? "" : `${d}V${NOW}`, last };
}
