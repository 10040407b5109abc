// What the page knows: the recipe as it stands, what is being changed, what is looked at.
// The recipe's file is the truth; a change is shown at once, sent at once, and taken back if it was refused.

import { ME, Trouble, ask, get, leave } from "./wire.js";

const POLL_MS = 500;

export const now = {
  recipe: "", revision: 0, values: {}, last: null, frames: [], sheet: [], recipes: [],
  active: 0, // the proof that is measured in full
  proposal: null, // a softer recipe, looked at and not taken
  hung: [], // versions beside
  versions: [], // oldest first
  ways: {},
  changedAt: 0,
};

const heard = new EventTarget();
export const on = (what, then) => heard.addEventListener(what, (event) => then(event.detail));
export const tell = (what, detail) => heard.dispatchEvent(new CustomEvent(what, { detail }));
export const say = (text) => tell("said", text);

export async function attempt(work) {
  try {
    return await work();
  } catch (error) {
    if (!(error instanceof Trouble)) throw error;
    say(error.message);
    return undefined;
  }
}

// The picture comes first: a change goes to the file a moment later, or at once when the window closes.
const SOON_MS = 250;
let waiting = {}, gesture = "", sending = false, soon = 0;

export const same = (a, b) => JSON.stringify(a ?? null) === JSON.stringify(b ?? null);

function laidOver(values, changes) {
  const laid = { ...values, ...changes };
  for (const [path, value] of Object.entries(changes)) {
    if (/^chroma\.band\..*\.hue$/.test(path) && value === null) {
      const band = path.slice(0, -3);
      for (const other of Object.keys(laid)) if (other.startsWith(band)) delete laid[other];
    }
  }
  return laid;
}

// Change parameters; steps with one gesture are undone together.
export function change(changes, by = "") {
  now.values = laidOver(now.values, changes);
  now.changedAt = performance.now();
  now.proposal = null;
  if (gesture !== by && Object.keys(waiting).length) flush();
  Object.assign(waiting, changes);
  gesture = by;
  tell("values");
  soon ||= setTimeout(flush, SOON_MS);
}

const asked = (changes, by) => ({ recipe: now.recipe, changes, seen: now.revision, window: ME, gesture: by ? `${ME}.${by}` : "" });

addEventListener("pagehide", () => {
  if (Object.keys(waiting).length) leave("change", asked(waiting, gesture));
  waiting = {};
});

let away = false;
export async function settled() {
  do {
    await flush();
    while (sending) await new Promise((then) => setTimeout(then, 20));
  } while (Object.keys(waiting).length && !away);
}

// What has changed since then follows a moment later: a point that is dragged is not written all the time.
async function flush() {
  clearTimeout(soon);
  soon = 0;
  if (sending || !Object.keys(waiting).length) return;
  sending = true;
  const changes = waiting, by = gesture;
  waiting = {};
  try {
    adopt(await ask("change", asked(changes, by)));
  } catch (error) {
    if (!(error instanceof Trouble)) throw error;
    say(error.message);
    away = error.code === "away";
    waiting = away ? laidOver(changes, waiting) : {}; // kept until the bench answers again
    if (!away) await attempt(() => refreshed());
  } finally {
    sending = false;
  }
  if (Object.keys(waiting).length && !away) soon ||= setTimeout(flush, SOON_MS);
}

export function adopt(state) {
  if (!state) return;
  const other = state.recipe !== now.recipe, moved = !same(state.values, now.values);
  const { values, clashes, done, ...rest } = state;
  Object.assign(now, rest);
  now.values = laidOver(values, waiting);
  if (moved && !Object.keys(waiting).length) { now.changedAt = performance.now(); now.proposal = null; }
  if (other) { now.hung = []; now.ways = {}; now.versions = []; now.proposal = null; }
  tell("state", { other });
  if (moved || other) tell("values");
  if (clashes?.length) tell("clash", clashes);
  if (other || done) attempt(past);
}

async function refreshed(known = "") {
  adopt(await get(`state?known=${encodeURIComponent(known)}`));
}

export async function poll() {
  try {
    if (!sending && !soon) await refreshed(now.known ?? "");
    if (away) say("the bench answers again");
    away = false;
    if (Object.keys(waiting).length && !soon) flush();
  } catch (error) {
    if (!(error instanceof Trouble)) throw error;
    if (!away) say(error.message);
    away = true;
  }
  setTimeout(poll, POLL_MS);
}

export async function past() {
  const asked = now.recipe;
  const found = await get("past");
  if (found.recipe === asked) { now.versions = found.versions; tell("past"); }
  const ways = await get("ways");
  if (ways.recipe === asked) { now.ways = ways.ways; now.count = ways.versions; tell("ways"); }
}

export const turnBack = (way) => attempt(async () => {
  await settled();
  adopt(await ask(way, { window: ME }));
});
export const deed = (what, body) => attempt(async () => {
  await settled();
  const done = await ask(what, { ...body, window: ME, seen: now.revision });
  adopt(done);
  return done;
});
