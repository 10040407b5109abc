// Saving, forking, tempering, restoring, comparing: one small form at a time.

import { ME, ask, next } from "./wire.js";
import { attempt, deed, now, on, say, tell } from "./state.js";
import { beside, redrawHung } from "./field.js";
import { el } from "./scale.js";

const $ = (id) => document.getElementById(id);
const place = $("deed");
let from = null;

export function close() {
  if (place.hidden) return false;
  place.hidden = true;
  place.replaceChildren();
  if (now.proposal) { now.proposal = null; tell("proposal"); }
  from?.focus?.();
  return true;
}

function open(...content) {
  close();
  from = document.activeElement;
  place.replaceChildren(...content, el("button.close", { type: "button", onclick: close }, "close ", el("kbd", {}, "Esc")));
  place.hidden = false;
  place.querySelector("input, select, button")?.focus();
}

const field = (label, given) => el("label", {}, el("span", {}, label), el("input", { type: "text", dir: "auto", autocomplete: "off", ...given }));
const busy = async (form, work) => {
  const buttons = form.querySelectorAll("button");
  for (const button of buttons) button.disabled = true;
  const done = await work();
  for (const button of buttons) button.disabled = false;
  return done;
};

const told = ({ done: saved }) => {
  if (!saved) return;
  const problems = saved.problems.length ? `; ${saved.problems.join("; ")}` : "";
  say((saved.saved ? `saved ${saved.ref}` : `nothing to save: ${saved.ref} is the same`) + problems);
};

$("saving").addEventListener("submit", (event) => {
  event.preventDefault();
  if (now.from) { takeIn(); return; }
  busy(event.target, async () => {
    const done = await deed("save", { note: $("note").value, keep: $("keep").checked });
    if (done) { told(done); $("note").value = ""; $("note").blur(); }
  });
});

// A file that lies outside the ledger becomes a recipe under a name; it stays where it is.
function takeIn() {
  const { file, name } = now.from;
  const form = el("form", { onsubmit: (event) => {
    event.preventDefault();
    busy(form, async () => {
      const done = await deed("take-in", { new: form.elements.new.value.trim(), note: form.elements.why.value, keep: $("keep").checked });
      if (!done) return;
      close();
      $("note").value = "";
      const saved = done.done;
      say(`saved ${saved.ref}; from here on its file in the ledger is edited, and ${file} stays as it is${saved.problems.length ? `; ${saved.problems.join("; ")}` : ""}`);
    });
  } }, el("p", {}, "This file lies outside the ledger: ", el("bdi", {}, file), ". Saving takes it in, as a recipe of its own."),
  field("its name", { name: "new", required: true, value: name, maxlength: 64 }), field("why", { name: "why", value: $("note").value }), el("button", {}, "Take it in"));
  open(form);
}

export function fork() {
  if (now.from) { takeIn(); return; }
  const form = el("form", { onsubmit: (event) => {
    event.preventDefault();
    busy(form, async () => {
      const done = await deed("fork", { new: form.elements.new.value.trim(), note: form.elements.why.value });
      if (done) { close(); told(done); }
    });
  } },
  el("p", {}, now.unsaved ? `What stands here becomes a new recipe; the unsaved edit also stays in ${now.recipe}’s file.` : `A new recipe from ${now.last}.`),
  field("its name", { name: "new", required: true, placeholder: "lower-case-with-hyphens", maxlength: 64 }), field("why", { name: "why" }), el("button", {}, "Fork"));
  open(form);
}

export function temper() {
  const outcome = el("div.outcome.softer", { role: "status" });
  const form = el("form", { onsubmit: (event) => { event.preventDefault(); busy(form, () => look(form, outcome)); } },
    el("label", {}, el("span", {}, "ease it until it is"), el("select", { name: "verdict" }, el("option", {}, "in keeping"), el("option", {}, "leaning"))),
    el("label", {}, el("span", {}, "easing"), el("select", { name: "along" }, el("option", { value: "all" }, "all of it evenly"), el("option", { value: "largest" }, "only what did most"))),
    el("button", {}, "Look"));
  open(form, outcome);
}

async function look(form, outcome) {
  outcome.replaceChildren("looking for the strongest that is …");
  const body = { values: now.values, verdict: form.elements.verdict.value, along: form.elements.along.value, who: ME, turn: next() };
  const found = await attempt(() => ask("softer", body));
  outcome.replaceChildren();
  if (!found) return;
  if (found.already) { outcome.replaceChildren(`Nothing to ease: it is ${found.after.verdict} on these frames.`); return; }
  now.proposal = { values: found.values };
  tell("proposal");
  outcome.replaceChildren(
    el("p", {}, found.reached ? "You see the softer one now" : "Out of reach; the softest that there is still differs", `: ${found.words.join("; ")}. Hold `, el("kbd", {}, "E"), " for the edit as it stands."),
    el("button", { type: "button", onclick: () => take(found.values) }, "Take it"), el("button", { type: "button", onclick: close }, "Leave it"));
  outcome.querySelector("button").focus();
}

on("values", () => {
  if (!now.proposal) place.querySelector(".softer:not(:empty)")?.replaceChildren("The edit has moved on since; look again.");
});

async function take(values) {
  const done = await deed("take-softer", { values });
  if (done && !done.clashes.length) { now.proposal = null; close(); say("taken, as an edit; save it to keep it"); }
}

export function restore(ref) {
  const form = el("form", { onsubmit: (event) => {
    event.preventDefault();
    busy(form, async () => {
      const done = await deed("restore", { ref, note: form.elements.why.value });
      if (done) { close(); told(done); }
    });
  } }, el("p", {}, el("bdi", {}, ref), " becomes the newest version; everything between stays."), field("why", { name: "why" }), el("button", {}, "Make it the newest"));
  open(form);
}

export function compare() {
  const versions = [...now.versions].reverse().map((version) => [version.ref, `${version.ref}, ${version.day}`]);
  const both = [["now", "as it stands now"], ...versions, ["plain", "plain"]];
  const choice = (name, chosen) => el("select", { name, dir: "auto" }, ...both.map(([value, words]) => el("option", { value, selected: value === chosen }, words)));
  const outcome = el("div.outcome", { role: "status" });
  const last = now.hung[0] ?? now.last ?? "plain";
  const form = el("form", { onsubmit: (event) => {
    event.preventDefault();
    busy(form, async () => {
      const [a, b] = [form.elements.a.value, form.elements.b.value];
      const found = await attempt(() => ask("compare", { a, b, place: now.active }));
      if (!found) return;
      now.hung = [...new Set([b, a])].filter((ref) => ref !== "now");
      redrawHung();
      outcome.replaceChildren(
        el("p", {}, el("b", {}, "The recipe: "), found.words.length ? found.words.join("; ") : "no parameter differs", "."),
        el("p", {}, el("b", {}, `The picture, on ${now.frames[now.active].name}: `), found.drift.length ? found.drift.join("; ") : "nothing that anyone would notice", "."));
    });
  } }, el("label", {}, el("span", {}, "from"), choice("a", last)), el("label", {}, el("span", {}, "to"), choice("b", "now")), el("button", {}, "Compare"));
  open(form, outcome);
}

const KEYS = [
  ["hold C", "the camera rendering in the picture’s place"], ["hold V", "the version that hangs beside, in its place"],
  ["hold E", "the edit, while a softer one is shown"], ["J, K", "through the versions, later and earlier"], ["Enter", "hang the version beside, or take it away"],
  ["1 … 9", "measure that proof in full"], ["D", "to the data sheet, where you were"], ["↑ ↓", "from line to line"], ["← →", "move the point; with Shift ten times as far"],
  ["0 … 9, Enter", "write a number"], ["Delete", "back to neutral"], ["O", "order the sheet by share, or by question"], ["U, R", "undo, redo (also Ctrl Z, Ctrl Shift Z)"],
  ["S", "save: why, then Enter"], ["F, T, M", "fork, temper, compare"], ["+ −", "larger and smaller pictures"], ["Esc", "close, leave"],
];
export function keys() {
  open(el("dl.keys", {}, ...KEYS.map(([key, what]) => el("div", {}, el("dt", {}, key), el("dd", {}, what)))));
}

// --- a clash is shown, never overwritten ---

const clash = $("clash");
on("clash", (clashes) => {
  const lines = clashes.map(({ path, asked, stands, whose }) => el("li", {},
    `${path}: ${whose} made it ${JSON.stringify(stands)}; yours was ${JSON.stringify(asked)}, and was not put over it. `,
    el("button", { type: "button", onclick: () => { clash.hidden = true; tell("again", { [path]: asked }); } }, "take mine")));
  clash.replaceChildren(el("ul", {}, ...lines), el("button", { type: "button", onclick: () => { clash.hidden = true; } }, "leave it as it stands"));
  clash.hidden = false;
});

let unreadable = "";
on("state", () => {
  const problem = now.problem?.message ?? "";
  if (problem === unreadable) return;
  unreadable = problem;
  clash.hidden = !problem;
  if (!problem) return;
  clash.replaceChildren(
    el("p", {}, `The file cannot be taken as it is, and is left alone: ${problem}. ${now.problem.hint ? `Try: ${now.problem.hint}.` : ""} The page shows what stood before.`),
    el("button", { type: "button", onclick: () => deed("write-over", {}) }, "write what the page shows over it"));
});

on("deed", ({ what, ref }) => { if (what === "restore") restore(ref); });
export { beside };
