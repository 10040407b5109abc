// The field: the camera is the line, time runs downwards, everything stands at its distance.

import { el } from "./scale.js";
import { attempt, now, on, tell } from "./state.js";
import { driftOf, still, watch } from "./live.js";

const FARTHEST = 4;
export const at = (distance) => Math.min(distance ?? 0, FARTHEST);

const $ = (id) => document.getElementById(id);
const field = $("field"), proofs = $("proofs"), hung = $("hung");
const parts = new Map(); // place -> the elements of a proof
let reach = 2;

// --- the scale ---

function scaled() {
  const far = [...parts.values()].map((part) => part.distance ?? 0);
  const old = now.versions.map((version) => version.distance ?? 0);
  const wanted = Math.min(Math.max(Math.ceil(Math.max(...far, ...old, 0)), 2), FARTHEST);
  if (wanted === reach && field.querySelector(".mark")) return;
  reach = wanted;
  for (const one of [field, $("mini")]) one.style.setProperty("--reach", reach);
  const scale = field.querySelector(".scale");
  scale.replaceChildren(el("span.zero", {}, "camera"));
  for (const mark of field.querySelectorAll(".mark")) mark.remove();
  for (let n = 1; n <= reach; n += 1) {
    const label = el("span", {}, String(n), n === 1 ? el("span.wide", {}, " notice") : ""), mark = el("i.mark", { "aria-hidden": "true" });
    for (const one of [label, mark]) one.style.setProperty("--n", n);
    scale.append(label);
    field.append(mark);
  }
  tell("scaled");
}
on("past", scaled);

// --- the proofs as they stand now ---

function hang() {
  if (parts.size === now.frames.length) return;
  parts.clear();
  proofs.replaceChildren();
  for (const { place, name } of now.frames) {
    const canvas = el("canvas", { width: 3, height: 2, role: "img", "aria-label": `${name}, with the recipe as it stands` });
    const camera = el("img.instead", { alt: `${name}, as the camera made it`, hidden: true });
    const beside = el("img.instead", { alt: "", hidden: true });
    const which = el("b.which", {}, "edit");
    const far = el("strong", {}, "being decoded"), verdict = el("span"), telling = el("ul.telling");
    const frame = el("div.frame", {}, canvas, camera, beside);
    const title = el("button.title", { type: "button", "aria-pressed": "false", onclick: () => activate(place) },
      el("bdi", {}, name));
    const item = el("li.proof", { "data-place": place },
      el("i.measure", { "aria-hidden": "true" }),
      el("div.hung", {},
        el("figure", {}, frame, el("figcaption", {}, which, " ", title)),
        el("div.says", {}, el("p.far", {}, far, verdict), telling)));
    proofs.append(item);
    parts.set(place, { item, canvas, camera, beside, which, far, verdict, telling, title, frame, distance: null });
    visible.observe(item);
  }
  activate(Math.min(now.active, now.frames.length - 1));
}

const visible = new IntersectionObserver((entries) => {
  for (const entry of entries) watch(Number(entry.target.dataset.place), entry.isIntersecting);
}, { rootMargin: "120px" });

export function activate(place) {
  if (!parts.has(place)) return;
  now.active = place;
  for (const [other, part] of parts) {
    part.title.setAttribute("aria-pressed", String(other === place));
    part.item.classList.toggle("active", other === place);
  }
  tell("active", place);
  redrawHung();
}

on("pixels", ({ place, bitmap }) => {
  const part = parts.get(place);
  if (!part) return;
  const { canvas } = part;
  if (canvas.width !== bitmap.width || canvas.height !== bitmap.height) {
    canvas.width = bitmap.width;
    canvas.height = bitmap.height;
    part.item.style.setProperty("--ratio", bitmap.width / bitmap.height);
  }
  canvas.getContext("2d", { alpha: false }).drawImage(bitmap, 0, 0);
  if (place === now.active && narrow.matches) paintMini(canvas);
  bitmap.close();
  part.item.classList.remove("broken");
  if (!part.found) part.far.textContent = "being measured";
});

// Where the sheet stands below the field, the proof that is measured goes along with it, at its distance.
const mini = $("mini"), narrow = matchMedia("(max-width: 1099px)");
function paintMini(from) {
  const to = mini.querySelector("canvas");
  if (to.width !== from.width || to.height !== from.height) {
    to.width = from.width;
    to.height = from.height;
    mini.style.setProperty("--ratio", from.width / from.height);
  }
  to.getContext("2d", { alpha: false }).drawImage(from, 0, 0);
}
function placeMini(found) {
  mini.style.setProperty("--d", at(found.distance));
  mini.querySelector("p").textContent = `${found.said}${found.distance === null ? "" : `, ${found.verdict}`}`;
}
on("measured", placeMini);
on("active", (place) => {
  const part = parts.get(place);
  if (part?.found) { paintMini(part.canvas); placeMini(part.found); }
});
narrow.addEventListener("change", () => activate(now.active));

on("drift", ({ place, found }) => {
  const part = parts.get(place);
  if (!part) return;
  part.found = found;
  part.distance = found.distance;
  part.item.style.setProperty("--d", at(found.distance));
  part.item.classList.toggle("unmeasured", found.distance === null);
  part.far.textContent = found.said;
  part.verdict.textContent = found.nothing ? `: ${found.nothing}` : found.distance === null ? "" : `, ${found.verdict}${found.distance > FARTHEST ? "; beyond the edge of this page" : ""}`;
  part.telling.replaceChildren(...found.telling.map((words) => el("li", {}, words)));
  scaled();
  if (place === now.active) tell("measured", found);
});

on("failed", ({ place, message }) => {
  const part = parts.get(place);
  if (!part) return;
  part.item.classList.add("broken");
  part.far.textContent = "cannot be shown";
  part.verdict.textContent = `: ${message}`;
});

export const foundOn = (place) => parts.get(place)?.found;

// --- looking: the camera, or a version, in the place of the edit while a key is held ---

const cameras = new Map();
async function cameraOf(place) {
  if (!cameras.has(place)) {
    cameras.set(place, fetch(`camera/${place}`).then(async (answer) => {
      if (!answer.ok) return { reason: (await answer.json().catch(() => ({}))).problem?.message ?? "there is none" };
      return { url: URL.createObjectURL(await answer.blob()) };
    }));
  }
  return cameras.get(place);
}

let holding = "";
export async function hold(what) {
  if (holding === what) return;
  holding = what;
  for (const [place, part] of parts) {
    part.camera.hidden = part.beside.hidden = true;
    part.which.textContent = now.proposal ? "softer" : "edit";
    part.item.classList.toggle("held", Boolean(what));
    if (what === "camera") showCamera(place, part);
    if (what === "beside" && now.hung.length) showBeside(place, part, now.hung[0]);
  }
}

async function showCamera(place, part) {
  const camera = await cameraOf(place);
  if (holding !== "camera") return;
  part.which.textContent = camera.url ? "camera" : `no camera rendering: ${camera.reason}`;
  if (camera.url) { part.camera.src = camera.url; part.camera.hidden = false; }
}

async function showBeside(place, part, ref) {
  const url = await attempt(() => still({ place, ref, who: `hold.${place}` }));
  if (holding !== "beside" || !url) return;
  part.beside.src = url;
  part.beside.alt = `with ${ref}`;
  part.beside.hidden = false;
  part.which.textContent = ref;
}

export const release = () => hold("");
on("proposal", () => { for (const part of parts.values()) part.which.textContent = now.proposal ? "softer" : "edit"; });

// --- versions hung beside, each at its distance on the proof that is measured ---

export function beside(ref) {
  now.hung = now.hung.includes(ref) ? now.hung.filter((other) => other !== ref) : [ref, ...now.hung].slice(0, 2);
  tell("hung");
  redrawHung();
}

export function redrawHung() {
  hung.replaceChildren();
  for (const ref of [...now.hung].reverse()) hangVersion(ref, now.active);
}

async function hangVersion(ref, place) {
  const name = now.frames[place]?.name ?? "";
  const image = el("img", { alt: `${name}, with ${ref}`, width: 3, height: 2 });
  const far = el("strong", {}, "…");
  const telling = el("ul.telling");
  const item = el("li.proof.version-hung", {},
    el("i.measure", { "aria-hidden": "true" }),
    el("div.hung", {},
      el("figure", {}, el("div.frame", {}, image), el("figcaption", {}, el("b.which", {}, ref))),
      el("div.says", {}, el("p.far", {}, far), telling)));
  hung.append(item);
  const url = await attempt(() => still({ place, ref, who: `hung.${ref}` }));
  if (url) {
    image.onload = () => item.style.setProperty("--ratio", image.naturalWidth / image.naturalHeight);
    image.src = url;
  }
  const found = await attempt(() => driftOf(place, ref));
  if (!found) return;
  item.style.setProperty("--d", at(found.distance));
  far.textContent = `${found.said}${found.distance === null ? "" : `, ${found.verdict}`}`;
  telling.replaceChildren(...found.telling.map((words) => el("li", {}, words)));
}

// --- size of the pictures ---

let size = Number(localStorage.getItem("driftline-picture") ?? 1);
export function resize(by) {
  size = Math.min(Math.max(size * by, 0.5), 2);
  localStorage.setItem("driftline-picture", size);
  field.style.setProperty("--size", size);
}

let begun = false;
on("state", ({ other }) => {
  if (!begun && now.beside) now.hung = [now.beside];
  begun = true;
  if (other) hung.replaceChildren();
  hang();
});
resize(1);
scaled();
