// How a parameter's range is laid out on its track, and how its numbers are written.

const LEAST = 1e-9;
const power = (t) => Math.sign(t) * Math.abs(t) ** 0.6;
const unpower = (t) => Math.sign(t) * Math.abs(t) ** (1 / 0.6);

// 0 … 1 from the low end to the high end of a line's range.
export function place(line, value) {
  const { low, high, scale } = line;
  if (line.choices.length) return choicePlace(line, value);
  if (typeof value !== "number") return null;
  if (scale === "log") return Math.log(Math.max(value, LEAST) / low) / Math.log(high / low);
  if (scale === "mired") return (1 / low - 1 / value) / (1 / low - 1 / high);
  if (scale === "root") {
    const middle = low < 0 ? 0.5 : 0;
    return middle + (1 - middle) * power(value / (value < 0 ? -low : high));
  }
  return (value - low) / (high - low);
}

export function valueAt(line, at) {
  const t = Math.min(Math.max(at, 0), 1), { low, high, scale } = line;
  if (line.choices.length) return stops(line)[Math.round(t * (stops(line).length - 1))];
  if (scale === "log") return rounded(line, low * (high / low) ** t);
  if (scale === "mired") return rounded(line, 1 / (1 / low - t * (1 / low - 1 / high)));
  if (scale === "root") {
    const middle = low < 0 ? 0.5 : 0, part = unpower((t - middle) / (1 - middle));
    return rounded(line, part * (part < 0 ? -low : high));
  }
  return rounded(line, low + t * (high - low));
}

export const stops = (line) => (line.neutral === null ? [null, ...line.choices] : line.choices);
const choicePlace = (line, value) => Math.max(0, stops(line).indexOf(value ?? null)) / (stops(line).length - 1);

export function rounded(line, value) {
  const grid = 10 ** line.decimals;
  return Math.min(Math.max(Math.round(value * grid) / grid, line.low), line.high) + 0;
}

export function stepped(line, value, by, large) {
  if (line.choices.length) {
    const all = stops(line), at = all.indexOf(value ?? null) + by;
    return all[Math.min(Math.max(at, 0), all.length - 1)];
  }
  const next = value + by * line.step * (large ? 10 : 1);
  return line.path.endsWith("hue") ? rounded(line, ((next % 360) + 360) % 360) : rounded(line, next);
}

export function written(line, value) {
  if (Array.isArray(value)) return value.map((one) => one.toFixed(2)).join(" ");
  if (typeof value !== "number") return named(line, value);
  let digits = line.decimals;
  while (digits < 8 && Math.abs(Number(value.toFixed(digits)) - value) > 1e-9) digits += 1;
  const sign = value > 0 && line.low < 0 ? "+" : "";
  return (sign + value.toFixed(digits)).replace("-", "−");
}

export function named(line, value) {
  if (line.path === "mono.filter") return value === null || value === undefined ? "in colour" : value === "none" ? "no filter" : value;
  if (line.path === "exposure.anchor") return value === "camera" ? "camera" : "metered";
  return value === null || value === undefined ? "–" : String(value);
}

export function read(line, text) {
  const number = Number(text.trim().replace("−", "-").replace(",", "."));
  return text.trim() === "" || !Number.isFinite(number) ? null : Math.min(Math.max(number, line.low), line.high);
}

export const generic = (path) => path.replace(/^chroma\.band\.[^.]+\./, "chroma.band.*.");
export const bandOf = (path) => (path.startsWith("chroma.band.") ? path.split(".")[2] : "");

// An element: el("p.far", {id: "x"}, "text", child). Text is always text.
export function el(what, given = {}, ...children) {
  const [tag, ...classes] = what.split(".");
  const made = document.createElement(tag || "div");
  if (classes.length) made.className = classes.join(" ");
  for (const [key, value] of Object.entries(given)) {
    if (key.startsWith("on")) made.addEventListener(key.slice(2), value);
    else if (value === true) made.setAttribute(key, "");
    else if (value !== false && value !== null && value !== undefined) made.setAttribute(key, value);
  }
  made.append(...children.filter((child) => child !== null && child !== undefined && child !== ""));
  return made;
}

export function svg(tag, given = {}, ...children) {
  const made = document.createElementNS("http://www.w3.org/2000/svg", tag);
  for (const [key, value] of Object.entries(given)) made.setAttribute(key, value);
  made.append(...children);
  return made;
}
