// Challenges: turn settings, press test, and meet every goal in as few trials as you can. Nothing moves before the test.
// A trial is one task at one position of the settings, as `adjust` counts it; one made before does not count again.

import { briefly, byId, fill, inWords, make, show } from "./base.js";
import { table } from "./verdict.js";
import { SETTINGS, slider } from "./controls.js";
import { legPairs, legText } from "./state.js";

const CHALLENGE_WORDS = {
  name: "Challenge {number}: {title}",
  goals: "Goals:",
  start: "Start: {said}.",
  goal: "{label} {bounds} ({task})",
  limits: "every limit of: {tasks}",
  few: "As few trials as you can, and as few unsafe ones.",
  rule: "A trial is one task at one setting. It is unsafe if the knee gives way, if a landing is doubtful, if the person drops into the chair, or if the stance valve never supports. Nothing is computed before you test.",
  test: "Test: {task}",
  score: "Trials: {trials}, unsafe: {unsafe}",
  none: "Nothing is tested yet.",
  before: "A is the trial before in this task, B the newest.",
  log: "Trials, the newest first",
  trial: "Trial",
  settings: "Settings",
  task: "Task",
  verdict: "Verdict",
  unsafe: "Unsafe",
  no: "no",
  won: "Every goal is met, after {trials} trials, {unsafe} of them unsafe.",
  compare: "Compare with the rules of adjust",
  given: "Without the goals met, after {trials} trials, {unsafe} of them unsafe.",
  adjust: "The rules of adjust, from the same start and one small step at a time: {trials} trials, {unsafe} of them unsafe.",
  adjustWon: "They meet every goal.",
  adjustLost: "They do not meet every goal.",
  steps: "They count every small step as a trial and know nothing beforehand; you may leap. On a person a leap is a risk.",
  how: "What the rules changed",
  again: "Begin again",
  next: "Next: {name}",
};

export class Challenges {
  /** `go(what)` is called after the state was changed. */
  constructor(start, state, engine, go) {
    Object.assign(this, { start, state, engine, go, sliders: [] });
    this.forget();
  }

  forget() {
    Object.assign(this, { trials: [], last: {}, compared: false, testing: false });
  }

  get challenge() {
    return this.start.challenges.find((c) => c.number === this.state.challenge);
  }

  /** Begins a challenge; nothing is tested. */
  open(number) {
    const challenge = this.start.challenges.find((c) => c.number === number) ?? this.start.challenges[0];
    Object.assign(this.state, {
      lesson: 0,
      challenge: challenge.number,
      task: challenge.scenarios[0].name,
      legs: [{}, legPairs(challenge.start)],
      revealed: false,
      hidden: false,
    });
    this.forget();
  }

  /** Takes from an address what a challenge can have: the positions of the settings that may be turned. */
  settle() {
    const { challenge, state } = this;
    const given = state.legs[1] ?? {};
    this.open(challenge.number);
    for (const key of challenge.turns) {
      const pct = Number(given[key]);
      if (key in given && pct >= 0 && pct <= 100) state.legs[1][key] = String(Math.round(pct));
    }
  }

  name(challenge) {
    return fill(CHALLENGE_WORDS.name, challenge);
  }

  /** A task in a few words, without its own pace: a start can have another. */
  task(scenario) {
    const about = briefly(this.challenge.scenarios.find((s) => s.name === scenario));
    return about.replace(/ at [\d.]+ m\/s$/, "").split(",")[0];
  }

  /** The two legs to be looked at: the newest trial of the task and the one before; null before the first. */
  shown() {
    const last = this.last[this.state.task];
    if (!last) return null;
    return { scenario: this.state.task, legs: [last.before ?? last.text, last.text] };
  }

  build() {
    const { challenge } = this;
    const tasks = challenge.scenarios.map((s) => this.task(s.name)).join(", ");
    byId("lesson-list").replaceChildren(...this.start.challenges.map((c) => make("button", {
      type: "button", class: "lesson-button", "aria-pressed": String(c.number === challenge.number), onclick: () => this.begin(c.number),
    }, this.name(c))));
    byId("question").textContent = this.name(challenge);
    byId("lesson-brief").replaceChildren(
      make("p", {}, challenge.situation, " ", fill(CHALLENGE_WORDS.start, { said: inWords(this.start, legPairs(challenge.start)) })),
      make("p", {}, make("strong", {}, CHALLENGE_WORDS.goals)),
      make("ul", { class: "goals" },
        ...challenge.goals.map((g) => make("li", {}, fill(CHALLENGE_WORDS.goal, { ...g, task: this.task(g.scenario) }))),
        make("li", {}, fill(CHALLENGE_WORDS.limits, { tasks }))),
      make("p", {}, CHALLENGE_WORDS.few));
    this.buildSliders();
    this.put();
  }

  begin(number) {
    this.open(number);
    this.go();
    byId("question").focus();
  }

  buildSliders() {
    const { challenge, state } = this;
    this.sliders = challenge.turns.map((key) => slider({
      id: `challenge-${key}`, name: key, about: SETTINGS[key], least: 0, most: 100, step: 1, unit: "%",
      value: state.legs[1][key] ?? challenge.settings[key],
      input: (v) => this.set(key, v),
    }));
    const tests = challenge.scenarios.map((s) => make("button", { type: "button", class: "reveal", onclick: () => this.test(s.name) },
      fill(CHALLENGE_WORDS.test, { task: this.task(s.name) })));
    byId("sliders").replaceChildren(...this.sliders, make("div", { class: "row" }, ...tests));
  }

  set(key, value) {
    this.state.legs[1][key] = String(value);
    this.go("draft");
  }

  /** A dial turns the slider of the same setting. */
  turn(key, value) {
    const at = this.challenge.turns.indexOf(key);
    if (at < 0) return;
    this.sliders[at].put(value);
    this.set(key, value);
  }

  turns() {
    return this.challenge.turns;
  }

  /** Runs the task at the position of the settings. */
  async test(scenario) {
    if (this.testing) return;
    this.testing = true;
    const { challenge, state } = this;
    const text = legText(state.legs[1]);
    try {
      const known = this.trials.find((t) => t.scenario === scenario && t.text === text);
      if (!known) {
        const { legs } = await this.engine.answer({ scenario, legs: [text] });
        if (challenge !== this.challenge) return;
        const settings = challenge.turns.map((key) => `${key} ${legPairs(text)[key] ?? challenge.settings[key]} %`).join(", ");
        this.trials.push({ scenario, text, settings, leg: legs[0] });
      }
      const before = this.last[scenario]?.text;
      if (before !== text) this.last[scenario] = { text, before };
      state.task = scenario;
      this.go("tested");
    } finally {
      this.testing = false;
    }
  }

  /** Every task tested within every limit at one position of the settings. */
  won() {
    const held = (text) => this.challenge.scenarios.every((s) =>
      this.trials.some((t) => t.text === text && t.scenario === s.name && t.leg.verdict === "within"));
    return this.trials.some((t) => held(t.text));
  }

  count() {
    return { trials: this.trials.length, unsafe: this.trials.filter((t) => t.leg.danger).length };
  }

  /** Counts, the list of trials, and the comparison. */
  put() {
    const box = byId("lesson-found");
    show(box, true);
    const counts = this.count();
    const won = this.won();
    const rows = this.trials.map((t, i) => [String(i + 1), t.settings, this.task(t.scenario), `${t.leg.mark} ${t.leg.headline}`.trim(), t.leg.danger ?? CHALLENGE_WORDS.no]);
    const parts = [make("p", { class: "answer", id: "score", role: "status" }, fill(CHALLENGE_WORDS.score, counts))];
    if (won) parts.push(make("p", { class: "judged right answer" }, fill(CHALLENGE_WORDS.won, counts)));
    parts.push(make("p", { class: "fine" }, this.trials.length ? CHALLENGE_WORDS.before : CHALLENGE_WORDS.none));
    if (rows.length) {
      parts.push(table(CHALLENGE_WORDS.log, [CHALLENGE_WORDS.trial, CHALLENGE_WORDS.settings, CHALLENGE_WORDS.task, CHALLENGE_WORDS.verdict, CHALLENGE_WORDS.unsafe], rows.reverse()));
    }
    this.comparison = make("div", { id: "comparison" });
    const next = this.start.challenges.find((c) => c.number === this.challenge.number + 1);
    box.replaceChildren(...parts, make("p", { class: "fine" }, CHALLENGE_WORDS.rule), this.comparison, make("div", { class: "row" },
      won || this.compared || !this.trials.length ? null : make("button", { type: "button", onclick: () => {
        this.compared = true;
        this.put();
      } }, CHALLENGE_WORDS.compare),
      make("button", { type: "button", onclick: () => this.begin(this.challenge.number) }, CHALLENGE_WORDS.again),
      next ? make("button", { type: "button", onclick: () => this.begin(next.number) }, fill(CHALLENGE_WORDS.next, { name: this.name(next) })) : null));
    if (won || this.compared) this.compare(counts, won);
  }

  /** What the rules of `adjust` need from the same start. */
  async compare(counts, won) {
    const { challenge, comparison } = this;
    const found = await this.engine.result("challenge", challenge.number);
    if (challenge !== this.challenge || comparison !== this.comparison) return;
    comparison.replaceChildren(
      won ? "" : make("p", { class: "answer" }, fill(CHALLENGE_WORDS.given, counts)),
      make("p", { class: "answer" }, fill(CHALLENGE_WORDS.adjust, found), ` ${found.won ? CHALLENGE_WORDS.adjustWon : CHALLENGE_WORDS.adjustLost}`),
      make("p", { class: "fine" }, CHALLENGE_WORDS.steps),
      make("details", {}, make("summary", {}, CHALLENGE_WORDS.how), ...found.text.map((t) => make("p", {}, t))));
  }
}
