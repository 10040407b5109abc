// The page comes to life: the head, the keys, and the first look at what stands.

import { attempt, change, now, on, past, poll, turnBack, deed } from "./state.js";
import { activate, hold, release, resize } from "./field.js";
import { step, toggleChosen } from "./thread.js";
import { focus, reorder } from "./sheet.js";
import "./causes.js";
import * as deeds from "./deeds.js";
import { el } from "./scale.js";

const $ = (id) => document.getElementById(id);

// --- the head ---

on("state", () => {
  const { recipe, recipes, outside, from, last, unsaved, changed } = now;
  const chooser = $("recipe");
  const names = [...new Set([outside, recipe])].filter((name) => name && !recipes.includes(name)).concat(recipes);
  if (chooser.dataset.names !== names.join()) {
    chooser.dataset.names = names.join();
    chooser.replaceChildren(...names.map((name) => el("option", { value: name }, name)));
  }
  chooser.value = recipe;
  document.title = `${unsaved ? "· " : ""}${recipe} on the bench`;
  const said = from ? `${from.file}, outside the ledger; saving takes it in` : !last ? "not saved yet" : !unsaved ? `as saved, ${last}` : changed.length ? `on ${last}, not saved: ${changed.join("; ")}` : `on ${last}, words not saved`;
  $("stands").textContent = said;
  $("stands").title = said;
  $("save").disabled = !unsaved;
  for (const act of ["undo", "redo"]) document.querySelector(`[data-act=${act}]`).disabled = !now[act];
  if ($("keep").dataset.recipe !== recipe) { $("keep").dataset.recipe = recipe; $("keep").checked = !now.judged_by; }
  document.querySelector(".keep").hidden = now.judged_by > 0;
  if (now.judged_by) $("keep").checked = false;
});
$("recipe").addEventListener("change", (event) => deed("open", { recipe: event.target.value }));
on("said", (text) => { $("said").textContent = text; });
on("again", (changes) => change(changes));

const acts = {
  undo: () => turnBack("undo"), redo: () => turnBack("redo"),
  fork: deeds.fork, temper: deeds.temper, compare: deeds.compare, keys: deeds.keys,
};
for (const button of document.querySelectorAll("[data-act]")) button.addEventListener("click", acts[button.dataset.act]);

// --- keys ---

const HOLDS = { c: "camera", v: "beside", e: "edit" };
const PRESSED = {
  u: acts.undo, r: acts.redo, f: acts.fork, t: acts.temper, m: acts.compare, "?": acts.keys,
  j: () => step(1), k: () => step(-1), d: () => focus(), o: () => reorder(), "+": () => resize(1.15), "=": () => resize(1.15), "-": () => resize(1 / 1.15),
  s: () => $("note").focus(),
};
const writing = (target) => /^(INPUT|TEXTAREA|SELECT)$/.test(target.tagName ?? "") && !/^(radio|checkbox)$/.test(target.type ?? "");

addEventListener("keydown", (event) => {
  const key = event.key.length === 1 ? event.key.toLowerCase() : event.key;
  if (key === "Escape") { if (!deeds.close()) document.activeElement?.blur?.(); return; }
  if (writing(event.target)) return;
  if ((event.ctrlKey || event.metaKey) && key === "z") { turnBack(event.shiftKey ? "redo" : "undo"); event.preventDefault(); return; }
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  if (HOLDS[key]) { if (!event.repeat) hold(HOLDS[key]); event.preventDefault(); return; }
  if (event.target.id === "past") {
    const by = { ArrowDown: 1, ArrowRight: 1, ArrowUp: -1, ArrowLeft: -1, PageDown: 10, PageUp: -10 }[event.key];
    if (by) { step(by); event.preventDefault(); return; }
    if (key === "Enter") { toggleChosen(); event.preventDefault(); return; }
  }
  if (/^[1-9]$/.test(key)) { activate(Number(key) - 1); return; }
  if (PRESSED[key]) { PRESSED[key](); event.preventDefault(); }
});
addEventListener("keyup", (event) => { if (HOLDS[event.key.toLowerCase()]) release(); });
addEventListener("blur", release);

// A finger has no keys: a long touch on a picture is the same as holding C.
let touching = 0;
$("proofs").addEventListener("pointerdown", (event) => {
  if (event.target.closest(".frame")) touching = setTimeout(() => hold("camera"), 150);
});
for (const end of ["pointerup", "pointercancel", "pointerleave"]) addEventListener(end, () => { clearTimeout(touching); release(); });
$("proofs").addEventListener("contextmenu", (event) => { if (event.target.closest(".frame")) event.preventDefault(); });

// What stays in sight at the top hides nothing that is gone to.
for (const [name, part] of [["--head", document.querySelector(".head")], ["--mini", $("mini")]]) {
  new ResizeObserver(() => document.documentElement.style.setProperty(name, `${part.offsetHeight}px`)).observe(part);
}

attempt(async () => {
  await poll();
  await past();
});
