// Everything that has been set. The whole of it stands in the address, so that it can be kept and passed on.
//
// A leg is what it changes against the built-in example: {key: value}, both texts. `all` holds for both legs;
// what a leg says itself comes before it.

export const SECTIONS = ["settings", "measured", "curves", "numbers", "keep"];

export function firstState() {
  return {
    lesson: 0,
    challenge: 0,
    task: "walk-comfortable",
    all: { speed_m_per_s: "1.1" },
    legs: [{}, {}],
    side: false,
    present: false,
    hidden: false,
    revealed: false,
    votes: [],
    open: [],
  };
}

/** A leg as the program reads it: KEY=VALUE,… */
export function legText(pairs) {
  return Object.entries(pairs)
    .filter(([, value]) => value !== "")
    .map(([key, value]) => `${key}=${value}`)
    .join(",");
}

export function legPairs(text) {
  const pairs = {};
  for (const pair of text.split(",")) {
    const at = pair.indexOf("=");
    if (at > 0) pairs[pair.slice(0, at).trim()] = pair.slice(at + 1).trim();
  }
  return pairs;
}

/** Both legs as texts, `all` included. */
export function legTexts(state) {
  return state.legs.map((leg) => legText(state.lesson || state.challenge ? leg : { ...state.all, ...leg }));
}

// `:` and `;` stand for `=` and `,`, which an address would have to escape
const toAddress = (pairs) => legText(pairs).replaceAll("=", ":").replaceAll(",", ";");
const fromAddress = (text) => legPairs(text.replaceAll(";", ",").replaceAll(":", "="));
const plain = (text) => encodeURIComponent(text).replaceAll("%3A", ":").replaceAll("%3B", ";").replaceAll("%2C", ",");

export function toHash(state) {
  const parts = [
    state.lesson ? `lesson=${state.lesson}` : "",
    state.challenge ? `challenge=${state.challenge}` : "",
    `task=${plain(state.task)}`,
    state.lesson || state.challenge ? "" : `all=${plain(toAddress(state.all))}`,
    state.challenge ? "" : `a=${plain(toAddress(state.legs[0]))}`,
    // what is to be guessed must not stand in the address for all to read
    state.hidden && !state.lesson ? "" : `b=${plain(toAddress(state.legs[1]))}`,
    state.side ? "side=1" : "",
    state.present ? "present=1" : "",
    state.hidden ? "hidden=1" : "",
    state.lesson && state.votes.some(Boolean) ? `votes=${state.votes.join(".")}` : "",
    state.revealed ? "revealed=1" : "",
    state.open.length ? `open=${state.open.join(",")}` : "",
  ];
  return `#${parts.filter(Boolean).join("&")}`;
}

/** The state of an address; what is not understood is as at the first load. Values are checked by the engine.
    `isLesson(number)` and `isChallenge(number)` say which there are; what an address leaves open of a lesson stays
    empty, B is null. */
export function fromHash(hash, isLesson, isChallenge) {
  const state = firstState();
  const given = new Map();
  for (const part of hash.replace(/^#/, "").slice(0, 4000).split("&")) {
    const at = part.indexOf("=");
    if (at < 1) continue;
    try {
      given.set(part.slice(0, at), decodeURIComponent(part.slice(at + 1)));
    } catch {
      // not an address of ours: as if it were not there
    }
  }
  const lesson = Number.parseInt(given.get("lesson"), 10);
  if (isLesson(lesson)) Object.assign(state, { lesson, task: "", legs: [{}, null] });
  const challenge = Number.parseInt(given.get("challenge"), 10);
  if (!state.lesson && isChallenge(challenge)) state.challenge = challenge;
  // a task that was named is at its own pace, if nothing else is said
  if (given.has("task")) Object.assign(state, { task: given.get("task"), all: {} });
  if (given.has("all")) state.all = fromAddress(given.get("all"));
  if (given.has("a")) state.legs[0] = fromAddress(given.get("a"));
  if (given.has("b")) state.legs[1] = fromAddress(given.get("b"));
  state.side = given.get("side") === "1";
  state.present = given.get("present") === "1";
  state.hidden = given.get("hidden") === "1";
  state.votes = (given.get("votes") ?? "").split(".").slice(0, 9).map((n) => Math.min(999, Number.parseInt(n, 10) || 0));
  state.revealed = given.get("revealed") === "1";
  state.open = (given.get("open") ?? "").split(",").filter((s) => SECTIONS.includes(s));
  return state;
}
