// Challenges: turn settings, press test, and meet every goal in as few trials as you can. Nothing moves before the test.
// A trial is one task at one position of the settings, as `adjust` counts it; one made before does not count again.

import { briefly, byId, inWords, make, show, withoutPace } from "./base.js";
import { nameOf, say } from "./words.js";
import { table } from "./verdict.js";
import { settingWords, slider } from "./controls.js";
import { legPairs, legText } from "./state.js";

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
    return say("challenge.name", challenge);
  }

  /** A task in a few words, without its own pace: a start can have another. */
  task(scenario) {
    const about = briefly(this.challenge.scenarios.find((s) => s.name === scenario));
    return withoutPace(about).split(",")[0];
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
      make("p", {}, challenge.situation, " ", say("challenge.start", { said: inWords(this.start, legPairs(challenge.start)) })),
      make("p", {}, make("strong", {}, say("challenge.goals"))),
      make("ul", { class: "goals" },
        ...challenge.goals.map((g) => make("li", {}, say("challenge.goal", { ...g, task: this.task(g.scenario) }))),
        make("li", {}, say("challenge.limits", { tasks }))),
      make("p", {}, say("challenge.few")));
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
      id: `challenge-${key}`, ...settingWords(key), least: 0, most: 100, step: 1, unit: "%",
      value: state.legs[1][key] ?? challenge.settings[key],
      input: (v) => this.set(key, v),
    }));
    const tests = challenge.scenarios.map((s) => make("button", { type: "button", class: "reveal", onclick: () => this.test(s.name) },
      say("challenge.test", { task: this.task(s.name) })));
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
        const settings = challenge.turns.map((key) => `${nameOf("settings", key)} ${legPairs(text)[key] ?? challenge.settings[key]} %`).join(", ");
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
    const rows = this.trials.map((t, i) => [String(i + 1), t.settings, this.task(t.scenario), `${t.leg.mark} ${t.leg.headline}`.trim(), t.leg.danger ?? say("challenge.no")]);
    const parts = [make("p", { class: "answer", id: "score", role: "status" }, say("challenge.score", counts))];
    if (won) parts.push(make("p", { class: "judged right answer" }, say("challenge.won", counts)));
    parts.push(make("p", { class: "fine" }, this.trials.length ? say("challenge.before") : say("challenge.none")));
    if (rows.length) {
      parts.push(table(say("challenge.log"), [say("challenge.trial"), say("challenge.settings"), say("challenge.task"), say("challenge.verdict"), say("challenge.unsafe")], rows.reverse()));
    }
    this.comparison = make("div", { id: "comparison" });
    const next = this.start.challenges.find((c) => c.number === this.challenge.number + 1);
    box.replaceChildren(...parts, make("p", { class: "fine" }, say("challenge.rule")), this.comparison, make("div", { class: "row" },
      won || this.compared || !this.trials.length ? null : make("button", { type: "button", onclick: () => {
        this.compared = true;
        this.put();
      } }, say("challenge.compare")),
      make("button", { type: "button", onclick: () => this.begin(this.challenge.number) }, say("challenge.again")),
      next ? make("button", { type: "button", onclick: () => this.begin(next.number) }, say("challenge.next", { name: this.name(next) })) : null));
    if (won || this.compared) this.compare(counts, won);
  }

  /** What the rules of `adjust` need from the same start. */
  async compare(counts, won) {
    const { challenge, comparison } = this;
    const found = await this.engine.result("challenge", challenge.number);
    if (challenge !== this.challenge || comparison !== this.comparison) return;
    comparison.replaceChildren(
      won ? "" : make("p", { class: "answer" }, say("challenge.given", counts)),
      make("p", { class: "answer" }, say("challenge.adjust", found), ` ${found.won ? say("challenge.adjustWon") : say("challenge.adjustLost")}`),
      make("p", { class: "fine" }, say("challenge.steps")),
      make("details", {}, make("summary", {}, say("challenge.how")), ...found.text.map((t) => make("p", {}, t))));
  }
}
