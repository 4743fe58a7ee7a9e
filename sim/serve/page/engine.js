// Two engines behind one interface: `start()` gives what there is, `answer({scenario, legs})` runs legs, and
// `result(of, number)` tells what is shown after the guess of a lesson or at the end of a challenge. The live one
// asks the program, the other looks the answer up in what was computed beforehand and stands in the document.

import { withAnimations } from "./animation.js";
import { language, say } from "./words.js";

class Live {
  lessonsOnly = false;
  /** Any setting can be run, so that challenges can be played. */
  anySetting = true;

  async start() {
    const response = await fetch(`start.json?lang=${language}`);
    if (!response.ok) throw new Error(say("engine.silent"));
    return response.json();
  }

  async answer({ scenario, legs }) {
    return withAnimations(await this.post("answer", { scenario, legs }));
  }

  /** What is shown after a guess (`lesson`) or at the end (`challenge`). */
  result(of, number) {
    return this.post("result", { of, number });
  }

  /** The mean stride of a measured table: question {scenario, leg, table, columns, later_pct}. */
  curve(question) {
    return this.post("curve", question);
  }

  /** Ranked steps: the same question with {seen, not_seen}. */
  next(question) {
    return this.post("next", question);
  }

  async post(path, question) {
    let response;
    try {
      response = await fetch(path, {
        method: "POST",
        headers: { "content-type": "application/json" },
        body: JSON.stringify({ ...question, lang: language }),
      });
    } catch {
      throw new Error(say("engine.gone"));
    }
    const found = await response.json().catch(() => ({ error: say("engine.noAnswer", { status: response.status }) }));
    if (!response.ok) throw new Error(found.error ?? say("engine.noAnswer", { status: response.status }));
    return found;
  }
}

class Precomputed {
  lessonsOnly = true;
  anySetting = false;

  constructor(text) {
    this.data = JSON.parse(text);
  }

  async start() {
    return this.data.start;
  }

  async answer({ scenario, legs }) {
    const run = (text) => {
      const found = this.data.runs[`${scenario}|${text}`];
      if (!found) throw new Error(say("engine.notInFile"));
      return this.revive(found);
    };
    const told = (text) => this.revive(this.data.noticed[`${scenario}|${legs[0]}|${text}`] ?? null);
    return withAnimations({ scenario, legs: legs.map(run), noticed: legs.map((t, i) => (i ? told(t) : null)) });
  }

  async result(of, number) {
    return this.data.results[`${of}|${number}`];
  }

  /** Puts what is shared back in its places. */
  revive(value) {
    if (Array.isArray(value)) return value.map((v) => this.revive(v));
    if (value === null || typeof value !== "object") return value;
    if (typeof value.$ === "number") return this.revive(this.data.shared[value.$]);
    return Object.fromEntries(Object.entries(value).map(([k, v]) => [k, this.revive(v)]));
  }
}

export function engineOfThisDocument() {
  const data = document.getElementById("precomputed");
  return data ? new Precomputed(data.textContent) : new Live();
}

/** At most one question at a time; of those that come meanwhile only the newest is asked. */
export class NewestWins {
  constructor(engine, found, failed) {
    Object.assign(this, { engine, found, failed, waiting: null, busy: false });
  }

  ask(question) {
    this.waiting = question;
    if (!this.busy) this.run();
  }

  async run() {
    this.busy = true;
    while (this.waiting) {
      const question = this.waiting;
      this.waiting = null;
      try {
        const answer = await this.engine.answer(question);
        this.found(question, answer);
      } catch (e) {
        this.failed(question, e);
      }
    }
    this.busy = false;
  }
}
