"use strict";
// Any two versions: what differs in words, and where they stand. The words are those of the ledger (recipe/words.py);
// a test holds the two to each other.

const told = JSON.parse(document.getElementById("told").textContent);
const rank = new Map(told.order.map((path, n) => [path, n]));
const generic = (path) => path.replace(/^(chroma\.band)\..*(\.[a-z]+)$/, "$1.*$2");
const phraseOf = (path) => {
  const [label, decimals, signed, unit, up, down] = told.phrases[generic(path)];
  return { label, decimals, signed, unit, up, down };
};
const bandName = (path) => path.slice("chroma.band.".length, path.lastIndexOf("."));
const isNumber = (value) => typeof value === "number";
const same = (a, b) => JSON.stringify(a) === JSON.stringify(b);

function fixed(value, decimals) {
  const size = Math.abs(value), scaled = size * 10 ** decimals;
  let text = size.toFixed(decimals);
  if (scaled % 1 === 0.5 && Number.isInteger(size * 2 ** (decimals + 1))) { // half way: to the even digit
    text = ((Math.floor(scaled) + Math.floor(scaled) % 2) / 10 ** decimals).toFixed(decimals);
  }
  return (value < 0 ? "-" : "") + text;
}
const number = (phrase, value, decimals) => !isNumber(value) ? (value === null ? "off" : String(value))
  : (phrase.signed && value > 0 ? "+" : "") + fixed(value, decimals);

function moved(phrase, before, after) {
  let old = "", now = "";
  for (let decimals = phrase.decimals; decimals < phrase.decimals + 8; decimals += 1) {
    [old, now] = [before, after].map((value) => number(phrase, value, decimals));
    if (old !== now) break;
  }
  if (phrase.unit === "°") return `${phrase.label} ${old}° → ${now}°`;
  return `${phrase.label} ${old} → ${now}${phrase.unit}`.trim();
}
function alone(phrase, value) {
  let decimals = phrase.decimals;
  while (decimals < 17 && Number(fixed(value, decimals)) !== value) decimals += 1;
  return `${phrase.label} ${number(phrase, value, decimals)}${phrase.unit}`;
}
function said({ field, before, after }) {
  const phrase = phraseOf(field);
  const direction = isNumber(before) && isNumber(after) && after > before ? phrase.up : phrase.down;
  return (direction ? `${direction}: ` : "") + moved(phrase, before, after);
}
const oneByOne = (changes) => changes.map(said);

function white(changes) {
  const kelvin = changes.find((c) => c.field === "white.kelvin");
  const shift = changes.find((c) => c.field === "white.shift");
  if (!kelvin || kelvin.before !== null && kelvin.after !== null) return oneByOne(changes);
  const shifted = (value) => shift ? alone(phraseOf("white.shift"), value) : "as shot";
  if (kelvin.before === null) return [`white: ${shifted(shift?.before)} → ${fixed(kelvin.after, 0)} K`];
  return [`white: ${fixed(kelvin.before, 0)} K → ${shifted(shift?.after)}`];
}
function monoWords(values) {
  const value = values.find((one) => one !== null) ?? null;
  if (value === null) return "off";
  if (Array.isArray(value)) return "weights " + value.map((weight) => String(Number(weight.toPrecision(6)))).join(" ");
  return value === "none" ? "no filter" : `${value} filter`;
}
const mono = (changes) => [
  `black and white: ${monoWords(changes.map((c) => c.before))} → ${monoWords(changes.map((c) => c.after))}`,
];
function band(changes) {
  const head = bandName(changes[0].field), key = (c) => c.field.slice(c.field.lastIndexOf(".") + 1);
  const hue = changes.find((c) => key(c) === "hue");
  if (hue && hue.after === null) return [`band ${head} taken out (${alone(phraseOf(hue.field), hue.before)})`];
  if (hue && hue.before === null) {
    return [`band ${head} added: ${changes.map((c) => alone(phraseOf(c.field), c.after)).join(", ")}`];
  }
  return [`band ${head}: ${changes.map((c) => moved(phraseOf(c.field), c.before, c.after)).join(", ")}`];
}
function way(hue, chroma) {
  if (chroma && chroma.after === 0) return "no longer toned";
  if (!hue && chroma) return chroma.after > chroma.before ? "toned more" : "toned less";
  const strengths = chroma ? [chroma.before, chroma.after] : [1, 1];
  const [before, after] = [hue.before, hue.after]
    .map((angle, n) => strengths[n] * Math.cos((angle - told.warmHue) * Math.PI / 180));
  if (Math.abs(after - before) < told.lowestTurn * Math.max(...strengths)) return "turned";
  return after > before ? "warmer" : "colder";
}
function tint(changes) {
  const name = changes[0].field.slice(0, changes[0].field.lastIndexOf("."));
  const zone = name === "split.low" ? "shadows" : "highlights";
  let hue = changes.find((c) => c.field === `${name}.hue`);
  const chroma = changes.find((c) => c.field === `${name}.chroma`);
  if (hue && chroma && chroma.before === 0) {
    return [`${zone} toned: ${name} ${[hue, chroma].map((c) => alone(phraseOf(c.field), c.after)).join(", ")}`];
  }
  if (hue && chroma && chroma.after === 0) hue = undefined;
  const parts = [hue, chroma].filter(Boolean).map((c) => moved(phraseOf(c.field), c.before, c.after));
  return [`${zone} ${way(hue, chroma)}: ${name} ${parts.join(", ")}`];
}

function subject(path) {
  if (path === "white.shift" || path === "white.kelvin") return "white";
  if (path.startsWith("mono.")) return "mono";
  return path.split(".").length > 2 ? path.slice(0, path.lastIndexOf(".")) : path;
}
function wordsOf(changes) {
  const together = (name) => name === "white" ? white : name === "mono" ? mono
    : name.startsWith("chroma.band.") ? band : name === "split.low" || name === "split.high" ? tint : oneByOne;
  const phrases = [];
  for (let n = 0; n < changes.length;) {
    const name = subject(changes[n].field), from = n;
    while (n < changes.length && subject(changes[n].field) === name) n += 1;
    const group = changes.slice(from, n);
    for (const text of together(name)(group)) phrases.push({ section: group[0].field.split(".")[0], text });
  }
  return phrases;
}

function valueAt(numbersOfLook, place, path) {
  const column = numbersOfLook.values[path];
  if (!column) return told.neutral[generic(path)];
  return column.length === 1 ? column[0] : column[place];
}
function before(a, b) {
  const band = [a, b].map((path) => path.startsWith("chroma.band."));
  const at = (path, is) => rank.get(is ? "chroma.band.*.hue" : path);
  if (at(a, band[0]) !== at(b, band[1])) return at(a, band[0]) - at(b, band[1]);
  const [one, other] = [bandName(a), bandName(b)];
  return one === other ? rank.get(generic(a)) - rank.get(generic(b)) : one < other ? -1 : 1;
}
function changesBetween(one, onePlace, other, otherPlace) {
  const paths = [...new Set([...Object.keys(one.values), ...Object.keys(other.values)])].sort(before);
  return paths.map((field) => ({ field, before: valueAt(one, onePlace, field), after: valueAt(other, otherPlace, field) }))
    .filter((change) => !same(change.before, change.after));
}

const $ = (id) => document.getElementById(id);
const lookOf = (name) => told.looks.find((look) => look[0] === name);
const option = (value, text) => Object.assign(document.createElement("option"), { value, textContent: text });

async function side(name) {
  const [look, address, page] = lookOf($(`${name}-look`).value);
  const its = await numbersOf(look, address);
  const at = Number($(`${name}-version`).value);
  return { look, page, its, at, ref: `${look}@${its.labels[at]}` };
}
async function fill(name, label) {
  const [look, address] = lookOf($(`${name}-look`).value);
  const its = await numbersOf(look, address);
  $(`${name}-version`).replaceChildren(...its.labels.map((own, n) => option(n, `@${own}, ${its.days[n]}`)));
  const found = its.labels.indexOf(label);
  $(`${name}-version`).value = found < 0 ? its.labels.length - 1 : found;
}

function differences(from, to) {
  const unread = [from, to].find((one) => one.its.unread.includes(one.at));
  if (unread) {
    $("count").textContent = `The text of ${unread.ref} could not be read; its own page says why.`;
    $("changes").replaceChildren();
    return;
  }
  const changes = changesBetween(from.its, from.at, to.its, to.at), phrases = wordsOf(changes);
  const many = `${changes.length} ${changes.length === 1 ? "parameter differs" : "parameters differ"}`;
  $("count").textContent = `From ${from.ref} to ${to.ref}, ${changes.length ? many : "no parameter differs"}.`;
  const questions = [...new Set(phrases.map((phrase) => told.questions[phrase.section]))];
  $("changes").replaceChildren(...questions.flatMap((question) => [
    Object.assign(document.createElement("dt"), { textContent: question }),
    ...phrases.filter((phrase) => told.questions[phrase.section] === question)
      .map((phrase) => Object.assign(document.createElement("dd"), { textContent: phrase.text })),
  ]));
}

function proofs(from, to) {
  const names = [...new Set([...from.its.proofs, ...to.its.proofs].map((proof) => proof.name))];
  const now = $("on").value || asked.get("on");
  $("on").replaceChildren(...names.map((name) => option(name, name)));
  const both = names.find((name) => [from, to].every((one) => one.its.proofs.some((proof) => proof.name === name)));
  $("on").value = names.includes(now) ? now : both ?? names[0] ?? "";
}
function standOf(name, one, before) {
  const stand = $(`stand-${name}`), proof = one.its.proofs.find((own) => own.name === $("on").value);
  const address = one.page.replace(/\.html$/, `/${one.its.pages[one.at]}.html`);
  for (const link of stand.querySelectorAll("a")) link.href = address;
  stand.querySelector("bdi").textContent = one.ref;
  stand.querySelector(".day").textContent = one.its.days[one.at];
  const shown = proof ? proof.stands[one.at] : [null, "not measured", "", "not developed on this proof"];
  return { at: place(stand, shown, before, 4, "", `${$("on").value}, developed with ${one.ref}`), camera: proof?.camera };
}

async function show() {
  const [from, to] = await Promise.all([side("from"), side("to")]);
  proofs(from, to);
  differences(from, to);
  const first = standOf("from", from, null), second = standOf("to", to, first.at), name = $("on").value;
  const hanging = document.querySelector(".hangs");
  pictureIn(hanging, first.camera ?? second.camera ?? "no proof was chosen", "", `${name}, as the camera made it`);
  if (name) hanging.append(Object.assign(document.createElement("figcaption"), { textContent: `${name}, as the camera made it` }));
  const shown = new URLSearchParams({ from: from.ref, to: to.ref, ...(name && { on: name }) });
  history.replaceState(null, "", `#${shown}`);
  document.title = `${from.ref} and ${to.ref}`;
}

const asked = new URLSearchParams(location.hash.slice(1));
const [lookAsked, labelAsked] = ["from", "to"].map((name) => (asked.get(name) ?? "").split(/@(.*)/s)).reduce(
  ([looks, labels], [look, label]) => [[...looks, look], [...labels, label]], [[], []]);

async function start() {
  if (!told.looks.length) throw new Error("There is no look in this ledger yet.");
  const names = told.looks.map((look) => look[0]);
  const wanted = lookAsked.map((look, n) => names.includes(look) ? look : names.includes(lookAsked[1 - n]) ? lookAsked[1 - n] : names[0]);
  for (const [n, name] of ["from", "to"].entries()) {
    $(`${name}-look`).replaceChildren(...names.map((look) => option(look, look)));
    $(`${name}-look`).value = wanted[n];
    await fill(name, labelAsked[n]);
    $(`${name}-look`).addEventListener("change", () => fill(name).then(show).catch(fail));
    $(`${name}-version`).addEventListener("change", () => show().catch(fail));
  }
  if (!labelAsked[0] && wanted[0] === wanted[1]) $("from-version").value = Math.max(0, Number($("to-version").value) - 1);
  $("on").addEventListener("change", () => show().catch(fail));
  $("turn").addEventListener("click", async () => {
    const [from, to] = await Promise.all([side("from"), side("to")]);
    for (const [name, one] of [["from", to], ["to", from]]) {
      $(`${name}-look`).value = one.look;
      await fill(name, one.its.labels[one.at]);
    }
    await show();
  });
  for (const hidden of document.querySelectorAll(".pick, .differs")) hidden.hidden = false;
  document.querySelector(".field").classList.add("facing");
  await show();
}
const fail = (error) => { $("trouble").textContent = error.message; };
start().catch(fail);
