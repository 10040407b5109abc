// The pictures follow the recipe, the drift follows the pictures, the shares follow when the hand rests.
// One request of a kind is on its way at a time; what is asked next is what stands then, so nothing queues up.

import { ME, Trouble, ask, next, picture } from "./wire.js";
import { now, on, tell } from "./state.js";

const REST_MS = 300, SELDOM_MS = 1000, LATEST_MS = 120;

function pump(work) {
  const waiting = new Set();
  let running = false;
  const first = () => (waiting.has(now.active) ? now.active : [...waiting][0]);
  async function want(...places) {
    for (const place of places) waiting.add(place);
    if (running) return;
    running = true;
    while (waiting.size) {
      const place = first();
      waiting.delete(place);
      try {
        await work(place);
      } catch (error) {
        if (!(error instanceof Trouble)) { running = false; throw error; }
        tell("failed", { place, message: error.message });
      }
    }
    running = false;
  }
  want.idle = () => waiting.size === 0;
  return want;
}

export const shownValues = () => now.proposal?.values ?? now.values;

const seen = new Set(); // the proofs that are on the screen
export function watch(place, visible) {
  if (visible) seen.add(place); else seen.delete(place);
  if (visible) pixels(place);
}
const onScreen = () => [...new Set([now.active, ...seen])].filter((place) => now.frames[place]);

// When what was just drawn is on the screen; a page that is not looked at draws nothing, and waits for nothing.
const onTheScreen = () => new Promise((then) => {
  const late = setTimeout(then, LATEST_MS);
  requestAnimationFrame(() => setTimeout(() => { clearTimeout(late); then(); }));
});

async function painted(start, name, place) {
  await onTheScreen();
  if (start) performance.measure(name, { start, end: performance.now(), detail: place });
}

const pixels = pump(async (place) => {
  const started = now.changedAt;
  const blob = await picture({ place, values: shownValues(), who: `${ME}.${place}`, turn: next() });
  if (!blob) return;
  const bitmap = await createImageBitmap(blob);
  tell("pixels", { place, bitmap });
  await painted(started, "change to pixels", place); // the next one is asked for when this one is seen
  // While a point is dragged the pictures come first; the drift is read now and then, and when the hand rests.
  due.add(place);
  if (pixels.idle() || performance.now() - readAt > SELDOM_MS) {
    drift(...due);
    due.clear();
  }
});

const due = new Set();
let readAt = 0;

const drift = pump(async (place) => {
  const started = now.changedAt;
  readAt = performance.now();
  const found = await ask("drift", { place, values: shownValues(), who: `${ME}.${place}`, turn: next() });
  if (!found) return;
  tell("drift", { place, found });
  painted(started, "change to drift", place);
  rest();
});

let resting = 0;
function rest() {
  clearTimeout(resting);
  resting = setTimeout(() => shares(now.active), REST_MS);
}

const shares = pump(async (place) => {
  const started = now.changedAt;
  const found = await ask("shares", { place, values: shownValues(), who: ME, turn: next() });
  if (found && started === now.changedAt) tell("shares", { place, found });
});

export function follow() {
  clearTimeout(resting);
  pixels(...onScreen());
}

export const measureAgain = () => { drift(...onScreen()); };
on("values", follow);
on("proposal", follow);
on("active", () => { rest(); });

// A version, or given values, as they are on a frame: for what hangs beside, and for the pairs.
export async function still({ place, values, ref, small, who }) {
  const what = ref ? { ref } : { values };
  const blob = await picture({ place, ...what, small, who: `${ME}.${who}`, turn: next() });
  return blob && URL.createObjectURL(blob);
}

export const driftOf = (place, ref) => ask("drift", { place, ref, who: `${ME}.${ref}`, turn: next() });
