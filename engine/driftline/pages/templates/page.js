"use strict";
// The pages are whole without this. With it: J and K go from version to version, holding C shows the camera, and a
// look can be seen on another of its proofs. What is shown as text is set as text.

const free = (event) => !(event.ctrlKey || event.metaKey || event.altKey)
  && !/^(INPUT|TEXTAREA|SELECT)$/.test(event.target.tagName || "");

function step(by) {
  const turned = document.querySelector(by > 0 ? "a[rel=next]" : "a[rel=prev]");
  if (turned) { location.href = turned.href; return; }
  const stands = [...document.querySelectorAll(".stand")];
  if (!stands.length) return;
  const now = stands.indexOf(document.activeElement.closest(".stand"));
  const next = stands[Math.min(Math.max(now + by, 0), stands.length - 1)];
  next.scrollIntoView({ block: "center" });
  next.focus({ preventScroll: true });
}

// What is far off is laid out only when it comes near, so a jump across a long history lands in a few steps.
function land(tries = 5) {
  const target = document.getElementById(decodeURIComponent(location.hash.slice(1)));
  if (!target || !tries) return;
  target.scrollIntoView();
  requestAnimationFrame(() => requestAnimationFrame(() => land(tries - 1)));
}
addEventListener("hashchange", () => land());
addEventListener("load", () => land());

function showCamera(on) {
  for (const two of document.querySelectorAll(".two, .field.facing")) {
    const camera = two.querySelector(".camera img, .hangs:not([hidden]) img");
    for (const edited of two.querySelectorAll(".edited img, .frame img")) {
      if (!camera) continue;
      edited.dataset.own ||= edited.getAttribute("src");
      edited.src = on ? camera.getAttribute("src") : edited.dataset.own;
    }
    two.classList.toggle("held", on);
  }
}

addEventListener("keydown", (event) => {
  const key = event.key.toLowerCase();
  if (!free(event) || event.repeat && key === "c") return;
  if (key === "j") step(1);
  else if (key === "k") step(-1);
  else if (key === "c") showCamera(true);
});
addEventListener("keyup", (event) => { if (event.key.toLowerCase() === "c") showCamera(false); });
addEventListener("blur", () => showCamera(false));

// A look's numbers lie in a script beside the pages: a page opened from disk may not read any other file.
const numbers = new Map(), waiting = new Map();
function tellNumbers(look, told) { numbers.set(look, told); }
function numbersOf(look, address) {
  if (!waiting.has(look)) {
    waiting.set(look, new Promise((done, fail) => {
      const script = document.createElement("script");
      script.src = address;
      script.onload = () => numbers.has(look) ? done(numbers.get(look)) : fail(new Error(`${address}: holds no numbers`));
      script.onerror = () => fail(new Error(`${address}: is not there; build the pages again`));
      document.head.append(script);
    }));
  }
  return waiting.get(look);
}

function pictureIn(place, picture, up, alt) {
  const shown = document.createElement(typeof picture === "string" ? "span" : "img");
  if (typeof picture === "string") {
    shown.className = "nothing";
    shown.textContent = picture;
  } else {
    Object.assign(shown, { loading: "lazy", alt, width: picture[1], height: picture[2], src: up + picture[0] });
  }
  place.replaceChildren(shown);
}

const FARTHEST = 4;
function place(stand, [distance, far, drift, picture], before, reach, up, alt) {
  const at = distance === null ? before : Math.min(distance, FARTHEST);
  stand.classList.toggle("unmeasured", distance === null);
  stand.classList.toggle("tied", before !== null);
  stand.classList.toggle("out", distance !== null && at > 0.75 * reach);
  for (const [name, value] of [["--d", at], ["--b", before]]) {
    if (value === null) stand.style.removeProperty(name);
    else stand.style.setProperty(name, value);
  }
  const [told, verdict] = far.split(", "), strong = document.createElement("strong");
  strong.textContent = told;
  stand.querySelector(".far").replaceChildren(strong,
    (verdict ? `, ${verdict}` : "") + (distance > FARTHEST ? "; beyond the edge of this page" : ""));
  stand.querySelector(".drift").textContent = drift && `From the camera: ${drift}`;
  pictureIn(stand.querySelector(".frame"), picture, up, alt);
  return at;
}

async function seenOn(chosen) {
  const field = document.querySelector(".field"), stands = [...field.querySelectorAll(".stand")];
  const { look, up, numbers: address } = chosen.dataset;
  const told = await numbersOf(look, address);
  if (!stands[0].at) for (const stand of stands) keepOwn(stand);
  const proof = told.proofs[chosen.value];
  let before = null;
  stands.forEach((stand, n) => {
    if (!proof) { giveBack(stand); return; }
    before = place(stand, proof.stands[n], before, field.style.getPropertyValue("--reach"), up,
      `${proof.name}, developed with ${look}@${told.labels[n]}`);
  });
  field.querySelectorAll(".hangs").forEach((figure, n) => {
    figure.dataset.own ??= String(figure.hidden);
    figure.hidden = proof ? n !== Number(chosen.value) : figure.dataset.own === "true";
  });
}

const OWN = [".far", ".drift", ".frame"];
function keepOwn(stand) {
  stand.at = [stand.className, stand.getAttribute("style"),
    ...OWN.map((part) => [...stand.querySelector(part).childNodes])];
}
function giveBack(stand) {
  const [name, style, ...parts] = stand.at;
  stand.className = name;
  stand.setAttribute("style", style);
  OWN.forEach((part, n) => stand.querySelector(part).replaceChildren(...parts[n]));
}

const chooser = document.querySelector(".choose select");
if (chooser) {
  const choose = () => seenOn(chooser).catch((error) => { chooser.parentElement.append(` ${error.message}`); });
  chooser.closest(".choose").hidden = false;
  chooser.addEventListener("change", choose);
  addEventListener("pageshow", () => { if (chooser.value) choose(); });
}
