// Talking to the bench: every request carries what tells it that this page is asking.

export const ME = Array.from(crypto.getRandomValues(new Uint8Array(6)), (b) => b.toString(16).padStart(2, "0")).join("");

export class Trouble extends Error {
  constructor(problem) {
    super(problem.hint ? `${problem.message}. Try: ${problem.hint}` : problem.message);
    this.code = problem.code;
  }
}

const AWAY = { code: "away", message: "the bench does not answer", hint: "driftline bench starts it again; the file holds every edit that was taken" };

async function answered(path, how) {
  let answer;
  try {
    answer = await fetch(path, { credentials: "omit", cache: "no-store", ...how });
  } catch {
    throw new Trouble(AWAY);
  }
  if (answer.ok) return answer;
  const told = await answer.json().catch(() => ({}));
  throw new Trouble(told.problem ?? { code: "refused", message: `refused (${answer.status})` });
}

const posted = (body) => ({
  method: "POST",
  headers: { "content-type": "application/json", "x-driftline": "bench" },
  body: JSON.stringify(body),
});
const post = (path, body) => answered(path, posted(body));

// Said when the window closes; nobody is there any more to hear the answer.
export const leave = (path, body) => { fetch(path, { ...posted(body), keepalive: true }).catch(() => {}); };

// Answers give null when something newer was asked for meanwhile, or nothing is new.
export async function ask(path, body) {
  const answer = await post(path, body);
  return answer.status === 204 ? null : answer.json();
}

export async function picture(body) {
  const answer = await post("pixels", body);
  return answer.status === 204 ? null : answer.blob();
}

export async function get(path) {
  const answer = await answered(path);
  return answer.status === 204 ? null : answer.json();
}

let turn = 0;
export const next = () => ++turn;
