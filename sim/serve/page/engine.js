// Three engines behind one interface: `start()` gives what there is, `answer({scenario, legs})` runs legs, and
// `result(of, number)` tells what is shown after the guess of a lesson or at the end of a challenge. The program is asked
// at its address, the engine in a file in its worker; where a file carries none, the answer is looked up in what was
// computed beforehand.

import { withAnimations } from "./animation.js";
import { Desk } from "./carried.js";
import { language, say } from "./words.js";

/** An engine that computes: `ask(name, question)` is all that the two differ in. */
class Computing {
  lessonsOnly = false;
  /** Any setting can be run, so that challenges can be played. */
  anySetting = true;

  async answer({ scenario, legs }) {
    return withAnimations(await this.inWords("answer", { scenario, legs }));
  }

  /** An answer in the language of this document. */
  inWords(name, question) {
    return this.ask(name, { ...question, lang: language });
  }

  /** What is shown after a guess (`lesson`) or at the end (`challenge`). */
  result(of, number) {
    return this.inWords("result", { of, number });
  }

  /** The mean stride of a measured table: question {scenario, leg, table, columns, later_pct}. */
  curve(question) {
    return this.inWords("curve", question);
  }

  /** Ranked steps: the same question with {seen, not_seen}. */
  next(question) {
    return this.inWords("next", question);
  }
}

/** The program at the address of the page, on all cores: it also makes what takes thousands of runs. */
class Served extends Computing {
  manyRuns = true;
  anyLanguage = true;

  async start() {
    const response = await fetch(`start.json?lang=${language}`);
    if (!response.ok) throw new Error(say("engine.silent"));
    return response.json();
  }

  async ask(path, question) {
    let response;
    try {
      response = await fetch(path, {
        method: "POST",
        headers: { "content-type": "application/json" },
        body: JSON.stringify(question),
      });
    } catch {
      throw new Error(say("engine.gone"));
    }
    const found = await response.json().catch(() => ({ error: say("engine.noAnswer", { status: response.status }) }));
    if (!response.ok) throw new Error(found.error ?? say("engine.noAnswer", { status: response.status }));
    return found;
  }
}

/** The engine in this file, on one core. */
class Carried extends Computing {
  manyRuns = false;

  constructor(engine, data) {
    super();
    this.data = JSON.parse(data);
    this.desk = new Desk(engine, JSON.stringify(this.data.files));
  }

  async start() {
    return this.data.start;
  }

  /** The first answer is in the file: the engine gets ready while it is looked at. */
  async answer({ scenario, legs }) {
    const { opening } = this.data;
    if (opening?.scenario !== scenario || opening.legs.join() !== legs.join()) return super.answer({ scenario, legs });
    this.data.opening = null;
    return withAnimations(opening.answer);
  }

  async ask(name, question) {
    const found = await this.desk.ask(name, question);
    if (found.error) throw new Error(found.error);
    return found;
  }
}

class Precomputed {
  lessonsOnly = true;
  manyRuns = false;
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
  const [engine, data] = ["engine", "precomputed"].map((id) => document.getElementById(id)?.textContent);
  if (engine) return new Carried(engine, data);
  return data ? new Precomputed(data) : new Served();
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
